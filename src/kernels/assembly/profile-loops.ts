// The loops over profiles, in AssemblyScript, compiled by `npm run kernels` to ../profile-loops-code.ts: edges super-sampled, the ink edge
// seen through a line spread, spectra of ripple. Every argument that is a place counts bytes from the start of the memory; the caller lays the memory out.

import { at, put, whole } from './lists.js'

// @ts-expect-error: decorator
@inline
function pixel(light: usize, i: i32): f64 {
  return load<f32>(light + ((<usize>i) << 2)) as f64
}

/** Places the value of rank `k` at `k`, what is less before it (Hoare's selection). */
function select(list: usize, length: i32, k: i32): void {
  let left = 0
  let right = length - 1
  while (left < right) {
    const pivot = at(list, k)
    let i = left
    let j = right
    do {
      while (at(list, i) < pivot) i++
      while (pivot < at(list, j)) j--
      if (i <= j) {
        const other = at(list, i)
        put(list, i, at(list, j))
        put(list, j, other)
        i++
        j--
      }
    } while (i <= j)
    if (j < k) left = i
    if (k < i) right = j
  }
}

/** Median of f64, which are put in another order. */
export function medianOf(list: usize, length: i32): f64 {
  const half = length >> 1
  select(list, length, half)
  const middle = at(list, half)
  if (length & 1) return middle
  let below = at(list, 0)
  for (let i = 1; i < half; i++) below = max(below, at(list, i))
  return (below + middle) / 2
}

/** Median absolute deviation from the median, which is put at `usual`; the values are lost. */
function deviationOf(list: usize, length: i32, usual: usize): f64 {
  const middle = medianOf(list, length)
  store<f64>(usual, middle)
  for (let i = 0; i < length; i++) put(list, i, abs(at(list, i) - middle))
  return medianOf(list, length)
}

/** 1 / 0.6745: a normal distribution's sigma from its median absolute deviation. */
const MAD_TO_SIGMA: f64 = 1.4826

/** Solution of a system of up to 8 by elimination with partial pivots, in place of the right side; false when it has none. */
function solve(matrix: usize, right: usize, n: i32): bool {
  for (let column = 0; column < n; column++) {
    let best = column
    for (let r = column + 1; r < n; r++)
      if (abs(at(matrix, r * n + column)) > abs(at(matrix, best * n + column))) best = r
    if (best != column) {
      for (let c = 0; c < n; c++) {
        const other = at(matrix, column * n + c)
        put(matrix, column * n + c, at(matrix, best * n + c))
        put(matrix, best * n + c, other)
      }
      const other = at(right, column)
      put(right, column, at(right, best))
      put(right, best, other)
    }
    const pivot = at(matrix, column * n + column)
    if (!(abs(pivot) > 0)) return false
    for (let r = column + 1; r < n; r++) {
      const factor = at(matrix, r * n + column) / pivot
      if (factor == 0) continue
      for (let c = column; c < n; c++) put(matrix, r * n + c, at(matrix, r * n + c) - factor * at(matrix, column * n + c))
      put(right, r, at(right, r) - factor * at(right, column))
    }
  }
  for (let r = n - 1; r >= 0; r--) {
    let value = at(right, r)
    for (let c = r + 1; c < n; c++) value -= at(matrix, r * n + c) * at(right, c)
    put(right, r, value / at(matrix, r * n + r))
  }
  return true
}

// @ts-expect-error: decorator
@inline
function polynomial(coefficients: usize, order: i32, x: f64): f64 {
  let value: f64 = 0
  for (let k = order; k >= 0; k--) value = value * x + at(coefficients, k)
  return value
}

/** A polynomial at each of `n` places. */
export function polynomialAt(coefficients: usize, order: i32, x: usize, n: i32, into: usize): void {
  for (let i = 0; i < n; i++) put(into, i, polynomial(coefficients, order, at(x, i)))
}

/** Normal equations and powers of a polynomial of up to order 5. */
const MATRIX = memory.data(8 * 36)
const POWERS = memory.data(8 * 6)

/** Weighted least-squares polynomial, weights 0 or 1 or any between; false when there are too few points. */
export function fitPolynomial(x: usize, y: usize, weights: usize, n: i32, order: i32, coefficients: usize): bool {
  const size = order + 1
  memory.fill(MATRIX, 0, (<usize>(size * size)) << 3)
  memory.fill(coefficients, 0, (<usize>size) << 3)
  let used = 0
  for (let i = 0; i < n; i++) {
    const w = at(weights, i)
    if (!(w > 0)) continue
    used++
    let power: f64 = 1
    for (let k = 0; k < size; k++) {
      put(POWERS, k, power)
      power *= at(x, i)
    }
    for (let j = 0; j < size; j++) {
      const share = w * at(POWERS, j)
      put(coefficients, j, at(coefficients, j) + share * at(y, i))
      for (let k = 0; k < size; k++) put(MATRIX, j * size + k, at(MATRIX, j * size + k) + share * at(POWERS, k))
    }
  }
  return used >= size && solve(MATRIX, coefficients, size)
}

const USUAL = memory.data(8)

/**
 * Polynomial through the points of weight 1; in three rounds those further off than `outlier` robust deviations get weight 0.
 * @param work 3 n f64
 * @returns false when there are too few points
 */
export function robustPolynomial(
  x: usize,
  y: usize,
  weights: usize,
  n: i32,
  order: i32,
  outlier: f64,
  coefficients: usize,
  work: usize,
): bool {
  const off = work + ((<usize>n) << 3)
  const told = off + ((<usize>n) << 3)
  memory.copy(work, weights, (<usize>n) << 3)
  if (!fitPolynomial(x, y, weights, n, order, coefficients)) return false
  for (let round = 0; round < 3; round++) {
    let count = 0
    for (let i = 0; i < n; i++) {
      const departure = at(y, i) - polynomial(coefficients, order, at(x, i))
      put(off, i, departure)
      if (at(work, i) > 0) put(told, count++, departure)
    }
    const spread = max(MAD_TO_SIGMA * deviationOf(told, count, USUAL), 1e-6)
    for (let i = 0; i < n; i++) put(weights, i, at(work, i) > 0 && abs(at(off, i)) <= outlier * spread ? 1 : 0)
    if (!fitPolynomial(x, y, weights, n, order, coefficients)) return false
  }
  return true
}

/** Where a step of the same plateaus would have to stand on each scan line to pass the same light. */
export function areaCentres(
  light: usize,
  start: usize,
  first: usize,
  n: i32,
  sign: f64,
  clear: f64,
  dark: f64,
  pitch: f64,
  into: usize,
): void {
  for (let j = 0; j < n; j++) {
    const from = whole(start, j)
    const to = whole(start, j + 1)
    let missing: f64 = 0
    for (let i = from; i < to; i++) missing += (clear - pixel(light, i)) / (clear - dark)
    const column = <f64>whole(first, j)
    put(into, j, sign > 0 ? (column - 0.5 + missing) * pitch : (column + <f64>(to - from) - 0.5 - missing) * pitch)
  }
}

/**
 * One side of an edge: mean without dust, pixel noise, and far half less near half. `into`: those three.
 * @param near where the plateau begins, is halved and ends, um from the edge, times the sign of the side
 * @param samples pixels looked at to tell what is usual
 * @param work 3 n f64 for the ranges, then 2 x samples f64
 */
export function plateau(
  light: usize,
  start: usize,
  first: usize,
  centres: usize,
  n: i32,
  pitch: f64,
  signedCosine: f64,
  near: f64,
  split: f64,
  far: f64,
  samples: i32,
  dust: f64,
  work: usize,
  into: usize,
): void {
  const list = work + ((<usize>(3 * n)) << 3)
  let ranges = 0
  let pixels = 0
  for (let j = 0; j < n; j++) {
    const centre = at(centres, j)
    const column = <f64>whole(first, j)
    const a = (centre + near / signedCosine) / pitch - column
    const b = (centre + far / signedCosine) / pitch - column
    const from = max(0, <i32>Math.ceil(min(a, b)))
    const to = min(whole(start, j + 1) - whole(start, j), <i32>Math.floor(max(a, b)) + 1)
    if (!(to > from)) continue
    put(work, 3 * ranges, <f64>(whole(start, j) + from))
    put(work, 3 * ranges + 1, <f64>(whole(start, j) + to))
    put(work, 3 * ranges + 2, <f64>whole(start, j) + (centre + split / signedCosine) / pitch - column)
    ranges++
    pixels += to - from
  }
  if (pixels < 8) {
    store<f64>(into, NaN)
    store<f64>(into, NaN, 8)
    store<f64>(into, 0, 16)
    return
  }
  const every = max(1, pixels / samples)
  let count = 0
  let turn = 0
  for (let k = 0; k < ranges; k++) {
    const from = <i32>at(work, 3 * k)
    const to = <i32>at(work, 3 * k + 1)
    for (let i = from + ((every - (turn % every)) % every); i < to; i += every) put(list, count++, pixel(light, i))
    turn += to - from
  }
  const noise = MAD_TO_SIGMA * deviationOf(list, count, USUAL)
  const usual = load<f64>(USUAL)
  const within = dust * max(noise, 1e-6)
  let nearSum: f64 = 0
  let farSum: f64 = 0
  let nearCount: f64 = 0
  let farCount: f64 = 0
  for (let k = 0; k < ranges; k++) {
    const to = <i32>at(work, 3 * k + 1)
    const halved = at(work, 3 * k + 2)
    for (let i = <i32>at(work, 3 * k); i < to; i++) {
      const value = pixel(light, i)
      if (!(abs(value - usual) <= within)) continue
      if (<f64>i > halved == signedCosine > 0) {
        farSum += value
        farCount += 1
      } else {
        nearSum += value
        nearCount += 1
      }
    }
  }
  store<f64>(into, (nearSum + farSum) / max(1, nearCount + farCount))
  store<f64>(into, noise, 8)
  store<f64>(into, abs(farSum / max(1, farCount) - nearSum / max(1, nearCount)), 16)
}

/**
 * Pixels collected in bins of their distance from the edge: mean distance, mean light and number of those that were filled, side by side.
 * @returns how many
 */
export function binLines(
  light: usize,
  start: usize,
  first: usize,
  centres: usize,
  weights: usize,
  n: i32,
  pitch: f64,
  sign: f64,
  cosine: f64,
  darkUm: f64,
  width: f64,
  bins: i32,
  distances: usize,
  lights: usize,
  counts: usize,
): i32 {
  memory.fill(distances, 0, (<usize>bins) << 3)
  memory.fill(lights, 0, (<usize>bins) << 3)
  memory.fill(counts, 0, (<usize>bins) << 3)
  for (let j = 0; j < n; j++) {
    if (!(at(weights, j) > 0)) continue
    const centre = at(centres, j)
    const to = whole(start, j + 1)
    const column = whole(first, j) - whole(start, j)
    for (let i = whole(start, j); i < to; i++) {
      const distance = sign * (<f64>(column + i) * pitch - centre) * cosine
      const k = <i32>Math.floor((distance + darkUm) / width)
      if (k < 0 || k >= bins) continue
      put(distances, k, at(distances, k) + distance)
      put(lights, k, at(lights, k) + pixel(light, i))
      put(counts, k, at(counts, k) + 1)
    }
  }
  let filled = 0
  for (let k = 0; k < bins; k++) {
    const count = at(counts, k)
    if (!(count > 0)) continue
    put(distances, filled, at(distances, k) / count)
    put(lights, filled, at(lights, k) / count)
    put(counts, filled++, count)
  }
  return filled
}

/**
 * Value and slope on an even grid of the quadratics fitted to the bins within `half`, weighted by count and nearness; where too few
 * bins lie, the plateau.
 */
export function smoothProfile(
  distances: usize,
  lights: usize,
  counts: usize,
  bins: i32,
  from: f64,
  step: f64,
  points: i32,
  half: f64,
  clear: f64,
  dark: f64,
  values: usize,
  slopes: usize,
): void {
  let low = 0
  for (let p = 0; p < points; p++) {
    const place = from + <f64>p * step
    while (low < bins && at(distances, low) < place - half) low++
    let s0: f64 = 0
    let s1: f64 = 0
    let s2: f64 = 0
    let s3: f64 = 0
    let s4: f64 = 0
    let y0: f64 = 0
    let y1: f64 = 0
    let y2: f64 = 0
    let found = 0
    for (let k = low; k < bins && at(distances, k) <= place + half; k++) {
      const x = (at(distances, k) - place) / half
      const w = at(counts, k) * (1 - x * x)
      if (!(w > 0)) continue
      found++
      const wx = w * x
      const wxx = wx * x
      s0 += w
      s1 += wx
      s2 += wxx
      s3 += wxx * x
      s4 += wxx * x * x
      y0 += w * at(lights, k)
      y1 += wx * at(lights, k)
      y2 += wxx * at(lights, k)
    }
    let value = place > 0 ? clear : dark
    let slope: f64 = 0
    if (found >= 3) {
      const det = s0 * (s2 * s4 - s3 * s3) - s1 * (s1 * s4 - s3 * s2) + s2 * (s1 * s3 - s2 * s2)
      if (abs(det) > 1e-9 * (s0 * s0 * s0)) {
        value = (y0 * (s2 * s4 - s3 * s3) - s1 * (y1 * s4 - y2 * s3) + s2 * (y1 * s3 - y2 * s2)) / det
        slope = (s0 * (y1 * s4 - s3 * y2) - y0 * (s1 * s4 - s3 * s2) + s2 * (s1 * y2 - y1 * s2)) / det / half
      } else {
        const line = s0 * s2 - s1 * s1
        if (line > 1e-9 * s0 * s0) {
          value = (y0 * s2 - y1 * s1) / line
          slope = (s0 * y1 - s1 * y0) / line / half
        }
      }
    }
    put(values, p, value)
    put(slopes, p, slope)
  }
}

/**
 * Shift of each scan line against the profile, um along the normal, and the standard error that noise leaves it; where no pixel lies
 * on the slope, 0 and infinity.
 */
export function shiftLines(
  light: usize,
  start: usize,
  first: usize,
  centres: usize,
  n: i32,
  pitch: f64,
  sign: f64,
  cosine: f64,
  from: f64,
  step: f64,
  points: i32,
  values: usize,
  slopes: usize,
  clear: f64,
  dark: f64,
  clearNoise: f64,
  darkNoise: f64,
  shifts: usize,
  errors: usize,
): void {
  const change = clear - dark
  // The 60 % contour (ISO/IEC 13660 manner) with room on both sides; the plateaus carry noise but no place.
  const low = dark + 0.1 * change
  const high = dark + 0.7 * change
  // Only where the profile may lie between the two is there anything to do; a step to either side for rounding.
  let firstStep = 0
  while (firstStep < points && !(at(values, firstStep) > low && at(values, firstStep) < high)) firstStep++
  let lastStep = points - 1
  while (lastStep > firstStep && !(at(values, lastStep) > low && at(values, lastStep) < high)) lastStep--
  const nearest = (from + <f64>(firstStep - 2) * step) / cosine / sign
  const farthest = (from + <f64>(lastStep + 2) * step) / cosine / sign
  for (let j = 0; j < n; j++) {
    const centre = at(centres, j)
    const column = whole(first, j) - whole(start, j)
    const a = (nearest + centre) / pitch - <f64>column
    const b = (farthest + centre) / pitch - <f64>column
    const to = min(whole(start, j + 1), <i32>Math.ceil(max(a, b)) + 1)
    let top: f64 = 0
    let bottom: f64 = 0
    let noise: f64 = 0
    for (let i = max(whole(start, j), <i32>Math.floor(min(a, b))); i < to; i++) {
      const distance = sign * (<f64>(column + i) * pitch - centre) * cosine
      const k = (distance - from) / step
      const lower = <i32>Math.floor(k)
      if (lower < 0 || lower >= points - 1) continue
      const part = k - <f64>lower
      const expected = at(values, lower) * (1 - part) + at(values, lower + 1) * part
      if (!(expected > low && expected < high)) continue
      const slope = at(slopes, lower) * (1 - part) + at(slopes, lower + 1) * part
      const share = (expected - dark) / change
      const sigma = darkNoise + (clearNoise - darkNoise) * share
      top += (expected - pixel(light, i)) * slope
      bottom += slope * slope
      noise += sigma * slope * (sigma * slope)
    }
    put(shifts, j, bottom > 0 ? top / bottom : 0)
    put(errors, j, bottom > 0 ? Math.sqrt(noise) / bottom : Infinity)
  }
}

/**
 * Pixels `from` to `to` (not included) of each scan line from line `low` to `high` that are read about a tilted edge. A line cut by the rim of the scan still serves
 * while half its reach is there on both sides.
 * @param slope columns a line; `at0` the edge's column on line 0; `before` and `after`: columns to either side
 * @param lines number of each line that is read; `first`: its first column; `start`: number of pixels before it, and after the last the number of all
 * @returns how many lines are read
 */
export function edgeRuns(
  low: i32,
  high: i32,
  slope: f64,
  at0: f64,
  before: f64,
  after: f64,
  lengthU: i32,
  lengthV: i32,
  lines: usize,
  first: usize,
  start: usize,
): i32 {
  let n = 0
  let pixels = 0
  for (let line = max(0, low); line <= min(high, lengthV - 1); line++) {
    const at = at0 + slope * <f64>line
    const from = max(0, <i32>Math.ceil(at - before))
    const to = min(lengthU - 1, <i32>Math.floor(at + after))
    if (!(at - <f64>from >= before / 2 && <f64>to - at >= after / 2)) continue
    const place = (<usize>n) << 2
    store<i32>(lines + place, line)
    store<i32>(first + place, from)
    store<i32>(start + place, pixels)
    pixels += to + 1 - from
    n++
  }
  store<i32>(start + ((<usize>n) << 2), pixels)
  return n
}

/**
 * Runs `from` to `to` taken out of a window, one after the other into the light of all.
 * @param window f32 whose columns lie `across` and whose lines lie `down` apart, its first pixel column `left` of line `top`
 */
export function takeRuns(
  window: usize,
  across: i32,
  down: i32,
  left: i32,
  top: i32,
  lines: usize,
  first: usize,
  start: usize,
  from: i32,
  to: i32,
  light: usize,
): void {
  for (let j = from; j < to; j++) {
    const begin = whole(start, j)
    const length = whole(start, j + 1) - begin
    let place = (whole(lines, j) - top) * down + (whole(first, j) - left) * across
    for (let i = 0; i < length; i++, place += across)
      store<f32>(light + ((<usize>(begin + i)) << 2), load<f32>(window + ((<usize>place) << 2)))
  }
}

/** Places of lines along the edge, less `middle` in parts of `half`. */
export function scaledPlaces(lines: usize, n: i32, pitch: f64, middle: f64, half: f64, into: usize): void {
  for (let j = 0; j < n; j++) put(into, j, (<f64>whole(lines, j) * pitch - middle) / half)
}

/**
 * Each line's centre from its shift; a line without a shift that is known gets weight 0, any other 1.
 * @param stretch um along the scan line for 1 um along the normal, signed
 * @returns how many have weight 1
 */
export function shiftedCentres(
  coefficients: usize,
  order: i32,
  along: usize,
  n: i32,
  shifts: usize,
  errors: usize,
  stretch: f64,
  centres: usize,
  weights: usize,
): i32 {
  let placed = 0
  for (let j = 0; j < n; j++) {
    put(centres, j, polynomial(coefficients, order, at(along, j)) + at(shifts, j) * stretch)
    const known = isFinite(at(errors, j))
    put(weights, j, known ? 1 : 0)
    if (known) placed++
  }
  return placed
}

/** Sum of squared departures of the lines of weight above 0 from a polynomial at `into`. @returns how many those are */
export function squaredAbout(
  coefficients: usize,
  order: i32,
  x: usize,
  y: usize,
  weights: usize,
  n: i32,
  into: usize,
): i32 {
  let sum: f64 = 0
  let used = 0
  for (let i = 0; i < n; i++) {
    if (!(at(weights, i) > 0)) continue
    const off = at(y, i) - polynomial(coefficients, order, at(x, i))
    sum += off * off
    used++
  }
  store<f64>(into, sum)
  return used
}

/** Those of a list that are finite, side by side in `into`. @returns how many */
export function finiteOf(list: usize, n: i32, into: usize): i32 {
  let count = 0
  for (let i = 0; i < n; i++) if (isFinite(at(list, i))) put(into, count++, at(list, i))
  return count
}

/** A line without a known shift is no line left out: it gets its weight back. @returns how many are left out */
export function leftOut(weights: usize, errors: usize, n: i32): i32 {
  let count = 0
  for (let j = 0; j < n; j++)
    if (!isFinite(at(errors, j))) put(weights, j, 1)
    else if (!(at(weights, j) > 0)) count++
  return count
}

/**
 * Departures along the normal of the lines that count and whose shift is known from a polynomial, with their errors.
 * @param factor um along the normal for 1 um along the scan line, signed
 * @returns how many
 */
export function departures(
  coefficients: usize,
  order: i32,
  along: usize,
  centres: usize,
  weights: usize,
  errors: usize,
  n: i32,
  factor: f64,
  off: usize,
  offErrors: usize,
): i32 {
  let count = 0
  for (let j = 0; j < n; j++) {
    if (!(at(weights, j) > 0 && isFinite(at(errors, j)))) continue
    put(off, count, (at(centres, j) - polynomial(coefficients, order, at(along, j))) * factor)
    put(offErrors, count++, at(errors, j))
  }
  return count
}

/** Widest step between neighbours of a rising list. */
export function widestGap(list: usize, n: i32): f64 {
  let gap: f64 = 0
  for (let k = 1; k < n; k++) gap = max(gap, at(list, k) - at(list, k - 1))
  return gap
}

/** Noise of one pixel where the profile shows `light`: between that of the dark and of the clear plateau. */
// @ts-expect-error: decorator
@inline
function noiseAt(light: f64, dark: f64, change: f64, darkNoise: f64, clearNoise: f64): f64 {
  return darkNoise + (clearNoise - darkNoise) * min(1, max(0, (light - dark) / change))
}

/** Standard error of each bin: of the noise of its pixels, and `floor`. */
export function binErrors(
  lights: usize,
  counts: usize,
  n: i32,
  dark: f64,
  change: f64,
  darkNoise: f64,
  clearNoise: f64,
  floor: f64,
  into: usize,
): void {
  for (let i = 0; i < n; i++) {
    const noise = noiseAt(at(lights, i), dark, change, darkNoise, clearNoise)
    put(into, i, Math.sqrt((noise * noise) / at(counts, i) + floor * floor))
  }
}

/** Greatest departure of a model from a profile, over `bins` neighbours at a time, less `sigmas` standard errors of their noise. */
export function misfitOf(
  model: usize,
  seen: usize,
  counts: usize,
  n: i32,
  bins: i32,
  dark: f64,
  change: f64,
  darkNoise: f64,
  clearNoise: f64,
  sigmas: f64,
): f64 {
  let worst: f64 = 0
  for (let from = 0; from + bins <= n; from++) {
    let off: f64 = 0
    let count: f64 = 0
    let level: f64 = 0
    for (let i = from; i < from + bins; i++) {
      off += at(counts, i) * (at(model, i) - at(seen, i))
      level += at(counts, i) * at(model, i)
      count += at(counts, i)
    }
    const noise = noiseAt(level / count, dark, change, darkNoise, clearNoise)
    worst = max(worst, abs(off / count) - (sigmas * noise) / Math.sqrt(count))
  }
  return worst
}

/** Adds `share` times the difference of two lists to a third. */
export function addDifference(up: usize, down: usize, n: i32, share: f64, into: usize): void {
  for (let i = 0; i < n; i++) put(into, i, at(into, i) + share * (at(up, i) - at(down, i)))
}

/** Each value divided by the square of its error. */
export function overVariance(list: usize, errors: usize, n: i32): void {
  for (let i = 0; i < n; i++) put(list, i, at(list, i) / (at(errors, i) * at(errors, i)))
}

/** Sum of a list times the difference of two others. */
export function timesDifference(list: usize, up: usize, down: usize, n: i32): f64 {
  let sum: f64 = 0
  for (let i = 0; i < n; i++) sum += at(list, i) * (at(up, i) - at(down, i))
  return sum
}

/**
 * Light of an ink edge at each distance as seen through a line spread: ink of `shares` makes light `clear x exp(decay x share)`, which is
 * tabulated in steps of `step` from `flat` steps below the edge, and averaged over the nodes of the spread.
 * @param film size + 1 f64
 */
export function seenLight(
  shares: usize,
  size: i32,
  flat: f64,
  clear: f64,
  decay: f64,
  step: f64,
  offsets: usize,
  weights: usize,
  nodes: i32,
  distances: usize,
  n: i32,
  centre: f64,
  film: usize,
  into: usize,
): void {
  for (let i = 0; i < size; i++) put(film, i, clear * Math.exp(decay * at(shares, i)))
  put(film, size, at(film, size - 1))
  const dark = at(film, 0)
  const bright = at(film, size)
  // Most of a profile is plateau, where every node of the spread sees the same light.
  let least: f64 = Infinity
  let most: f64 = -Infinity
  let allDark: f64 = 0
  let allBright: f64 = 0
  for (let k = 0; k < nodes; k++) {
    least = min(least, at(offsets, k) / step)
    most = max(most, at(offsets, k) / step)
    allDark += at(weights, k) * dark
    allBright += at(weights, k) * bright
  }
  const last = <f64>(size - 1)
  for (let i = 0; i < n; i++) {
    const from = (at(distances, i) - centre) / step + flat
    if (from - least <= 0 || from - most >= last) {
      put(into, i, from - least <= 0 ? allDark : allBright)
      continue
    }
    let sum: f64 = 0
    for (let k = 0; k < nodes; k++) {
      const place = from - at(offsets, k) / step
      if (place <= 0) sum += at(weights, k) * dark
      else if (place >= last) sum += at(weights, k) * bright
      else {
        const lower = <i32>place
        const low = at(film, lower)
        sum += at(weights, k) * (low + (at(film, lower + 1) - low) * (place - <f64>lower))
      }
    }
    put(into, i, sum)
  }
}

/** Sum of squared departures of a model from what was seen, each divided by its standard error. */
export function squaredDepartures(light: usize, seen: usize, errors: usize, n: i32): f64 {
  let sum: f64 = 0
  for (let i = 0; i < n; i++) {
    const off = (at(light, i) - at(seen, i)) / at(errors, i)
    sum += off * off
  }
  return sum
}

/**
 * Normal equations of a model of three parameters: two by central differences (`up` less `down` over the steps), and a third it is proportional to.
 * @param up two lists of n, one after the other; `down` likewise
 * @param into J'J, 9 f64 row by row, then J'r, 3 f64
 */
export function normalEquations(
  light: usize,
  seen: usize,
  errors: usize,
  n: i32,
  up: usize,
  down: usize,
  step0: f64,
  step1: f64,
  third: f64,
  into: usize,
): void {
  const next = (<usize>n) << 3
  let s00: f64 = 0
  let s10: f64 = 0
  let s11: f64 = 0
  let s20: f64 = 0
  let s21: f64 = 0
  let s22: f64 = 0
  let r0: f64 = 0
  let r1: f64 = 0
  let r2: f64 = 0
  for (let i = 0; i < n; i++) {
    const own = at(errors, i)
    const off = (at(light, i) - at(seen, i)) / own
    const a = (at(up, i) - at(down, i)) / (step0 * own)
    const b = (at(up + next, i) - at(down + next, i)) / (step1 * own)
    const c = at(light, i) / (third * own)
    s00 += a * a
    s10 += b * a
    s11 += b * b
    s20 += c * a
    s21 += c * b
    s22 += c * c
    r0 += a * off
    r1 += b * off
    r2 += c * off
  }
  put(into, 0, s00)
  put(into, 1, s10)
  put(into, 2, s20)
  put(into, 3, s10)
  put(into, 4, s11)
  put(into, 5, s21)
  put(into, 6, s20)
  put(into, 7, s21)
  put(into, 8, s22)
  put(into, 9, r0)
  put(into, 10, r1)
  put(into, 11, r2)
}

/** Mean of `m` rows of `n` that lie one after the other. */
export function meanOfRows(rows: usize, m: i32, n: i32, into: usize): void {
  memory.fill(into, 0, (<usize>n) << 3)
  for (let k = 0; k < m; k++)
    for (let i = 0; i < n; i++) put(into, i, at(into, i) + at(rows, k * n + i))
  for (let i = 0; i < n; i++) put(into, i, at(into, i) / <f64>m)
}

/** Mean of `-log10(light - flare)`; minus infinity where some light is no more than the flare. */
export function meanDensity(light: usize, n: i32, flare: f64): f64 {
  let sum: f64 = 0
  for (let i = 0; i < n; i++) {
    const own = at(light, i) - flare
    if (!(own > 0)) return -Infinity
    sum -= Math.log10(own)
  }
  return sum / <f64>n
}

/** Sum of squared departures of rows from their mean, each as a share of the mean less `flare`. */
export function rowsNoise(rows: usize, mean: usize, m: i32, n: i32, flare: f64): f64 {
  let sum: f64 = 0
  for (let k = 0; k < m; k++)
    for (let i = 0; i < n; i++) {
      const off = (at(rows, k * n + i) - at(mean, i)) / max(at(mean, i) - flare, 1e-12)
      sum += off * off
    }
  return sum
}

/** Ink of each row as a share of the mean net density, in place of its light: the logarithm is that of the mean, each row departs from it along the curve's slope there. */
export function inkShares(rows: usize, mean: usize, m: i32, n: i32, flare: f64, base: f64, net: f64): void {
  for (let i = 0; i < n; i++) {
    const light = at(mean, i) - flare
    const ink = (-Math.log10(light) - base) / net
    const slope = 1 / (light * Math.LN10 * net)
    for (let k = 0; k < m; k++) put(rows, k * n + i, ink - (at(rows, k * n + i) - at(mean, i)) * slope)
  }
}

/** One list less another. */
export function lessList(list: usize, other: usize, n: i32, into: usize): void {
  for (let i = 0; i < n; i++) put(into, i, at(list, i) - at(other, i))
}

/** Place of sample i of n on -1..1. */
// @ts-expect-error: decorator
@inline
function placeOf(i: i32, n: i32): f64 {
  return (2 * (<f64>i + 0.5)) / <f64>n - 1
}

const TREND = memory.data(8 * 3)

/** Takes the parabola of least squares out of a list. @returns false when there is none */
export function lessTrend(values: usize, n: i32): bool {
  memory.fill(MATRIX, 0, 8 * 9)
  memory.fill(TREND, 0, 8 * 3)
  for (let i = 0; i < n; i++) {
    const x = placeOf(i, n)
    const value = at(values, i)
    put(MATRIX, 1, at(MATRIX, 1) + x)
    put(MATRIX, 2, at(MATRIX, 2) + x * x)
    put(MATRIX, 5, at(MATRIX, 5) + x * x * x)
    put(MATRIX, 8, at(MATRIX, 8) + x * x * x * x)
    put(TREND, 0, at(TREND, 0) + value)
    put(TREND, 1, at(TREND, 1) + x * value)
    put(TREND, 2, at(TREND, 2) + x * x * value)
  }
  put(MATRIX, 0, <f64>n)
  put(MATRIX, 3, at(MATRIX, 1))
  put(MATRIX, 4, at(MATRIX, 2))
  put(MATRIX, 6, at(MATRIX, 2))
  put(MATRIX, 7, at(MATRIX, 5))
  if (!solve(MATRIX, TREND, 3)) return false
  for (let i = 0; i < n; i++) put(values, i, at(values, i) - polynomial(TREND, 2, placeOf(i, n)))
  return true
}

/** Adds the squared moduli of complex numbers, times `share`, to a list. */
export function addPower(complex: usize, n: i32, share: f64, into: usize): void {
  for (let k = 0; k < n; k++) {
    const re = at(complex, 2 * k)
    const im = at(complex, 2 * k + 1)
    put(into, k, at(into, k) + share * (re * re + im * im))
  }
}

/** Mean of each value and those within `reach` of it that lie from `first` to `last`. @param sums n + 1 f64 */
export function movingMean(values: usize, n: i32, reach: i32, first: i32, last: i32, sums: usize, into: usize): void {
  put(sums, 0, 0)
  for (let i = 0; i < n; i++) put(sums, i + 1, at(sums, i) + at(values, i))
  for (let i = 0; i < n; i++) {
    const from = max(first, i - reach)
    const to = min(last, i + reach)
    put(into, i, to < from ? at(values, i) : (at(sums, to + 1) - at(sums, from)) / <f64>(to - from + 1))
  }
}

/** The strongest of those from `first` to `last` that stand out of the noise by more than `least` times; -1 when none does. */
export function strongest(power: usize, noise: usize, first: i32, last: i32, least: f64): i32 {
  let peak = -1
  let most: f64 = 0
  for (let k = first; k <= last; k++)
    if (at(power, k) > least * max(at(noise, k), f64.MIN_NORMAL_VALUE) && at(power, k) > most) {
      most = at(power, k)
      peak = k
    }
  return peak
}

/** Samples after which a wave that is turned on step by step is begun anew, so that rounding does not add up. */
const TURNED_ON = 64
const WAVE = memory.data(8 * 5)
const ROW = memory.data(8 * 5)

/**
 * Wave of a frequency (cycles a sample) and parabola of least squares.
 * @param cosines of the wave at each sample, likewise `sines`: written
 * @param into parts of cosine and sine
 * @returns sum of squared departures; NaN where the wave is not told from the parabola
 */
export function fitWave(values: usize, n: i32, frequency: f64, cosines: usize, sines: usize, into: usize): f64 {
  const step = 2 * Math.PI * frequency
  const turnCos = Math.cos(step)
  const turnSin = Math.sin(step)
  memory.fill(MATRIX, 0, 8 * 25)
  memory.fill(WAVE, 0, 8 * 5)
  for (let i = 0; i < n; i++) {
    let c: f64
    let s: f64
    if (i % TURNED_ON == 0) {
      const angle = step * (<f64>i - <f64>(n - 1) / 2)
      c = Math.cos(angle)
      s = Math.sin(angle)
    } else {
      const before = at(cosines, i - 1)
      const sineBefore = at(sines, i - 1)
      c = before * turnCos - sineBefore * turnSin
      s = sineBefore * turnCos + before * turnSin
    }
    put(cosines, i, c)
    put(sines, i, s)
    const x = placeOf(i, n)
    put(ROW, 0, 1)
    put(ROW, 1, x)
    put(ROW, 2, x * x)
    put(ROW, 3, c)
    put(ROW, 4, s)
    for (let j = 0; j < 5; j++) {
      const own = at(ROW, j)
      put(WAVE, j, at(WAVE, j) + own * at(values, i))
      for (let k = 0; k <= j; k++) put(MATRIX, j * 5 + k, at(MATRIX, j * 5 + k) + own * at(ROW, k))
    }
  }
  for (let j = 0; j < 5; j++) for (let k = j + 1; k < 5; k++) put(MATRIX, j * 5 + k, at(MATRIX, k * 5 + j))
  if (!solve(MATRIX, WAVE, 5)) return NaN
  const ofCos = at(WAVE, 3)
  const ofSin = at(WAVE, 4)
  let squares: f64 = 0
  for (let i = 0; i < n; i++) {
    const off = at(values, i) - polynomial(WAVE, 2, placeOf(i, n)) - ofCos * at(cosines, i) - ofSin * at(sines, i)
    squares += off * off
  }
  put(into, 0, ofCos)
  put(into, 1, ofSin)
  return squares
}

/** Takes a wave of these parts out of a list. */
export function lessWave(values: usize, n: i32, cosines: usize, sines: usize, ofCos: f64, ofSin: f64): void {
  for (let i = 0; i < n; i++) put(values, i, at(values, i) - ofCos * at(cosines, i) - ofSin * at(sines, i))
}

/**
 * Sums from `first` to `last` of what lies over the noise, given back what the transfer takes; of its variance; and of the noise.
 * @param transfers at every `every`-th from `first` on, with one more beyond `last`; linear between
 * @param share variance of one bin's power; `independent`: bins to one independent frequency
 */
export function bandSums(
  power: usize,
  noise: usize,
  first: i32,
  last: i32,
  transfers: usize,
  every: i32,
  share: f64,
  independent: f64,
  into: usize,
): void {
  let variance: f64 = 0
  let spread: f64 = 0
  let floor: f64 = 0
  for (let k = first; k <= last; k++) {
    const turn = (k - first) / every
    const part = <f64>((k - first) % every) / <f64>every
    const transfer = at(transfers, turn) * (1 - part) + at(transfers, turn + 1) * part
    const h = transfer * transfer
    const own = at(noise, k)
    const common = at(power, k) - own
    variance += (share * common) / h
    spread += (share / h) * (share / h) * (own * own + 2 * own * max(0, common)) * independent
    floor += share * own
  }
  put(into, 0, variance)
  put(into, 1, spread)
  put(into, 2, floor)
}

/** Hann window over a list. */
export function hannWindow(values: usize, n: i32): void {
  for (let i = 0; i < n; i++) {
    const sine = Math.sin((Math.PI * (<f64>i + 0.5)) / <f64>n)
    put(values, i, at(values, i) * sine * sine)
  }
}

/** Square roots times a factor. */
export function rootsOf(list: usize, n: i32, factor: f64, into: usize): void {
  for (let k = 0; k < n; k++) put(into, k, factor * Math.sqrt(at(list, k)))
}

/** Multiples of a step from 0 on. */
export function multiplesOf(step: f64, n: i32, into: usize): void {
  for (let k = 0; k < n; k++) put(into, k, <f64>k * step)
}
