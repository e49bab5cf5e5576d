import type { BlockOverview } from '../imaging/block-overview.js'
import type { Spots } from '../imaging/find-spots.js'
import type { OpenScan } from '../model/scan.js'

/** A second look at the few places that may be flaws, pixel by pixel. */
export interface CloserLook {
  /** Whether a spot lies amid things of its own size, as a module of a code or the counter of a letter does: all about it they come and go. */
  amidItsLike(spots: Spots, i: number, light: boolean): boolean
  /** Whether a light line has ink on both sides of it nearly all the way: a stroke of a letter, a gap between two things has not. */
  throughInk(spots: Spots, i: number): boolean
  /** The same of a line known by its blocks. */
  linesThroughInk(blocks: readonly number[], widthMm: number): boolean
  /** How many loops a hair has. */
  loops(spots: Spots, i: number): number
  /** Whether a hair is nothing but straight strokes along axes that cross or meet: corner marks, a register cross. Turns: degrees. */
  crossedStrokes(spots: Spots, i: number, turns: readonly number[]): boolean
}

/** Rings are looked at so many diameters from a spot's centre. */
const RINGS = [1, 1.5, 2, 2.5, 3] as const
/** A stroke crosses a ring in two places; a third, and at least two on so many rings, are a pattern as fine as the spot. */
const PATTERN_RUNS = 3
const PATTERN_RINGS = 3
/** Ink about a scratch is looked for so far off, mm, and so many of its widths. */
const BESIDE_MM = 0.45
const BESIDE_WIDTHS = 2.5
/** A scratch that goes on both ways lights twice its width of the circle; so much more is let pass, share of the circle. */
const MORE_LIGHT = 0.06
/** At this share of the places along it. */
const BOTH_SIDES = 0.7
/** Places looked at along a line. */
const PLACES = 60
/** Of a mark this share of the pixels lies in its strokes. */
const IN_STROKES = 0.9

/**
 * @param middle code half-way from ink to clear film
 * @param lightAbove, darkBelow codes that light and dark spots were found by
 */
export function closerLook(
  scan: OpenScan,
  overview: BlockOverview,
  {
    lightAbove,
    middle,
    darkBelow,
  }: { readonly lightAbove: number; readonly middle: number; readonly darkBelow: number },
  um: number,
): CloserLook {
  const { width, height } = scan.header
  /** A window of codes; places beyond the scan are told as the nearest within. */
  const window = (left: number, top: number, right: number, bottom: number) => {
    const column = Math.max(0, Math.floor(left))
    const row = Math.max(0, Math.floor(top))
    const wide = Math.min(width - 1, Math.ceil(right)) - column + 1
    const high = Math.min(height - 1, Math.ceil(bottom)) - row + 1
    const { codes } = scan.readWindow({ column, row, width: wide, height: high })
    const at = (c: number, r: number): number =>
      codes[
        Math.min(high - 1, Math.max(0, Math.round(r) - row)) * wide +
          Math.min(wide - 1, Math.max(0, Math.round(c) - column))
      ]!
    return { column, row, wide, high, codes, at }
  }
  type Window = ReturnType<typeof window>
  /** How often what is lit (or dark) comes on a circle, and its share. */
  const circle = ({ at }: Window, column: number, row: number, radius: number, light: boolean) => {
    const count = Math.max(24, Math.ceil(2 * Math.PI * radius))
    let runs = 0
    let share = 0
    const on = (k: number) => {
      const a = (2 * Math.PI * k) / count
      return at(column + radius * Math.cos(a), row + radius * Math.sin(a)) > middle === light
    }
    let before = on(count - 1)
    for (let k = 0; k < count; k++) {
      const now = on(k)
      if (now) share++
      if (now && !before) runs++
      before = now
    }
    return { runs, share: share / count }
  }
  /** The pixels of a spot, from the one nearest its centre on. */
  const pixelsOf = (spots: Spots, i: number, light: boolean) => {
    const [left, top] = [spots.left[i]!, spots.top[i]!]
    const [wide, high] = [spots.right[i]! - left + 1, spots.bottom[i]! - top + 1]
    const { at } = window(left, top, spots.right[i]!, spots.bottom[i]!)
    const own = new Uint8Array(wide * high)
    let start = -1
    let least = Number.POSITIVE_INFINITY
    for (let k = 0; k < own.length; k++) {
      const [c, r] = [left + (k % wide), top + Math.floor(k / wide)]
      const code = at(c, r)
      if (!(light ? code > lightAbove : code < darkBelow)) continue
      own[k] = 1
      const far = Math.hypot(c - spots.column[i]!, r - spots.row[i]!)
      if (far < least) {
        least = far
        start = k
      }
    }
    const reached = start < 0 ? [] : [start]
    if (start >= 0) own[start] = 0
    for (let n = 0; n < reached.length; n++) {
      const k = reached[n]!
      const [c, r] = [k % wide, Math.floor(k / wide)]
      for (let y = Math.max(0, r - 1); y <= Math.min(high - 1, r + 1); y++)
        for (let x = Math.max(0, c - 1); x <= Math.min(wide - 1, c + 1); x++)
          if (own[y * wide + x] === 1) {
            own[y * wide + x] = 0
            reached.push(y * wide + x)
          }
    }
    return reached.map(k => ({ column: left + (k % wide), row: top + Math.floor(k / wide) }))
  }
  const inkBeside = (places: readonly { column: number; row: number }[], widthPx: number): boolean => {
    if (places.length === 0) return true
    const radius = Math.max((1000 * BESIDE_MM) / um, BESIDE_WIDTHS * widthPx)
    const step = Math.max(1, places.length / PLACES)
    const most = (2 * (widthPx + 1)) / (2 * Math.PI * radius) + MORE_LIGHT
    let seen = 0
    let beside = 0
    for (let k = step / 2; k < places.length; k += step) {
      const { column, row } = places[Math.floor(k)]!
      const about = window(column - radius, row - radius, column + radius, row + radius)
      const { runs, share } = circle(about, column, row, radius, true)
      seen++
      if (runs <= 2 && share <= most) beside++
    }
    return beside >= BOTH_SIDES * seen
  }
  return {
    amidItsLike(spots, i, light) {
      // Seen wider than it is by about a pixel, at the level it was found by.
      const diameter = Math.max(1.5, 2 * Math.sqrt(spots.cells[i]! / Math.PI) - 1)
      const [column, row] = [spots.column[i]!, spots.row[i]!]
      const reach = Math.max(RINGS.at(-1)! * diameter, diameter / 2 + 2)
      const about = window(column - reach, row - reach, column + reach, row + reach)
      const runs = RINGS.map(far => circle(about, column, row, Math.max(far * diameter, diameter / 2 + 2), light).runs)
      return Math.max(...runs) >= PATTERN_RUNS && runs.filter(n => n >= 2).length >= PATTERN_RINGS
    },
    throughInk(spots, i) {
      const pixels = pixelsOf(spots, i, true)
      const length = spots.long[i]! * Math.sqrt(12)
      return inkBeside(pixels, spots.cells[i]! / Math.max(1, length))
    },
    linesThroughInk(blocks, widthMm) {
      const { columns, blockPx } = overview
      const places = blocks.map(block => ({
        column: ((block % columns) + 0.5) * blockPx - 0.5,
        row: (Math.floor(block / columns) + 0.5) * blockPx - 0.5,
      }))
      return inkBeside(places, (1000 * widthMm) / um)
    },
    loops(spots, i) {
      // Pieces less loops is what corners of the pixels add up to (Gray, IEEE Trans. Comput. C-20, 551, 1971; from memory), 8-connected.
      const [left, top] = [spots.left[i]! - 1, spots.top[i]! - 1]
      const wide = spots.right[i]! - left + 2
      const own = new Uint8Array(wide * (spots.bottom[i]! - top + 2))
      for (const { column, row } of pixelsOf(spots, i, false)) own[(row - top) * wide + column - left] = 1
      let sum = 0
      for (let k = 0; k + wide + 1 < own.length; k++) {
        const [a, b, c, d] = [own[k]!, own[k + 1]!, own[k + wide]!, own[k + wide + 1]!]
        const held = a + b + c + d
        if (held === 1) sum++
        else if (held === 3) sum--
        else if (held === 2 && a === d) sum -= 2
      }
      return 1 - sum / 4
    },
    crossedStrokes(spots, i, turns) {
      const pixels = pixelsOf(spots, i, false)
      if (pixels.length === 0) return false
      return turns.some(turn => {
        const cos = Math.cos((turn * Math.PI) / 180)
        const sin = Math.sin((turn * Math.PI) / 180)
        // How many lie on each line along one axis, and along the other: a stroke holds many pixels of few lines.
        const along = new Map<number, number>()
        const across = new Map<number, number>()
        const lines = pixels.map(({ column, row }) => [
          Math.round(column * cos + row * sin),
          Math.round(row * cos - column * sin),
        ])
        for (const [a, b] of lines) {
          along.set(a!, (along.get(a!) ?? 0) + 1)
          across.set(b!, (across.get(b!) ?? 0) + 1)
        }
        const least = 0.25 * Math.min(Math.max(...along.values()), Math.max(...across.values()))
        const held = lines.filter(([a, b]) => along.get(a!)! >= least || across.get(b!)! >= least).length
        const few = [...along.values(), ...across.values()].filter(n => n >= least).length
        return held >= IN_STROKES * pixels.length && few <= 0.25 * (along.size + across.size)
      })
    },
  }
}
