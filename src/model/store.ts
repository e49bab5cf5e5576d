import type { Acceptance } from './acceptance.js'
import type { StoredPositive } from './drawer.js'
import type { ChainReport } from './history-chain.js'
import type { Inspection, Verdict } from './inspection.js'
import type { ProcessStore } from './process.js'
import type { Retirement } from './retirement.js'
import type { FilmUse } from './use.js'

/** A line of the board: the newest inspection of one positive. */
export interface BoardRow {
  readonly id: string
  readonly positive: string
  readonly jobType: string
  readonly scannedAt: string
  readonly inspectedAt: string
  readonly verdict: Verdict
  /** The worst finding's sentences. */
  readonly why: string
  readonly next: string
  /** Earlier inspections of this positive. */
  readonly earlier: number
  /** The newest word of a person who let it through; absent for none. */
  readonly accepted?: Acceptance
}

/** The history: one interface, SQLite now, PostgreSQL later. Append-only. */
export interface Store extends ProcessStore {
  /** Adds an inspection. Adding the same id twice changes nothing and returns false. */
  add(inspection: Inspection): Promise<boolean>
  byId(id: string): Promise<Inspection | null>
  /** Oldest first, by scannedAt. */
  byPositive(positive: string): Promise<readonly Inspection[]>
  /** The inspection made of this scan content as this positive, if any. */
  byScan(sha256: string, positive: string): Promise<Inspection | null>
  lastJobType(positive: string): Promise<string | null>
  /** One row a positive, newest inspection first. */
  board(): Promise<readonly BoardRow[]>
  all(): AsyncIterable<Inspection>
  /**
   * Adds a person's word to an inspection that did not pass. The same name and reason again change nothing and return false.
   * @throws RangeError for an inspection that is not there, or whose verdict is another one
   */
  accept(acceptance: Acceptance): Promise<boolean>
  /** Every acceptance of a positive's inspections, oldest first. */
  acceptancesOf(positive: string): Promise<readonly Acceptance[]>
  /** Every acceptance there is, in the order added. */
  acceptances(): Promise<readonly Acceptance[]>
  /** Notes that a film was taken out of its drawer. @throws RangeError without a reason */
  retire(retirement: Retirement): Promise<void>
  /** Every time a positive was taken out, oldest first. */
  retirementsOf(positive: string): Promise<readonly Retirement[]>
  /** Counts that a film was used. @throws RangeError unless `times` is a whole number of 1 or more */
  use(use: FilmUse): Promise<void>
  /** Every use of a positive, in the order they were counted. */
  usesOf(positive: string): Promise<readonly FilmUse[]>
  /** Every use there is, in the order they were counted. */
  uses(): Promise<readonly FilmUse[]>
  /** One row a positive, by name. */
  stored(): Promise<readonly StoredPositive[]>
  /** Follows the chain of hashes through the whole history: reads all of it. */
  checkChain(): Promise<ChainReport>
  close(): Promise<void>
}
