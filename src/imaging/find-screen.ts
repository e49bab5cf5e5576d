import { complexPlane, transformPlane } from './fourier-plane.js'

/** A picture on an even square grid, rows by columns, `pitch` apart (any unit of length). */
export interface ScreenPicture {
  readonly columns: number
  readonly rows: number
  readonly values: Float32Array
  readonly pitch: number
}

/** A screen of dots or lines as its first harmonics tell it. Frequencies are cycles a unit of length, x right, y down. */
export interface FoundScreen {
  readonly first: { readonly x: number; readonly y: number }
  /** The harmonic a quarter turn on (x towards y); null for a line screen, which has none. */
  readonly second: { readonly x: number; readonly y: number } | null
  /** Power of the weaker of the two (of the one), as a share of the picture's variance. */
  readonly strength: number
}

/** Least and greatest frequency looked at, cycles over the picture's longer side and share of the grid's own limit. */
const LEAST_CYCLES = 2.5
const MOST_SHARE = 0.8
/** The second harmonic stands within this of a quarter turn off the first, degrees, and their lengths agree to this share. */
const SQUARE_WITHIN = 12
const ALIKE_WITHIN = 0.15
/** It has at least this share of the first one's power. */
const SECOND_POWER = 0.15
/** A peak must hold so much of the variance, or there is no screen. */
const LEAST_STRENGTH = 0.05

/**
 * Ruling and angle of a screen from the first harmonics of its spectrum (Hann window, mean removed; peaks refined on the transform itself, not on its
 * bins: Amidror, The Theory of the Moire Phenomenon, on the spectra of screens; from memory). Both harmonics are taken, so that 15 and 75 degrees
 * are told apart by where they lie, and a picture seen mirrored gives the mirrored screen.
 * @returns null when nothing in the picture repeats
 */
export function findScreen(picture: ScreenPicture): FoundScreen | null {
  const { columns, rows, pitch } = picture
  if (!(columns >= 8 && rows >= 8)) return null
  const windowed = hannWindowed(picture)
  let side = 2
  while (side < Math.max(columns, rows)) side *= 2
  // Twice the picture: peaks then lie within half a bin of the window's own width.
  side *= 2
  const plane = complexPlane(side)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) plane.re[r * side + c] = windowed.values[r * columns + c]!
  transformPlane(plane, false)
  const perBin = 1 / (side * pitch)
  const least = LEAST_CYCLES / (Math.max(columns, rows) * pitch)
  const most = (MOST_SHARE * 0.5) / pitch
  const power = (i: number) => plane.re[i]! ** 2 + plane.im[i]! ** 2
  const peak = (allowed: (x: number, y: number, f: number) => boolean) => {
    let best: { x: number; y: number; power: number } | null = null
    for (let r = 0; r < side; r++) {
      const y = (r < side / 2 ? r : r - side) * perBin
      if (Math.abs(y) > most) continue
      // Half the plane: the other half is its mirror image.
      for (let c = 0; c < side / 2; c++) {
        const x = c * perBin
        const f = Math.hypot(x, y)
        if (f < least || f > most || !allowed(x, y, f)) continue
        const p = power(r * side + c)
        if (best === null || p > best.power) best = { x, y, power: p }
      }
    }
    return best
  }
  const rough = peak(() => true)
  if (rough === null) return null
  const first = refined(windowed, columns, rows, pitch, rough, perBin)
  const length = Math.hypot(first.x, first.y)
  const angle = (Math.atan2(first.y, first.x) * 180) / Math.PI
  const other = peak((x, y, f) => {
    const off = ((((Math.atan2(y, x) * 180) / Math.PI - angle + 90) % 180) + 180) % 180
    return Math.min(off, 180 - off) < SQUARE_WITHIN && Math.abs(f - length) < ALIKE_WITHIN * length
  })
  const strengthOf = (p: number) => (2 * p) / (windowed.sumOfSquares * windowed.energy)
  if (!(strengthOf(first.power) > LEAST_STRENGTH)) return null
  if (other === null || !(other.power > SECOND_POWER * first.power))
    return { first: { x: first.x, y: first.y }, second: null, strength: strengthOf(first.power) }
  const second = refined(windowed, columns, rows, pitch, other, perBin)
  const turned = turn(first, second)
  return { ...turned, strength: strengthOf(Math.min(first.power, second.power)) }
}

interface Vector {
  readonly x: number
  readonly y: number
}

/** The pair with the second a quarter turn on from the first, the first as near to x as a quarter turn allows. Each harmonic stands for its opposite too. */
function turn(a: Vector, b: Vector): { first: Vector; second: Vector } {
  let first = a
  let second = a.x * b.y - a.y * b.x > 0 ? b : { x: -b.x, y: -b.y }
  for (let i = 0; i < 3 && !(first.x > 0 && Math.abs(first.y) <= first.x); i++) {
    const next = { x: -first.x, y: -first.y }
    first = second
    second = next
  }
  return { first, second }
}

interface Windowed {
  readonly values: Float64Array
  readonly weights: { readonly x: Float64Array; readonly y: Float64Array }
  /** Sum of squares of the windowed picture, and of the window itself over its sum squared, so that a pure wave has strength 1. */
  readonly sumOfSquares: number
  readonly energy: number
}

/** Hann window, mean under the window removed. */
function hannWindowed({ columns, rows, values }: ScreenPicture): Windowed {
  const hann = (n: number) => Float64Array.from({ length: n }, (_, i) => Math.sin((Math.PI * (i + 0.5)) / n) ** 2)
  const x = hann(columns)
  const y = hann(rows)
  let sum = 0
  let total = 0
  let squaresOfWeights = 0
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const w = x[c]! * y[r]!
      sum += w * values[r * columns + c]!
      total += w
      squaresOfWeights += w * w
    }
  const mean = sum / total
  const out = new Float64Array(columns * rows)
  let sumOfSquares = 0
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const value = x[c]! * y[r]! * (values[r * columns + c]! - mean)
      out[r * columns + c] = value
      sumOfSquares += value * value
    }
  return { values: out, weights: { x, y }, sumOfSquares, energy: total ** 2 / squaresOfWeights }
}

/** Steps of the refinement: each narrows the search by four. */
const REFINEMENTS = 5

/** Peak of the windowed picture's transform near a bin, by parabolas through its power on ever finer crosses. */
function refined(
  { values }: Windowed,
  columns: number,
  rows: number,
  pitch: number,
  start: { readonly x: number; readonly y: number },
  perBin: number,
): { x: number; y: number; power: number } {
  let { x, y } = start
  let step = 0.5 * perBin
  let best = powerAt(values, columns, rows, pitch, x, y)
  for (let round = 0; round < REFINEMENTS; round++) {
    for (const axis of ['x', 'y'] as const) {
      const at = (d: number) =>
        powerAt(values, columns, rows, pitch, axis === 'x' ? x + d : x, axis === 'y' ? y + d : y)
      const up = at(step)
      const down = at(-step)
      const bend = up - 2 * best + down
      const move = bend < 0 ? Math.max(-1, Math.min(1, (0.5 * (down - up)) / bend)) * step : up > down ? step : -step
      if (axis === 'x') x += move
      else y += move
      best = powerAt(values, columns, rows, pitch, x, y)
    }
    step /= 4
  }
  return { x, y, power: best }
}

/** Power of the transform at any frequency: rows first, each by a turning pointer, then the column of their sums. */
function powerAt(values: Float64Array, columns: number, rows: number, pitch: number, x: number, y: number): number {
  const turnX = -2 * Math.PI * x * pitch
  const turnY = -2 * Math.PI * y * pitch
  const cosX = Float64Array.from({ length: columns }, (_, c) => Math.cos(turnX * c))
  const sinX = Float64Array.from({ length: columns }, (_, c) => Math.sin(turnX * c))
  let re = 0
  let im = 0
  for (let r = 0; r < rows; r++) {
    let a = 0
    let b = 0
    for (let c = 0, i = r * columns; c < columns; c++, i++) {
      a += values[i]! * cosX[c]!
      b += values[i]! * sinX[c]!
    }
    const cos = Math.cos(turnY * r)
    const sin = Math.sin(turnY * r)
    re += a * cos - b * sin
    im += a * sin + b * cos
  }
  return re * re + im * im
}
