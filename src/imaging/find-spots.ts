import { spotLoops } from '../kernels/spot-loops.js'
import type { OpenScan } from '../model/scan.js'
import type { BlockOverview } from './block-overview.js'

/** Small connected groups of pixels, one entry a group in each list. */
export interface Spots {
  readonly count: number
  /** More were met than are kept; the rest was let go. */
  readonly overflow: boolean
  readonly cells: Float64Array
  readonly left: Int32Array
  readonly top: Int32Array
  readonly right: Int32Array
  readonly bottom: Int32Array
  /** Centre of its pixels. */
  readonly column: Float64Array
  readonly row: Float64Array
  /** Root of the larger and of the smaller principal second moment, pixels: of a disc a quarter of its diameter. */
  readonly long: Float32Array
  readonly short: Float32Array
  /** Direction of the longer axis from the rows towards the columns, radians. */
  readonly angle: Float32Array
}

/** Codes, each above the one before. */
export interface SpotLevels {
  /** Codes above are light, for light spots. */
  readonly lightAbove: number
  /** Half-way: for groups that run together at the outer levels. */
  readonly middle: number
  /** Codes below are dark, for dark spots. */
  readonly darkBelow: number
}

/** A group whose box is longer than this is let go, px; and how many are kept of either kind. */
export interface SpotLimits {
  readonly longestPx: number
  readonly most: number
}

export interface FoundSpots {
  readonly light: Spots
  readonly dark: Spots
  /** Groups above the middle level, and at or below it. */
  readonly upper: Spots
  readonly lower: Spots
}

/** Codes are handed over in pieces of about so many bytes, which the processor keeps near from the copy to the look. */
const PIECE_BYTES = 256 << 10

/**
 * Connected groups (8-connected) of light and of dark pixels of the whole page, in one pass and in memory that goes with the runs of two rows and the groups
 * open there: union-find on runs (Hoshen & Kopelman, Phys. Rev. B 14, 3438, 1976, on runs; from memory), each group's sums carried along.
 * Where the least and greatest code of a block lie between the same levels its pixels are not looked at.
 */
export function findSpots(scan: OpenScan, overview: BlockOverview, levels: SpotLevels, limits: SpotLimits): FoundSpots {
  const { lightAbove, middle, darkBelow } = levels
  if (!(lightAbove < middle && middle < darkBelow))
    throw new RangeError(`levels must rise; got ${lightAbove}, ${middle} and ${darkBelow}`)
  const { blockPx, columns, least, greatest } = overview
  const { width } = scan.header
  const lists = [spotList(limits), spotList(limits), spotList(limits), spotList(limits)] as const
  const mostRows = Math.max(1, Math.floor(PIECE_BYTES / (2 * width)))
  const loops = spotLoops({ width, blockPx, ...levels, longestPx: limits.longestPx, mostRows })
  const fetch = () => loops.fetch((kind, sums, at, boxes, box) => lists[kind]!.add(sums, at, boxes, box))

  let blockRow = -1
  let plain = false
  scan.forEachBand(band => {
    for (let r = 0; r < band.height; ) {
      const row = band.row + r
      const now = Math.floor(row / blockPx)
      if (now !== blockRow) {
        blockRow = now
        loops.least.set(least.subarray(now * columns, (now + 1) * columns))
        loops.greatest.set(greatest.subarray(now * columns, (now + 1) * columns))
        plain = loops.cutRow()
      }
      const rows = Math.min(band.height - r, mostRows, (now + 1) * blockPx - row)
      if (!plain) loops.codes.set(band.codes.subarray(r * width, (r + rows) * width))
      for (let done = 0; done < rows; ) {
        done += loops.takeRows(done, row + done, rows - done)
        if (done < rows) fetch()
      }
      r += rows
    }
  })
  fetch()
  loops.endPage()
  fetch()
  const [light, dark, upper, lower] = lists
  return { light: light.spots(), dark: dark.spots(), upper: upper.spots(), lower: lower.spots() }
}

function spotList({ most }: SpotLimits) {
  let room = 1024
  let count = 0
  let overflow = false
  let wide = { cells: new Float64Array(room), column: new Float64Array(room), row: new Float64Array(room) }
  let whole = {
    left: new Int32Array(room),
    top: new Int32Array(room),
    right: new Int32Array(room),
    bottom: new Int32Array(room),
  }
  let shape = { long: new Float32Array(room), short: new Float32Array(room), angle: new Float32Array(room) }
  const grow = (): void => {
    room *= 2
    const more = <T extends Float64Array | Int32Array | Float32Array>(list: T): T => {
      const larger = new (list.constructor as new (length: number) => T)(room)
      larger.set(list)
      return larger
    }
    wide = { cells: more(wide.cells), column: more(wide.column), row: more(wide.row) }
    whole = { left: more(whole.left), top: more(whole.top), right: more(whole.right), bottom: more(whole.bottom) }
    shape = { long: more(shape.long), short: more(shape.short), angle: more(shape.angle) }
  }
  return {
    /** A group by its sums (cells, column, row, their squares, their product) and its box (left, top, right, bottom). */
    add(sums: Float64Array, at: number, boxes: Int32Array, box: number): void {
      if (count === most) {
        overflow = true
        return
      }
      if (count === room) grow()
      const cells = sums[at]!
      const column = sums[at + 1]! / cells
      const row = sums[at + 2]! / cells
      // The pixel's own square adds a twelfth.
      const xx = sums[at + 3]! / cells - column * column + 1 / 12
      const yy = sums[at + 4]! / cells - row * row + 1 / 12
      const xy = sums[at + 5]! / cells - column * row
      const half = (xx + yy) / 2
      const off = Math.sqrt(((xx - yy) / 2) ** 2 + xy * xy)
      wide.cells[count] = cells
      wide.column[count] = column
      wide.row[count] = row
      whole.left[count] = boxes[box]!
      whole.top[count] = boxes[box + 1]!
      whole.right[count] = boxes[box + 2]!
      whole.bottom[count] = boxes[box + 3]!
      shape.long[count] = Math.sqrt(half + off)
      shape.short[count] = Math.sqrt(Math.max(1 / 12, half - off))
      shape.angle[count] = Math.atan2(2 * xy, xx - yy) / 2
      count++
    },
    spots(): Spots {
      return { count, overflow, ...wide, ...whole, ...shape }
    },
  }
}
