import type { GridPicture } from '../imaging/find-placement.js'
import type { Stroke } from '../measure/measure-stroke.js'

/** Ink from which a block belongs to a line, and up to which it belongs to a gap. */
const LINE_FROM = 0.18
const GAP_TO = 0.82
/** Blocks inside a run (not at its ends) hold at least this much ink, or for a gap at most the rest; else it is a tint. */
const CORE = 0.88
/** A run of which no block holds this much is too faint to measure. */
const LEAST_PEAK = 0.3
/** Least and greatest length of a piece: shorter ones tell little, longer ones tell no more. */
const LEAST_LENGTH_UM = 900
const MOST_LENGTH_UM = 2600
/** Strokes wider than this are two edges far apart. */
const WIDEST_UM = 16_000
/** Room beside a stroke without which its neighbours would be measured with it. */
const LEAST_ROOM_UM = 350
/** Both edges run alike to this (tangent), and straight or evenly bent to this share of a block. */
const PARALLEL = 0.06
const STRAIGHT_BLOCKS = 0.3
/** Cut off at both ends of a stroke: corners are rounded. */
const TRIM_UM = 350

interface Run {
  readonly line: number
  /** Edges in blocks along the scanned line. */
  readonly from: number
  readonly to: number
  readonly room: number
}

/** Straight pieces of strokes and gaps of any width up to 16 mm, in both directions of the grid (slanted by up to 45 degrees). */
export function findStrokes(ink: GridPicture): Stroke[] {
  const found: Stroke[] = []
  for (const across of [true, false])
    for (const kind of ['line', 'gap'] as const)
      for (const chain of linkRuns(runsOf(ink, across, kind))) found.push(...piecesOf(chain, ink, across, kind))
  return found
}

function runsOf(ink: GridPicture, across: boolean, kind: 'line' | 'gap'): Run[][] {
  const lines = across ? ink.rows : ink.columns
  const length = across ? ink.columns : ink.rows
  const step = across ? 1 : ink.columns
  const jump = across ? ink.columns : 1
  const widest = WIDEST_UM / (across ? ink.dx : ink.dy)
  const all: Run[][] = []
  for (let line = 0; line < lines; line++) {
    const at = (i: number) => {
      const value = ink.values[line * jump + i * step]!
      return kind === 'line' ? value : 1 - value
    }
    const least = kind === 'line' ? LINE_FROM : 1 - GAP_TO
    const runs: Run[] = []
    // Where the last run ended: the room before this one begins there.
    let end = Number.NEGATIVE_INFINITY
    let before: { from: number; to: number; roomBefore: number; good: boolean } | null = null
    const close = (next: number) => {
      if (before === null) return
      const room = Math.min(before.roomBefore, next - before.to)
      if (before.good) runs.push({ line, from: before.from, to: before.to, room })
      before = null
    }
    for (let i = 0; i < length; i++) {
      if (!(at(i) >= least)) continue
      let j = i
      let peak = 0
      let area = 0
      let moment = 0
      let core = true
      while (j < length && at(j) >= least) {
        const value = Math.min(1, at(j))
        peak = Math.max(peak, value)
        area += value
        moment += value * j
        j++
      }
      for (let k = i + 2; k < j - 2; k++) if (!(at(k) >= CORE)) core = false
      const middle = moment / area
      const from = middle - area / 2
      const to = middle + area / 2
      close(from)
      // A gap that runs to the rim is no gap.
      const inside = i > 0 && j < length
      before = {
        from,
        to,
        roomBefore: end === Number.NEGATIVE_INFINITY ? i : from - end,
        good: inside && peak >= LEAST_PEAK && core && j - i <= widest,
      }
      end = to
      i = j
    }
    close(length)
    all.push(runs)
  }
  return all
}

/** Chains of runs on neighbouring lines whose two edges both go on. */
function linkRuns(all: readonly (readonly Run[])[]): Run[][] {
  const done: Run[][] = []
  let open: Run[][] = []
  for (const here of all) {
    const next: Run[][] = []
    const taken = new Set<Run>()
    for (const chain of open) {
      const last = chain.at(-1)!
      const earlier = chain.length >= 3 ? chain.at(-3)! : null
      const slope = (key: 'from' | 'to') => (earlier === null ? 0 : (last[key] - earlier[key]) / 2)
      const reach = earlier === null ? 1.2 : 0.6
      const best = here.find(
        run =>
          !taken.has(run) &&
          Math.abs(run.from - last.from - slope('from')) <= reach &&
          Math.abs(run.to - last.to - slope('to')) <= reach,
      )
      if (best === undefined) done.push(chain)
      else {
        taken.add(best)
        chain.push(best)
        next.push(chain)
      }
    }
    for (const run of here) if (!taken.has(run)) next.push([run])
    open = next
  }
  return [...done, ...open]
}

function piecesOf(chain: readonly Run[], ink: GridPicture, across: boolean, kind: 'line' | 'gap'): Stroke[] {
  const unitU = across ? ink.dx : ink.dy
  const unitV = across ? ink.dy : ink.dx
  const trim = Math.ceil(TRIM_UM / unitV)
  const short = Math.ceil(LEAST_LENGTH_UM / unitV)
  const long = Math.floor(MOST_LENGTH_UM / unitV)
  const usable = chain.slice(trim, chain.length - trim)
  const strokes: Stroke[] = []
  for (let start = 0; start + short <= usable.length; ) {
    const size = Math.min(long, usable.length - start)
    const best = straightest(usable.slice(start, start + size), Math.min(size, long), short, unitU / unitV)
    if (best !== null) {
      const { runs, from, to } = best
      const middle = (runs[0]!.line + runs.at(-1)!.line) / 2
      const slope = ((from.slope + to.slope) / 2) * (unitU / unitV)
      const cos = 1 / Math.hypot(1, slope)
      const u = (from.offset + to.offset) / 2
      const width = (to.offset - from.offset) * unitU * cos
      const room = Math.min(...runs.map(run => run.room)) * unitU * cos
      if (Math.abs(slope) <= 1 && room >= LEAST_ROOM_UM)
        strokes.push({
          kind,
          x: ink.x0 + (across ? u : middle) * ink.dx,
          y: ink.y0 + (across ? middle : u) * ink.dy,
          tx: across ? slope * cos : cos,
          ty: across ? cos : slope * cos,
          length: ((runs.length - 1) * unitV) / cos,
          width,
          room,
        })
    }
    start += size
  }
  return strokes
}

interface EdgeLine {
  readonly slope: number
  /** At the middle line. */
  readonly offset: number
  readonly worst: number
}

/** The longest piece, from all of it down to the least, whose edges are straight and parallel; of equally long ones the most parallel. */
function straightest(
  runs: readonly Run[],
  most: number,
  least: number,
  stretch: number,
): { runs: readonly Run[]; from: EdgeLine; to: EdgeLine } | null {
  for (let size = most; size >= least; size = size > least ? Math.max(least, Math.floor(size * 0.7)) : 0) {
    let best: { runs: readonly Run[]; from: EdgeLine; to: EdgeLine; apart: number } | null = null
    for (let start = 0; start + size <= runs.length; start++) {
      const piece = runs.slice(start, start + size)
      const from = lineOf(piece, 'from')
      const to = lineOf(piece, 'to')
      const apart = Math.abs(from.slope - to.slope) * stretch
      if (!(apart <= PARALLEL && from.worst <= STRAIGHT_BLOCKS && to.worst <= STRAIGHT_BLOCKS)) continue
      if (best === null || apart < best.apart) best = { runs: piece, from, to, apart }
    }
    if (best !== null) return best
  }
  return null
}

function lineOf(runs: readonly Run[], key: 'from' | 'to'): EdgeLine {
  const middle = (runs[0]!.line + runs.at(-1)!.line) / 2
  let sum = 0
  let slopes = 0
  let squares = 0
  for (const run of runs) {
    sum += run[key]
    slopes += run[key] * (run.line - middle)
    squares += (run.line - middle) ** 2
  }
  const offset = sum / runs.length
  const slope = squares > 0 ? slopes / squares : 0
  let worst = 0
  for (const run of runs) worst = Math.max(worst, Math.abs(run[key] - offset - slope * (run.line - middle)))
  return { slope, offset, worst }
}
