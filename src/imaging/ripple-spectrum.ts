import FFT from 'fft.js'
import { solveLinear } from './solve-linear.js'

/** Profiles along one direction through several strips side by side, evenly sampled; all of the same length. */
export interface StripProfiles {
  readonly strips: readonly Float64Array[]
  /** mm from sample to sample. */
  readonly stepMm: number
  /** How much of a wave the sampling and the optics leave, 0..1, at a frequency in cycles/mm. */
  readonly transfer: (frequency: number) => number
  /** The shortest pitch that is looked for, mm. */
  readonly leastPitchMm: number
}

/** One wave that stands out of the noise. */
export interface RippleLine {
  /** Cycles/mm, and standard uncertainty. */
  readonly frequency: number
  readonly frequencyError: number
  /** Half of peak to peak, what the optics took given back; unit of the profiles. */
  readonly amplitude: number
  /** Power over that of the noise there. */
  readonly overNoise: number
}

export interface RippleSpectrum {
  /** Variance of what all strips have in common, noise taken out: unbiased, so it may be below 0. */
  readonly variance: number
  readonly varianceError: number
  /** The strongest wave; null when none stands out. */
  readonly line: RippleLine | null
  /** Amplitude by frequency, cycles/mm: of the mean profile as seen, and of its noise. For the picture. */
  readonly frequency: Float64Array
  readonly amplitude: Float64Array
  readonly noise: Float64Array
  /** Root mean square of the noise over the band looked at, in the unit of the profiles. */
  readonly floor: number
}

/** Waves of which fewer pitches lie in the profile are slow trend. */
export const FEWEST_PITCHES = 3
/** Chance that noise alone makes any wave stand out. */
const FALSE_ALARM = 0.001
/** The noise is averaged over so many independent frequencies to either side. */
const NOISE_BINS = 6
const PADDING = 8
/** Slow trend: the lamp, the film's own uneven coat. A parabola. */
const TREND = 3

/**
 * Ripple that strips side by side have in common. Each strip's profile is freed of slow trend and transformed; what differs from strip to strip is noise and grain and tells
 * the noise floor frequency by frequency; what they share is ripple. The strongest wave is fitted together with the trend
 * (least squares), so that few pitches do not bias it; its amplitude is `2 |X| / N` of the transform (closed form).
 * @throws RangeError on fewer than 2 strips or profiles of unequal length
 */
export function rippleSpectrum({ strips, stepMm, transfer, leastPitchMm }: StripProfiles): RippleSpectrum {
  const m = strips.length
  const n = strips[0]?.length ?? 0
  if (!(m >= 2 && n >= 16 && strips.every(strip => strip.length === n)))
    throw new RangeError(`needs at least 2 strips of the same 16 samples or more; got ${m} of ${n}`)
  const size = 2 ** Math.ceil(Math.log2(n * PADDING))
  const fft = fftOf(size)
  const mean = meanOf(strips)
  const lengthMm = n * stepMm
  const perBin = 1 / (size * stepMm)
  const first = Math.ceil(FEWEST_PITCHES / lengthMm / perBin)
  const last = Math.min(size / 2 - 1, Math.floor(1 / leastPitchMm / perBin))
  const bins = Math.max(0, last - first + 1)

  // Noise of the mean profile, from the strips' departures from it.
  const noise = new Float64Array(size / 2)
  for (const strip of strips) {
    const power = powerOf(fft, size, withoutTrend(Float64Array.from(strip, (value, i) => value - mean[i]!)))
    for (let k = 0; k < noise.length; k++) noise[k]! += power[k]! / (m * (m - 1))
  }
  const reach = Math.round((NOISE_BINS * size) / n)
  const smooth = smoothed(noise, reach, Math.max(1, first >> 1), last)
  const flat = withoutTrend(mean)
  const power = powerOf(fft, size, flat)

  let peak = -1
  let most = 0
  for (let k = first; k <= last; k++) {
    const over = power[k]! / Math.max(smooth[k]!, Number.MIN_VALUE)
    // The strongest wave, among those that stand out.
    if (over > Math.log(Math.max(1, (bins * n) / size) / FALSE_ALARM) && power[k]! > most) {
      most = power[k]!
      peak = k
    }
  }
  const wave = peak < 0 ? null : fittedWave(mean, (peak * perBin * lengthMm) / n, 1 / n)
  const rest = wave === null ? strips : strips.map(strip => strip.map((value, i) => value - wave.values[i]!))
  const share = 2 / (n * size)
  const restPower = wave === null ? power : powerOf(fft, size, withoutTrend(meanOf(rest)))
  let variance = 0
  let spread = 0
  let floor = 0
  for (let k = first; k <= last; k++) {
    const h = transfer(k * perBin) ** 2
    const common = restPower[k]! - smooth[k]!
    variance += (share * common) / h
    spread += (share / h) ** 2 * (smooth[k]! ** 2 + 2 * smooth[k]! * Math.max(0, common)) * (size / n)
    floor += share * smooth[k]!
  }
  let line: RippleLine | null = null
  if (wave !== null) {
    const frequency = wave.frequency / stepMm
    const bin = Math.min(last, Math.max(first, Math.round(frequency / perBin)))
    // Noise of one sample, were it white at this frequency's level; the fitted amplitude's variance is 2 sigma^2 / n.
    const sigma2 = smooth[bin]! / n
    const h = transfer(frequency)
    const noiseOfA = (2 * sigma2) / n
    const amplitude = Math.sqrt(Math.max(0, wave.amplitude ** 2 - 2 * noiseOfA)) / h
    line = {
      frequency,
      // Bound of Cramer and Rao for one wave in white noise (Rife & Boorstyn, IEEE Trans. Inf. Theory 20, 591, 1974; from memory).
      frequencyError: (Math.sqrt((6 * sigma2) / n) / (Math.PI * n * stepMm)) * (1 / Math.max(wave.amplitude, 1e-12)),
      amplitude,
      overNoise: most / Math.max(smooth[peak]!, Number.MIN_VALUE),
    }
    variance += amplitude ** 2 / 2
    spread += (amplitude / h) ** 2 * noiseOfA
  }
  const shown = Math.max(0, last + 1)
  const seen = powerOf(fft, size, hann(flat))
  return {
    variance,
    varianceError: Math.sqrt(spread),
    line,
    frequency: Float64Array.from({ length: shown }, (_, k) => k * perBin),
    amplitude: Float64Array.from({ length: shown }, (_, k) => (2 * Math.sqrt(seen[k]!)) / (HANN_GAIN * n)),
    noise: Float64Array.from({ length: shown }, (_, k) => (2 * Math.sqrt(HANN_POWER * smooth[k]!)) / (HANN_GAIN * n)),
    floor: Math.sqrt(floor),
  }
}

/** The picture is drawn through a Hann window: without one a wave has side lobes that look like waves. */
const HANN_GAIN = 1 / 2
const HANN_POWER = 3 / 8

function hann(values: Float64Array): Float64Array {
  const n = values.length
  return values.map((value, i) => value * Math.sin((Math.PI * (i + 0.5)) / n) ** 2)
}

function meanOf(strips: readonly Float64Array[]): Float64Array {
  const mean = new Float64Array(strips[0]!.length)
  for (const strip of strips) for (let i = 0; i < mean.length; i++) mean[i]! += strip[i]! / strips.length
  return mean
}

/** Transforms by size: their tables take as long to make as a transform. */
const ffts = new Map<number, { readonly fft: FFT; readonly data: Float64Array; readonly out: Float64Array }>()

function fftOf(size: number) {
  const known = ffts.get(size)
  if (known !== undefined) return known
  const made = { fft: new FFT(size), data: new Float64Array(size), out: new Float64Array(2 * size) }
  ffts.set(size, made)
  return made
}

/** Squares of the transform's moduli, bins 0 to half. */
function powerOf({ fft, data, out }: ReturnType<typeof fftOf>, size: number, values: Float64Array): Float64Array {
  data.fill(0, values.length)
  data.set(values)
  fft.realTransform(out, data)
  const power = new Float64Array(size / 2)
  for (let k = 0; k < power.length; k++) power[k] = out[2 * k]! ** 2 + out[2 * k + 1]! ** 2
  return power
}

function smoothed(values: Float64Array, reach: number, first: number, last: number): Float64Array {
  const sums = new Float64Array(values.length + 1)
  for (let i = 0; i < values.length; i++) sums[i + 1] = sums[i]! + values[i]!
  const means = new Float64Array(values.length)
  for (let i = 0; i < values.length; i++) {
    const from = Math.max(first, i - reach)
    const to = Math.min(last, i + reach)
    means[i] = to < from ? values[i]! : (sums[to + 1]! - sums[from]!) / (to - from + 1)
  }
  return means
}

/** Columns of the trend at sample i of n, scaled to -1..1. */
function trendAt(i: number, n: number, into: Float64Array): void {
  const x = (2 * (i + 0.5)) / n - 1
  into[0] = 1
  into[1] = x
  into[2] = x * x
}

function withoutTrend(values: Float64Array): Float64Array {
  const n = values.length
  const row = new Float64Array(TREND)
  const fitted = leastSquares(n, row, i => trendAt(i, n, row), values)
  const flat = new Float64Array(n)
  for (let i = 0; i < n; i++) {
    trendAt(i, n, row)
    flat[i] = values[i]! - dot(row, fitted)
  }
  return flat
}

interface Wave {
  /** Cycles a sample. */
  readonly frequency: number
  readonly amplitude: number
  /** The wave at each sample. */
  readonly values: Float64Array
}

/** Samples after which a wave that is turned on step by step is begun anew, so that rounding does not add up. */
const TURNED_ON = 64

/** The wave of least squares near a frequency (cycles a sample), fitted together with the trend; golden section within `within`. */
function fittedWave(values: Float64Array, near: number, within: number): Wave {
  const n = values.length
  const cosines = new Float64Array(n)
  const sines = new Float64Array(n)
  const row = new Float64Array(TREND + 2)
  const fillRow = (i: number): void => {
    trendAt(i, n, row)
    row[TREND] = cosines[i]!
    row[TREND + 1] = sines[i]!
  }
  const fitAt = (frequency: number) => {
    const step = 2 * Math.PI * frequency
    const turnCos = Math.cos(step)
    const turnSin = Math.sin(step)
    for (let i = 0; i < n; i++)
      if (i % TURNED_ON === 0) {
        const angle = step * (i - (n - 1) / 2)
        cosines[i] = Math.cos(angle)
        sines[i] = Math.sin(angle)
      } else {
        cosines[i] = cosines[i - 1]! * turnCos - sines[i - 1]! * turnSin
        sines[i] = sines[i - 1]! * turnCos + cosines[i - 1]! * turnSin
      }
    const fitted = leastSquares(n, row, fillRow, values)
    let squares = 0
    for (let i = 0; i < n; i++) {
      fillRow(i)
      squares += (values[i]! - dot(row, fitted)) ** 2
    }
    return { squares, cos: fitted[TREND]!, sin: fitted[TREND + 1]! }
  }
  const golden = (Math.sqrt(5) - 1) / 2
  let low = near - 0.6 * within
  let high = near + 0.6 * within
  let a = high - golden * (high - low)
  let b = low + golden * (high - low)
  let atA = fitAt(a).squares
  let atB = fitAt(b).squares
  for (let round = 0; round < 24; round++)
    if (atA < atB) {
      high = b
      b = a
      atB = atA
      a = high - golden * (high - low)
      atA = fitAt(a).squares
    } else {
      low = a
      a = b
      atA = atB
      b = low + golden * (high - low)
      atB = fitAt(b).squares
    }
  const frequency = (low + high) / 2
  const { cos, sin } = fitAt(frequency)
  return { frequency, amplitude: Math.hypot(cos, sin), values: cosines.map((c, i) => cos * c + sin * sines[i]!) }
}

/** Least squares of rows that `fill` writes into `row`, one a sample. */
function leastSquares(n: number, row: Float64Array, fill: (i: number) => void, values: Float64Array): Float64Array {
  const p = row.length
  const h = new Float64Array(p * p)
  const right = new Float64Array(p)
  for (let i = 0; i < n; i++) {
    fill(i)
    for (let j = 0; j < p; j++) {
      right[j]! += row[j]! * values[i]!
      for (let k = 0; k <= j; k++) h[j * p + k]! += row[j]! * row[k]!
    }
  }
  for (let j = 0; j < p; j++) for (let k = j + 1; k < p; k++) h[j * p + k] = h[k * p + j]!
  const fitted = solveLinear(h, right, p)
  if (fitted === null) throw new RangeError('a wave so slow cannot be told from the trend')
  return fitted
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!
  return sum
}
