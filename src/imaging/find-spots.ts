import type { OpenScan } from '../model/scan.js'
import type { BlockOverview } from './block-overview.js'
import { type ClosedComponent, runComponents } from './run-components.js'

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

/** Classes of codes: up to `lightAbove`, up to `middle`, below `darkBelow`, above. A block that holds several. */
const MIXED = 4

/**
 * Connected groups of light and of dark pixels of the whole page, in one pass and in memory that does not grow with it. Where the least and
 * greatest code of a block lie between the same levels its pixels need not be looked at.
 */
export function findSpots(scan: OpenScan, overview: BlockOverview, levels: SpotLevels, limits: SpotLimits): FoundSpots {
  const { lightAbove, middle, darkBelow } = levels
  if (!(lightAbove < middle && middle < darkBelow))
    throw new RangeError(`levels must rise; got ${lightAbove}, ${middle} and ${darkBelow}`)
  const { blockPx, columns } = overview
  const { width } = scan.header
  const classes = new Uint8Array(65536)
  for (let code = 0; code < 65536; code++)
    classes[code] = code <= lightAbove ? 0 : code <= middle ? 1 : code < darkBelow ? 2 : 3
  const lists = { light: spotList(limits), dark: spotList(limits), upper: spotList(limits), lower: spotList(limits) }
  const light = runComponents(lists.light.add)
  const dark = runComponents(lists.dark.add)
  const upper = runComponents(lists.upper.add)
  const lower = runComponents(lists.lower.add)
  const all = [light, dark, upper, lower]
  // Pieces of one block row: where each ends, and its class.
  const ends = new Int32Array(columns)
  const kinds = new Uint8Array(columns)
  let pieces = 0
  const cut = (blockRow: number): void => {
    pieces = 0
    for (let b = 0; b < columns; b++) {
      const low = classes[overview.least[blockRow * columns + b]!]!
      const kind = low === classes[overview.greatest[blockRow * columns + b]!]! ? low : MIXED
      if (pieces === 0 || kinds[pieces - 1] !== kind) kinds[pieces++] = kind
      ends[pieces - 1] = Math.min(width, (b + 1) * blockPx)
    }
  }
  // Where the open run of each kind began.
  let lightFrom = 0
  let darkFrom = 0
  let upperFrom = 0
  let lowerFrom = 0
  /** The class changes from `a` to `b` at a column; -1 stands for what lies beyond the row. */
  const change = (a: number, b: number, column: number): void => {
    if (a >= 1) {
      if (b < 1) light.addRun(lightFrom, column - 1)
    } else if (b >= 1) lightFrom = column
    if (a >= 2) {
      if (b < 2) upper.addRun(upperFrom, column - 1)
    } else if (b >= 2) upperFrom = column
    const darkWas = a >= 0 && a <= 2
    const darkIs = b >= 0 && b <= 2
    if (darkWas !== darkIs) {
      if (darkWas) dark.addRun(darkFrom, column - 1)
      else darkFrom = column
    }
    const lowWas = a >= 0 && a <= 1
    const lowIs = b >= 0 && b <= 1
    if (lowWas !== lowIs) {
      if (lowWas) lower.addRun(lowerFrom, column - 1)
      else lowerFrom = column
    }
  }

  let cutRow = -1
  scan.forEachBand(band => {
    const { codes } = band
    for (let r = 0; r < band.height; r++) {
      const row = band.row + r
      const blockRow = Math.floor(row / blockPx)
      if (blockRow !== cutRow) {
        cutRow = blockRow
        cut(blockRow)
      }
      for (const kind of all) kind.startRow(row)
      const offset = r * width
      let now = -1
      let column = 0
      for (let p = 0; p < pieces; p++) {
        const end = ends[p]!
        const piece = kinds[p]!
        if (piece !== MIXED) {
          if (piece !== now) {
            change(now, piece, column)
            now = piece
          }
          column = end
          continue
        }
        for (; column < end; column++) {
          const next = classes[codes[offset + column]!]!
          if (next === now) continue
          change(now, next, column)
          now = next
        }
      }
      change(now, -1, width)
      for (const kind of all) kind.endRow()
    }
  })
  for (const kind of all) kind.finish()
  return {
    light: lists.light.spots(),
    dark: lists.dark.spots(),
    upper: lists.upper.spots(),
    lower: lists.lower.spots(),
  }
}

function spotList({ longestPx, most }: SpotLimits) {
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
    add(c: ClosedComponent): void {
      if (c.right - c.left >= longestPx || c.bottom - c.top >= longestPx) return
      if (count === most) {
        overflow = true
        return
      }
      if (count === room) grow()
      const column = c.sumColumn / c.cells
      const row = c.sumRow / c.cells
      // The pixel's own square adds a twelfth.
      const xx = c.sumColumn2 / c.cells - column * column + 1 / 12
      const yy = c.sumRow2 / c.cells - row * row + 1 / 12
      const xy = c.sumBoth / c.cells - column * row
      const half = (xx + yy) / 2
      const off = Math.sqrt(((xx - yy) / 2) ** 2 + xy * xy)
      wide.cells[count] = c.cells
      wide.column[count] = column
      wide.row[count] = row
      whole.left[count] = c.left
      whole.top[count] = c.top
      whole.right[count] = c.right
      whole.bottom[count] = c.bottom
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
