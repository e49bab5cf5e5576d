import { ProblemError } from '../model/problem.js'
import type { StripLook } from '../model/strip.js'
import { checkPositiveName } from '../settings/file-identity.js'
import { nearestName } from '../settings/nearest-name.js'

/**
 * Whether a strip's word is taken: its positive must be a name that a file may have, its job type one that there is. Else the scan goes on as one
 * without a strip, and `refused` says why. A code is printed paper: nobody knows who made it.
 */
export function believeStrip(look: StripLook, jobTypes: readonly string[]): StripLook {
  const { identity } = look
  if (identity === null) return look
  const refuse = (because: string): StripLook => ({ ...look, identity: null, refused: because })
  try {
    checkPositiveName(identity.positive)
  } catch (error) {
    if (error instanceof ProblemError) return refuse('the positive it names cannot be a file’s name')
    throw error
  }
  if (identity.jobType !== '' && !jobTypes.includes(identity.jobType)) {
    const near = nearestName(identity.jobType, jobTypes)
    return refuse(
      `it names the job type "${identity.jobType.slice(0, 60)}", and there is none of that name${near === null ? '' : ` (the nearest is ${near})`}`,
    )
  }
  return look
}
