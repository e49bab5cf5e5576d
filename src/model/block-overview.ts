/**
 * A scan reduced to square blocks, made in one pass over its bands.
 * Arrays are `rows x columns`, row by row. Edge blocks may be partial; their means are over the pixels they have.
 */
export interface BlockOverview {
  readonly blockPx: number
  readonly columns: number
  readonly rows: number
  readonly scanWidth: number
  readonly scanHeight: number
  /** Mean light of each block: mean over its pixels of `table[code]`. */
  readonly light: Float32Array
  /** Least and greatest code of each block. */
  readonly least: Uint16Array
  readonly greatest: Uint16Array
  /** Share of blocks that hold a pixel at full scale (65535). */
  readonly clippedShare: number
}

/** The overview of a page that was looked at before it is measured, so that nobody goes over all its pixels for it again. Its arrays are shared between threads. */
export interface SeenOverview {
  readonly blocks: BlockOverview
  /** What it was made of: the file as it was then, channel, calibration. For anything else it is not the overview. */
  readonly of: string
  /** Where the scan's pixels were unpacked to; absent where they are read from the scan itself. Whoever asked for the look deletes it. */
  readonly unpacked?: string
}
