import type { ArtworkBitmap } from '../model/artwork.js'
import type { StripIdentity, StripLayout, StripRect } from '../model/strip.js'
import { LETTER_HEIGHT, LETTER_STEP } from './block-letters.js'
import { codeModules } from './code-modules.js'
import { dotOrder, halftoneCell, type Screen } from './halftone-cell.js'
import { asBitmap, fillRect, layWords, printCanvas } from './print-canvas.js'
import { encodeStripCode } from './strip-code.js'
import { pixelPitch, stripLayout } from './strip-layout.js'

/** The screen of a strip whose job type names none: the middle of the usual 35 to 65 lines/in, at an angle clear of the mesh's threads. */
export const USUAL_SCREEN: Screen = { ruling: 55, angle: 22.5 }

/** Size of a dot of the strip's letters, mm: letters 1.4 mm high, which are read on a light table without a glass. */
const WORD_DOT = 0.2
/** From line to line of words, dots. */
const WORD_STEP = 10

/** Size of a module of the code, mm: 24 scanner pixels at 1200 dpi, 12 at 600, and ink may spread by 0.1 mm a side. */
const MODULE = 0.5

/** Below this side of a module, mm, a code is read less surely at 600 dpi and through scratches. */
export const FINE_MODULE = 0.4

/** An area of plain grey on the print, whole printer pixels; `percent` is its share of ink. */
export interface GreyArea {
  readonly column: number
  readonly row: number
  readonly width: number
  readonly height: number
  readonly percent: number
}

export interface StripDrawing {
  readonly identity: StripIdentity
  /** The layout as drawn. */
  readonly layout: StripLayout
  /** The print: rows run across the head, columns along the feed. Grey tints are not in it. */
  readonly bitmap: ArtworkBitmap
  readonly greys: readonly GreyArea[]
  /** Side of a module of the code as printed, mm, across the head and along the feed. */
  readonly module: { readonly across: number; readonly feed: number }
  /** The screen as printed; null for grey tints. */
  readonly screen: Screen | null
}

/**
 * Draws a strip as the printer is to print it, pixel for pixel.
 * @param screen of the tints, where the strip screens them itself
 * @throws ProblemError STRIP_CODE_TOO_LONG; RangeError as `encodeStripCode`
 */
export function drawStrip(identity: StripIdentity, screen: Screen): StripDrawing {
  const { form, laid, dpi } = identity
  const layout = stripLayout(form, laid, dpi)
  const pitch = pixelPitch(dpi, laid)
  const across = Math.round(layout.width / pitch.x)
  const down = Math.round(layout.height / pitch.y)
  const canvas = laid === 'head' ? printCanvas(across, down, dpi) : printCanvas(down, across, dpi)
  /** A rectangle on the strip's axes to one on the print: laid along the feed the strip is turned by a quarter. */
  const onPrint = (x: number, y: number, width: number, height: number) =>
    laid === 'head'
      ? { column: x, row: y, width, height }
      : { column: down - y - height, row: x, width: height, height: width }
  const fill = (x: number, y: number, width: number, height: number, ink = true): void => {
    const at = onPrint(x, y, width, height)
    fillRect(canvas, at.column, at.row, at.width, at.height, ink)
  }
  const pixels = (rect: StripRect) => ({
    x: Math.round(rect.x / pitch.x),
    y: Math.round(rect.y / pitch.y),
    width: Math.round(rect.width / pitch.x),
    height: Math.round(rect.height / pitch.y),
  })
  const fillMm = (rect: StripRect, ink = true): void => {
    const { x, y, width, height } = pixels(rect)
    fill(x, y, width, height, ink)
  }

  // Plates first: the negative lines and hairs are taken out of them.
  for (const field of layout.fields) {
    if (field.kind === 'line' && field.polarity === 'negative') fillMm(field.plate)
    if (field.kind === 'hairs' && field.polarity === 'negative') fillMm(field.rect)
  }

  const code = codeModules(encodeStripCode(identity))
  const cell = identity.tints === 'screened' ? halftoneCell(screen, dpi) : null
  const rank = cell === null ? null : dotOrder(cell)
  const greys: GreyArea[] = []
  let module = { x: 0, y: 0 }
  for (const field of layout.fields)
    switch (field.kind) {
      case 'mark':
      case 'rail':
      case 'solid':
        fillMm(field.rect)
        break
      case 'line':
        fillMm(field.rect, field.polarity === 'positive')
        break
      case 'hairs':
        for (const line of field.lines) fillMm(line, field.polarity === 'positive')
        break
      case 'code': {
        const box = pixels(field.rect)
        // Whole pixels a module, and never beyond the field: the clear film round it is the quiet zone.
        module = {
          x: Math.max(1, Math.min(Math.round(MODULE / pitch.x), Math.floor(box.width / code.size))),
          y: Math.max(1, Math.min(Math.round(MODULE / pitch.y), Math.floor(box.height / code.size))),
        }
        const left = box.x + Math.floor((box.width - code.size * module.x) / 2)
        const top = box.y + Math.floor((box.height - code.size * module.y) / 2)
        for (let r = 0; r < code.size; r++)
          for (let c = 0; c < code.size; c++)
            if (code.dark[r * code.size + c] === 1) fill(left + c * module.x, top + r * module.y, module.x, module.y)
        break
      }
      case 'tint': {
        const box = pixels(field.rect)
        const at = onPrint(box.x, box.y, box.width, box.height)
        if (rank === null || cell === null) {
          greys.push({ ...at, percent: field.percent })
          break
        }
        const inked = Math.round((field.percent / 100) * cell.pixels)
        for (let r = at.row; r < at.row + at.height; r++)
          for (let c = at.column; c < at.column + at.width; c++)
            if (rank(c, r) < inked) canvas.bits[r * canvas.rowBytes + (c >> 3)]! |= 0x80 >> (c & 7)
        break
      }
      case 'text': {
        const box = pixels(field.rect)
        const dot = {
          columns: Math.max(1, Math.round(WORD_DOT / pitch.x)),
          rows: Math.max(1, Math.round(WORD_DOT / pitch.y)),
        }
        const room = Math.floor(box.width / (LETTER_STEP * dot.columns))
        const lines = Math.max(1, 1 + Math.floor((box.height / dot.rows - LETTER_HEIGHT) / WORD_STEP))
        stripWords(identity, room, lines).forEach((words, i) => {
          layWords(words, box.x, box.y + i * WORD_STEP * dot.rows, dot, fill)
        })
        break
      }
    }
  return {
    identity,
    layout,
    bitmap: asBitmap(canvas, `${identity.positive}.strip`),
    greys,
    module:
      laid === 'head'
        ? { across: module.x * pitch.x, feed: module.y * pitch.y }
        : { across: module.y * pitch.y, feed: module.x * pitch.x },
    screen: cell?.screen ?? null,
  }
}

/** The words on the strip: most wanted first, as many lines as there is room for. */
export function stripWords(identity: StripIdentity, room: number, lines: number): readonly string[] {
  const { positive, jobType, dpi, setting, stock, mode, level, printer } = identity
  const parts = [
    ...(level === undefined ? [] : [[`${mode ?? ''} level ${level}`.trim()]]),
    ...split(positive, room, lines > 2 ? 2 : 1),
    [jobType],
    [setting, level === undefined ? mode : undefined],
    [stock, printer],
    [dpi.across === dpi.along ? `${dpi.across} dpi` : `${dpi.across}x${dpi.along} dpi`],
  ]
  return parts
    .map(words => words.filter(word => word !== undefined && word !== '').join(' '))
    .filter(words => words !== '')
    .slice(0, lines)
    .map(words => ([...words].length > room ? `${[...words].slice(0, room - 1).join('')}~` : words))
}

function split(words: string, room: number, lines: number): string[][] {
  const letters = [...words]
  return Array.from({ length: lines }, (_, i) => [
    letters.slice(i * room, i === lines - 1 ? undefined : (i + 1) * room).join(''),
  ])
}
