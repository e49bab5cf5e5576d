import { compiledLoops } from './compiled-loops.js'
import { PROFILE_LOOPS } from './profile-loops-code.js'

/** The compiled loops of `assembly/profile-loops.ts`, described there. Places count bytes from the start of the memory. */
export interface ProfileLoops {
  readonly memory: ArrayBuffer
  polynomialAt(coefficients: number, order: number, x: number, n: number, into: number): void
  /** 0 when there are too few points. */
  fitPolynomial(x: number, y: number, weights: number, n: number, order: number, coefficients: number): number
  /** 0 when there are too few points. */
  robustPolynomial(
    x: number,
    y: number,
    weights: number,
    n: number,
    order: number,
    outlier: number,
    coefficients: number,
    work: number,
  ): number
  areaCentres(
    light: number,
    start: number,
    first: number,
    n: number,
    sign: number,
    clear: number,
    dark: number,
    pitch: number,
    into: number,
  ): void
  plateau(
    light: number,
    start: number,
    first: number,
    centres: number,
    n: number,
    pitch: number,
    signedCosine: number,
    near: number,
    split: number,
    far: number,
    samples: number,
    dust: number,
    work: number,
    into: number,
  ): void
  binLines(
    light: number,
    start: number,
    first: number,
    centres: number,
    weights: number,
    n: number,
    pitch: number,
    sign: number,
    cosine: number,
    darkUm: number,
    width: number,
    bins: number,
    distances: number,
    lights: number,
    counts: number,
  ): number
  smoothProfile(
    distances: number,
    lights: number,
    counts: number,
    bins: number,
    from: number,
    step: number,
    points: number,
    half: number,
    clear: number,
    dark: number,
    values: number,
    slopes: number,
  ): void
  shiftLines(
    light: number,
    start: number,
    first: number,
    centres: number,
    n: number,
    pitch: number,
    sign: number,
    cosine: number,
    from: number,
    step: number,
    points: number,
    values: number,
    slopes: number,
    clear: number,
    dark: number,
    clearNoise: number,
    darkNoise: number,
    shifts: number,
    errors: number,
  ): void
  edgeRuns(
    low: number,
    high: number,
    slope: number,
    at0: number,
    before: number,
    after: number,
    lengthU: number,
    lengthV: number,
    lines: number,
    first: number,
    start: number,
  ): number
  scaledPlaces(lines: number, n: number, pitch: number, middle: number, half: number, into: number): void
  takeRuns(
    window: number,
    across: number,
    down: number,
    left: number,
    top: number,
    lines: number,
    first: number,
    start: number,
    from: number,
    to: number,
    light: number,
  ): void
  medianOf(list: number, length: number): number
  shiftedCentres(
    coefficients: number,
    order: number,
    along: number,
    n: number,
    shifts: number,
    errors: number,
    stretch: number,
    centres: number,
    weights: number,
  ): number
  squaredAbout(
    coefficients: number,
    order: number,
    x: number,
    y: number,
    weights: number,
    n: number,
    into: number,
  ): number
  finiteOf(list: number, n: number, into: number): number
  leftOut(weights: number, errors: number, n: number): number
  departures(
    coefficients: number,
    order: number,
    along: number,
    centres: number,
    weights: number,
    errors: number,
    n: number,
    factor: number,
    off: number,
    offErrors: number,
  ): number
  widestGap(list: number, n: number): number
  binErrors(
    lights: number,
    counts: number,
    n: number,
    dark: number,
    change: number,
    darkNoise: number,
    clearNoise: number,
    floor: number,
    into: number,
  ): void
  misfitOf(
    model: number,
    seen: number,
    counts: number,
    n: number,
    bins: number,
    dark: number,
    change: number,
    darkNoise: number,
    clearNoise: number,
    sigmas: number,
  ): number
  addDifference(up: number, down: number, n: number, share: number, into: number): void
  overVariance(list: number, errors: number, n: number): void
  timesDifference(list: number, up: number, down: number, n: number): number
  meanOfRows(rows: number, m: number, n: number, into: number): void
  meanDensity(light: number, n: number, flare: number): number
  rowsNoise(rows: number, mean: number, m: number, n: number, flare: number): number
  inkShares(rows: number, mean: number, m: number, n: number, flare: number, base: number, net: number): void
  lessList(list: number, other: number, n: number, into: number): void
  lessTrend(values: number, n: number): number
  addPower(complex: number, n: number, share: number, into: number): void
  movingMean(values: number, n: number, reach: number, first: number, last: number, sums: number, into: number): void
  strongest(power: number, noise: number, first: number, last: number, least: number): number
  fitWave(values: number, n: number, frequency: number, cosines: number, sines: number, into: number): number
  lessWave(values: number, n: number, cosines: number, sines: number, ofCos: number, ofSin: number): void
  bandSums(
    power: number,
    noise: number,
    first: number,
    last: number,
    transfers: number,
    every: number,
    share: number,
    independent: number,
    into: number,
  ): void
  hannWindow(values: number, n: number): void
  rootsOf(list: number, n: number, factor: number, into: number): void
  multiplesOf(step: number, n: number, into: number): void
  seenLight(
    shares: number,
    size: number,
    flat: number,
    clear: number,
    decay: number,
    step: number,
    offsets: number,
    weights: number,
    nodes: number,
    distances: number,
    n: number,
    centre: number,
    film: number,
    into: number,
  ): void
  squaredDepartures(light: number, seen: number, errors: number, n: number): number
  normalEquations(
    light: number,
    seen: number,
    errors: number,
    n: number,
    up: number,
    down: number,
    step0: number,
    step1: number,
    third: number,
    into: number,
  ): void
}

/** The first bytes of the memory hold the loops' own tables. */
const OWN_BYTES = 65_536

/** Arrays one after the other in a memory; each call answers where its array begins. */
export interface Layout {
  f64(count: number): number
  i32(count: number): number
  f32(count: number): number
  /** Where the last one ends. */
  end(): number
}

export function layout(): Layout {
  let end = OWN_BYTES
  const take = (bytes: number) => {
    const at = end
    // Each on a whole number of f64.
    end += 8 * Math.ceil(bytes / 8)
    return at
  }
  return { f64: n => take(8 * n), i32: n => take(4 * n), f32: n => take(4 * n), end: () => end }
}

/**
 * The loops over profiles, compiled once a thread. Run a few dozen times each, they took longer to be compiled from JavaScript than to run.
 * @param bytes end of what the caller lays out (`layout`)
 */
function profileLoops(bytes: number): ProfileLoops {
  const { memory, exports } = compiledLoops<Omit<ProfileLoops, 'memory'>>(PROFILE_LOOPS, bytes)
  return { ...exports, memory }
}

/** As `profileLoops`, in one memory that is used again for every next call it is large enough for: a new one each costs more than the loops in it. */
export function reusedLoops(): (bytes: number) => ProfileLoops {
  let kept: ProfileLoops | null = null
  return bytes => {
    if (kept === null || kept.memory.byteLength < bytes) kept = profileLoops(1.25 * bytes)
    return kept
  }
}
