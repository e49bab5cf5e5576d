import FFT from 'fft.js'
import { layout, type ProfileLoops, reusedLoops } from '../kernels/profile-loops.js'

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
 * Ripple that strips side by side have in common. Each strip's profile is freed of slow trend (the lamp, the film's own uneven coat: a parabola) and transformed; what differs from strip to strip is noise and grain and tells
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
  const half = size / 2
  const lengthMm = n * stepMm
  const perBin = 1 / (size * stepMm)
  const first = Math.ceil(FEWEST_PITCHES / lengthMm / perBin)
  const last = Math.min(half - 1, Math.floor(1 / leastPitchMm / perBin))
  const bins = Math.max(0, last - first + 1)

  const { at, loops, view, power } = laidOut(strips, size, Math.ceil(bins / PADDING) + 2)
  loops.meanOfRows(at.rows, m, n, at.mean)

  // Noise of the mean profile, from the strips' departures from it.
  view(at.strip, half).fill(0)
  for (let k = 0; k < m; k++) {
    loops.lessList(at.rows + 8 * k * n, at.mean, n, at.data)
    power(1 / (m * (m - 1)), at.strip)
  }
  const reach = Math.round((NOISE_BINS * size) / n)
  loops.movingMean(at.strip, half, reach, Math.max(1, first >> 1), last, at.out, at.noise)
  const ofMean = (into: number): void => {
    view(at.data, n).set(view(at.mean, n))
    view(into, half).fill(0)
    power(1, into)
  }
  ofMean(at.power)

  // The strongest wave, among those that stand out.
  const leastOver = Math.log(Math.max(1, (bins * n) / size) / FALSE_ALARM)
  const peak = loops.strongest(at.power, at.noise, first, last, leastOver)
  const most = peak < 0 ? 0 : view(at.power, half)[peak]!
  const noiseAt = (bin: number) => view(at.noise, half)[bin]!
  // For the picture, before the wave is taken out.
  const shown = Math.max(0, last + 1)
  const [frequencies, amplitudes, floors] = shownOf(shown)
  const wave = peak < 0 ? null : fittedWave(loops, at, n, (peak * perBin * lengthMm) / n, 1 / n)
  if (wave !== null) {
    loops.lessWave(at.mean, n, at.cosines, at.sines, wave.cos, wave.sin)
    ofMean(at.power)
  }
  view(at.transfers, Math.ceil(bins / PADDING) + 2).set(
    Float64Array.from({ length: Math.ceil(bins / PADDING) + 2 }, (_, i) => transfer((first + i * PADDING) * perBin)),
  )
  const share = 2 / (n * size)
  loops.bandSums(at.power, at.noise, first, last, at.transfers, PADDING, share, size / n, at.told)
  let [variance, spread, floor] = view(at.told, 3) as unknown as [number, number, number]
  let line: RippleLine | null = null
  if (wave !== null) {
    const frequency = wave.frequency / stepMm
    const bin = Math.min(last, Math.max(first, Math.round(frequency / perBin)))
    // Noise of one sample, were it white at this frequency's level; the fitted amplitude's variance is 2 sigma^2 / n.
    const sigma2 = noiseAt(bin) / n
    const h = transfer(frequency)
    const noiseOfA = (2 * sigma2) / n
    const amplitude = Math.sqrt(Math.max(0, wave.amplitude ** 2 - 2 * noiseOfA)) / h
    line = {
      frequency,
      // Bound of Cramer and Rao for one wave in white noise (Rife & Boorstyn, IEEE Trans. Inf. Theory 20, 591, 1974; from memory).
      frequencyError: (Math.sqrt((6 * sigma2) / n) / (Math.PI * n * stepMm)) * (1 / Math.max(wave.amplitude, 1e-12)),
      amplitude,
      overNoise: most / Math.max(noiseAt(peak), Number.MIN_VALUE),
    }
    variance += amplitude ** 2 / 2
    spread += (amplitude / h) ** 2 * noiseOfA
  }
  return {
    variance,
    varianceError: Math.sqrt(spread),
    line,
    frequency: frequencies,
    amplitude: amplitudes,
    noise: floors,
    floor: Math.sqrt(floor),
  }

  function shownOf(count: number): [Float64Array, Float64Array, Float64Array] {
    const copied = (): Float64Array => view(at.out, count).slice()
    loops.multiplesOf(perBin, count, at.out)
    const frequency = copied()
    loops.rootsOf(at.noise, count, (2 * Math.sqrt(HANN_POWER)) / (HANN_GAIN * n), at.out)
    const noise = copied()
    view(at.data, n).set(view(at.mean, n))
    view(at.strip, half).fill(0)
    power(1, at.strip, true)
    loops.rootsOf(at.strip, count, 2 / (HANN_GAIN * n), at.out)
    return [frequency, copied(), noise]
  }
}

const loopsOf = reusedLoops()

/** Strips and lists of a transform of `size` in the memory of the compiled loops. */
function laidOut(strips: readonly Float64Array[], size: number, transfers: number) {
  const n = strips[0]!.length
  const places = layout()
  const at = {
    rows: places.f64(strips.length * n),
    mean: places.f64(n),
    cosines: places.f64(n),
    sines: places.f64(n),
    data: places.f64(size),
    out: places.f64(2 * size),
    strip: places.f64(size / 2),
    power: places.f64(size / 2),
    noise: places.f64(size / 2),
    transfers: places.f64(transfers),
    told: places.f64(3),
  }
  const loops = loopsOf(places.end())
  const view = (from: number, length: number) => new Float64Array(loops.memory, from, length)
  for (let k = 0; k < strips.length; k++) view(at.rows + 8 * k * n, n).set(strips[k]!)
  const [data, out] = [view(at.data, size), view(at.out, 2 * size)]
  const fft = fftOf(size)
  /** Adds the squares of the transform's moduli, bins 0 to half, of the first n of `data` freed of trend. */
  const power = (share: number, into: number, windowed = false): void => {
    if (!loops.lessTrend(at.data, n)) throw new RangeError('a profile so short has no trend')
    if (windowed) loops.hannWindow(at.data, n)
    data.fill(0, n)
    fft.realTransform(out, data)
    loops.addPower(at.out, size / 2, share, into)
  }
  return { at, loops, view, power }
}

/** The picture is drawn through a Hann window: without one a wave has side lobes that look like waves. */
const HANN_GAIN = 1 / 2
const HANN_POWER = 3 / 8

/** Transforms by size: their tables take as long to make as a transform. */
const ffts = new Map<number, FFT>()

function fftOf(size: number): FFT {
  const known = ffts.get(size) ?? new FFT(size)
  ffts.set(size, known)
  return known
}

interface Wave {
  /** Cycles a sample. */
  readonly frequency: number
  readonly amplitude: number
  /** Its parts of cosine and sine about the middle of the profile. */
  readonly cos: number
  readonly sin: number
}

/** The wave of least squares near a frequency (cycles a sample), fitted to the mean together with the trend; golden section within `within`. */
function fittedWave(
  loops: ProfileLoops,
  at: { readonly mean: number; readonly cosines: number; readonly sines: number; readonly told: number },
  n: number,
  near: number,
  within: number,
): Wave {
  const squaresAt = (frequency: number): number => {
    const squares = loops.fitWave(at.mean, n, frequency, at.cosines, at.sines, at.told)
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
  const [cos, sin] = new Float64Array(loops.memory, at.told, 2) as unknown as [number, number]
  return { frequency, amplitude: Math.hypot(cos, sin), cos, sin }
}
