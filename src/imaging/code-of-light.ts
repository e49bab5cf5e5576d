/** The code whose light is nearest to a given one; `table` has the light of every code, rising. */
export function codeOfLight(table: Float32Array, light: number): number {
  let low = 0
  let high = table.length - 1
  while (low < high) {
    const middle = (low + high) >> 1
    if (table[middle]! < light) low = middle + 1
    else high = middle
  }
  return low > 0 && light - table[low - 1]! < table[low]! - light ? low - 1 : low
}
