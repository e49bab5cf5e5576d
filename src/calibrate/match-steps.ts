import type { CertificateStep } from './certificate.js'

/** How well a row of codes fits a certificate. */
export interface StepMatch {
  /** Mean squared density difference in units of `TELLING_DENSITY`, each capped; small is good. */
  readonly score: number
  /** code = black + gain * T^(1/gamma), the rough fit it was judged by. */
  readonly black: number
  readonly gain: number
  readonly gamma: number
  /** Seen minus certified density of each step; null where a step was not seen or lies in the noise. */
  readonly off: readonly (number | null)[]
  /** Seen density of open light (should be 0); null when it was not in view. */
  readonly openOff: number | null
}

/** A difference that would be surprising between a tablet and its certificate, D: real ones agree to a third of a step. */
const TELLING_DENSITY = 0.03
/** No single step counts more than this (squared): a swapped or dirty step must not hide the right place. */
const MOST_SQUARED = 25
/** Open light is one place but the only one whose density is known without a certificate. */
const OPEN_WEIGHT = 3
/** Exponents tried: scanners write gamma 1 to 2.6; the rest is room for a tablet of other contrast. */
const GAMMAS = Array.from({ length: 33 }, (_, i) => 0.6 * 1.06 ** i)

/**
 * Fits code = black + gain * T^(1/gamma) to a row of step codes, loosely and robustly: good enough to tell which
 * step is which, never used for a reading. For each exponent the other two constants follow by weighted straight line.
 * @param codes mean code of each step, null where it lies off the page; same length as steps
 * @param noise standard error of such a code
 * @returns null when the codes do not fall with density at all
 */
export function matchSteps(
  steps: readonly CertificateStep[],
  codes: readonly (number | null)[],
  noise: number,
  open: number | null,
): StepMatch | null {
  const seen: { density: number; code: number; weight: number }[] = []
  let least = Number.POSITIVE_INFINITY
  for (const code of codes) if (code !== null && code < least) least = code
  if (open !== null) seen.push({ density: 0, code: open, weight: OPEN_WEIGHT })
  for (let i = 0; i < steps.length; i++) {
    const code = codes[i]
    if (code !== null && code !== undefined) seen.push({ density: steps[i]!.density, code, weight: 1 })
  }
  if (seen.length < 4) return null
  let best: StepMatch | null = null
  for (const gamma of GAMMAS) {
    const light = seen.map(s => 10 ** (-s.density / gamma))
    let weights = seen.map(s => s.weight / (noise ** 2 + (0.07 * (s.code - least + noise)) ** 2))
    let line: { black: number; gain: number } | null = null
    for (let round = 0; round < 4; round++) {
      line = straightLine(light, seen, weights)
      if (line === null || !(line.gain > 0)) break
      const { black, gain } = line
      weights = seen.map((s, i) => {
        const model = gain * light[i]!
        const sigma = Math.hypot(noise, (Math.LN10 / gamma) * TELLING_DENSITY * model)
        const pull = Math.abs(s.code - black - model) / sigma
        return (s.weight / sigma ** 2) * (pull > 2 ? 2 / pull : 1)
      })
    }
    if (line === null || !(line.gain > 0)) continue
    const match = judge(steps, codes, noise, open, { ...line, gamma })
    if (best === null || match.score < best.score) best = match
  }
  return best
}

function straightLine(
  light: readonly number[],
  seen: readonly { code: number }[],
  weights: readonly number[],
): { black: number; gain: number } | null {
  let sw = 0
  let sx = 0
  let sy = 0
  for (let i = 0; i < light.length; i++) {
    sw += weights[i]!
    sx += weights[i]! * light[i]!
    sy += weights[i]! * seen[i]!.code
  }
  let sxx = 0
  let sxy = 0
  for (let i = 0; i < light.length; i++) {
    const dx = light[i]! - sx / sw
    sxx += weights[i]! * dx * dx
    sxy += weights[i]! * dx * (seen[i]!.code - sy / sw)
  }
  if (!(sxx > 0)) return null
  const gain = sxy / sxx
  return { gain, black: sy / sw - (gain * sx) / sw }
}

function judge(
  steps: readonly CertificateStep[],
  codes: readonly (number | null)[],
  noise: number,
  open: number | null,
  fit: { black: number; gain: number; gamma: number },
): StepMatch {
  const { black, gain, gamma } = fit
  let sum = 0
  let weight = 0
  // Seen against certified density; where the signal is within its noise only a code that is too bright counts.
  const judged = (density: number, code: number): number => {
    const model = gain * 10 ** (-density / gamma)
    const blur = noise / ((Math.LN10 / gamma) * model)
    const floor = 0.02 * model
    const off = -gamma * Math.log10(Math.max(code - black, floor) / model)
    sum +=
      Math.min((off / Math.hypot(TELLING_DENSITY, 2 * blur)) ** 2, MOST_SQUARED) * (density === 0 ? OPEN_WEIGHT : 1)
    weight += density === 0 ? OPEN_WEIGHT : 1
    return off
  }
  const openOff = open === null ? null : judged(0, open)
  const off = steps.map((step, i) => {
    const code = codes[i]
    if (code === null || code === undefined) return null
    const value = judged(Math.max(step.density, 1e-9), code)
    const model = gain * 10 ** (-step.density / gamma)
    return model > 10 * noise ? value : null
  })
  return { score: sum / weight, black, gain, gamma, off, openOff }
}
