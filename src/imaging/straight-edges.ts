import { memoryPlan } from '../kernels/compiled-loops.js'
import { placeLoops } from '../kernels/place-loops.js'
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

/** Where scanned lines cross from dark to clear or back, line by line and along each. */
interface Crossings {
  readonly count: number
  /** Position along the scanned line, in blocks (block centres are whole numbers). */
  readonly at: Float64Array
  /** Index of the scanned line, blocks. */
  readonly line: Int32Array
  /** 1: what comes after is clear. */
  readonly clearAfter: Uint8Array
  /** Widths of both plateaus, blocks. */
  readonly clear: Int32Array
  readonly dark: Int32Array
}

/** A run may leave its straight line by this much, in blocks, before it is split. A block is some 0.17 mm, a crossing is good to a tenth. */
const STRAIGHT_WITHIN_BLOCKS = 0.35

/**
 * Straight boundaries between areas labelled dark and clear.
 * The place of each crossing comes from the light summed across it (an area, so blur does not move it), lines are scanned
 * in both directions, crossings linked, chains split until straight.
 * @param labels rows x columns of the overview
 * @param kinds which labels are dark and clear; all others are neither
 * @returns longest first
 */
export function findStraightEdges(
  overview: BlockOverview,
  labels: Uint8Array,
  options: StraightEdgeOptions,
  kinds: EdgeKinds = { dark: DARK, clear: CLEAR },
): StraightEdge[] {
  if (labels.length !== overview.columns * overview.rows)
    throw new RangeError(`labels must have ${overview.columns * overview.rows} entries; got ${labels.length}`)
  const plateaus = {
    least: Math.max(1, Math.floor(options.leastPlateauPx / overview.blockPx)),
    gap: Math.max(1, Math.ceil(options.widestGapPx / overview.blockPx)),
  }
  // No run of fewer lines is long enough, however it slants.
  const leastLines = options.leastLengthPx / overview.blockPx / Math.SQRT2
  const found: StraightEdge[] = []
  for (const direction of ['across', 'along'] as const) {
    const meetings = (direction === 'across' ? rowMeetings : columnMeetings)(overview, labels, kinds, plateaus)
    const crossings = placedCrossings(overview, direction, meetings)
    for (const chain of linkCrossings(crossings, leastLines))
      for (const run of splitStraight(crossings, chain, leastLines)) {
        const edge = toEdge(overview, crossings, run, direction, options)
        if (edge !== null) found.push(edge)
      }
  }
  return found.sort((a, b) => b.lengthPx - a.lengthPx)
}

/** Labels of what an edge runs between. */
interface EdgeKinds {
  readonly dark: number
  readonly clear: number
}

/** Least width of a plateau and widest gap between two, blocks. */
interface Plateaus {
  readonly least: number
  readonly gap: number
}

/** Rows are handed to the compiled loops so many at a time. */
const PIECE_ROWS = 32
/** What the loops tell of two runs that meet: line, whether the first is dark, where the first begins and ends, where the second does. */
const MEETING = 6
const MEETING_BYTES = 4 * MEETING
const DOWN = 5

type GridSize = Pick<BlockOverview, 'columns' | 'rows'>

/** Where dark and clear runs meet along the rows. */
function rowMeetings(
  { columns, rows }: GridSize,
  labels: Uint8Array,
  { dark, clear }: EdgeKinds,
  { least, gap }: Plateaus,
): Int32Array {
  const plan = memoryPlan()
  const labelsAt = plan.take(columns * PIECE_ROWS)
  const intoAt = plan.take(MEETING_BYTES * PIECE_ROWS * (Math.floor(columns / least) + 1))
  const loops = placeLoops(plan.end())
  const all: Int32Array[] = []
  for (let row = 0; row < rows; row += PIECE_ROWS) {
    const piece = labels.subarray(row * columns, (row + PIECE_ROWS) * columns)
    new Uint8Array(loops.memory, labelsAt, piece.length).set(piece)
    const taken = piece.length / columns
    const count = loops.rowMeetings(labelsAt, columns, taken, row, dark, clear, least, gap, intoAt)
    if (count > 0) all.push(new Int32Array(loops.memory, intoAt, MEETING * count).slice())
  }
  return joined(all)
}

/** Where dark and clear runs meet down the columns: columns are followed row by row, so that no page is turned over. */
function columnMeetings(
  { columns, rows }: GridSize,
  labels: Uint8Array,
  { dark, clear }: EdgeKinds,
  { least, gap }: Plateaus,
): Int32Array {
  const plan = memoryPlan()
  const room = 4 * columns
  const labelsAt = plan.take(columns * (PIECE_ROWS + 1))
  const stateAt = plan.take(4 * DOWN * columns)
  const intoAt = plan.take(MEETING_BYTES * room)
  const takenAt = plan.take(4)
  const loops = placeLoops(plan.end())
  const state = new Int32Array(loops.memory, stateAt, DOWN * columns)
  for (let c = 0; c < columns; c++) state.set([labels[c]!, 0, -1, 0, 0], DOWN * c)
  const told = [dark, clear, least, gap, stateAt, intoAt] as const
  const all: Int32Array[] = []
  const keep = (count: number) => {
    if (count > 0) all.push(new Int32Array(loops.memory, intoAt, MEETING * count).slice())
  }
  for (let row = 1; row < rows; ) {
    const piece = labels.subarray((row - 1) * columns, (row + PIECE_ROWS) * columns)
    new Uint8Array(loops.memory, labelsAt, piece.length).set(piece)
    keep(loops.columnMeetings(labelsAt, columns, piece.length / columns - 1, row, ...told, room, takenAt))
    row += new Int32Array(loops.memory, takenAt, 1)[0]!
  }
  keep(loops.endColumns(columns, rows, ...told))
  return byLine(joined(all), columns)
}

function joined(pieces: readonly Int32Array[]): Int32Array {
  const all = new Int32Array(pieces.reduce((sum, piece) => sum + piece.length, 0))
  let at = 0
  for (const piece of pieces) {
    all.set(piece, at)
    at += piece.length
  }
  return all
}

/** Meetings line by line, those of one line as they came. */
function byLine(meetings: Int32Array, lines: number): Int32Array {
  const next = new Int32Array(lines + 1)
  for (let at = 0; at < meetings.length; at += MEETING) next[meetings[at]! + 1]!++
  for (let line = 0; line < lines; line++) next[line + 1]! += next[line]!
  const sorted = new Int32Array(meetings.length)
  for (let at = 0; at < meetings.length; at += MEETING) {
    const to = MEETING * next[meetings[at]!]!++
    for (let k = 0; k < MEETING; k++) sorted[to + k] = meetings[at + k]!
  }
  return sorted
}

function placedCrossings(
  { columns, light }: BlockOverview,
  direction: 'across' | 'along',
  meetings: Int32Array,
): Crossings {
  const step = direction === 'across' ? 1 : columns
  const jump = direction === 'across' ? columns : 1
  const most = meetings.length / MEETING
  const found = {
    at: new Float64Array(most),
    line: new Int32Array(most),
    clearAfter: new Uint8Array(most),
    clear: new Int32Array(most),
    dark: new Int32Array(most),
  }
  let count = 0
  for (let k = 0; k < meetings.length; k += MEETING) {
    const line = meetings[k]!
    const [start, end, from, to] = [meetings[k + 2]!, meetings[k + 3]!, meetings[k + 4]!, meetings[k + 5]!]
    const at = crossingAt(light, line * jump, step, start, end, from, to)
    if (Number.isNaN(at)) continue
    const darkFirst = meetings[k + 1] === 1
    found.at[count] = at
    found.line[count] = line
    found.clearAfter[count] = darkFirst ? 1 : 0
    found.clear[count] = darkFirst ? to - from : end - start
    found.dark[count] = darkFirst ? end - start : to - from
    count++
  }
  return { count, ...found }
}

/** Where light changes between two runs along a line, blocks; NaN where it does not. */
function crossingAt(
  light: Float32Array,
  first: number,
  step: number,
  start: number,
  end: number,
  from: number,
  to: number,
): number {
  // Plateau means from blocks one away from the edge, at most five of them.
  const left = meanLight(light, first, step, Math.max(start, end - 6), Math.max(start + 1, end - 1))
  const right = meanLight(light, first, step, Math.min(to - 1, from + 1), Math.min(to, from + 6))
  const change = right - left
  if (!(Math.abs(change) > 0)) return Number.NaN
  let area = 0
  const near = Math.max(start, end - 3)
  const far = Math.min(to, from + 3)
  for (let i = near; i < far; i++) area += (right - light[first + i * step]!) / change
  // `area` blocks counted from the first one's near side belong to the left plateau.
  return near - 0.5 + area
}

function meanLight(light: Float32Array, first: number, step: number, from: number, to: number): number {
  let sum = 0
  for (let i = from; i < to; i++) sum += light[first + i * step]!
  return sum / (to - from)
}

/** Numbers of the crossings of one chain, line by line. */
type Chain = Int32Array

/** Once a chain has four crossings the next one lies this near to where it is heading, blocks. */
const CHAIN_WITHIN_BLOCKS = 0.7

/**
 * Chains of crossings on neighbouring lines that lie within one block and a half of where the chain is heading; those that cross too few lines
 * to hold a run are left out.
 */
function linkCrossings({ count, at, line, clearAfter }: Crossings, leastLines: number): Chain[] {
  const plan = memoryPlan()
  const placesAt = plan.take(8 * count)
  const linesAt = plan.take(4 * count)
  const sidesAt = plan.take(count)
  const beforeAt = plan.take(4 * count)
  const lengthsAt = plan.take(4 * count)
  const openAt = plan.take(4 * count)
  const nextAt = plan.take(4 * count)
  const endsAt = plan.take(4 * count)
  const loops = placeLoops(plan.end())
  const { memory } = loops
  new Float64Array(memory, placesAt, count).set(at.subarray(0, count))
  new Int32Array(memory, linesAt, count).set(line.subarray(0, count))
  new Uint8Array(memory, sidesAt, count).set(clearAfter.subarray(0, count))
  const told = [beforeAt, lengthsAt, openAt, nextAt, endsAt] as const
  const linked = loops.linkChains(placesAt, linesAt, sidesAt, count, CHAIN_WITHIN_BLOCKS, ...told)
  const before = new Int32Array(memory, beforeAt, count)
  const lengths = new Int32Array(memory, lengthsAt, count)
  const chains: Chain[] = []
  for (const last of new Int32Array(memory, endsAt, linked)) {
    const length = lengths[last]!
    if (length < 3 || length - 1 < leastLines) continue
    const chain = new Int32Array(length)
    for (let k = last, i = length - 1; k >= 0; k = before[k]!, i--) chain[i] = k
    chains.push(chain)
  }
  return chains
}

function splitStraight(crossings: Crossings, chain: Chain, leastLines: number): Chain[] {
  const { at: place, line } = crossings
  const end = chain.length - 1
  if (chain.length < 3 || line[chain[end]!]! - line[chain[0]!]! < leastLines) return []
  const { slope, offset } = lineThrough(crossings, chain)
  let worst = 0
  let at = 0
  for (let i = 0; i <= end; i++) {
    const off = Math.abs(place[chain[i]!]! - (offset + slope * line[chain[i]!]!))
    if (off > worst) {
      worst = off
      at = i
    }
  }
  if (worst <= STRAIGHT_WITHIN_BLOCKS) return [chain]
  // Split at the point farthest from the chord, as Douglas and Peucker do, so that corners end runs.
  const first = chain[0]!
  const last = chain[end]!
  const chord = (place[last]! - place[first]!) / Math.max(1, line[last]! - line[first]!)
  let farthest = 0
  for (let i = 1; i < end; i++) {
    const off = Math.abs(place[chain[i]!]! - (place[first]! + chord * (line[chain[i]!]! - line[first]!)))
    if (off > farthest) {
      farthest = off
      at = i
    }
  }
  at = Math.min(Math.max(at, 1), chain.length - 2)
  return [
    ...splitStraight(crossings, chain.subarray(0, at), leastLines),
    ...splitStraight(crossings, chain.subarray(at + 1), leastLines),
  ]
}

function lineThrough({ at, line }: Crossings, chain: Chain): { slope: number; offset: number } {
  let sl = 0
  let sa = 0
  for (let i = 0; i < chain.length; i++) {
    sl += line[chain[i]!]!
    sa += at[chain[i]!]!
  }
  const ml = sl / chain.length
  const ma = sa / chain.length
  let sll = 0
  let sla = 0
  for (let i = 0; i < chain.length; i++) {
    const dl = line[chain[i]!]! - ml
    sll += dl ** 2
    sla += dl * (at[chain[i]!]! - ma)
  }
  const slope = sll > 0 ? sla / sll : 0
  return { slope, offset: ma - slope * ml }
}

function toEdge(
  overview: BlockOverview,
  crossings: Crossings,
  run: Chain,
  direction: 'across' | 'along',
  options: StraightEdgeOptions,
): StraightEdge | null {
  const { slope, offset } = lineThrough(crossings, run)
  // An edge past 45 degrees belongs to the other direction's scan.
  if (!(Math.abs(slope) <= 1)) return null
  const trim = options.trimPx / overview.blockPx / Math.hypot(1, slope)
  const first = crossings.line[run[0]!]! + trim
  const last = crossings.line[run.at(-1)!]! - trim
  const lengthPx = (last - first) * Math.hypot(1, slope) * overview.blockPx
  if (!(lengthPx >= options.leastLengthPx)) return null
  const point = (line: number): PixelPoint => {
    const at = blockCentre(overview, offset + slope * line)
    const on = blockCentre(overview, line)
    return direction === 'across' ? { column: at, row: on } : { column: on, row: at }
  }
  // The tenth-smallest plateau, not the least: one speck beside a long edge does not narrow it all.
  const low = (widths: Int32Array) => run.map(k => widths[k]!).sort()[Math.floor(run.length / 10)]!
  return {
    from: point(first),
    to: point(last),
    direction,
    clearSide: crossings.clearAfter[run[0]!] === 1 ? 'after' : 'before',
    lengthPx,
    clearPx: low(crossings.clear) * overview.blockPx,
    darkPx: low(crossings.dark) * overview.blockPx,
  }
}
