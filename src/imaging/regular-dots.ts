/** Places and sizes of dots, any one unit of length. */
export interface DotList {
  readonly count: number
  readonly x: Float64Array
  readonly y: Float64Array
  readonly area: Float64Array
}

/** Dots of one screen are of like size: neighbours within this ratio of area (small ones differ by where they meet the pixels). */
const LIKE_SIZE = 2.5
/** What belongs to a screen's rim may be cut or half-seen. */
const RIM_SIZE = 5
/** A dot lies within this share of the dot distance of its place on the lattice. */
const OFF_LATTICE = 0.14
/** Neighbours looked at, nearest first; on a square lattice eight lie within 1.42 dot distances. */
const NEIGHBOURS = 10
/** Dots beside a regular one within so many dot distances belong to it. */
const RIM_REACH = 1.7
/** Fewer regular dots together are chance. */
const LEAST_TOGETHER = 6

/**
 * Which dots lie on a regular lattice (a halftone screen, a pattern, leader dots) rather than by chance: a dot is regular when it and like
 * neighbours make a whole cell of a lattice (p, p + v, p + w, p + v + w) or four in a row at equal distances. Dots next to regular ones
 * belong to them.
 * @param reach greatest dot distance looked for
 * @param slack how far off its place any dot may lie, whatever the distance: what a place is told to
 * @param noRow 1 for dots that make no row: a thin line shows as beads where it meets the pixels
 * @returns 1 for regular dots, else 0
 */
export function regularDots(dots: DotList, reach: number, slack: number, noRow?: Uint8Array): Uint8Array {
  const { count, x, y, area } = dots
  const marks = new Uint8Array(count)
  if (count < LEAST_TOGETHER) return marks
  const grid = dotGrid(dots, reach)
  const near = new Int32Array(NEIGHBOURS)
  const far = new Float64Array(NEIGHBOURS)
  const pitch = new Float64Array(count)
  const at = (px: number, py: number, size: number, within: number): boolean => {
    const k = grid.nearest(px, py, within)
    return k >= 0 && alike(area[k]!, size, LIKE_SIZE)
  }
  for (let i = 0; i < count; i++) {
    const found = grid.neighbours(i, near, far, k => alike(area[k]!, area[i]!, LIKE_SIZE))
    search: for (let a = 0; a < Math.min(found, 3); a++) {
      const vx = x[near[a]!]! - x[i]!
      const vy = y[near[a]!]! - y[i]!
      const long = Math.hypot(vx, vy)
      const off = OFF_LATTICE * long + slack
      for (let b = 0; b < found; b++) {
        if (b === a) continue
        const wx = x[near[b]!]! - x[i]!
        const wy = y[near[b]!]! - y[i]!
        const wide = Math.hypot(wx, wy)
        if (wide > 1.6 * long || long > 1.6 * wide) continue
        // Nearly on one line: no cell.
        if (Math.abs(vx * wy - vy * wx) < 0.5 * long * wide) continue
        if (at(x[i]! + vx + wx, y[i]! + vy + wy, area[i]!, off)) {
          marks[i] = 1
          pitch[i] = Math.max(long, wide)
          break search
        }
      }
      const line = (k: number) => at(x[i]! + k * vx, y[i]! + k * vy, area[i]!, off)
      if (noRow?.[i] !== 1 && line(2) && (line(3) || line(-1))) {
        marks[i] = 1
        pitch[i] = long
        break
      }
    }
  }
  keepTogether(marks, pitch)
  // Twice: the rim of a turned screen may lie two dots beyond its last whole cell.
  for (let round = 0; round < 2; round++) growRim(marks, pitch)
  return marks

  function keepTogether(regular: Uint8Array, distance: Float64Array): void {
    const seen = new Uint8Array(count)
    const group: number[] = []
    for (let i = 0; i < count; i++) {
      if (regular[i] === 0 || seen[i] === 1) continue
      group.length = 0
      group.push(i)
      seen[i] = 1
      for (let g = 0; g < group.length; g++)
        grid.within(group[g]!, RIM_REACH * distance[group[g]!]!, k => {
          if (regular[k] === 0 || seen[k] === 1) return
          seen[k] = 1
          group.push(k)
        })
      if (group.length < LEAST_TOGETHER) for (const k of group) regular[k] = 0
    }
  }

  function growRim(regular: Uint8Array, distance: Float64Array): void {
    const from: number[] = []
    for (let i = 0; i < count; i++) if (regular[i] === 1) from.push(i)
    for (const i of from)
      grid.within(i, RIM_REACH * distance[i]!, k => {
        if (regular[k] === 1 || area[k]! > RIM_SIZE * area[i]!) return
        regular[k] = 1
        distance[k] = distance[i]!
      })
  }
}

function alike(a: number, b: number, ratio: number): boolean {
  return a <= ratio * b && b <= ratio * a
}

/** Dots by squares of `side`, so that neighbours are found without looking at all. */
function dotGrid({ count, x, y }: DotList, side: number) {
  let left = Number.POSITIVE_INFINITY
  let top = Number.POSITIVE_INFINITY
  let right = Number.NEGATIVE_INFINITY
  let bottom = Number.NEGATIVE_INFINITY
  for (let i = 0; i < count; i++) {
    if (x[i]! < left) left = x[i]!
    if (x[i]! > right) right = x[i]!
    if (y[i]! < top) top = y[i]!
    if (y[i]! > bottom) bottom = y[i]!
  }
  const columns = Math.floor((right - left) / side) + 1
  const rows = Math.floor((bottom - top) / side) + 1
  const cell = (px: number, py: number): number =>
    Math.floor((py - top) / side) * columns + Math.floor((px - left) / side)
  const starts = new Int32Array(columns * rows + 1)
  for (let i = 0; i < count; i++) starts[cell(x[i]!, y[i]!) + 1]!++
  for (let c = 0; c < columns * rows; c++) starts[c + 1]! += starts[c]!
  const order = new Int32Array(count)
  const filled = starts.slice(0, columns * rows)
  for (let i = 0; i < count; i++) order[filled[cell(x[i]!, y[i]!)]!++] = i

  const visit = (px: number, py: number, reach: number, see: (k: number, far2: number) => void): void => {
    const c0 = Math.max(0, Math.floor((px - reach - left) / side))
    const c1 = Math.min(columns - 1, Math.floor((px + reach - left) / side))
    const r0 = Math.max(0, Math.floor((py - reach - top) / side))
    const r1 = Math.min(rows - 1, Math.floor((py + reach - top) / side))
    for (let r = r0; r <= r1; r++) {
      const end = starts[r * columns + c1 + 1]!
      for (let s = starts[r * columns + c0]!; s < end; s++) {
        const k = order[s]!
        const far2 = (x[k]! - px) ** 2 + (y[k]! - py) ** 2
        if (far2 <= reach * reach) see(k, far2)
      }
    }
  }
  return {
    /** Up to `near.length` nearest that are `wanted`, nearest first; returns how many. */
    neighbours(i: number, near: Int32Array, far: Float64Array, wanted: (k: number) => boolean): number {
      let found = 0
      visit(x[i]!, y[i]!, side, (k, far2) => {
        if (k === i || (found === near.length && far2 >= far[found - 1]!) || !wanted(k)) return
        let to = found < near.length ? found++ : found - 1
        while (to > 0 && far[to - 1]! > far2) {
          far[to] = far[to - 1]!
          near[to] = near[to - 1]!
          to--
        }
        far[to] = far2
        near[to] = k
      })
      return found
    },
    /** Nearest dot to a place within a reach; -1 when there is none. */
    nearest(px: number, py: number, reach: number): number {
      let best = -1
      let least = Number.POSITIVE_INFINITY
      visit(px, py, reach, (k, far2) => {
        if (far2 < least) {
          least = far2
          best = k
        }
      })
      return best
    },
    within(i: number, reach: number, see: (k: number) => void): void {
      visit(x[i]!, y[i]!, reach, k => {
        if (k !== i) see(k)
      })
    },
  }
}
