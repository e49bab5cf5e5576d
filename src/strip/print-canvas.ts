import type { ArtworkBitmap } from '../model/artwork.js'
import type { Dpi } from '../model/geometry.js'
import { LETTER_STEP, LETTER_WIDTH, letterRows } from './block-letters.js'

/** A 1-bit raster to draw on: 1 is ink. All places in whole pixels; what falls outside is left out. */
export interface PrintCanvas {
  readonly width: number
  readonly height: number
  readonly dpi: Dpi
  readonly rowBytes: number
  readonly bits: Uint8Array
}

export function printCanvas(width: number, height: number, dpi: Dpi): PrintCanvas {
  const rowBytes = (width + 7) >> 3
  return { width, height, dpi, rowBytes, bits: new Uint8Array(rowBytes * height) }
}

/** Lays ink on a rectangle, or takes it away. */
export function fillRect(
  canvas: PrintCanvas,
  column: number,
  row: number,
  width: number,
  height: number,
  ink = true,
): void {
  const from = Math.max(0, column)
  const to = Math.min(canvas.width, column + width)
  if (from >= to) return
  const firstByte = from >> 3
  const lastByte = (to - 1) >> 3
  const headMask = 0xff >> (from & 7)
  const tailMask = (0xff << (7 - ((to - 1) & 7))) & 0xff
  for (let r = Math.max(0, row); r < Math.min(canvas.height, row + height); r++) {
    const start = r * canvas.rowBytes
    for (let b = firstByte; b <= lastByte; b++) {
      const mask = (b === firstByte ? headMask : 0xff) & (b === lastByte ? tailMask : 0xff)
      if (ink) canvas.bits[start + b]! |= mask
      else canvas.bits[start + b]! &= ~mask
    }
  }
}

/**
 * One line of words, letters of whole dots; `dot` is the size of a dot in pixels.
 * @returns pixels the words take along the row
 */
export function layWords(
  words: string,
  column: number,
  row: number,
  dot: { readonly columns: number; readonly rows: number },
  fill: (column: number, row: number, width: number, height: number) => void,
): number {
  let at = column
  for (const letter of words) {
    letterRows(letter).forEach((bits, r) => {
      for (let c = 0; c < LETTER_WIDTH; c++)
        if ((bits & (1 << (LETTER_WIDTH - 1 - c))) !== 0)
          fill(at + c * dot.columns, row + r * dot.rows, dot.columns, dot.rows)
    })
    at += LETTER_STEP * dot.columns
  }
  return at - column
}

/** The canvas as a separation in memory. */
export function asBitmap(canvas: PrintCanvas, file: string): ArtworkBitmap {
  let ink = 0
  for (const byte of canvas.bits) ink += ONES[byte]!
  const { width, height, dpi, bits, rowBytes } = canvas
  return { file, width, height, dpi, bits, rowBytes, inkShare: ink / (width * height), warnings: [] }
}

const ONES = Uint8Array.from({ length: 256 }, (_, byte) => byte.toString(2).replaceAll('0', '').length)
