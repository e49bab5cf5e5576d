import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import type { JobType } from '../model/job-type.js'
import { ProblemError } from '../model/problem.js'
import { parseJobType } from '../settings/job-type-settings.js'
import type { JobTypeShelf } from './inspect-scan.js'

/**
 * Reads every job type of a folder. A file that is not right stops only the scans of its own type.
 * @throws ProblemError SETTINGS_INVALID when there is no folder or no job type in it at all
 */
export async function loadJobTypes(folder: string): Promise<JobTypeShelf> {
  const names = await readdir(folder).catch(() => {
    throw new ProblemError(
      'SETTINGS_INVALID',
      `${folder}: there is no such folder; copy the job types of another workspace`,
    )
  })
  const types = new Map<string, JobType>()
  const unusable = new Map<string, ProblemError>()
  for (const file of names.filter(name => /\.ya?ml$/i.test(name) && !name.startsWith('.')).sort()) {
    const name = file.replace(/\.ya?ml$/i, '')
    try {
      const jobType = parsedOnce(await textOf(join(folder, file)), `job-types/${file}`)
      if (jobType.name !== name)
        throw new ProblemError(
          'SETTINGS_INVALID',
          `job-types/${file} is named "${jobType.name}"; name and file must be the same`,
        )
      types.set(name, jobType)
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error
      unusable.set(name, error)
    }
  }
  if (types.size === 0 && unusable.size === 0)
    throw new ProblemError('SETTINGS_INVALID', `${folder}: there is no job type in it`)
  return { types, unusable }
}

/** Job types are asked for several times in an inspection, and seldom change in between: parsed anew only when their text has. */
const parsed = new Map<string, { readonly text: string; readonly jobType: JobType }>()

function parsedOnce(text: string, file: string): JobType {
  const before = parsed.get(file)
  if (before?.text === text) return before.jobType
  const jobType = parseJobType(text, file)
  parsed.set(file, { text, jobType })
  return jobType
}

async function textOf(file: string): Promise<string> {
  try {
    return await readFile(file, 'utf8')
  } catch (error) {
    throw new ProblemError('FILE_NOT_READABLE', `${file}: ${(error as NodeJS.ErrnoException).code}`)
  }
}
