import { layout, type ProfileLoops, profileLoops } from '../kernels/profile-loops.js'

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

/**
 * Ripple that strips side by side have in common. Each strip's profile is freed of slow trend (a parabola: the lamp, the film's own uneven coat) and transformed; what differs from strip to strip is noise and grain and tells
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
  const work = bench(m, size)
  const { at, loops } = work
  strips.forEach((strip, k) => {
    work.strips.set(strip, k * n)
  })
  loops.meanOfStrips(at.strips, m, n, at.mean)
  const lengthMm = n * stepMm
  const perBin = 1 / (size * stepMm)
  const first = Math.ceil(FEWEST_PITCHES / lengthMm / perBin)
  const last = Math.min(size / 2 - 1, Math.floor(1 / leastPitchMm / perBin))
  const bins = Math.max(0, last - first + 1)

  // Noise of the mean profile, from the strips' departures from it.
  loops.noisePower(at.strips, m, at.mean, n, size, at.table, at.data, at.values, at.noise)
  const reach = Math.round((NOISE_BINS * size) / n)
  loops.runningMeans(at.noise, size / 2, reach, Math.max(1, first >> 1), last, at.data, at.smooth)
  loops.withoutTrend(at.mean, n, at.flat)
  powerOf(work, at.flat, n, at.power)
  const { power, smooth } = work

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
  const overNoise = peak < 0 ? 0 : most / Math.max(smooth[peak]!, Number.MIN_VALUE)
  const wave = peak < 0 ? null : fittedWave(work, n, (peak * perBin * lengthMm) / n, 1 / n)
  const share = 2 / (n * size)
  // What is left once the wave is taken off; without one it is all there.
  if (wave !== null) {
    for (let i = 0; i < n; i++) work.values[i] = work.mean[i]! - wave.values[i]!
    loops.withoutTrend(at.values, n, at.values)
    powerOf(work, at.values, n, at.power)
  }
  let variance = 0
  let spread = 0
  let floor = 0
  for (let k = first; k <= last; k++) {
    const h = transfer(k * perBin) ** 2
    const common = power[k]! - smooth[k]!
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
      overNoise,
    }
    variance += amplitude ** 2 / 2
    spread += (amplitude / h) ** 2 * noiseOfA
  }
  const shown = Math.max(0, last + 1)
  const picture = {
    frequency: new Float64Array(shown),
    amplitude: new Float64Array(shown),
    noise: new Float64Array(shown),
  }
  for (let i = 0; i < n; i++) work.values[i] = work.flat[i]! * Math.sin((Math.PI * (i + 0.5)) / n) ** 2
  powerOf(work, at.values, n, at.power)
  for (let k = 0; k < shown; k++) {
    picture.frequency[k] = k * perBin
    picture.amplitude[k] = (2 * Math.sqrt(power[k]!)) / (HANN_GAIN * n)
    picture.noise[k] = (2 * Math.sqrt(HANN_POWER * smooth[k]!)) / (HANN_GAIN * n)
  }
  return { variance, varianceError: Math.sqrt(spread), line, ...picture, floor: Math.sqrt(floor) }
}

/** The picture is drawn through a Hann window: without one a wave has side lobes that look like waves. */
const HANN_GAIN = 1 / 2
const HANN_POWER = 3 / 8

/** Room in the memory of the compiled loops for spectra of one size; views of it. */
interface Bench {
  readonly size: number
  readonly loops: ProfileLoops
  /** Where each begins. */
  readonly at: Readonly<
    Record<
      'table' | 'data' | 'strips' | 'mean' | 'flat' | 'values' | 'noise' | 'smooth' | 'power' | 'waves' | 'found',
      number
    >
  >
  readonly strips: Float64Array
  readonly mean: Float64Array
  readonly flat: Float64Array
  readonly values: Float64Array
  readonly smooth: Float64Array
  readonly power: Float64Array
  readonly waves: Float64Array
  readonly found: Float64Array
}

/** By number of strips and size: solids of a page are of a few sizes. */
const benches = new Map<string, Bench>()

function bench(strips: number, size: number): Bench {
  const key = `${strips},${size}`
  const known = benches.get(key)
  if (known !== undefined) return known
  const most = Math.ceil(size / PADDING)
  const places = layout()
  const at = {
    table: places.f64(size),
    data: places.f64(size + 1),
    strips: places.f64(strips * most),
    mean: places.f64(most),
    flat: places.f64(most),
    values: places.f64(most),
    noise: places.f64(size / 2),
    smooth: places.f64(size / 2),
    power: places.f64(size / 2),
    waves: places.f64(2 * most),
    found: places.f64(2),
  }
  const loops = profileLoops(places.end())
  const view = (from: number, length: number) => new Float64Array(loops.memory, from, length)
  const table = view(at.table, size)
  for (let k = 0; k < size / 2; k++) {
    table[2 * k] = Math.cos((2 * Math.PI * k) / size)
    table[2 * k + 1] = Math.sin((2 * Math.PI * k) / size)
  }
  const made = {
    size,
    loops,
    at,
    strips: view(at.strips, strips * most),
    mean: view(at.mean, most),
    flat: view(at.flat, most),
    values: view(at.values, most),
    smooth: view(at.smooth, size / 2),
    power: view(at.power, size / 2),
    waves: view(at.waves, 2 * most),
    found: view(at.found, 2),
  }
  benches.set(key, made)
  return made
}

/** Squares of the transform's moduli, bins 0 to half. */
function powerOf({ loops, at, size }: Bench, values: number, n: number, into: number): void {
  new Float64Array(loops.memory, into, size / 2).fill(0)
  loops.addPower(values, n, size, at.table, at.data, 1, into)
}

interface Wave {
  /** Cycles a sample. */
  readonly frequency: number
  readonly amplitude: number
  /** The wave at each sample. */
  readonly values: Float64Array
}

/** The wave of least squares in the mean near a frequency (cycles a sample), fitted together with the trend; golden section within `within`. */
function fittedWave({ loops, at, waves, found }: Bench, n: number, near: number, within: number): Wave {
  const squaresAt = (frequency: number) => {
    const squares = loops.waveAt(at.mean, n, frequency, at.waves, at.found)
    if (Number.isNaN(squares)) throw new RangeError('a wave so slow cannot be told from the trend')
    return squares
  }
  const golden = (Math.sqrt(5) - 1) / 2
  let low = near - 0.6 * within
  let high = near + 0.6 * within
  let a = high - golden * (high - low)
  let b = low + golden * (high - low)
  let atA = squaresAt(a)
  let atB = squaresAt(b)
  for (let round = 0; round < 24; round++)
    if (atA < atB) {
      high = b
      b = a
      atB = atA
      a = high - golden * (high - low)
      atA = squaresAt(a)
    } else {
      low = a
      a = b
      atA = atB
      b = low + golden * (high - low)
      atB = squaresAt(b)
    }
  const frequency = (low + high) / 2
  squaresAt(frequency)
  const [cos, sin] = [found[0]!, found[1]!]
  const values = new Float64Array(n)
  for (let i = 0; i < n; i++) values[i] = cos * waves[2 * i]! + sin * waves[2 * i + 1]!
  return { frequency, amplitude: Math.hypot(cos, sin), values }
}
