import { memoryPlan } from '../kernels/compiled-loops.js'
import { type LightLoops, lightLoops } from '../kernels/light-loops.js'
import type { BlockOverview } from './block-overview.js'

/** Blocks are handed to the compiled loops so many at a time. */
const PIECE = 32_768
const CODES = 65_536

/** Light of the brightest block, at least 0. */
export function brightestBlock(light: Float32Array): number {
  const plan = memoryPlan()
  const lightAt = plan.take(4 * PIECE)
  const loops = lightLoops(plan.end())
  const piece = new Float32Array(loops.memory, lightAt, PIECE)
  let brightest = 0
  eachPiece(light.length, (from, to) => {
    piece.set(light.subarray(from, to))
    brightest = loops.greatestLight(lightAt, to - from, brightest)
  })
  return brightest
}

/**
 * Which blocks are flat: 1 where the light of least and greatest code lie no more than `within` apart, else 0.
 * @param table light of every code, 65536 entries
 */
export function flatBlocks(
  { least, greatest }: Pick<BlockOverview, 'least' | 'greatest'>,
  table: Float32Array,
  within: number,
): Uint8Array {
  const plan = memoryPlan()
  const [tableAt, leastAt, greatestAt, flatAt] = [4 * CODES, 2 * PIECE, 2 * PIECE, PIECE].map(plan.take) as Four
  const loops = lightLoops(plan.end())
  new Float32Array(loops.memory, tableAt, CODES).set(table)
  const flat = new Uint8Array(least.length)
  eachPiece(least.length, (from, to) => {
    new Uint16Array(loops.memory, leastAt, PIECE).set(least.subarray(from, to))
    new Uint16Array(loops.memory, greatestAt, PIECE).set(greatest.subarray(from, to))
    loops.flatBlocks(leastAt, greatestAt, to - from, tableAt, within, flatAt)
    flat.set(new Uint8Array(loops.memory, flatAt, to - from), from)
  })
  return flat
}

type Four = [number, number, number, number]

/** Steps of light that a bin of density is first looked up by. */
const LIGHT_STEPS = 4096

/**
 * How many flat blocks lighter than `least` have which density below the brightest: bin `round(-log10(light / brightest) / step)` cut to 0..bins,
 * found without a logarithm for each of millions of blocks.
 * @param flat 1 for the blocks that count
 */
export function densityHistogram(
  light: Float32Array,
  flat: Uint8Array,
  { least, brightest, step, bins }: Record<'least' | 'brightest' | 'step' | 'bins', number>,
): Int32Array {
  const plan = memoryPlan()
  const [firstAt, endsAt, countsAt] = [4 * (LIGHT_STEPS + 1), 8 * bins, 4 * (bins + 1)].map(plan.take) as Four
  return flatPieces(light, flat, plan, loops => {
    // Light at the dim end of each bin.
    const ends = new Float64Array(loops.memory, endsAt, bins)
    for (let k = 0; k < bins; k++) ends[k] = brightest * 10 ** (-(k + 0.5) * step)
    const first = new Int32Array(loops.memory, firstAt, LIGHT_STEPS + 1)
    for (let at = 0, bin = bins; at <= LIGHT_STEPS; at++) {
      // The brightest that falls into this step.
      while (bin > 0 && ends[bin - 1]! <= ((at + 1) / LIGHT_STEPS) * brightest) bin--
      first[at] = bin
    }
    const counts = new Int32Array(loops.memory, countsAt, bins + 1).fill(0)
    return {
      take: (lightAt, flatAt, n) =>
        loops.countDensities(lightAt, flatAt, n, least, brightest, LIGHT_STEPS, firstAt, endsAt, bins, countsAt),
      done: () => counts.slice(),
    }
  })
}

/** Sum and number of the flat blocks whose light lies between `from` and `to`, for each of several levels. */
export function lightOfLevels(
  light: Float32Array,
  flat: Uint8Array,
  from: readonly number[],
  to: readonly number[],
): { sums: Float64Array; counts: Float64Array } {
  const plan = memoryPlan()
  const levels = from.length
  const [fromAt, toAt, sumsAt, countsAt] = [from, to, from, to].map(list => plan.take(8 * list.length)) as Four
  return flatPieces(light, flat, plan, loops => {
    const list = (at: number) => new Float64Array(loops.memory, at, levels)
    list(fromAt).set(from)
    list(toAt).set(to)
    list(sumsAt).fill(0)
    list(countsAt).fill(0)
    return {
      take: (lightAt, flatAt, n) => loops.sumLevels(lightAt, flatAt, n, fromAt, toAt, levels, sumsAt, countsAt),
      done: () => ({ sums: list(sumsAt).slice(), counts: list(countsAt).slice() }),
    }
  })
}

/** Where blocks of light part, and what they are called. */
export interface LightSplit {
  /** Brighter is open light, flat or not. */
  readonly splitOpen: number
  /** Flat blocks brighter than this are base, darker than the other solid. */
  readonly leastBase: number
  readonly mostSolid: number
  /** Flat blocks darker than this are dark. */
  readonly darkBelow: number
  readonly names: { readonly open: number; readonly base: number; readonly solid: number }
}

/**
 * Labels every block by its light.
 * @param flat becomes 1 where dark, else 0: it is not needed any more, and a page of blocks is large
 * @param into labels, 0 where it is none of the names; film, 0 where open, else 1
 */
export function labelBlocks(
  light: Float32Array,
  flat: Uint8Array,
  { splitOpen, leastBase, mostSolid, darkBelow, names }: LightSplit,
  into: { readonly labels: Uint8Array; readonly film: Uint8Array },
): void {
  const { open, base, solid } = names
  const plan = memoryPlan()
  const [labelsAt, filmAt, darkAt] = [PIECE, PIECE, PIECE].map(plan.take) as Four
  flatPieces(light, flat, plan, loops => ({
    take: (lightAt, flatAt, n, from) => {
      const split = [splitOpen, leastBase, mostSolid, darkBelow] as const
      loops.labelBlocks(lightAt, flatAt, n, ...split, open, base, solid, labelsAt, filmAt, darkAt)
      const bytes = (at: number) => new Uint8Array(loops.memory, at, n)
      into.labels.set(bytes(labelsAt), from)
      into.film.set(bytes(filmAt), from)
      flat.set(bytes(darkAt), from)
    },
    done: () => undefined,
  }))
}

/** How many blocks of one label hold a pixel at full scale. */
export function clippedBlocks(labels: Uint8Array, greatest: Uint16Array, label: number): number {
  const plan = memoryPlan()
  const [labelsAt, greatestAt] = [PIECE, 2 * PIECE].map(plan.take) as Four
  const loops = lightLoops(plan.end())
  let count = 0
  eachPiece(labels.length, (from, to) => {
    new Uint8Array(loops.memory, labelsAt, PIECE).set(labels.subarray(from, to))
    new Uint16Array(loops.memory, greatestAt, PIECE).set(greatest.subarray(from, to))
    count += loops.clippedBlocks(labelsAt, greatestAt, to - from, label)
  })
  return count
}

/** Light and flat marks handed to a loop piece by piece. */
function flatPieces<Result>(
  light: Float32Array,
  flat: Uint8Array,
  plan: ReturnType<typeof memoryPlan>,
  begin: (loops: LightLoops) => {
    take(lightAt: number, flatAt: number, n: number, from: number): void
    done(): Result
  },
): Result {
  const [lightAt, flatAt] = [4 * PIECE, PIECE].map(plan.take) as Four
  const loops = lightLoops(plan.end())
  const { take, done } = begin(loops)
  const pieces = {
    light: new Float32Array(loops.memory, lightAt, PIECE),
    flat: new Uint8Array(loops.memory, flatAt, PIECE),
  }
  eachPiece(light.length, (from, to) => {
    pieces.light.set(light.subarray(from, to))
    pieces.flat.set(flat.subarray(from, to))
    take(lightAt, flatAt, to - from, from)
  })
  return done()
}

function eachPiece(n: number, piece: (from: number, to: number) => void): void {
  for (let from = 0; from < n; from += PIECE) piece(from, Math.min(n, from + PIECE))
}
