import { pixelLoops } from '../kernels/pixel-loops.js'

/** One side of a rectangle that lies turned on the scan. */
export interface TurnedSide {
  readonly lengthMm: number
  /** Places along it, evenly apart, that are summed each for itself. */
  readonly samples: number
  /** Whole tiles that fit along it. */
  readonly tiles: number
}

export interface TurnedFrame {
  /** Light for every code, 65536 entries. */
  readonly table: Float32Array
  /** Most pixels handed over at once. */
  readonly bandPixels: number
  readonly pixelMm: number
  /** The rectangle's middle along the row, mm from the centre of the first pixel. */
  readonly originMm: number
  /** Of the turn from the rows towards the columns. */
  readonly cos: number
  readonly sin: number
  readonly first: TurnedSide
  readonly second: TurnedSide
  /** Strips side by side into which the rectangle is cut, along either side. */
  readonly strips: number
  readonly tileMm: number
}

export interface TurnedSums {
  /** Where the codes of a band are put. */
  readonly codes: Uint16Array
  /**
   * Pairs of sum of light and number of pixels: strips x samples along the first side, then along the second, then the tiles row by row, twice each:
   * for the pixels of even and of odd row and column together.
   */
  readonly sums: Float64Array
  /**
   * Adds pixels `from` to `to` (not included) of one row, whose codes begin at place `at` of the band.
   * @param row its number, and what its distance from the middle adds along the first and along the second side, mm
   */
  addRow(
    at: number,
    from: number,
    to: number,
    row: { readonly row: number; readonly s: number; readonly t: number },
  ): void
}

/** Light of a turned rectangle summed along and across it and by tile, each pixel once, by the compiled loop. */
export function turnedSums(frame: TurnedFrame): TurnedSums {
  const { table, bandPixels, first, second, strips, tileMm } = frame
  const frameAt = 4 * table.length
  const sumsAt = frameAt + 8 * 13
  const codesAt = sumsAt + 16 * (strips * (first.samples + second.samples) + 2 * first.tiles * second.tiles)
  const { memory, addTurned } = pixelLoops(codesAt + 2 * bandPixels)
  new Float32Array(memory, 0, table.length).set(table)
  const numbers = new Float64Array(memory, frameAt, 13)
  numbers.set([frame.pixelMm, frame.originMm, frame.cos, frame.sin, 0, 0, first.lengthMm / 2, second.lengthMm / 2])
  numbers.set([first.samples / first.lengthMm, second.samples / second.lengthMm], 8)
  numbers.set([strips / first.lengthMm, strips / second.lengthMm, 1 / tileMm], 10)
  return {
    codes: new Uint16Array(memory, codesAt, bandPixels),
    sums: new Float64Array(memory, sumsAt, (codesAt - sumsAt) / 8),
    addRow(at, from, to, { row, s, t }) {
      numbers[4] = s
      numbers[5] = t
      addTurned(
        codesAt + 2 * at,
        from,
        to,
        0,
        frameAt,
        strips,
        first.samples,
        second.samples,
        first.tiles,
        second.tiles,
        row & 1,
        sumsAt,
      )
    },
  }
}
