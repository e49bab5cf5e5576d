import type { Inspection, Verdict } from './inspection.js'

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
}

/** The history: one interface, SQLite now, PostgreSQL later. Append-only. */
export interface Store {
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
  close(): Promise<void>
}
