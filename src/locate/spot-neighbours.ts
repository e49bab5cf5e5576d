import type { Spots } from '../imaging/find-spots.js'

/** What stands beside a spot. */
export interface Neighbourhood {
  /** Whether a letter, or a row of them run together, `least` to `most` times as high as its own size lies within `gap` of its sizes. */
  beside(i: number, gap: number, least: number, most: number): boolean
  /** Whether it stands where a line of type has its stops and accents: close to a letter many times its size, or between two of one height. */
  inLine(i: number): boolean
  /** Whether it stands between two letters of one height. */
  betweenLetters(i: number): boolean
  /** Whether two of its own size stand by it, as letters do that are set far apart. */
  spaced(i: number): boolean
  /** Whether a spot of about its own size stands as near as letters do. */
  amongLike(i: number): boolean
  /** Whether one stands beside it, no farther than `farthest` pixels either: two that lie across each other are no letters of a word. */
  inWord(i: number, farthest: number): boolean
  /** Whether nothing of a letter's size or more lies within so many pixels. */
  alone(i: number, reach: number): boolean
  /** Whether a spot of about its own size that is `wanted` lies within so many of its sizes. */
  like(i: number, gap: number, wanted: (k: number) => boolean): boolean
}

/** A letter is at least this share as thick as its full stop is wide, corner to corner. */
const LEAST_STEM = 0.6
/** Boxes of letters beside each other share at most this much of the smaller one, both ways: slanting ones do at their corners. */
const MOST_SHARED = 0.3
/** A letter is so many times as high as its stop, accent or dot is. */
const LETTER_TIMES = { near: [2.5, 14], between: [3, 9] } as const
/** So near it, in heights of the letter, or between two so near that it lies so little off the line through them. */
const CLOSE = 0.6
/** An accent or the dot of an i stands nearer than this, whichever way; a stop, a quotation mark stands flush with the foot or head of the letter. */
const ACCENT = 0.25
const FLUSH = 0.12
const BETWEEN = { near: 1.6, between: 1 } as const
/** Second moments of letters are so many times those of a disc of their area; stems are so much longer than wide, and no letter is as much longer as rules and marks. */
const BRANCHED = 1.45
const STEM = 2.5
const PLAIN_BAR = 1.12
const LONGEST_LETTER = 8
const OFF_LINE = 0.75
const ONE_HEIGHT = 1.8
/** Letters set apart stand within so many of their sizes. */
const SPACED = 2.5
/** Side of the squares that spots are sorted into, pixels. */
const SIDE = 64

/**
 * Dark spots by place. Of those on a lattice only the ones larger than `letterPx` are taken: letters in a row may stand as evenly as dots do, and what
 * lies among dots is not looked at.
 */
export function neighbourhood(spots: Spots, regular: Uint8Array, letterPx: number): Neighbourhood {
  const size = (i: number) => Math.max(spots.right[i]! - spots.left[i]!, spots.bottom[i]! - spots.top[i]!) + 1
  const squares = new Map<number, number[]>()
  const key = (column: number, row: number) => row * 65536 + column
  for (let i = 0; i < spots.count; i++) {
    if (regular[i] === 1 && size(i) < letterPx) continue
    // Into every square of its box: a long letter is beside all that lies along it.
    for (let r = spots.top[i]! >> 6; r <= spots.bottom[i]! >> 6; r++)
      for (let c = spots.left[i]! >> 6; c <= spots.right[i]! >> 6; c++) {
        const list = squares.get(key(c, r))
        if (list === undefined) squares.set(key(c, r), [i])
        else list.push(i)
      }
  }
  // Side of an even bar with this second moment: of a row of letters its height, however it is turned.
  const high = (i: number) => spots.short[i]! * Math.sqrt(12)
  const some = (i: number, reach: number, wanted: (k: number) => boolean): boolean => {
    const l = spots.left[i]! - reach
    const t = spots.top[i]! - reach
    const r = spots.right[i]! + reach
    const b = spots.bottom[i]! + reach
    for (let row = Math.max(0, Math.floor(t / SIDE)); row <= Math.floor(b / SIDE); row++)
      for (let column = Math.max(0, Math.floor(l / SIDE)); column <= Math.floor(r / SIDE); column++)
        for (const k of squares.get(key(column, row)) ?? []) {
          if (k === i) continue
          if (spots.left[k]! > r || spots.right[k]! < l || spots.top[k]! > b || spots.bottom[k]! < t) continue
          if (wanted(k)) return true
        }
    return false
  }
  const across = (i: number, k: number): boolean => {
    const wide = Math.min(spots.right[i]!, spots.right[k]!) - Math.max(spots.left[i]!, spots.left[k]!) + 1
    const high = Math.min(spots.bottom[i]!, spots.bottom[k]!) - Math.max(spots.top[i]!, spots.top[k]!) + 1
    const [less] = size(i) < size(k) ? [i] : [k]
    return (
      wide > MOST_SHARED * (spots.right[less]! - spots.left[less]! + 1) &&
      high > MOST_SHARED * (spots.bottom[less]! - spots.top[less]! + 1)
    )
  }
  /** Whether boxes beside each other (else above each other) end at one height. */
  const flush = (i: number, k: number, beside: boolean, within: number): boolean => {
    const [first, last] = beside ? [spots.top, spots.bottom] : [spots.left, spots.right]
    return Math.abs(first[i]! - first[k]!) <= within + 1 || Math.abs(last[i]! - last[k]!) <= within + 1
  }
  /** Whether a spot is a plain bar, much longer than wide: a rule, a bar of a code, a line of a hatch. Letters run together are as long, but no bar. */
  const isBar = (k: number): boolean =>
    spots.long[k]! > LONGEST_LETTER * spots.short[k]! &&
    4 * Math.PI * spots.long[k]! * spots.short[k]! < PLAIN_BAR * spots.cells[k]!
  /** Whether a spot is shaped as letters are: branched or bent, or a stem. A star, a dash, a rule is neither. */
  const asLetter = (k: number): boolean => {
    const aspect = spots.long[k]! / spots.short[k]!
    const shape = (4 * Math.PI * spots.long[k]! * spots.short[k]!) / spots.cells[k]!
    return shape >= BRANCHED ? aspect <= LONGEST_LETTER : aspect >= STEM && aspect <= LONGEST_LETTER
  }
  /** Whether it stands between two letters or, looked at more widely (`near`), close to one. */
  const letterPlace = (i: number, way: 'near' | 'between'): boolean => {
    const own = size(i)
    const [least, most] = LETTER_TIMES[way]
    const gapMost = BETWEEN[way]
    const letters: { x: number; y: number; high: number }[] = []
    const x0 = (spots.left[i]! + spots.right[i]!) / 2
    const y0 = (spots.top[i]! + spots.bottom[i]!) / 2
    const close = some(i, gapMost * most * own, k => {
      const high = size(k)
      if (high < letterPx || high < least * own || high > most * own) return false
      if (!asLetter(k)) return false
      const gapX = Math.max(spots.left[k]! - spots.right[i]!, spots.left[i]! - spots.right[k]!, 0)
      const gapY = Math.max(spots.top[k]! - spots.bottom[i]!, spots.top[i]! - spots.bottom[k]!, 0)
      const gap = Math.hypot(gapX, gapY)
      if (gap > gapMost * high) return false
      letters.push({
        x: (spots.left[k]! + spots.right[k]!) / 2 - x0,
        y: (spots.top[k]! + spots.bottom[k]!) / 2 - y0,
        high,
      })
      return way === 'near' && gap <= CLOSE * high && (gap <= ACCENT * high || flush(i, k, gapX > gapY, FLUSH * high))
    })
    if (close) return true
    return letters.some((a, n) =>
      letters.slice(0, n).some(b => {
        if (a.high > ONE_HEIGHT * b.high || b.high > ONE_HEIGHT * a.high || a.x * b.x + a.y * b.y >= 0) return false
        const off = Math.abs(a.x * b.y - a.y * b.x) / Math.hypot(a.x - b.x, a.y - b.y)
        return off <= (OFF_LINE * (a.high + b.high)) / 2
      }),
    )
  }
  const alike = (i: number, k: number) => size(k) >= 0.4 * size(i) && size(k) <= 2.5 * size(i)
  return {
    beside(i, gap, least, most) {
      const own = size(i)
      return some(
        i,
        gap * own,
        k => !isBar(k) && size(k) >= least * own && high(k) >= LEAST_STEM * own && high(k) <= most * own,
      )
    },
    amongLike(i) {
      return some(i, 0.6 * size(i), k => alike(i, k))
    },
    inWord(i, farthest) {
      return some(i, Math.min(farthest, 0.6 * size(i)), k => alike(i, k) && !across(i, k))
    },
    alone(i, reach) {
      return !some(i, reach, k => size(k) >= letterPx)
    },
    inLine: i => letterPlace(i, 'near'),
    betweenLetters: i => letterPlace(i, 'between'),
    spaced(i) {
      const found = new Set<number>()
      return some(i, SPACED * size(i), k => {
        if (size(k) >= 0.5 * size(i) && size(k) <= 2 * size(i)) found.add(k)
        return found.size >= 2
      })
    },
    like(i, gap, wanted) {
      return some(i, gap * size(i), k => alike(i, k) && wanted(k))
    },
  }
}
