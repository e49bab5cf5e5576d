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
 * side^2 backwards, so that there and back is the same plane.
 */
export function transformPlane(plane: ComplexPlane, backwards: boolean): void {
  const { side, re, im } = plane
  const lineRe = new Float64Array(side)
  const lineIm = new Float64Array(side)
  const turns = twiddles(side, backwards)
  for (let r = 0; r < side; r++) {
    const from = r * side
    transformLine(re.subarray(from, from + side), im.subarray(from, from + side), turns)
  }
  for (let c = 0; c < side; c++) {
    for (let r = 0; r < side; r++) {
      lineRe[r] = re[r * side + c]!
      lineIm[r] = im[r * side + c]!
    }
    transformLine(lineRe, lineIm, turns)
    for (let r = 0; r < side; r++) {
      re[r * side + c] = lineRe[r]!
      im[r * side + c] = lineIm[r]!
    }
  }
  if (!backwards) return
  const share = 1 / (side * side)
  for (let i = 0; i < re.length; i++) {
    re[i]! *= share
    im[i]! *= share
  }
}

interface Twiddles {
  readonly cos: Float64Array
  readonly sin: Float64Array
}

const KEPT = new Map<number, Twiddles>()

function twiddles(side: number, backwards: boolean): Twiddles {
  const key = backwards ? -side : side
  const kept = KEPT.get(key)
  if (kept !== undefined) return kept
  const sign = backwards ? 1 : -1
  const made = {
    cos: Float64Array.from({ length: side / 2 }, (_, k) => Math.cos((2 * Math.PI * k) / side)),
    sin: Float64Array.from({ length: side / 2 }, (_, k) => sign * Math.sin((2 * Math.PI * k) / side)),
  }
  KEPT.set(key, made)
  return made
}

function transformLine(re: Float64Array, im: Float64Array, { cos, sin }: Twiddles): void {
  const n = re.length
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1
    for (; (j & bit) !== 0; bit >>= 1) j ^= bit
    j ^= bit
    if (i < j) {
      const keptRe = re[i]!
      const keptIm = im[i]!
      re[i] = re[j]!
      im[i] = im[j]!
      re[j] = keptRe
      im[j] = keptIm
    }
  }
  for (let length = 2; length <= n; length <<= 1) {
    const half = length >> 1
    const step = n / length
    for (let start = 0; start < n; start += length)
      for (let k = 0; k < half; k++) {
        const c = cos[k * step]!
        const s = sin[k * step]!
        const a = start + k
        const b = a + half
        const x = re[b]! * c - im[b]! * s
        const y = re[b]! * s + im[b]! * c
        re[b] = re[a]! - x
        im[b] = im[a]! - y
        re[a]! += x
        im[a]! += y
      }
  }
}
