/**
 * Share of ink on a grid of rectangular cells, row by row, with lengths in mm. The centre of the first cell lies at (x0, y0).
 */
export interface InkGrid {
  readonly columns: number
  readonly rows: number
  readonly pitchX: number
  readonly pitchY: number
  readonly x0: number
  readonly y0: number
  /** Share of ink, 0..1. */
  readonly ink: Float32Array
  /** How much of each cell is known, 0..1: a holder hides what lies below it. */
  readonly known: Float32Array
}

/** Cells joined by whole numbers, means weighted by what is known. Cells at the far rim may be partial. */
export function reducedGrid(grid: InkGrid, across: number, along: number): InkGrid {
  for (const [name, factor] of [
    ['across', across],
    ['along', along],
  ] as const)
    if (!(Number.isInteger(factor) && factor >= 1))
      throw new RangeError(`${name} must be a whole number, 1 or more; got ${factor}`)
  if (across === 1 && along === 1) return grid
  const columns = Math.ceil(grid.columns / across)
  const rows = Math.ceil(grid.rows / along)
  const ink = new Float32Array(columns * rows)
  const known = new Float32Array(columns * rows)
  const cells = across * along
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const right = Math.min(grid.columns, (c + 1) * across)
      const bottom = Math.min(grid.rows, (r + 1) * along)
      let sum = 0
      let weight = 0
      for (let y = r * along; y < bottom; y++)
        for (let i = y * grid.columns + c * across, end = y * grid.columns + right; i < end; i++) {
          weight += grid.known[i]!
          sum += grid.known[i]! * grid.ink[i]!
        }
      ink[r * columns + c] = weight > 0 ? sum / weight : 0
      known[r * columns + c] = weight / cells
    }
  return {
    columns,
    rows,
    pitchX: grid.pitchX * across,
    pitchY: grid.pitchY * along,
    x0: grid.x0 + ((across - 1) / 2) * grid.pitchX,
    y0: grid.y0 + ((along - 1) / 2) * grid.pitchY,
    ink,
    known,
  }
}

/** Ink smoothed by a binomial 1-2-1 both ways, `times` times; what is known stays. */
export function smoothedGrid(grid: InkGrid, times: number): InkGrid {
  const { columns, rows } = grid
  const ink = Float32Array.from(grid.ink)
  const half = new Float32Array(ink.length)
  for (let k = 0; k < times; k++) {
    for (let r = 0; r < rows; r++)
      for (let c = 0; c < columns; c++) {
        const i = r * columns + c
        half[i] = (ink[c > 0 ? i - 1 : i]! + 2 * ink[i]! + ink[c + 1 < columns ? i + 1 : i]!) / 4
      }
    for (let r = 0; r < rows; r++) {
      const above = (r > 0 ? -1 : 0) * columns
      const below = (r + 1 < rows ? 1 : 0) * columns
      for (let i = r * columns; i < (r + 1) * columns; i++)
        ink[i] = (half[i + above]! + 2 * half[i]! + half[i + below]!) / 4
    }
  }
  return { ...grid, ink }
}

/** Value at a place in mm by straight lines between cells; 0 outside. */
export function inkAt(grid: InkGrid, values: Float32Array, x: number, y: number): number {
  const u = (x - grid.x0) / grid.pitchX
  const v = (y - grid.y0) / grid.pitchY
  const c = Math.floor(u)
  const r = Math.floor(v)
  const fu = u - c
  const fv = v - r
  const { columns, rows } = grid
  if (c < -1 || r < -1 || c >= columns || r >= rows) return 0
  const i = r * columns + c
  const left = c >= 0
  const right = c + 1 < columns
  const top = r >= 0 ? (left ? values[i]! * (1 - fu) : 0) + (right ? values[i + 1]! * fu : 0) : 0
  const below =
    r + 1 < rows ? (left ? values[i + columns]! * (1 - fu) : 0) + (right ? values[i + columns + 1]! * fu : 0) : 0
  return top * (1 - fv) + below * fv
}
