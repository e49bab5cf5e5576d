import { normalCdf } from '../imaging/normal.js'
import { layout, reusedLoops } from '../kernels/profile-loops.js'
import type { InkEdge } from './ink-edge.js'

/** The film's light is tabulated this finely, parts of sigma; linear steps are then good to 4e-5 of the change. */
const STEPS_A_SIGMA = 50
/** Beyond this many sigma the ink edge is flat to a part in 10^13. */
const FLAT_SIGMAS = 7.5
/** Share of the ink at each entry of that table: the same for every edge. */
const INK_SHARES = Float64Array.from({ length: 2 * FLAT_SIGMAS * STEPS_A_SIGMA + 1 }, (_, i) =>
  normalCdf(FLAT_SIGMAS - i / STEPS_A_SIGMA),
)

/** A profile that a model is held against. */
export interface ProfileToFit {
  /** um along the normal. */
  readonly distance: Float64Array
  readonly light: Float64Array
  /** Standard error of each light. */
  readonly error: Float64Array
}

/** Place of the edge, sigma (both um) and clear light. */
export type EdgeParameters = readonly [place: number, sigma: number, clear: number]

/** Ink edges as a scanner shows them at the distances of one profile. */
export interface SeenEdge {
  /**
   * Light at each distance: the film's light convolved with the line spread.
   * @param wider the spread's own width is multiplied by it
   */
  light(ink: InkEdge, place: number, wider?: number): Float64Array
  /** Sum of squared departures from the profile, each divided by its standard error. */
  chiSquare(ink: InkEdge, place: number): number
  /**
   * J'J and J'r of those departures. The model is proportional to the clear light; place and sigma go by central differences.
   * @param inkOf the edge for given parameters
   * @param steps for place and sigma, um
   */
  normal(
    inkOf: (parameters: EdgeParameters) => InkEdge,
    parameters: EdgeParameters,
    steps: readonly [number, number],
  ): { readonly squares: Float64Array; readonly gradient: Float64Array }
}

const loopsOf = reusedLoops()

/**
 * Good until the next one is asked for, which takes its place.
 * @param spread the scanner's line spread as nodes, um and shares
 */
export function seenEdge(
  spread: { readonly offsets: Float64Array; readonly weights: Float64Array },
  profile: ProfileToFit,
): SeenEdge {
  const n = profile.distance.length
  const nodes = spread.offsets.length
  const size = INK_SHARES.length
  const places = layout()
  const at = {
    shares: places.f64(size),
    film: places.f64(size + 1),
    offsets: places.f64(nodes),
    weights: places.f64(nodes),
    distance: places.f64(n),
    seen: places.f64(n),
    errors: places.f64(n),
    light: places.f64(n),
    up: places.f64(2 * n),
    down: places.f64(2 * n),
    sums: places.f64(12),
  }
  const loops = loopsOf(places.end())
  const view = (from: number, length: number) => new Float64Array(loops.memory, from, length)
  view(at.shares, size).set(INK_SHARES)
  view(at.weights, nodes).set(spread.weights)
  view(at.distance, n).set(profile.distance)
  view(at.seen, n).set(profile.light)
  view(at.errors, n).set(profile.error)
  const offsets = view(at.offsets, nodes)
  offsets.set(spread.offsets)
  const into = ({ clear, net, sigma }: InkEdge, place: number, where: number) => {
    const { shares, film, weights, distance } = at
    const [flat, decay, step] = [FLAT_SIGMAS * STEPS_A_SIGMA, -net * Math.LN10, sigma / STEPS_A_SIGMA]
    loops.seenLight(shares, size, flat, clear, decay, step, at.offsets, weights, nodes, distance, n, place, film, where)
  }
  return {
    light(ink, place, wider = 1) {
      offsets.set(spread.offsets.map(offset => offset * wider))
      into(ink, place, at.light)
      offsets.set(spread.offsets)
      return view(at.light, n).slice()
    },
    chiSquare(ink, place) {
      into(ink, place, at.light)
      return loops.squaredDepartures(at.light, at.seen, at.errors, n)
    },
    normal(inkOf, [place, sigma, clear], [moved, wider]) {
      const put = (p: number, s: number, where: number) => into(inkOf([p, s, clear]), p, where)
      put(place + moved, sigma, at.up)
      put(place - moved, sigma, at.down)
      put(place, sigma + wider, at.up + 8 * n)
      put(place, sigma - wider, at.down + 8 * n)
      put(place, sigma, at.light)
      loops.normalEquations(at.light, at.seen, at.errors, n, at.up, at.down, 2 * moved, 2 * wider, clear, at.sums)
      return { squares: view(at.sums, 9).slice(), gradient: view(at.sums + 72, 3).slice() }
    },
  }
}
