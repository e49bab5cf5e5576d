/**
 * Variance of tile means, unbiased: the sum of squares over the degrees of freedom left.
 * - `nothing` taken out: n - 1, mottle as ISO/IEC 13660:2001 has it;
 * - `rowsAndColumns`: each row's and each column's own mean too, (rows - 1)(columns - 1): bands along either side and any slow slope go.
 * @param means row by row
 * @param columns tiles in a row
 * @throws RangeError when they do not fill whole rows
 */
export function tileSpread(
  means: ArrayLike<number>,
  columns: number,
  takenOut: 'nothing' | 'rowsAndColumns',
): { readonly variance: number; readonly free: number } {
  const n = means.length
  const rows = columns > 0 ? n / columns : 0
  if (!Number.isInteger(rows)) throw new RangeError(`${n} tiles do not fill rows of ${columns}`)
  const free = takenOut === 'nothing' ? n - 1 : (rows - 1) * (columns - 1)
  if (free < 1) return { variance: 0, free: 0 }
  const ofRow = new Float64Array(rows)
  const ofColumn = new Float64Array(columns)
  let mean = 0
  for (let i = 0; i < n; i++) {
    ofRow[Math.floor(i / columns)]! += means[i]! / columns
    ofColumn[i % columns]! += means[i]! / rows
    mean += means[i]! / n
  }
  let squares = 0
  for (let i = 0; i < n; i++) {
    const own = takenOut === 'nothing' ? mean : ofRow[Math.floor(i / columns)]! + ofColumn[i % columns]! - mean
    squares += (means[i]! - own) ** 2
  }
  return { variance: squares / free, free }
}
