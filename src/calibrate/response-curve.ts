import { fitLeastSquares } from '../imaging/fit-least-squares.js'
import { evaluateMonotoneCubic, type MonotoneCubic, monotoneCubic } from '../imaging/monotone-cubic.js'
import type { Calibration, ResponseCurve, TabletStep } from '../model/calibration.js'
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
const OPEN_AGREES = 4
const OPEN_AGREES_DENSITY = 0.02

/**
 * The scanner's response from the tablet's steps, open light and dark.
 * The parametric curve code = black + gain * T^(1/gamma) is fitted by least squares weighted with the certificate's
 * and the codes' standard uncertainties (its covariance is widened by chi-square per degree of freedom where the
 * curve does not fit that well: Birge, Phys. Rev. 40, 207, 1932); the knots are the trusted steps themselves.
 * @throws ProblemError CALIBRATION_CLIPPED, CALIBRATION_NOT_MONOTONE
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
    const off = Math.abs(floor.code - alone.black)
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
    const slope = alone.gamma / Math.LN10 / (anchor.code - alone.black)
    const off = alone.gamma * Math.log10(alone.gain / (anchor.code - alone.black))
    const error = Math.hypot(anchor.codeError * slope, alone.gainError / alone.gain / Math.LN10, used[0]!.expanded / 2)
    if (Math.abs(off) > Math.max(OPEN_AGREES * error, OPEN_AGREES_DENSITY)) {
      warnings.push(
        `Open light reads D ${off.toFixed(3)} by the steps instead of 0: it was not used. Is the brightest light in view free of film?`,
      )
      anchor = null
      fit = alone
    }
  }

  const slopeAt = (code: number) => fit.gamma / Math.LN10 / Math.max(code - fit.black, 1e-6)
  // A step within the uncertainty of black would bend the curve by what is not known of black.
  const aboveBlack = (code: number) => code - fit.black > 2 * fit.blackError
  const knots = used
    .filter(step => aboveBlack(step.code))
    .map(step => ({ code: step.code, density: step.density, standardError: step.codeError * slopeAt(step.code) }))
  if (anchor !== null && anchor.code > knots[0]!.code && used[0]!.density > 0)
    knots.unshift({ code: anchor.code, density: 0, standardError: anchor.codeError * slopeAt(anchor.code) })
  let sum = 0
  const tablet = steps.map((step, i): TabletStep => {
    const signal = step.code - fit.black
    const residual = signal > 0 ? fit.gamma * Math.log10(fit.gain / signal) - step.density : 0
    if (i < trusted) sum += residual ** 2
    return {
      step: step.step,
      density: step.density,
      expanded: step.expanded,
      code: step.code,
      codeError: step.codeError,
      pixelNoise: step.pixelNoise,
      trusted: i < trusted && aboveBlack(step.code),
      residual,
      column: step.column,
      row: step.row,
    }
  })
  if (!(knots.length >= 5))
    throw new ProblemError('CALIBRATION_NOT_MONOTONE', `only ${knots.length} steps lie clearly above black`)
  return {
    response: {
      knots,
      black: fit.black,
      blackError: fit.blackError,
      gain: fit.gain,
      gamma: fit.gamma,
      gammaError: fit.gammaError,
      fitResidual: Math.sqrt(sum / trusted),
    },
    steps: tablet,
    usedOpen: anchor !== null,
    usedDark: floor !== null,
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

/** The three constants of the parametric curve with their standard uncertainties. */
export interface PowerFit {
  readonly black: number
  readonly blackError: number
  readonly gain: number
  readonly gainError: number
  readonly gamma: number
  readonly gammaError: number
  readonly chiSquarePerFreedom: number
}

/**
 * Weighted least squares of code = black + gain * T^(1/gamma). Density uncertainty is carried over to the code axis
 * through the curve's slope and renewed as the curve settles.
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
  const model = (p: readonly number[], density: number) =>
    Number.isFinite(density) ? p[0]! + Math.exp(p[1]!) * 10 ** (-density * p[2]!) : p[0]!
  let at: readonly number[] = [guess.black, Math.log(guess.gain), 1 / guess.gamma]
  let fit = null
  for (let round = 0; round < 6; round++) {
    const sigma = points.map(p => {
      const slope = Number.isFinite(p.density) ? Math.LN10 * at[2]! * Math.exp(at[1]!) * 10 ** (-p.density * at[2]!) : 0
      return Math.hypot(p.codeError, slope * (Number.isFinite(p.density) ? p.densityError : 0))
    })
    fit = fitLeastSquares(
      p => points.map((point, i) => (point.code - model(p, point.density)) / sigma[i]!),
      at,
      [10, 0.1, 0.1],
      p => p[2]! > 0.1 && p[2]! < 5,
    )
    at = fit.parameters
  }
  const perFreedom = fit!.freedom > 0 ? fit!.chiSquare / fit!.freedom : 1
  const widen = Math.sqrt(Math.max(1, perFreedom))
  const gain = Math.exp(at[1]!)
  const error = (i: number) => Math.sqrt(Math.max(0, fit!.covariance[i]![i]!)) * widen
  return {
    black: at[0]!,
    blackError: error(0),
    gain,
    gainError: gain * error(1),
    gamma: 1 / at[2]!,
    gammaError: error(2) / at[2]! ** 2,
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

/**
 * The curve as a function: PCHIP of density over log(code - black) between the knots; beyond either end
 * the power law with the fitted gamma goes on from the end knot itself, so that there is no jump at the knot.
 * @param black taken instead of the curve's own, to see what an error of black does
 */
export function codeToDensity(curve: ResponseCurve, black = curve.black): CodeToDensity {
  const knots = curve.knots.filter(knot => knot.code - black > 1e-3)
  const ascending = [...knots].reverse()
  const x = ascending.map(knot => Math.log10(knot.code - black))
  const cubic: MonotoneCubic = monotoneCubic(
    x,
    ascending.map(knot => knot.density),
  )
  const first = x[0]!
  const last = x.at(-1)!
  const deep = ascending[0]!.density
  const clear = ascending.at(-1)!.density
  const density = (code: number): number => {
    const signal = code - black
    if (!(signal > 0)) return Number.POSITIVE_INFINITY
    const at = Math.log10(signal)
    if (at <= first) return deep + curve.gamma * (first - at)
    if (at >= last) return clear - curve.gamma * (at - last)
    return evaluateMonotoneCubic(cubic, at)
  }
  return {
    density,
    slope(code) {
      const signal = code - black
      if (!(signal > 0)) return Number.NEGATIVE_INFINITY
      const at = Math.log10(signal)
      const h = 1e-4
      const perLog =
        at <= first || at >= last
          ? -curve.gamma
          : (density(black + 10 ** (at + h)) - density(black + 10 ** (at - h))) / (2 * h)
      return perLog / Math.LN10 / signal
    },
  }
}

/** The calibration's curve as a function. */
export function calibrationToDensity(calibration: Pick<Calibration, 'response'>): CodeToDensity {
  return codeToDensity(calibration.response)
}

function percent(share: number): string {
  return `${(100 * share).toFixed(1)} %`
}

function points(
  steps: readonly SeenStep[],
  open: SeenOpen | null,
  dark: { code: number; codeError: number } | null,
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
    list.push({ density: Number.POSITIVE_INFINITY, densityError: 0, code: dark.code, codeError: dark.codeError })
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

/** A step brighter than the one before by more than noise is no tablet, wherever on it that happens. */
function refuseRising(steps: readonly SeenStep[], dark: { code: number } | null): void {
  const span = steps[0]!.code - Math.min(...steps.map(s => s.code), dark?.code ?? Number.POSITIVE_INFINITY)
  for (let i = 1; i < steps.length; i++) {
    const before = steps[i - 1]!
    const here = steps[i]!
    const rise = here.code - before.code
    const error = Math.hypot(here.codeError, before.codeError)
    // Deep in the noise a rise of a few codes is veil or dust, and the step is merely not trusted.
    if (rise > TOLD_APART * error && rise > 2e-4 * span)
      throw new ProblemError(
        'CALIBRATION_NOT_MONOTONE',
        `step ${here.step} is brighter than step ${before.step} by ${rise.toFixed(0)} codes, standard error ${error.toFixed(1)}`,
      )
  }
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
