import type { Spots } from '../imaging/find-spots.js'

/** Spots of one film that are like each other: a flaw is seldom one of several of a size, what an artist laid often is. */
export interface LikeSpots {
  /** Whether four like spots, this among them, stand in a row at equal distances of up to `reach` pixels: leader dots, dashes, a row of ornaments. */
  inRow(i: number, reach: number): boolean
  /** How many like spots lie within `reach` pixels. */
  company(i: number, reach: number): number
  /** How many spots of any shape and of its size or more, but for the smallest, lie within `reach` pixels. */
  crowd(i: number, reach: number): number
}

/** Areas of like spots agree within this ratio and so many pixels besides, as small ones do by where they meet the pixels. */
const LIKE_AREA = 1.35
const LIKE_CELLS = 3
/** Axes of like spots agree within this ratio. */
const LIKE_AXIS = 1.35
/** A spot lies within this share of its distance, and so many pixels, of its place in the row: what the first step tells of the way. */
const OFF_ROW = 0.015
const OFF_ROW_PX = 1
/** Fewer in a row are chance. */
const ROW = 4
/** Distances tried for a row, nearest first. */
const TRIED = 16
/** Of a crowd are spots of at least this share of its area. */
const CROWD_AREA = 0.3
/** Side of the squares that spots are sorted into, pixels. */
const SIDE = 64

/** @param regular 1 for dots of a screen: no company, but a crowd */
export function likeSpots(spots: Spots, regular: Uint8Array): LikeSpots {
  const squares = new Map<number, number[]>()
  const key = (column: number, row: number) => row * 65536 + column
  for (let i = 0; i < spots.count; i++) {
    const at = key(Math.floor(spots.column[i]! / SIDE), Math.floor(spots.row[i]! / SIDE))
    const list = squares.get(at)
    if (list === undefined) squares.set(at, [i])
    else list.push(i)
  }
  const alike = (a: number, b: number): boolean => {
    const [less, more] = spots.cells[a]! < spots.cells[b]! ? [a, b] : [b, a]
    return (
      spots.cells[more]! <= LIKE_AREA * spots.cells[less]! + LIKE_CELLS &&
      near(spots.long[a]!, spots.long[b]!) &&
      near(spots.short[a]!, spots.short[b]!)
    )
  }
  const within = (column: number, row: number, reach: number, visit: (k: number, far: number) => boolean): boolean => {
    for (let r = Math.max(0, Math.floor((row - reach) / SIDE)); r <= Math.floor((row + reach) / SIDE); r++)
      for (let c = Math.max(0, Math.floor((column - reach) / SIDE)); c <= Math.floor((column + reach) / SIDE); c++)
        for (const k of squares.get(key(c, r)) ?? []) {
          const far = Math.hypot(spots.column[k]! - column, spots.row[k]! - row)
          if (far <= reach && visit(k, far)) return true
        }
    return false
  }
  return {
    inRow(i, reach) {
      const x = spots.column[i]!
      const y = spots.row[i]!
      const found: { k: number; far: number }[] = []
      within(x, y, reach, (k, far) => {
        if (k !== i && regular[k] === 0 && alike(i, k)) found.push({ k, far })
        return false
      })
      found.sort((a, b) => a.far - b.far)
      return found.slice(0, TRIED).some(({ k, far }) => {
        const vx = spots.column[k]! - x
        const vy = spots.row[k]! - y
        const at = (times: number) =>
          within(
            x + times * vx,
            y + times * vy,
            Math.abs(times) * OFF_ROW * far + OFF_ROW_PX,
            other => other !== i && regular[other] === 0 && alike(i, other),
          )
        let together = 2
        for (let times = 2; together < ROW && at(times); times++) together++
        for (let times = -1; together < ROW && at(times); times--) together++
        return together >= ROW
      })
    },
    company(i, reach) {
      let count = 0
      within(spots.column[i]!, spots.row[i]!, reach, k => {
        if (k !== i && regular[k] === 0 && alike(i, k)) count++
        return false
      })
      return count
    },
    crowd(i, reach) {
      let count = 0
      within(spots.column[i]!, spots.row[i]!, reach, k => {
        if (k !== i && spots.cells[k]! >= CROWD_AREA * spots.cells[i]!) count++
        return false
      })
      return count
    },
  }
}

function near(a: number, b: number): boolean {
  return a <= LIKE_AXIS * b && b <= LIKE_AXIS * a
}
