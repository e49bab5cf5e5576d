/** Sums over rectangles of a grid in four look-ups (Crow, SIGGRAPH 1984). Sums are float64; of marks, whole numbers, which take half the room. */
export interface IntegralImage {
  /** Sum over columns left..left+width-1 and rows top..top+height-1, which must lie inside. */
  sum(left: number, top: number, width: number, height: number): number
}

export function integralImage(values: ArrayLike<number>, columns: number, rows: number): IntegralImage {
  if (values.length !== columns * rows)
    throw new RangeError(`values must have ${columns * rows} entries; got ${values.length}`)
  const stride = columns + 1
  const whole = values instanceof Uint8Array && values.length * 255 < 2 ** 31
  const table = new (whole ? Int32Array : Float64Array)(stride * (rows + 1))
  for (let r = 0; r < rows; r++) {
    let line = 0
    for (let c = 0; c < columns; c++) {
      line += values[r * columns + c]!
      table[(r + 1) * stride + c + 1] = table[r * stride + c + 1]! + line
    }
  }
  return {
    sum(left, top, width, height) {
      const a = top * stride + left
      const b = (top + height) * stride + left
      return table[b + width]! - table[b]! - table[a + width]! + table[a]!
    },
  }
}
