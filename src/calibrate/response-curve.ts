import { EigenvalueDecomposition, Matrix } from 'ml-matrix'
import { covarianceAt, fitLeastSquares } from '../imaging/fit-least-squares.js'
import { evaluateMonotoneCubic, type MonotoneCubic, monotoneCubic } from '../imaging/monotone-cubic.js'
import type { ResponseCurve, TabletStep } from '../model/calibration.js'
import { ProblemError } from '../model/problem.js'
import type { CertificateStep } from './certificate.js'
import { matchSteps } from './match-steps.js'

/** A step with what the scan says of it. */
export interface SeenStep extends CertificateStep {
  readonly code: number
  readonly codeError: number
  readonly pixelNoise: number
  readonly fullShare: number
  readonly zeroShare: number
  readonly column: number
  readonly row: number
}

/** Open light as a measurement of T = 1. `codeError` holds the unevenness of the lamp too. */
export interface SeenOpen {
  readonly code: number
  readonly codeError: number
  readonly fullShare: number
}

/** An opaque holder or card as a measurement of no light. */
export interface SeenDark {
  /** Effective density: infinite without flare, else that of the light the scanner throws into an opaque place. */
  readonly density?: number
  readonly code: number
  readonly codeError: number
  readonly zeroShare: number
}

/** The curve and what went into it. */
export interface FittedResponse {
  readonly response: ResponseCurve
  readonly steps: readonly TabletStep[]
  /** Whether open light was used as T = 1 and dark as no light. */
  readonly usedOpen: boolean
  readonly usedDark: boolean
  /** Weighted squares of the parametric fit: how well steps, open light and dark agree with one curve. */
  readonly chiSquare: number
  readonly warnings: readonly string[]
}

/** More pixels at the top than this and the mean is no longer the mean of the light (a hot pixel or two is let through). */
const MOST_CLIPPED = 0.001
/** Open light this much clipped means automatic exposure or a lamp far too bright. */
const OPEN_CLIPPED = 0.9
/** Two codes differ when they are this many standard errors apart. */
const TOLD_APART = 3
/** Codes are whole numbers: a mean cannot be trusted below this, however small its scatter. */
const LEAST_CODE_ERROR = 0.1
/** Dark read this many standard errors off what the steps say is not used for black. */
const DARK_AGREES = 4
/** Open light read this many standard errors (and this density) off what the steps say is not used for T = 1. */
const OPEN_AGREES = 3
const OPEN_AGREES_DENSITY = 0.02
/** Root mean square residual beyond which these are not the certificate's steps: bent scanner scales leave 0.03 D, a step apart 0.10 and more. */
const WORST_RESIDUAL = 0.06

/**
 * The scanner's response from the tablet's steps, open light and dark.
 * The parametric curve code = black + gain * ((T + veil)^(1/gamma) - veil^(1/gamma)) is fitted by least squares weighted with the certificate's
 * and the codes' standard uncertainties (its covariance is widened by chi-square per degree of freedom where the
 * curve does not fit that well: Birge, Phys. Rev. 40, 207, 1932); the knots are the trusted steps themselves.
 * @throws ProblemError CALIBRATION_CLIPPED, CALIBRATION_NOT_MONOTONE, TABLET_STEP_COUNT
 */
export function responseCurve(seen: readonly SeenStep[], open: SeenOpen | null, dark: SeenDark | null): FittedResponse {
  const warnings: string[] = []
  const steps = seen.map(step => ({ ...step, codeError: Math.max(step.codeError, LEAST_CODE_ERROR) }))
  if (open !== null && open.fullShare > OPEN_CLIPPED)
    throw new ProblemError('CALIBRATION_CLIPPED', `${percent(open.fullShare)} of open light is at the top code 65535`)
  let anchor = open
  if (open !== null && open.fullShare > MOST_CLIPPED) {
    warnings.push(`Open light is partly clipped (${percent(open.fullShare)} at the top code): it was not used as D 0.`)
    anchor = null
  }
  refuseClipped(steps)
  let floor = dark === null ? null : { ...dark, codeError: Math.max(dark.codeError, LEAST_CODE_ERROR) }
  if (floor !== null && floor.zeroShare > MOST_CLIPPED) {
    warnings.push(`The dark reference is clipped at 0 (${percent(floor.zeroShare)}): it was not used as black.`)
    floor = null
  }
  refuseRising(steps, floor)
  const trusted = trustedSteps(steps)
  if (trusted < 5)
    throw new ProblemError('CALIBRATION_NOT_MONOTONE', `only ${trusted} steps are told apart; five are needed`)
  const used = steps.slice(0, trusted)

  let fit = fitPower(points(used, anchor, floor))
  if (floor !== null) {
    const alone = fitPower(points(used, anchor, null))
    const expected =
      floor.density === undefined
        ? alone.black
        : alone.black +
          alone.gain * ((10 ** -floor.density + alone.veil) ** (1 / alone.gamma) - alone.veil ** (1 / alone.gamma))
    const off = Math.abs(floor.code - expected)
    const brighter = floor.code > steps.at(-1)!.code + TOLD_APART * Math.hypot(floor.codeError, steps.at(-1)!.codeError)
    if (brighter || off > DARK_AGREES * Math.hypot(floor.codeError, alone.blackError)) {
      warnings.push(
        `The dark reference reads code ${floor.code.toFixed(1)}, the steps say black is ${alone.black.toFixed(1)} +/- ${(2 * alone.blackError).toFixed(1)}: it was not used.`,
      )
      floor = null
      fit = alone
    }
  }
  if (anchor !== null) {
    const alone = fitPower(points(used, null, floor))
    const byFormula = formulaOf(alone)
    const off = byFormula.density(anchor.code)
    const error = Math.hypot(anchor.codeError * byFormula.slope(anchor.code), alone.gainError / alone.gain / Math.LN10)
    if (Math.abs(off) > Math.max(OPEN_AGREES * error, OPEN_AGREES_DENSITY)) {
      warnings.push(
        `Open light reads D ${off.toFixed(3)} by the steps instead of 0: it was not used. Is the brightest light in view free of film?`,
      )
      anchor = null
      fit = alone
    }
  }

  // A step at the fitted black or below it has no place on the curve.
  const aboveBlack = (step: SeenStep) => step.code - fit.black > TOLD_APART * step.codeError
  const formula = formulaOf(fit)
  const errorAt = (code: number, codeError: number) => Math.abs(formula.slope(code)) * codeError
  const knots = used
    .filter(aboveBlack)
    .map(step => ({ code: step.code, density: step.density, standardError: errorAt(step.code, step.codeError) }))
  if (!(knots.length >= 5))
    throw new ProblemError('CALIBRATION_NOT_MONOTONE', `only ${knots.length} steps lie clearly above black`)
  if (anchor !== null && anchor.code > knots[0]!.code && used[0]!.density > 0)
    knots.unshift({ code: anchor.code, density: 0, standardError: errorAt(anchor.code, anchor.codeError) })
  let sum = 0
  const tablet = steps.map((step, i): TabletStep => {
    const above = aboveBlack(step)
    const residual = above ? formula.density(step.code) - step.density : 0
    if (i < trusted) sum += residual ** 2
    return {
      step: step.step,
      density: step.density,
      expanded: step.expanded,
      code: step.code,
      codeError: step.codeError,
      pixelNoise: step.pixelNoise,
      trusted: i < trusted && above,
      residual,
      column: step.column,
      row: step.row,
    }
  })
  const rms = Math.sqrt(sum / trusted)
  const expected = Math.sqrt(used.reduce((total, step) => total + step.expanded ** 2, 0) / trusted)
  if (!(rms <= Math.hypot(WORST_RESIDUAL, expected)))
    throw new ProblemError('TABLET_STEP_COUNT', `densities off the certificate by ${rms.toFixed(2)} D on average`)
  return {
    response: {
      knots,
      black: fit.black,
      blackError: fit.blackError,
      gain: fit.gain,
      gamma: fit.gamma,
      veil: fit.veil,
      covariance: fit.covariance,
      fitResidual: rms,
    },
    steps: tablet,
    usedOpen: anchor !== null,
    usedDark: floor !== null,
    chiSquare:
      fit.chiSquarePerFreedom * Math.max(1, used.length + (anchor === null ? 0 : 1) + (floor === null ? 0 : 1) - 3),
    warnings,
  }
}

/** A place on the curve: density (Infinity for no light), its standard uncertainty, code and its standard error. */
export interface CurvePoint {
  readonly density: number
  readonly densityError: number
  readonly code: number
  readonly codeError: number
}

/** The constants of the parametric curve with their standard uncertainties. */
export interface PowerFit {
  readonly black: number
  readonly blackError: number
  readonly gain: number
  readonly gainError: number
  readonly gamma: number
  readonly gammaError: number
  readonly veil: number
  /** Of black, ln gain, 1/gamma, veil^(1/gamma). */
  readonly covariance: readonly (readonly number[])[]
  readonly chiSquarePerFreedom: number
}

/**
 * What is believed of stray light before the tablet is seen: 0 with this standard uncertainty, share of open light.
 * Published figures for flatbeds lie at 0.03 to 0.1 % (from memory); a linear scanner cannot tell veil from offset
 * at all, and then it does not matter: both are black.
 */
const VEIL_PRIOR = 3e-4
/** Code of no light: 0 to about this (one sigma); a scanner that takes off too much is taken to do so by no more than the other. Common practice, no source. */
export const BLACK_PRIOR = 400
export const BELOW_ZERO = 20

/**
 * Weighted least squares of code = black + gain * ((T + veil)^(1/gamma) - veil^(1/gamma)). Density uncertainty is carried
 * over to the code axis through the curve's slope and renewed as the curve settles.
 */
export function fitPower(points: readonly CurvePoint[]): PowerFit {
  const finite = points.filter(p => Number.isFinite(p.density))
  const guess = matchSteps(
    finite.map((p, i) => ({ step: i + 1, density: p.density, expanded: 0.02 })),
    finite.map(p => p.code),
    Math.min(...finite.map(p => p.codeError)),
    null,
  )
  if (guess === null) throw new ProblemError('CALIBRATION_NOT_MONOTONE', 'the codes do not fall with density')
  const light = points.map(p => 10 ** -p.density)
  const model = (p: readonly number[], t: number) => {
    const share = Math.abs(p[3]!)
    return p[0]! + Math.exp(p[1]!) * ((t + share ** (1 / p[2]!)) ** p[2]! - share)
  }
  let at: readonly number[] = [
    guess.black,
    Math.log(guess.gain),
    1 / guess.gamma,
    0.1 * VEIL_PRIOR ** (1 / guess.gamma),
  ]
  let fit = null
  let covariance: readonly (readonly number[])[] = []
  for (let round = 0; round < 6; round++) {
    const centre = at
    const sigma = points.map((p, i) => {
      const t = light[i]!
      const slope = t === 0 ? 0 : (model(centre, t * 1.001) - model(centre, t)) / Math.log10(1.001)
      return Math.hypot(p.codeError, t === 0 ? 0 : slope * p.densityError)
    })
    const prior = VEIL_PRIOR ** centre[2]!
    const residuals = (p: readonly number[]) => [
      ...points.map((point, i) => (point.code - model(p, light[i]!)) / sigma[i]!),
      p[3]! / prior,
      p[0]! / (p[0]! < 0 ? BELOW_ZERO : BLACK_PRIOR),
    ]
    const scale = [10, 0.1, 0.1, prior]
    fit = fitLeastSquares(residuals, at, scale, p => p[2]! > 0.1 && p[2]! < 5 && Math.abs(p[3]!) < 0.5)
    at = [...fit.parameters.slice(0, 3), Math.abs(fit.parameters[3]!)]
    // At no veil at all the formula folds over and its slope there says nothing: look a little way up.
    covariance = covarianceAt(residuals, [...at.slice(0, 3), Math.max(at[3]!, 0.3 * prior)], scale)
  }
  const perFreedom = fit!.freedom > 0 ? fit!.chiSquare / fit!.freedom : 1
  const widen = Math.max(1, perFreedom)
  covariance = covariance.map(row => row.map(value => value * widen))
  const gain = Math.exp(at[1]!)
  const error = (i: number) => Math.sqrt(Math.max(0, covariance[i]![i]!))
  return {
    black: at[0]!,
    blackError: error(0),
    gain,
    gainError: gain * error(1),
    gamma: 1 / at[2]!,
    gammaError: error(2) / at[2]! ** 2,
    veil: at[3]! ** (1 / at[2]!),
    covariance,
    chiSquarePerFreedom: perFreedom,
  }
}

/** Density for any code, from a response curve, made once and asked often. */
export interface CodeToDensity {
  /** Density of a code above black; Infinity at black and below. */
  density(code: number): number
  /** dD/dcode there, below 0; -Infinity at black. */
  slope(code: number): number
}

/** What the formula needs to be known. */
type Formula = Pick<ResponseCurve, 'black' | 'gain' | 'gamma' | 'veil'>

/** The fitted formula alone, solved for density. */
export function formulaOf({ black, gain, gamma, veil = 0 }: Formula): CodeToDensity {
  const share = veil ** (1 / gamma)
  const light = (code: number) => ((code - black) / gain + share) ** gamma - veil
  return {
    density(code) {
      const t = code > black ? light(code) : 0
      return t > 0 ? -Math.log10(t) : Number.POSITIVE_INFINITY
    },
    slope(code) {
      const t = code > black ? light(code) : 0
      if (!(t > 0)) return Number.NEGATIVE_INFINITY
      return -(gamma * ((code - black) / gain + share) ** (gamma - 1)) / gain / t / Math.LN10
    },
  }
}

/** Past the deepest knot the curve comes back to the formula over this much density, D: one knot's own error must not be carried on. */
const BACK_TO_FORMULA = 0.3

/**
 * The curve as a function of code: between the knots PCHIP of density over the formula's density; past the clearest knot
 * the formula shifted onto it; past the deepest knot the formula, its distance from that knot fading out over 0.3 D.
 */
export function codeToDensity(curve: Pick<ResponseCurve, 'knots'> & Formula): CodeToDensity {
  const formula = formulaOf(curve)
  const x: number[] = []
  const y: number[] = []
  for (const knot of curve.knots) {
    const at = formula.density(knot.code)
    if (!Number.isFinite(at)) continue
    x.push(at)
    y.push(knot.density)
  }
  const cubic: MonotoneCubic = monotoneCubic(x, y)
  const clear = { x: x[0]!, y: y[0]! }
  const deep = { x: x.at(-1)!, y: y.at(-1)! }
  const off = deep.y - deep.x
  // Twice the distance at least, or the way back would be steeper than the curve.
  const fade = Math.max(BACK_TO_FORMULA, 2 * Math.abs(off))
  return {
    density(code) {
      const at = formula.density(code)
      if (at >= deep.x) return at + off * Math.max(0, 1 - (at - deep.x) / fade)
      return at <= clear.x ? clear.y + (at - clear.x) : evaluateMonotoneCubic(cubic, at)
    },
    slope(code) {
      const at = formula.density(code)
      if (at >= deep.x) return formula.slope(code) * (at < deep.x + fade ? 1 - off / fade : 1)
      if (at <= clear.x) return formula.slope(code)
      const h = 1e-4
      const rate = (evaluateMonotoneCubic(cubic, at + h) - evaluateMonotoneCubic(cubic, at - h)) / (2 * h)
      return rate * formula.slope(code)
    },
  }
}

/**
 * How far density may be off at each code for what is not known of the formula's constants, the knots held: they were
 * measured, so inside the tablet this is little. Each independent direction of the constants' covariance moves the curve by one
 * standard uncertainty; the moves add in squares. A move that leaves no curve counts as 1 D.
 */
export function formulaUncertainty(curve: ResponseCurve): (code: number) => number {
  const centre = codeToDensity(curve)
  const p0 = [curve.black, Math.log(curve.gain), 1 / curve.gamma, (curve.veil ?? 0) ** (1 / curve.gamma)] as const
  const covariance =
    curve.covariance ?? p0.map((_, i) => p0.map((_, j) => (i === 0 && j === 0 ? curve.blackError ** 2 : 0)))
  // Scaled to correlations first: codes and logarithms differ by ten thousand times.
  const scale = covariance.map((row, i) => Math.sqrt(Math.max(row[i]!, 1e-30)))
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(
    new Matrix(covariance.map((row, i) => row.map((value, j) => value / scale[i]! / scale[j]!))),
    { assumeSymmetric: true },
  )
  const moved: (CodeToDensity | null)[][] = []
  for (let k = 0; k < 4; k++) {
    const length = Math.sqrt(Math.max(0, realEigenvalues[k]!))
    if (!(length > 1e-9)) continue
    moved.push(
      [1, -1].map(sign => {
        const p = p0.map((value, i) => value + sign * length * eigenvectorMatrix.get(i, k) * scale[i]!)
        const gamma = 1 / p[2]!
        const veil = Math.max(0, p[3]!) ** gamma
        const black = p[0]!
        if (!(gamma > 0 && curve.knots.filter(knot => knot.code > black).length >= 3)) return null
        try {
          return codeToDensity({ knots: curve.knots, black, gain: Math.exp(p[1]!), gamma, veil })
        } catch (error) {
          if (error instanceof RangeError) return null
          throw error
        }
      }),
    )
  }
  return code => {
    const density = centre.density(code)
    let sum = 0
    for (const pair of moved) {
      const off = pair.map(curve => (curve === null ? 1 : Math.abs(curve.density(code) - density)))
      const both = off.map(value => (Number.isFinite(value) ? Math.min(value, 1) : 1))
      sum += ((both[0]! + both[1]!) / 2) ** 2
    }
    return Math.sqrt(sum)
  }
}

function percent(share: number): string {
  return `${(100 * share).toFixed(1)} %`
}

function points(
  steps: readonly SeenStep[],
  open: SeenOpen | null,
  dark: { density?: number; code: number; codeError: number } | null,
): CurvePoint[] {
  const list: CurvePoint[] = steps.map(s => ({
    density: s.density,
    densityError: s.expanded / 2,
    code: s.code,
    codeError: s.codeError,
  }))
  if (open !== null)
    list.unshift({
      density: 0,
      densityError: 0,
      code: open.code,
      codeError: Math.max(open.codeError, LEAST_CODE_ERROR),
    })
  if (dark !== null)
    list.push({
      density: dark.density ?? Number.POSITIVE_INFINITY,
      densityError: 0,
      code: dark.code,
      codeError: dark.codeError,
    })
  return list
}

function refuseClipped(steps: readonly SeenStep[]): void {
  for (const step of steps)
    if (!(step.fullShare <= MOST_CLIPPED))
      throw new ProblemError(
        'CALIBRATION_CLIPPED',
        `${percent(step.fullShare)} of step ${step.step} is at the top code 65535`,
      )
  // Clear steps at 0 are no scan of a tablet at all; the deep end at 0 is dealt with by trust.
  for (const step of steps.slice(0, Math.ceil(steps.length / 3)))
    if (!(step.zeroShare <= MOST_CLIPPED))
      throw new ProblemError('CALIBRATION_CLIPPED', `${percent(step.zeroShare)} of step ${step.step} is at code 0`)
}

/**
 * A step brighter than the one before by more than noise is no tablet, wherever on it that happens; but a deep step may be brighter by
 * what flare adds to it from brighter surroundings, and is then merely not trusted.
 */
function refuseRising(steps: readonly SeenStep[], dark: { code: number } | null): void {
  const span = steps[0]!.code - Math.min(...steps.map(s => s.code), dark?.code ?? Number.POSITIVE_INFINITY)
  for (let i = 1; i < steps.length; i++) {
    const before = steps[i - 1]!
    const here = steps[i]!
    const rise = here.code - before.code
    const error = Math.hypot(here.codeError, before.codeError)
    // Deep in the noise a rise of a few codes is veil or dust, and the step is merely not trusted.
    if (rise > TOLD_APART * error && rise > 2e-4 * span && !(i >= 5 && flareExplains(steps, i)))
      throw new ProblemError(
        'CALIBRATION_NOT_MONOTONE',
        `step ${here.step} is brighter than step ${before.step} by ${rise.toFixed(0)} codes, standard error ${error.toFixed(1)}`,
      )
  }
}

/** Light that flare of half a percent adds from one step to the next, share of open light, and the density from where that can turn steps round. */
const FLARE_RISE = 0.001
const FLARE_FROM = 2

/** Whether flare could have made step `i` brighter than the one before it: by the light that its code stands for on the steps before. */
function flareExplains(steps: readonly SeenStep[], i: number): boolean {
  const before = steps[i - 1]!
  if (!(before.density >= FLARE_FROM)) return false
  let k = i - 1
  while (k > 0 && steps[k]!.code < steps[i]!.code) k--
  const [high, low] = [steps[k]!, steps[k + 1]!]
  const share = (high.code - steps[i]!.code) / (high.code - low.code)
  const density = high.density + Math.min(1, Math.max(0, share)) * (low.density - high.density)
  return 10 ** -density - 10 ** -before.density < FLARE_RISE
}

/** How many steps from the clear end are each told apart from the one before and free of clipping at 0. */
function trustedSteps(steps: readonly SeenStep[]): number {
  for (let i = 1; i < steps.length; i++) {
    const before = steps[i - 1]!
    const here = steps[i]!
    if (!(before.code - here.code > TOLD_APART * Math.hypot(here.codeError, before.codeError))) return i
    if (!(here.zeroShare <= MOST_CLIPPED)) return i
  }
  return steps.length
}
