import { readFile, stat } from 'node:fs/promises'
import { join } from 'node:path'
import type { Acceptance } from '../model/acceptance.js'
import type { Inspection } from '../model/inspection.js'
import { ProblemError } from '../model/problem.js'
import type { Store } from '../model/store.js'
import { withAcceptances } from '../report/acceptance-block.js'
import { recordText } from './keep-inspection.js'
import { personWords } from './person-words.js'
import { reportName } from './report-name.js'
import type { WorkspacePaths } from './workspace-paths.js'
import { writeWhole } from './write-whole.js'

/** Who lets what through, and why. */
export interface AcceptTask {
  /** Id of an inspection; or the name of a positive, which means its last inspection. */
  readonly id: string
  readonly by: string
  readonly because: string
}

export interface AcceptContext {
  readonly store: Pick<Store, 'byId' | 'byPositive' | 'accept' | 'acceptancesOf'>
  readonly paths: Pick<WorkspacePaths, 'reports'>
  readonly now: () => Date
}

export interface AcceptOutcome {
  readonly inspection: Inspection
  readonly acceptance: Acceptance
  /** The same person had said the same before; nothing was added. */
  readonly known: boolean
  /** Path of the report that now shows it; null when there is no report to show it. */
  readonly report: string | null
}

const LONGEST_NAME = 80
const LONGEST_REASON = 1000

/**
 * Puts a person's word beside the instrument's: into the history, then on the report and its JSON. The verdict stays what it was. What is cut off
 * half-way is made whole by accepting again.
 * @throws ProblemError ACCEPTANCE_INCOMPLETE, ACCEPTANCE_NOT_NEEDED (it passed), INSPECTION_UNKNOWN, DATABASE_*, FILE_NOT_WRITABLE
 */
export async function acceptInspection(task: AcceptTask, { store, paths, now }: AcceptContext): Promise<AcceptOutcome> {
  const by = personWords('ACCEPTANCE_INCOMPLETE', 'the name', task.by, LONGEST_NAME)
  const because = personWords('ACCEPTANCE_INCOMPLETE', 'the reason', task.because, LONGEST_REASON)
  const id = task.id.normalize('NFC')
  const inspection = (await store.byId(task.id)) ?? (await store.byPositive(id)).at(-1)
  if (inspection === undefined) throw new ProblemError('INSPECTION_UNKNOWN', `"${task.id}"`)
  const { verdict } = inspection
  if (verdict === 'pass')
    throw new ProblemError('ACCEPTANCE_NOT_NEEDED', `"${inspection.positive}" passed (inspection ${inspection.id})`)
  const added = await store.accept({ inspection: inspection.id, verdict, by, because, at: now().toISOString() })
  const acceptances = (await store.acceptancesOf(inspection.positive)).filter(a => a.inspection === inspection.id)
  const acceptance = acceptances.find(a => a.by === by && a.because === because)!
  return { inspection, acceptance, known: !added, report: await showOn(paths.reports, inspection, acceptances) }
}

async function showOn(
  reports: string,
  inspection: Inspection,
  acceptances: readonly Acceptance[],
): Promise<string | null> {
  const report = join(reports, `${reportName(inspection)}.html`)
  const record = report.replace(/\.html$/, '.json')
  if (await exists(record)) await writeWhole(record, recordText(inspection, acceptances))
  if (!(await exists(report))) return null
  await writeWhole(report, withAcceptances(await readFile(report, 'utf8'), acceptances))
  return report
}

async function exists(file: string): Promise<boolean> {
  return stat(file).then(
    () => true,
    () => false,
  )
}
