import { fitLeastSquares } from '../imaging/fit-least-squares.js'
import type { Flare, FlareReach, ResponseCurve } from '../model/calibration.js'
import { BLACK_DRIFT_CODES } from './deepest-density.js'
import { BELOW_ZERO, BLACK_PRIOR, type SeenOpen, type SeenStep } from './response-curve.js'

/** The mean code of an opaque place and the light round it at each reach. */
export interface OpaquePlace {
  readonly code: number
  readonly surround: readonly number[]
  /** Which scan it lies on: 0 is the tablet's own, whose black is the calibration's. */
  readonly view: number
}

/** What the flare is fitted to. `surround` of a step: light round it at each of `FLARE_REACHES`. */
export interface FlareQuestion {
  readonly steps: readonly (SeenStep & { readonly surround: readonly number[] })[]
  readonly open: SeenOpen | null
  readonly opaque: readonly OpaquePlace[]
  /** Response fitted without flare: where to begin. */
  readonly start: Pick<ResponseCurve, 'black' | 'gain' | 'gamma' | 'veil'>
}

/** Reaches tried, mm: from just beyond the optics to the whole bed. */
const REACHES_MM = [1.5, 2.1, 3, 4.2, 6, 8.5, 12, 17, 24, 34]
/** From here on what lies beyond the rim of the scan matters, and no scan tells it, mm. */
const BEYOND_RIM_MM = 6
/**
 * The shapes a flare may have: one that falls faster than a Gaussian is near the tent or the square, one with longer tails is the sum of a
 * narrow one and a wide. The wide ones stand twice, for what lies beyond the rim of the scan.
 */
export const FLARE_REACHES: readonly FlareReach[] = [
  ...(['gaussian', 'tent', 'square'] as const).flatMap(shape =>
    REACHES_MM.flatMap(mm =>
      (mm < BEYOND_RIM_MM ? (['rim'] as const) : (['rim', 'dark'] as const)).map(outside => ({
        shape,
        sigmaUm: 1000 * mm,
        outside,
      })),
    ),
  ),
  { shape: 'square', sigmaUm: null, outside: 'rim' },
]

/**
 * What is believed of all flare together before it is seen: a Cauchy distribution about 0 of this scale, share of open light. Its tails
 * let any amount in that the scans show, its core keeps out what they cannot tell. Published flatbeds have 0.03 to 0.1 % in all
 * (from memory), of which an opaque area in view tells most.
 */
const LEFT_PRIOR = 2e-4
const UNSEEN_PRIOR = 3e-4
/** Stray light alike everywhere, as for the response curve (one sigma). */
const VEIL_PRIOR = 3e-4
/** The formula bends a little otherwise than the scanner, D. */
const FORMULA_ERROR = 0.003
/** Open light varies over the bed by about this share. */
const OPEN_EVENNESS = 0.003
/** What black differs by within one scan, codes. */
const PLACE_ERROR = 0.3
/** The tail of a sum of two reaches at least this much further than its core. */
const TAIL_RATIO = 2
const NEIGHBOUR_RATIO = 1.6
/** No sum of simple shapes is a scanner's flare to better than this, share of open light: a percent at D 3. */
export const SHAPE_ERROR = 1e-5
/** A reach whose share and whose uncertainty of it are below this changes no density: a thousandth at D 3.5. */
const NO_ACCOUNT = 3e-7
/** Coverage factor of "there is some". */
const COVERAGE = 2
/** Flare below this is nothing at any density a film has. */
const LEAST_FLARE = 2e-5

/** One shape of flare fitted: one reach or two. */
interface Candidate {
  readonly reaches: readonly number[]
  readonly shares: readonly number[]
  /** Of the shares. */
  readonly covariance: readonly (readonly number[])[]
  readonly chiSquare: number
  readonly freedom: number
  readonly parameters: readonly number[]
  /** Root mean square of what it leaves in the opaque places, share of open light. */
  readonly left: number
}

/**
 * Flare and response fitted together: code = black + gain ((E + veil)^(1/gamma) - veil^(1/gamma)), E = (T + sum of f x S) / (1 + sum of f),
 * to steps of known T, opaque places (T = 0) and open light. Flare follows the light S round a place, black does not. Every reach is tried
 * alone, and the best of each kind with its neighbours and with tails; the answer is their mean, each weighted by how well it fits (exp(-chi-square / 2), chi-square scaled so that the best
 * fits as it should: Birge, Phys. Rev. 40, 207, 1932; a share more costs half a logarithm of the number of places: Schwarz, Ann. Stat. 6,
 * 461, 1978), and the covariance holds what they differ by.
 */
export function fitFlare(question: FlareQuestion): Flare {
  const tryReaches = candidateFit(question)
  const isFlare = (c: Candidate | null): c is Candidate => c?.shares.every(share => share >= 0) === true
  const single = FLARE_REACHES.map((_, k) => tryReaches([k])).filter(isFlare)
  const kinds = new Map<string, Candidate>()
  for (const c of single) {
    const { shape, outside } = FLARE_REACHES[c.reaches[0]!]!
    const best = kinds.get(`${shape} ${outside}`)
    if (best === undefined || c.chiSquare < best.chiSquare) kinds.set(`${shape} ${outside}`, c)
  }
  const double = [...kinds.values()].flatMap(c =>
    FLARE_REACHES.map((_, k) => {
      const core = c.reaches[0]!
      return isTail(core, k) || areNeighbours(core, k) ? tryReaches([core, k], c) : null
    }).filter(isFlare),
  )
  const all = [...single, ...double]
  if (all.length === 0) return noFlare()
  const winner = all.reduce((a, b) => (b.chiSquare < a.chiSquare ? b : a))
  const widen = Math.max(1, winner.chiSquare / Math.max(1, winner.freedom))
  const places = question.opaque.length + question.steps.length
  const cost = (c: Candidate) => c.chiSquare / widen + c.reaches.length * Math.log(places)
  const cheapest = Math.min(...all.map(cost))
  const weights = all.map(c => Math.exp(-(cost(c) - cheapest) / 2))
  const total = weights.reduce((sum, w) => sum + w, 0)
  const count = FLARE_REACHES.length
  const shares = new Array<number>(count).fill(0)
  const spread = (c: Candidate) => {
    const list = new Array<number>(count).fill(0)
    c.reaches.forEach((k, i) => {
      list[k] = c.shares[i]!
    })
    return list
  }
  all.forEach((c, n) => {
    c.reaches.forEach((k, i) => {
      shares[k]! += (weights[n]! / total) * Math.max(0, c.shares[i]!)
    })
  })
  const covariance = shares.map(() => new Array<number>(count).fill(0))
  all.forEach((c, n) => {
    const w = weights[n]! / total
    if (!(w > 1e-6)) return
    const off = spread(c).map((share, k) => share - shares[k]!)
    for (let i = 0; i < count; i++) for (let j = 0; j < count; j++) covariance[i]![j]! += w * off[i]! * off[j]!
    c.reaches.forEach((k, i) => {
      c.reaches.forEach((l, j) => {
        covariance[k]![l]! += w * widen * c.covariance[i]![j]!
      })
    })
  })
  const share = shares.reduce((sum, f) => sum + f, 0)
  const standard = Math.sqrt(
    Math.max(
      0,
      covariance.flat().reduce((sum, v) => sum + v, 0),
    ),
  )
  // What may as well be nothing is left in, and what it may be is kept as its uncertainty.
  const none = !(share > Math.max(LEAST_FLARE, COVERAGE * standard))
  if (none)
    for (let i = 0; i < count; i++) for (let j = 0; j < count; j++) covariance[i]![j]! += shares[i]! * shares[j]!
  // Most reaches turn out to be of no account: they are not looked up on every film.
  const kept = FLARE_REACHES.map((_, k) => k).filter(
    k => shares[k]! > NO_ACCOUNT || Math.sqrt(covariance[k]![k]!) > NO_ACCOUNT,
  )
  return {
    share: none ? 0 : share,
    standard: none ? Math.hypot(standard, share) : standard,
    reaches: kept.map(k => FLARE_REACHES[k]!),
    shares: kept.map(k => (none ? 0 : shares[k]!)),
    covariance: kept.map(i => kept.map(j => covariance[i]![j]!)),
    remainder: winner.left,
  }
}

/** What is left to believe when no reach fits: none, but not surely. */
function noFlare(): Flare {
  const count = FLARE_REACHES.length
  return {
    share: 0,
    standard: UNSEEN_PRIOR,
    reaches: FLARE_REACHES,
    shares: new Array<number>(count).fill(0),
    covariance: FLARE_REACHES.map((_, i) => FLARE_REACHES.map((_, j) => (i === j ? UNSEEN_PRIOR ** 2 / count : 0))),
    remainder: 0,
  }
}

/** Whether a reach is the far tail of another: a much wider Gaussian, or all of the scan. */
function isTail(core: number, tail: number): boolean {
  const [near, far] = [FLARE_REACHES[core]!, FLARE_REACHES[tail]!]
  if (near.sigmaUm === null) return false
  return (
    far.sigmaUm === null ||
    (far.shape === 'gaussian' && far.outside === 'rim' && far.sigmaUm >= TAIL_RATIO * near.sigmaUm)
  )
}

/** Whether two reaches are neighbours of one kind: a sum of them stands for what lies between. */
function areNeighbours(one: number, other: number): boolean {
  const [a, b] = [FLARE_REACHES[one]!, FLARE_REACHES[other]!]
  if (a.sigmaUm === null || b.sigmaUm === null || a.shape !== b.shape || a.outside !== b.outside) return false
  const ratio = Math.max(a.sigmaUm / b.sigmaUm, b.sigmaUm / a.sigmaUm)
  return ratio > 1 && ratio < NEIGHBOUR_RATIO
}

/** Residual of a Cauchy distribution: half its square is the logarithm of the density. */
function believed(x: number): number {
  return Math.sign(x) * Math.sqrt(2 * Math.log1p(x * x))
}

function believedSlope(x: number): number {
  return Math.abs(x) < 1e-6 ? Math.SQRT2 : (2 * x) / (1 + x * x) / believed(x)
}

/** The fit of given reaches; null when it does not come to an end. */
function candidateFit({
  steps,
  open,
  opaque,
  start,
}: FlareQuestion): (reaches: readonly number[], from?: Candidate) => Candidate | null {
  const usable = steps.filter(step => step.zeroShare < 1e-3 && step.fullShare < 1e-3)
  const prior = opaque.length > 0 ? LEFT_PRIOR : UNSEEN_PRIOR
  const light = usable.map(step => 10 ** -step.density)
  const views = Math.max(0, ...opaque.map(place => place.view))
  // Parameters: black, ln gain, 1/gamma, veil, drift of black of each further view, then the shares.
  const first = 4 + views
  const response = (p: readonly number[], seen: number) => {
    const veil = Math.abs(p[3]!)
    return p[0]! + Math.exp(p[1]!) * (Math.max(0, seen + veil) ** p[2]! - veil ** p[2]!)
  }
  const startAt = [
    start.black,
    Math.log(start.gain),
    1 / start.gamma,
    Math.max(start.veil ?? 0, 1e-6),
    ...Array.from({ length: views }, () => 0),
  ]
  const sigma = usable.map((step, i) => {
    const [at, up] = [light[i]!, light[i]! * 1.001]
    const slope = (response(startAt, up) - response(startAt, at)) / Math.log10(1.001)
    return Math.hypot(step.codeError, 0.1, slope * Math.hypot(step.expanded / 2, FORMULA_ERROR))
  })
  // Every mean code of known light, with what is round it and its error.
  const targets: { code: number; light: number; surround: readonly number[] | null; sigma: number }[] = usable.map(
    (step, i) => ({ code: step.code, light: light[i]!, surround: step.surround, sigma: sigma[i]! }),
  )
  if (open !== null && open.fullShare <= 1e-3) {
    const error = Math.hypot(open.codeError, OPEN_EVENNESS * (open.code - startAt[0]!))
    targets.push({ code: open.code, light: 1, surround: null, sigma: error })
  }

  return (reaches, from) => {
    const together = reaches.length === 2 && !isTail(reaches[0]!, reaches[1]!)
    const round = reaches.map(k => targets.map(target => target.surround?.[k] ?? 1))
    const dark = reaches.map(k => opaque.map(place => place.surround[k]!))
    const seenAt = (p: readonly number[], light: number, around: readonly (readonly number[])[], i: number) => {
      let sum = 1
      let seen = light
      for (let j = 0; j < reaches.length; j++) {
        sum += p[first + j]!
        seen += p[first + j]! * around[j]![i]!
      }
      return seen / sum
    }
    /** How much more light an opaque place shows than the flare explains, and how well its code tells light there. */
    const leftAt = (p: readonly number[], i: number) => {
      const place = opaque[i]!
      const gain = Math.exp(p[1]!)
      const veil = Math.abs(p[3]!)
      const drift = place.view === 0 ? 0 : p[3 + place.view]!
      const x = (place.code - p[0]! - drift) / gain + veil ** p[2]!
      const light = Math.sign(x) * Math.abs(x) ** (1 / p[2]!)
      const perCode = (Math.abs(x) + PLACE_ERROR / gain) ** (1 / p[2]! - 1) / p[2]! / gain
      return { light: light - veil - seenAt(p, 0, dark, i), perCode }
    }
    const residuals = (p: readonly number[]) => {
      const list: number[] = []
      for (let i = 0; i < targets.length; i++) {
        const { code, light, sigma } = targets[i]!
        list.push((code - response(p, seenAt(p, light, round, i))) / sigma)
      }
      // In light, not in codes: near no light a scanner with a bent response blows up what no kernel is true to.
      for (let i = 0; i < opaque.length; i++) {
        const left = leftAt(p, i)
        list.push(left.light / Math.hypot(SHAPE_ERROR, PLACE_ERROR * left.perCode))
      }
      list.push(p[0]! / (p[0]! < 0 ? BELOW_ZERO : BLACK_PRIOR), p[3]! / VEIL_PRIOR)
      for (let v = 0; v < views; v++) list.push(p[4 + v]! / BLACK_DRIFT_CODES)
      // Neighbours are one share between them; a tail is a share of its own, else it would hide behind a core that is known.
      if (together) list.push(believed(p.slice(first).reduce((sum, share) => sum + share, 0) / prior))
      else for (let j = first; j < p.length; j++) list.push(believed(p[j]! / prior))
      return list
    }
    /** Derivatives of the residuals in closed form: by differences they took half of a calibration's time. */
    const slopes = (p: readonly number[]): number[][] => {
      const rows: number[][] = []
      const row = () => {
        const list = new Array<number>(p.length).fill(0)
        rows.push(list)
        return list
      }
      const [gain, q, veil] = [Math.exp(p[1]!), p[2]!, Math.abs(p[3]!)]
      const veilSign = p[3]! < 0 ? -1 : 1
      const [veilPower, veilLog] = [veil ** q, veil > 0 ? Math.log(veil) : 0]
      const veilSlope = veil > 0 ? (q * veilPower) / veil : 0
      let sum = 1
      for (let j = first; j < p.length; j++) sum += p[j]!
      for (let i = 0; i < targets.length; i++) {
        const { light, sigma } = targets[i]!
        const list = row()
        const seen = seenAt(p, light, round, i)
        const at = seen + veil
        const power = at > 0 ? at ** q : 0
        const slope = at > 0 ? (q * power) / at : 0
        list[0] = -1 / sigma
        list[1] = (-gain * (power - veilPower)) / sigma
        list[2] = (-gain * ((at > 0 ? power * Math.log(at) : 0) - veilPower * veilLog)) / sigma
        list[3] = (-gain * veilSign * (slope - veilSlope)) / sigma
        for (let j = 0; j < reaches.length; j++)
          list[first + j] = (-gain * slope * (round[j]![i]! - seen)) / sum / sigma
      }
      for (let i = 0; i < opaque.length; i++) {
        const { code, view } = opaque[i]!
        const list = row()
        const left = leftAt(p, i)
        const seen = seenAt(p, 0, dark, i)
        const x = (code - p[0]! - (view === 0 ? 0 : p[3 + view]!)) / gain + veilPower
        const [sign, size] = [Math.sign(x), Math.abs(x)]
        const y = size + PLACE_ERROR / gain
        const lightSlope = size > 0 ? size ** (1 / q - 1) / q : 0
        const weight = Math.hypot(SHAPE_ERROR, PLACE_ERROR * left.perCode)
        const share = (PLACE_ERROR * left.perCode) ** 2 / weight
        /** Of one parameter: what it does to x, to y beyond x, and to the light and to perCode at unchanged x. */
        const put = (at: number, dx: number, dy: number, light: number, perCode: number) => {
          const change = lightSlope * dx + light
          const logPerCode = ((1 / q - 1) / y) * (sign * dx + dy) + perCode
          list[at] = change / weight - (left.light * share * logPerCode) / weight ** 2
        }
        put(0, -1 / gain, 0, 0, 0)
        put(1, veilPower - x, -PLACE_ERROR / gain, 0, -1)
        const bend = size > 0 ? (-sign * size ** (1 / q) * Math.log(size)) / q ** 2 : 0
        put(2, veilPower * veilLog, 0, bend, -Math.log(y) / q ** 2 - 1 / q)
        put(3, veilSign * veilSlope, 0, -veilSign, 0)
        if (view > 0) put(3 + view, -1 / gain, 0, 0, 0)
        for (let j = 0; j < reaches.length; j++) list[first + j] = -(dark[j]![i]! - seen) / sum / weight
      }
      row()[0] = 1 / (p[0]! < 0 ? BELOW_ZERO : BLACK_PRIOR)
      row()[3] = 1 / VEIL_PRIOR
      for (let v = 0; v < views; v++) row()[4 + v] = 1 / BLACK_DRIFT_CODES
      if (together) row().fill(believedSlope((sum - 1) / prior) / prior, first)
      else for (let j = first; j < p.length; j++) row()[j] = believedSlope(p[j]! / prior) / prior
      return rows
    }
    const scale = [10, 0.1, 0.1, VEIL_PRIOR, ...Array.from({ length: views }, () => BLACK_DRIFT_CODES)]
    const allowed = (p: readonly number[]) =>
      p[2]! > 0.1 && p[2]! < 5 && p.slice(first).every(share => Math.abs(share) < 0.2)
    const begin =
      from === undefined
        ? [...startAt, ...reaches.map(() => 1e-4)]
        : [...from.parameters, ...reaches.slice(1).map(() => 0)]
    const fit = fitLeastSquares(residuals, begin, [...scale, ...reaches.map(() => 1e-3)], allowed, 1e-6, slopes)
    if (!Number.isFinite(fit.chiSquare)) return null
    const { parameters } = fit
    const shares = parameters.slice(first)
    const squares = opaque.reduce((sum, _, i) => sum + leftAt(parameters, i).light ** 2, 0)
    return {
      reaches,
      parameters,
      shares,
      covariance: reaches.map((_, i) => reaches.map((_, j) => fit.covariance[first + i]![first + j]!)),
      chiSquare: fit.chiSquare,
      freedom: fit.freedom,
      left: opaque.length === 0 ? 0 : Math.sqrt(squares / opaque.length),
    }
  }
}
