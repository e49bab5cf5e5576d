import type { BlockOverview } from './block-overview.js'

/** Mean light round any place of a scan. */
export interface SurroundLight {
  /** Light of the surroundings at a place in scan pixels, by linear steps between cells. */
  at(column: number, row: number): number
}

/** Side of a cell, um: small against any surround, so that a page is some ten thousand cells. */
const CELL_UM = 1000
/** The kernel is cut off here, in sigmas. */
const KERNEL_SIGMAS = 3

/**
 * Light round each place: the overview's light averaged with a Gaussian of `sigmaUm`. Beyond the rim of the scan its outermost light
 * goes on. This is the light that a scanner's veiling glare carries into dark places (ISO 9358 manner: a broad spread of small weight).
 * @param sigmaUm one sigma of the kernel, um; `Infinity` for the mean of the whole page everywhere
 */
export function surroundLight(
  overview: BlockOverview,
  umPerPixel: { readonly across: number; readonly along: number },
  sigmaUm: number,
): SurroundLight {
  if (!(sigmaUm > 0)) throw new RangeError(`sigmaUm must be above 0; got ${sigmaUm}`)
  const perColumn = Math.max(1, Math.round(CELL_UM / (overview.blockPx * umPerPixel.across)))
  const perRow = Math.max(1, Math.round(CELL_UM / (overview.blockPx * umPerPixel.along)))
  const columns = Math.ceil(overview.columns / perColumn)
  const rows = Math.ceil(overview.rows / perRow)
  const cells = new Float64Array(columns * rows)
  const counts = new Float64Array(columns * rows)
  for (let r = 0; r < overview.rows; r++) {
    const into = Math.floor(r / perRow) * columns
    for (let c = 0; c < overview.columns; c++) {
      const cell = into + Math.floor(c / perColumn)
      cells[cell]! += overview.light[r * overview.columns + c]!
      counts[cell]! += 1
    }
  }
  for (let i = 0; i < cells.length; i++) cells[i]! /= counts[i]!
  if (sigmaUm === Number.POSITIVE_INFINITY) {
    let sum = 0
    for (const cell of cells) sum += cell
    const mean = sum / cells.length
    return { at: () => mean }
  }
  const cellWidth = perColumn * overview.blockPx
  const cellHeight = perRow * overview.blockPx
  const wide = blurred(cells, columns, rows, 1, columns, sigmaUm / (cellWidth * umPerPixel.across))
  const light = blurred(wide, rows, columns, columns, 1, sigmaUm / (cellHeight * umPerPixel.along))
  return {
    at(column, row) {
      const x = Math.min(columns - 1, Math.max(0, (column + 0.5) / cellWidth - 0.5))
      const y = Math.min(rows - 1, Math.max(0, (row + 0.5) / cellHeight - 0.5))
      const c = Math.min(columns - 2, Math.floor(x))
      const r = Math.min(rows - 2, Math.floor(y))
      const read = (dc: number, dr: number) =>
        light[Math.min(rows - 1, Math.max(0, r + dr)) * columns + Math.min(columns - 1, Math.max(0, c + dc))]!
      const fx = x - c
      const fy = y - r
      return (read(0, 0) * (1 - fx) + read(1, 0) * fx) * (1 - fy) + (read(0, 1) * (1 - fx) + read(1, 1) * fx) * fy
    },
  }
}

/** Gaussian along one direction; past the ends the last value goes on. */
function blurred(
  from: Float64Array,
  length: number,
  lines: number,
  stride: number,
  jump: number,
  sigma: number,
): Float64Array {
  const half = Math.max(1, Math.ceil(KERNEL_SIGMAS * sigma))
  const kernel = Float64Array.from({ length: 2 * half + 1 }, (_, i) => Math.exp(-0.5 * ((i - half) / sigma) ** 2))
  const total = kernel.reduce((sum, w) => sum + w, 0)
  const to = new Float64Array(from.length)
  for (let line = 0; line < lines; line++)
    for (let i = 0; i < length; i++) {
      let sum = 0
      for (let k = -half; k <= half; k++)
        sum += kernel[k + half]! * from[line * jump + Math.min(length - 1, Math.max(0, i + k)) * stride]!
      to[line * jump + i * stride] = sum / total
    }
  return to
}
