/**
 * Where a whole window of marked cells fits: 1 at the window's first (top left) cell, else 0. An erosion by a rectangle, in two
 * passes of run lengths, so its cost does not grow with the window.
 * @param marks rows x columns; cells not 0 are marked
 */
export function fullWindows(
  marks: Uint8Array,
  columns: number,
  rows: number,
  width: number,
  height: number,
): Uint8Array {
  if (marks.length !== columns * rows)
    throw new RangeError(`marks must have ${columns * rows} entries; got ${marks.length}`)
  for (const [name, size] of [
    ['width', width],
    ['height', height],
  ] as const)
    if (!(Number.isInteger(size) && size >= 1))
      throw new RangeError(`${name} must be a whole number of cells, 1 or more; got ${size}`)
  const fits = new Uint8Array(marks.length)
  // Rows below, counted from the bottom up, on which a run of `width` begins at this column.
  const below = new Int32Array(columns)
  for (let r = rows - 1; r >= 0; r--) fitRow(marks, r * columns, below, width, height, fits)
  return fits
}

function fitRow(
  marks: Uint8Array,
  from: number,
  below: Int32Array,
  width: number,
  height: number,
  fits: Uint8Array,
): void {
  let run = 0
  for (let c = below.length - 1; c >= 0; c--) {
    run = marks[from + c] === 0 ? 0 : run + 1
    const high = run >= width ? below[c]! + 1 : 0
    below[c] = high
    if (high >= height) fits[from + c] = 1
  }
}
