import { solveLinear } from './solve-linear.js'

/**
 * Variance of tile means about an even slope (a plane; along a single row or column, a line; of fewer than 3 tiles each way, their mean), unbiased: the sum of squares
 * over the degrees of freedom left. ISO/IEC 13660:2001 takes the plain one with n - 1, which is what `slope: false` gives.
 * @param means row by row
 * @param columns tiles in a row
 */
export function tileSpread(
  means: ArrayLike<number>,
  columns: number,
  slope = true,
): { readonly variance: number; readonly free: number } {
  const n = means.length
  const rows = columns > 0 ? n / columns : 0
  if (!(Number.isInteger(rows) || n === 0))
    throw new RangeError(`${n} tiles do not fill rows of ${columns}`)
  const terms = [
    () => 1,
    ...(slope && columns >= 3 ? [(i: number) => (i % columns) - (columns - 1) / 2] : []),
    ...(slope && rows >= 3 ? [(i: number) => Math.floor(i / columns) - (rows - 1) / 2] : []),
  ]
  const p = terms.length
  const free = n - p
  if (free < 1) return { variance: 0, free: 0 }
  const h = new Float64Array(p * p)
  const right = new Float64Array(p)
  for (let i = 0; i < n; i++)
    for (let j = 0; j < p; j++) {
      const x = terms[j]!(i)
      right[j]! += x * means[i]!
      for (let k = 0; k < p; k++) h[j * p + k]! += x * terms[k]!(i)
    }
  const fitted = solveLinear(h, right, p)!
  let squares = 0
  for (let i = 0; i < n; i++) {
    const off = terms.reduce((left, term, j) => left - fitted[j]! * term(i), means[i]!)
    squares += off * off
  }
  return { variance: squares / free, free }
}
