import { ONES } from '../imaging/count-ones.js'
import type { InkGrid } from '../imaging/ink-grid.js'
import { pageFloats } from '../imaging/page-room.js'
import type { ArtworkBitmap } from '../model/artwork.js'
import { MM_PER_INCH } from '../model/geometry.js'

/**
 * Share of ink of an artwork in square cells of `pitchMm`, from its own corner. Each pixel counts whole for the cell that its middle
 * lies in: with 5 pixels a cell a lone edge may be off by a tenth of a cell, which is no matter where this is used to find the artwork.
 */
export function artworkGrid(artwork: ArtworkBitmap, pitchMm: number): InkGrid {
  if (!(pitchMm > 0)) throw new RangeError(`pitchMm must be above 0; got ${pitchMm}`)
  const { width, height, dpi, bits, rowBytes } = artwork
  const pixelX = MM_PER_INCH / dpi.across
  const pixelY = MM_PER_INCH / dpi.along
  const columns = Math.max(1, Math.ceil((width * pixelX) / pitchMm - 1e-6))
  const rows = Math.max(1, Math.ceil((height * pixelY) / pitchMm - 1e-6))
  const cellOf = Int32Array.from({ length: width }, (_, c) =>
    Math.min(columns - 1, Math.floor(((c + 0.5) * pixelX) / pitchMm)),
  )
  // Bytes that lie in one cell are counted at once.
  const byteCell = Int32Array.from({ length: rowBytes }, (_, b) => {
    const first = cellOf[8 * b]!
    return 8 * b + 7 < width && cellOf[8 * b + 7] === first ? first : -1
  })
  const pixelsAcross = new Float64Array(columns)
  for (let c = 0; c < width; c++) pixelsAcross[cellOf[c]!]! += 1
  const sums = pageFloats(columns * rows)
  const pixelsDown = new Float64Array(rows)
  for (let r = 0; r < height; r++) {
    const row = Math.min(rows - 1, Math.floor(((r + 0.5) * pixelY) / pitchMm))
    pixelsDown[row]! += 1
    const into = row * columns
    for (let b = 0; b < rowBytes; b++) {
      const byte = bits[r * rowBytes + b]!
      if (byte === 0) continue
      const cell = byteCell[b]!
      if (cell >= 0) sums[into + cell]! += ONES[byte]!
      else
        for (let k = 0; k < 8 && 8 * b + k < width; k++)
          if ((byte & (0x80 >> k)) !== 0) sums[into + cellOf[8 * b + k]!]! += 1
    }
  }
  const ink = pageFloats(columns * rows)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const pixels = pixelsAcross[c]! * pixelsDown[r]!
      ink[r * columns + c] = pixels > 0 ? sums[r * columns + c]! / pixels : 0
    }
  return {
    columns,
    rows,
    pitchX: pitchMm,
    pitchY: pitchMm,
    x0: pitchMm / 2,
    y0: pitchMm / 2,
    ink,
    known: pageFloats(columns * rows).fill(1),
  }
}
