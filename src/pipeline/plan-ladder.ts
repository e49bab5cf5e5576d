import { readFile } from 'node:fs/promises'
import { basename } from 'node:path'
import { arrangePrints } from '../ladder/arrange-prints.js'
import { settingCost } from '../ladder/setting-cost.js'
import { type SheetPlaces, sheetPlaces } from '../ladder/sheet-places.js'
import type { JobType } from '../model/job-type.js'
import type { LadderCost, LadderPlan, LadderPrint } from '../model/ladder.js'
import { ProblemError } from '../model/problem.js'
import { parseLadderPlan } from '../settings/ladder-plan.js'
import { nearestName } from '../settings/nearest-name.js'
import { stripLayout } from '../strip/strip-layout.js'
import type { JobTypeShelf } from './inspect-scan.js'

/** A plan that can be carried out, and how. */
export interface PlannedLadder {
  readonly plan: LadderPlan
  readonly jobType: JobType
  readonly prints: readonly LadderPrint[]
  /** All prints together; ink in ml, or levels. */
  readonly cost: LadderCost
}

/** Room for the instruction line at the top of a sheet, mm. */
export const SHEET_HEAD_MM = 8

/**
 * Where the strips stand on a sheet of the plan.
 * @throws ProblemError LADDER_PAPER_TOO_SMALL
 */
export function ladderSheet(plan: LadderPlan): SheetPlaces {
  const { width, height } = stripLayout('ladder', 'head', null)
  const found = sheetPlaces(plan, { widthMm: width, heightMm: height }, SHEET_HEAD_MM)
  if (found.places.length === 0)
    throw new ProblemError(
      'LADDER_PAPER_TOO_SMALL',
      `${plan.paper.widthMm} x ${plan.paper.heightMm} mm; a strip is ${width} x ${height} mm`,
    )
  return found
}

/**
 * Reads a plan, checks it against the job types there are and arranges its prints.
 * @throws ProblemError LADDER_PLAN_INVALID, LADDER_PAPER_TOO_SMALL, JOB_TYPE_UNKNOWN, SETTINGS_INVALID, FILE_MISSING, FILE_NOT_READABLE
 */
export async function planLadder(file: string, shelf: JobTypeShelf): Promise<PlannedLadder> {
  const plan = parseLadderPlan(await textOf(file), basename(file))
  const jobType = jobTypeOf(plan.jobType, shelf)
  // A row of patches is one print of its own, whatever made it.
  const prints = arrangePrints(
    plan.patches === null ? plan : { ...plan, ramp: true },
    plan.patches === null ? ladderSheet(plan).places.length : plan.levels.length,
  )
  const cost = prints.reduce<LadderCost>(
    (sum, print) => {
      const costs = print.levels.map(level => settingCost(plan, { mode: print.mode, level }))
      return {
        minutes: sum.minutes + costs[0]!.minutes,
        ink: sum.ink + costs.reduce((inks, { ink }) => inks + ink, 0) / costs.length,
      }
    },
    { minutes: 0, ink: 0 },
  )
  return { plan, jobType, prints, cost }
}

/** The job type of a name. @throws ProblemError JOB_TYPE_UNKNOWN, SETTINGS_INVALID */
function jobTypeOf(name: string, { types, unusable }: JobTypeShelf): JobType {
  const found = types.get(name)
  if (found !== undefined) return found
  const names = [...types.keys(), ...unusable.keys()]
  const near = nearestName(name, names)
  throw (
    unusable.get(name) ??
    new ProblemError(
      'JOB_TYPE_UNKNOWN',
      `"${name}"${near === null ? ` (there are ${names.join(', ')})` : ` (did you mean ${near}?)`}`,
    )
  )
}

async function textOf(file: string): Promise<string> {
  try {
    return await readFile(file, 'utf8')
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException
    throw code === 'ENOENT' || code === 'ENOTDIR'
      ? new ProblemError('FILE_MISSING', file)
      : new ProblemError('FILE_NOT_READABLE', `${file}: ${code}`)
  }
}
