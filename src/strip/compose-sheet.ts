import type { ArtworkBitmap } from '../model/artwork.js'
import { type Dpi, MM_PER_INCH } from '../model/geometry.js'
import { LETTER_HEIGHT, LETTER_STEP } from './block-letters.js'
import type { GreyArea, StripDrawing } from './draw-strip.js'
import { asBitmap, fillRect, layWords, printCanvas } from './print-canvas.js'

/** A sheet of film with strips, and words to print by; places in mm from its corner, u across the head, v along the feed. */
export interface Sheet {
  readonly widthMm: number
  readonly heightMm: number
  readonly dpi: Dpi
  readonly strips: readonly {
    readonly drawing: Pick<StripDrawing, 'bitmap' | 'greys'>
    readonly u: number
    readonly v: number
  }[]
  /** Lines of words; `letterMm` is the height of a capital. */
  readonly words: readonly {
    readonly words: string
    readonly u: number
    readonly v: number
    readonly letterMm: number
  }[]
}

/** Dots of a capital's height. */
const CAPITAL = 7

/**
 * Lays strips and words on one sheet, each strip on whole printer pixels and unchanged.
 * @throws RangeError when a strip was drawn for another resolution, or two things lie on each other or beyond the sheet
 */
export function composeSheet(sheet: Sheet): { readonly bitmap: ArtworkBitmap; readonly greys: readonly GreyArea[] } {
  const { dpi } = sheet
  const columns = (mm: number) => Math.round((mm * dpi.across) / MM_PER_INCH)
  const rows = (mm: number) => Math.round((mm * dpi.along) / MM_PER_INCH)
  const canvas = printCanvas(columns(sheet.widthMm), rows(sheet.heightMm), dpi)
  const greys: GreyArea[] = []
  const taken: { column: number; row: number; width: number; height: number }[] = []
  const take = (place: { column: number; row: number; width: number; height: number }, what: string): void => {
    const { column, row, width, height } = place
    if (column < 0 || row < 0 || column + width > canvas.width || row + height > canvas.height)
      throw new RangeError(`${what} must lie on the sheet; it reaches beyond`)
    const other = taken.find(
      t => column < t.column + t.width && t.column < column + width && row < t.row + t.height && t.row < row + height,
    )
    if (other !== undefined) throw new RangeError(`${what} must not lie on what is there already`)
    taken.push(place)
  }
  sheet.strips.forEach(({ drawing, u, v }, i) => {
    const { bitmap } = drawing
    if (bitmap.dpi.across !== dpi.across || bitmap.dpi.along !== dpi.along)
      throw new RangeError(`strip ${i + 1} must be drawn for the sheet's resolution`)
    const at = { column: columns(u), row: rows(v), width: bitmap.width, height: bitmap.height }
    take(at, `strip ${i + 1}`)
    layBitmap(canvas, bitmap, at.column, at.row)
    for (const grey of drawing.greys) greys.push({ ...grey, column: grey.column + at.column, row: grey.row + at.row })
  })
  for (const { words, u, v, letterMm } of sheet.words) {
    const dot = {
      columns: Math.max(1, columns(letterMm / CAPITAL)),
      rows: Math.max(1, rows(letterMm / CAPITAL)),
    }
    const at = {
      column: columns(u),
      row: rows(v),
      width: [...words].length * LETTER_STEP * dot.columns,
      height: LETTER_HEIGHT * dot.rows,
    }
    take(at, `"${words}"`)
    layWords(words, at.column, at.row, dot, (c, r, w, h) => fillRect(canvas, c, r, w, h))
  }
  return { bitmap: asBitmap(canvas, 'sheet'), greys }
}

/** Width of a line of words as `composeSheet` lays it, mm. */
export function wordsWidth(words: string, letterMm: number): number {
  return ([...words].length * LETTER_STEP * letterMm) / CAPITAL
}

function layBitmap(canvas: ReturnType<typeof printCanvas>, bitmap: ArtworkBitmap, column: number, row: number): void {
  const shift = column & 7
  for (let r = 0; r < bitmap.height; r++) {
    const from = r * bitmap.rowBytes
    const to = (row + r) * canvas.rowBytes + (column >> 3)
    const end = (row + r + 1) * canvas.rowBytes
    for (let b = 0; b < bitmap.rowBytes; b++) {
      const byte = bitmap.bits[from + b]!
      if (byte === 0) continue
      canvas.bits[to + b]! |= byte >> shift
      if (shift > 0 && to + b + 1 < end) canvas.bits[to + b + 1]! |= (byte << (8 - shift)) & 0xff
    }
  }
}
