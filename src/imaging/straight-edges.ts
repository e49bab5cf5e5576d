import type { PixelPoint } from '../model/geometry.js'
import type { BlockOverview } from './block-overview.js'
import { blockCentre } from './block-overview.js'

/** Labels of the blocks: what a straight edge runs between. */
export const NEITHER = 0
export const DARK = 1
export const CLEAR = 2

/** A straight run between a dark and a clear area, found on the overview; good to about a tenth of a block. */
export interface StraightEdge {
  readonly from: PixelPoint
  readonly to: PixelPoint
  /** `across`: the edge's normal lies nearer to a row (the edge runs down the page). */
  readonly direction: 'across' | 'along'
  /** Which side of the run is clear, looking along growing column (`across`) or row (`along`). */
  readonly clearSide: 'after' | 'before'
  /** Length in pixels. */
  readonly lengthPx: number
  /** Least width of the plateaus beside the run, pixels, measured along a row (`across`) or column (`along`). */
  readonly clearPx: number
  readonly darkPx: number
}

export interface StraightEdgeOptions {
  /** Least length of a run, pixels, after its ends were trimmed. */
  readonly leastLengthPx: number
  /** Cut off at both ends, pixels: corners are rounded by bleed and optics. */
  readonly trimPx: number
  /** Least width of the plateau on each side, pixels. */
  readonly leastPlateauPx: number
  /** Widest gap between the plateaus that still counts as one edge, pixels. */
  readonly widestGapPx: number
}

interface Crossing {
  /** Position along the scanned line, in blocks (block centres are whole numbers). */
  readonly at: number
  /** Index of the scanned line, blocks. */
  readonly line: number
  readonly clearSide: 'after' | 'before'
  readonly clear: number
  readonly dark: number
}

/** A run may leave its straight line by this much, in blocks, before it is split. A block is some 0.17 mm, a crossing is good to a tenth. */
const STRAIGHT_WITHIN_BLOCKS = 0.35

/**
 * Straight boundaries between areas labelled DARK and CLEAR.
 * The place of each crossing comes from the light summed across it (an area, so blur does not move it), lines are scanned
 * in both directions, crossings linked, chains split until straight.
 * @param labels rows x columns of the overview: DARK, CLEAR or NEITHER
 * @returns longest first
 */
export function findStraightEdges(
  overview: BlockOverview,
  labels: Uint8Array,
  options: StraightEdgeOptions,
): StraightEdge[] {
  if (labels.length !== overview.columns * overview.rows)
    throw new RangeError(`labels must have ${overview.columns * overview.rows} entries; got ${labels.length}`)
  const found: StraightEdge[] = []
  for (const direction of ['across', 'along'] as const) {
    for (const chain of linkCrossings(crossings(overview, labels, direction, options)))
      for (const run of splitStraight(chain)) {
        const edge = toEdge(overview, run, direction, options)
        if (edge !== null) found.push(edge)
      }
  }
  return found.sort((a, b) => b.lengthPx - a.lengthPx)
}

function crossings(
  overview: BlockOverview,
  labels: Uint8Array,
  direction: 'across' | 'along',
  options: StraightEdgeOptions,
): Crossing[][] {
  const lines = direction === 'across' ? overview.rows : overview.columns
  const length = direction === 'across' ? overview.columns : overview.rows
  const step = direction === 'across' ? 1 : overview.columns
  const jump = direction === 'across' ? overview.columns : 1
  // Lines are gone through in the order they lie in memory.
  const byLine = direction === 'across' ? labels : transposed(labels, overview.columns, overview.rows)
  const leastPlateau = Math.max(1, Math.floor(options.leastPlateauPx / overview.blockPx))
  const widestGap = Math.max(1, Math.ceil(options.widestGapPx / overview.blockPx))
  const all: Crossing[][] = []
  for (let line = 0; line < lines; line++) {
    const here: Crossing[] = []
    let previous = { label: NEITHER, start: 0, end: 0 }
    const first = line * length
    for (let start = 0, i = 0; start < length; start = i) {
      const label = byLine[first + start]!
      i = start + 1
      while (i < length && byLine[first + i] === label) i++
      if (label !== NEITHER) {
        const run = { label, start, end: i }
        const gap = run.start - previous.end
        const wide = (r: { start: number; end: number }) => r.end - r.start
        if (
          previous.label !== NEITHER &&
          previous.label !== label &&
          gap <= widestGap &&
          wide(previous) >= leastPlateau &&
          wide(run) >= leastPlateau
        ) {
          const crossing = place(overview, line, jump, step, previous, run)
          if (crossing !== null) here.push(crossing)
        }
        previous = run
      }
    }
    all.push(here)
  }
  return all
}

/** Side of the squares that a grid is turned over by, cells: so that rows read and rows written stay near the processor. */
const SQUARE = 64

/** Rows as columns. */
function transposed(grid: Uint8Array, columns: number, rows: number): Uint8Array {
  const turned = new Uint8Array(grid.length)
  for (let top = 0; top < rows; top += SQUARE)
    for (let left = 0; left < columns; left += SQUARE) {
      const bottom = Math.min(rows, top + SQUARE)
      const right = Math.min(columns, left + SQUARE)
      for (let r = top; r < bottom; r++)
        for (let c = left; c < right; c++) turned[c * rows + r] = grid[r * columns + c]!
    }
  return turned
}

function place(
  overview: BlockOverview,
  line: number,
  jump: number,
  step: number,
  before: { label: number; start: number; end: number },
  after: { start: number; end: number },
): Crossing | null {
  const light = (i: number) => overview.light[line * jump + i * step]!
  const mean = (from: number, to: number) => {
    let sum = 0
    for (let i = from; i < to; i++) sum += light(i)
    return sum / (to - from)
  }
  // Plateau means from blocks one away from the edge, at most five of them.
  const left = mean(Math.max(before.start, before.end - 6), Math.max(before.start + 1, before.end - 1))
  const right = mean(Math.min(after.end - 1, after.start + 1), Math.min(after.end, after.start + 6))
  const change = right - left
  if (!(Math.abs(change) > 0)) return null
  let area = 0
  const from = Math.max(before.start, before.end - 3)
  const to = Math.min(after.end, after.start + 3)
  for (let i = from; i < to; i++) area += (right - light(i)) / change
  // `area` blocks counted from the first one's near side belong to the left plateau.
  return {
    at: from - 0.5 + area,
    line,
    clearSide: before.label === DARK ? 'after' : 'before',
    clear: before.label === DARK ? after.end - after.start : before.end - before.start,
    dark: before.label === DARK ? before.end - before.start : after.end - after.start,
  }
}

/** Chains of crossings on neighbouring lines that lie within one block and a half of where the chain is heading. */
function linkCrossings(all: readonly (readonly Crossing[])[]): Crossing[][] {
  const done: Crossing[][] = []
  let open: Crossing[][] = []
  for (const here of all) {
    const next: Crossing[][] = []
    const taken = new Set<Crossing>()
    for (const chain of open) {
      const last = chain[chain.length - 1]!
      const before = chain.length >= 4 ? chain[chain.length - 4]! : undefined
      const slope = before === undefined ? 0 : (last.at - before.at) / (last.line - before.line)
      const reach = before === undefined ? 1.5 : 0.7
      let best: Crossing | undefined
      for (const crossing of here) {
        if (taken.has(crossing) || crossing.clearSide !== last.clearSide) continue
        const off = Math.abs(crossing.at - (last.at + slope))
        if (off <= reach && (best === undefined || off < Math.abs(best.at - (last.at + slope)))) best = crossing
      }
      if (best === undefined) done.push(chain)
      else {
        taken.add(best)
        chain.push(best)
        next.push(chain)
      }
    }
    for (const crossing of here) if (!taken.has(crossing)) next.push([crossing])
    open = next
  }
  return [...done, ...open].filter(chain => chain.length >= 3)
}

function splitStraight(chain: readonly Crossing[]): Crossing[][] {
  if (chain.length < 3) return []
  const { slope, offset } = lineThrough(chain)
  let worst = 0
  let at = 0
  for (let i = 0; i < chain.length; i++) {
    const off = Math.abs(chain[i]!.at - (offset + slope * chain[i]!.line))
    if (off > worst) {
      worst = off
      at = i
    }
  }
  if (worst <= STRAIGHT_WITHIN_BLOCKS) return [[...chain]]
  // Split at the point farthest from the chord, as Douglas and Peucker do, so that corners end runs.
  const first = chain[0]!
  const last = chain[chain.length - 1]!
  const chord = (last.at - first.at) / Math.max(1, last.line - first.line)
  let farthest = 0
  for (let i = 1; i < chain.length - 1; i++) {
    const off = Math.abs(chain[i]!.at - (first.at + chord * (chain[i]!.line - first.line)))
    if (off > farthest) {
      farthest = off
      at = i
    }
  }
  at = Math.min(Math.max(at, 1), chain.length - 2)
  return [...splitStraight(chain.slice(0, at)), ...splitStraight(chain.slice(at + 1))]
}

function lineThrough(chain: readonly Crossing[]): { slope: number; offset: number } {
  let sl = 0
  let sa = 0
  for (const c of chain) {
    sl += c.line
    sa += c.at
  }
  const ml = sl / chain.length
  const ma = sa / chain.length
  let sll = 0
  let sla = 0
  for (const c of chain) {
    sll += (c.line - ml) ** 2
    sla += (c.line - ml) * (c.at - ma)
  }
  const slope = sll > 0 ? sla / sll : 0
  return { slope, offset: ma - slope * ml }
}

function toEdge(
  overview: BlockOverview,
  run: readonly Crossing[],
  direction: 'across' | 'along',
  options: StraightEdgeOptions,
): StraightEdge | null {
  const { slope, offset } = lineThrough(run)
  // An edge past 45 degrees belongs to the other direction's scan.
  if (!(Math.abs(slope) <= 1)) return null
  const trim = options.trimPx / overview.blockPx / Math.hypot(1, slope)
  const first = run[0]!.line + trim
  const last = run[run.length - 1]!.line - trim
  const lengthPx = (last - first) * Math.hypot(1, slope) * overview.blockPx
  if (!(lengthPx >= options.leastLengthPx)) return null
  const point = (line: number): PixelPoint => {
    const at = blockCentre(overview, offset + slope * line)
    const on = blockCentre(overview, line)
    return direction === 'across' ? { column: at, row: on } : { column: on, row: at }
  }
  // The tenth-smallest plateau, not the least: one speck beside a long edge does not narrow it all.
  const low = (values: number[]) => values.sort((a, b) => a - b)[Math.floor(values.length / 10)]!
  return {
    from: point(first),
    to: point(last),
    direction,
    clearSide: run[0]!.clearSide,
    lengthPx,
    clearPx: low(run.map(c => c.clear)) * overview.blockPx,
    darkPx: low(run.map(c => c.dark)) * overview.blockPx,
  }
}
