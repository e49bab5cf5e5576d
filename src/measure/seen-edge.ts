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
  /** Pixels in each bin. */
  readonly count: Float64Array
  readonly clear: number
  readonly dark: number
  /** Standard deviation of one pixel on either plateau. */
  readonly clearNoise: number
  readonly darkNoise: number
}

/** A model of an edge: its ink, where it lies (um), and how much wider than told the spread is. */
export interface ModelEdge {
  readonly ink: InkEdge
  readonly place: number
  readonly wider?: number
}

/** Place of the edge, sigma (both um) and clear light. */
export type EdgeParameters = readonly [place: number, sigma: number, clear: number]

/** Ink edges as a scanner shows them at the distances of one profile. */
export interface SeenEdge {
  /** Light at each distance: the film's light convolved with the line spread. */
  light(model: ModelEdge): Float64Array
  /**
   * What a parameter of a fit answers to the light of each bin, `(J'WJ)^-1 J'W`.
   * @param slopes for each parameter, its element of that row of the covariance, and two models `step` apart
   */
  response(
    slopes: readonly {
      readonly share: number
      readonly up: ModelEdge
      readonly down: ModelEdge
      readonly step: number
    }[],
  ): Float64Array
  /** Sum over the bins of the last response times what one model shows more than another. */
  answer(more: ModelEdge, less: ModelEdge): number
  /** Greatest departure of a model's light from the profile over `bins` neighbours, less `sigmas` standard errors of their noise. */
  misfit(model: ModelEdge, bins: number, sigmas: number): number
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
 * @param floor departures that are the binning's own and no noise, as light
 */
export function seenEdge(
  spread: { readonly offsets: Float64Array; readonly weights: Float64Array },
  profile: ProfileToFit,
  floor: number,
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
    counts: places.f64(n),
    response: places.f64(n),
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
  view(at.counts, n).set(profile.count)
  const { clear, dark, clearNoise, darkNoise } = profile
  const change = clear - dark
  loops.binErrors(at.seen, at.counts, n, dark, change, darkNoise, clearNoise, floor, at.errors)
  const offsets = view(at.offsets, nodes)
  offsets.set(spread.offsets)
  const into = ({ clear, net, sigma }: InkEdge, place: number, where: number) => {
    const { shares, film, weights, distance } = at
    const [flat, decay, step] = [FLAT_SIGMAS * STEPS_A_SIGMA, -net * Math.LN10, sigma / STEPS_A_SIGMA]
    loops.seenLight(shares, size, flat, clear, decay, step, at.offsets, weights, nodes, distance, n, place, film, where)
  }
  const put = ({ ink, place, wider = 1 }: ModelEdge, where: number) => {
    if (wider !== 1) offsets.set(spread.offsets.map(offset => offset * wider))
    into(ink, place, where)
    if (wider !== 1) offsets.set(spread.offsets)
  }
  return {
    light(model) {
      put(model, at.light)
      return view(at.light, n).slice()
    },
    response(slopes) {
      view(at.response, n).fill(0)
      for (const { share, up, down, step } of slopes) {
        put(up, at.up)
        put(down, at.down)
        loops.addDifference(at.up, at.down, n, share / step, at.response)
      }
      loops.overVariance(at.response, at.errors, n)
      return view(at.response, n).slice()
    },
    answer(more, less) {
      put(more, at.up)
      put(less, at.down)
      return loops.timesDifference(at.response, at.up, at.down, n)
    },
    misfit(model, bins, sigmas) {
      put(model, at.light)
      const { light, seen, counts } = at
      return loops.misfitOf(light, seen, counts, n, bins, dark, change, darkNoise, clearNoise, sigmas)
    },
    chiSquare(ink, place) {
      into(ink, place, at.light)
      return loops.squaredDepartures(at.light, at.seen, at.errors, n)
    },
    normal(inkOf, [place, sigma, clear], [moved, wider]) {
      const of = (p: number, s: number, where: number) => into(inkOf([p, s, clear]), p, where)
      of(place + moved, sigma, at.up)
      of(place - moved, sigma, at.down)
      of(place, sigma + wider, at.up + 8 * n)
      of(place, sigma - wider, at.down + 8 * n)
      of(place, sigma, at.light)
      loops.normalEquations(at.light, at.seen, at.errors, n, at.up, at.down, 2 * moved, 2 * wider, clear, at.sums)
      return { squares: view(at.sums, 9).slice(), gradient: view(at.sums + 72, 3).slice() }
    },
  }
}
