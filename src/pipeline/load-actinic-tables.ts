import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { type ActinicTable, parseActinicTable } from '../calibrate/actinic-table.js'
import { ProblemError } from '../model/problem.js'

/** The actinic tables of a workspace by name; in place of one that is not right, why. */
export type ActinicShelf = ReadonlyMap<string, ActinicTable | ProblemError>

/** Reads `scanners/actinic/*.csv`. No folder, no tables; a bad table harms only the films that would use it. */
export async function loadActinicTables(folder: string): Promise<ActinicShelf> {
  let names: string[]
  try {
    names = await readdir(folder)
  } catch (error) {
    const reason = (error as NodeJS.ErrnoException).code
    if (reason === 'ENOENT') return new Map()
    throw new ProblemError('FILE_NOT_READABLE', `${folder}: ${reason}`)
  }
  const shelf = new Map<string, ActinicTable | ProblemError>()
  for (const file of names.filter(name => /\.csv$/i.test(name) && !name.startsWith('.')).sort()) {
    const name = file.replace(/\.csv$/i, '')
    try {
      shelf.set(name, parseActinicTable(await textOf(join(folder, file)), `scanners/actinic/${file}`))
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error
      shelf.set(name, error)
    }
  }
  return shelf
}

async function textOf(file: string): Promise<string> {
  try {
    return await readFile(file, 'utf8')
  } catch (error) {
    throw new ProblemError('FILE_NOT_READABLE', `${file}: ${(error as NodeJS.ErrnoException).code}`)
  }
}
