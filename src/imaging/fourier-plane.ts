import FFT from 'fft.js'

/** A square of complex numbers, row by row; side a power of two. */
export interface ComplexPlane {
  readonly side: number
  readonly re: Float64Array
  readonly im: Float64Array
}

/** An empty plane. @throws RangeError unless the side is a power of two, 2 or more */
export function complexPlane(side: number): ComplexPlane {
  if (!(Number.isInteger(side) && side >= 2 && (side & (side - 1)) === 0))
    throw new RangeError(`side must be a power of two, 2 or more; got ${side}`)
  return { side, re: new Float64Array(side * side), im: new Float64Array(side * side) }
}

/**
 * Discrete Fourier transform of a plane in place (Cooley & Tukey, Math. Comput. 19, 297, 1965), unscaled forwards and divided by
 * side^2 backwards, so that there and back is the same plane. The lines are transformed by fft.js.
 */
export function transformPlane(plane: ComplexPlane, backwards: boolean): void {
  const { side } = plane
  const fft = fftOf(side)
  const line = new Float64Array(2 * side)
  const out = new Float64Array(2 * side)
  for (let r = 0; r < side; r++) transformLine(plane, fft, backwards, r * side, 1, line, out)
  for (let c = 0; c < side; c++) transformLine(plane, fft, backwards, c, side, line, out)
}

/** One row or column: numbers `stride` apart from `start` on. */
function transformLine(
  { side, re, im }: ComplexPlane,
  fft: FFT,
  backwards: boolean,
  start: number,
  stride: number,
  line: Float64Array,
  out: Float64Array,
): void {
  for (let k = 0, i = start; k < 2 * side; k += 2, i += stride) {
    line[k] = re[i]!
    line[k + 1] = im[i]!
  }
  if (backwards) fft.inverseTransform(out, line)
  else fft.transform(out, line)
  for (let k = 0, i = start; k < 2 * side; k += 2, i += stride) {
    re[i] = out[k]!
    im[i] = out[k + 1]!
  }
}

const KEPT = new Map<number, FFT>()

/** Tables of turns are made once for each length. */
function fftOf(side: number): FFT {
  const kept = KEPT.get(side)
  if (kept !== undefined) return kept
  const made = new FFT(side)
  KEPT.set(side, made)
  return made
}
