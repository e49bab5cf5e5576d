/** One place where the history is not what was written. */
export interface ChainFault {
  /** Row of the chain, from 1; null for a row that was never in the chain. */
  readonly row: number | null
  /** One sentence: which row, and how it differs. */
  readonly says: string
}

/** What following the chain from its first row to its last found. */
export interface ChainReport {
  /** Rows in the chain. */
  readonly rows: number
  /** Hash of the last row, 64 hexadecimal digits: noted elsewhere, it proves later that nothing before it was rewritten. */
  readonly head: string
  /** In the order of the rows; the first few. */
  readonly faults: readonly ChainFault[]
  /** How many there are in all. */
  readonly faultCount: number
}
