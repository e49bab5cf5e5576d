import { type Dpi, MM_PER_INCH } from '../model/geometry.js'
import type { PrintDirection, StripField, StripForm, StripLaid, StripLayout, StripRect } from '../model/strip.js'

/** Widths of the lines, um: from the thinnest a printer lays to half a millimetre, closer together where film fails first. */
export const LINE_WIDTHS_UM = [50, 100, 150, 200, 300, 500] as const

/** Tints of the strip, percent of ink: closer at both ends, where dots vanish and fill. */
export const TINT_PERCENTS = [5, 10, 20, 30, 40, 50, 60, 75, 90, 95] as const

/** The short strip has room for four: one in each quarter of the curve. */
export const SHORT_TINT_PERCENTS = [20, 40, 60, 80] as const

/** Clear film kept round everything, mm, so that artwork may come close; round the codes a module and a half (ISO/IEC 16022 asks for one). */
const BORDER = 0.9
const CODE_BORDER = 0.7

/** Locating bars, mm: six blocks of the 0.17 mm overview wide, and long enough to be an edge of 10 mm on both sides. */
const MARK_WIDTH = 1.5
const BAND = 10

/** The long solid, mm: wide enough that a scan line's mean over it stands well out of grain. */
const RAIL_HEIGHT = 2.4

/** Clear film between lines, mm: ten times the blur of a usual scanner, so that neighbours do not lift each other. */
const LINE_GAP = 0.55
const LINE_GROUP = 4.7
/** Ink round the negative lines, mm. */
const PLATE_RIM = 0.45

/** Width of the crossing hair-lines, um, and their number each way. */
const HAIR_UM = 100
const HAIRS = 4

/** Where things begin along x, mm. The marks' distances, of all forms together, differ by more than 1 mm from each other. */
interface Plan {
  readonly width: number
  readonly height: number
  /** Side of the square the code is drawn in: 32 modules of 0.4 mm and more at every usual printer resolution. */
  readonly code: number
  readonly marks: readonly number[]
  readonly rail: StripRect
  readonly solid: StripRect
  readonly clear: StripRect
  readonly positiveLines: number
  readonly negativeLines: number
  readonly hairs: number | null
  readonly tints: {
    readonly x: number
    readonly y: number
    readonly width: number
    readonly height: number
    readonly columns: number
    readonly percents: readonly number[]
  }
  readonly texts: readonly StripRect[]
}

/** Gap between tints, mm. */
const TINT_GAP = 0.4
const RAIL_Y = BORDER + BAND + 0.8

const PLANS: Readonly<Record<StripForm, Plan>> = {
  standard: {
    width: 140,
    height: 15,
    code: 13.6,
    marks: [15.6, 36.6, 51.7, 95.7, 122.9],
    rail: { x: 15.6, y: RAIL_Y, width: 108.8, height: RAIL_HEIGHT },
    solid: { x: 18.9, y: BORDER, width: 12, height: BAND },
    clear: { x: 31.9, y: BORDER, width: 3.5, height: BAND },
    positiveLines: 39.4,
    negativeLines: 45.1,
    hairs: 55,
    tints: { x: 61.2, y: BORDER, width: 6.2, height: 4.8, columns: 5, percents: TINT_PERCENTS },
    texts: [{ x: 98.3, y: BORDER, width: 23.4, height: BAND }],
  },
  short: {
    width: 70,
    height: 15,
    code: 13.6,
    marks: [15.6, 29.5, 52.9],
    rail: { x: 15.6, y: RAIL_Y, width: 17, height: RAIL_HEIGHT },
    solid: { x: 18.9, y: BORDER, width: 8.5, height: BAND },
    clear: { x: 27.7, y: BORDER, width: 1.6, height: BAND },
    positiveLines: 32.9,
    negativeLines: 38.6,
    hairs: null,
    tints: { x: 45.2, y: BORDER, width: 2.9, height: 4.8, columns: 2, percents: SHORT_TINT_PERCENTS },
    texts: [{ x: 34, y: RAIL_Y, width: 20.4, height: RAIL_HEIGHT }],
  },
  ladder: {
    width: 140,
    height: 27,
    code: 16.3,
    marks: [18.8, 52.3, 69.2, 108.9, 117.5],
    rail: { x: 18.8, y: 23.7, width: 100.2, height: RAIL_HEIGHT },
    solid: { x: 22.1, y: BORDER, width: 24, height: 22 },
    clear: { x: 46.8, y: BORDER, width: 4.5, height: 22 },
    positiveLines: 55.6,
    negativeLines: 61.3,
    hairs: 71.6,
    tints: { x: 52.6, y: 12.3, width: 6.2, height: 10.6, columns: 10, percents: TINT_PERCENTS },
    texts: [{ x: 78, y: BORDER, width: 29.5, height: BAND }],
  },
}

/**
 * Every field of the strip, on its own axes in mm, as the printer is sent it: edges on whole printer pixels.
 * @param dpi the printer's own resolution, or null for the plain layout: what is looked for before the code was read
 *   (no edge lies further than half a printer pixel from it)
 */
export function stripLayout(form: StripForm, laid: StripLaid, dpi: Dpi | null): StripLayout {
  const plan = PLANS[form]
  const pitch = dpi === null ? null : pixelPitch(dpi, laid)
  const rect = (r: StripRect): StripRect => (pitch === null ? r : snapped(r, pitch))
  const fields: StripField[] = [
    { kind: 'code', end: 'first', rect: rect({ x: CODE_BORDER, y: CODE_BORDER, width: plan.code, height: plan.code }) },
    {
      kind: 'code',
      end: 'last',
      rect: rect({ x: plan.width - CODE_BORDER - plan.code, y: CODE_BORDER, width: plan.code, height: plan.code }),
    },
    ...plan.marks.map((x, index): StripField => {
      return { kind: 'mark', index, rect: rect({ x, y: BORDER, width: MARK_WIDTH, height: BAND }) }
    }),
    { kind: 'rail', rect: rect(plan.rail) },
    { kind: 'solid', rect: rect(plan.solid) },
    { kind: 'clear', rect: rect(plan.clear) },
    ...lineFields(plan.positiveLines, 'positive', laid, pitch),
    ...lineFields(plan.negativeLines, 'negative', laid, pitch),
    ...(plan.hairs === null ? [] : hairFields(plan.hairs, pitch)),
    ...plan.tints.percents.map((percent, i): StripField => {
      const { x, y, width, height, columns } = plan.tints
      const column = i % columns
      const row = Math.floor(i / columns)
      return {
        kind: 'tint',
        percent,
        rect: rect({ x: x + column * (width + TINT_GAP), y: y + row * (height + TINT_GAP), width, height }),
      }
    }),
    ...plan.texts.map((text): StripField => ({ kind: 'text', rect: rect(text) })),
  ]
  const size = rect({ x: 0, y: 0, width: plan.width, height: plan.height })
  return { form, laid, width: size.width, height: size.height, fields }
}

/** Size of a printer pixel along the strip's x and y, mm. */
export function pixelPitch(dpi: Dpi, laid: StripLaid): { readonly x: number; readonly y: number } {
  const across = MM_PER_INCH / dpi.across
  const along = MM_PER_INCH / dpi.along
  return laid === 'head' ? { x: across, y: along } : { x: along, y: across }
}

type Pitch = { readonly x: number; readonly y: number }

/** Edges on whole pixels; at least one pixel of it is left. */
function snapped(r: StripRect, pitch: Pitch): StripRect {
  const x = Math.round(r.x / pitch.x)
  const y = Math.round(r.y / pitch.y)
  const width = Math.max(1, Math.round((r.x + r.width) / pitch.x) - x)
  const height = Math.max(1, Math.round((r.y + r.height) / pitch.y) - y)
  return { x: x * pitch.x, y: y * pitch.y, width: width * pitch.x, height: height * pitch.y }
}

/** As `snapped`, but the size is rounded by itself: lines of one width stay one width wherever they stand. */
function snappedLine(r: StripRect, pitch: Pitch): StripRect {
  const width = Math.max(1, Math.round(r.width / pitch.x)) * pitch.x
  const height = Math.max(1, Math.round(r.height / pitch.y)) * pitch.y
  return { x: Math.round(r.x / pitch.x) * pitch.x, y: Math.round(r.y / pitch.y) * pitch.y, width, height }
}

/** Two groups of lines, one above the other: the upper ones stand across the strip, the lower ones run along it. */
function lineFields(
  x: number,
  polarity: 'positive' | 'negative',
  laid: StripLaid,
  pitch: Pitch | null,
): readonly StripField[] {
  const along: PrintDirection = laid === 'head' ? 'head' : 'feed'
  const across: PrintDirection = laid === 'head' ? 'feed' : 'head'
  const rim = polarity === 'negative' ? PLATE_RIM : 0
  const side = LINE_GROUP + 2 * rim
  // The plates of negative lines touch top and bottom of the band; the positive ones keep LINE_GAP between their groups.
  const plates: readonly StripRect[] = [
    { x, y: BORDER, width: side, height: BAND / 2 - 0.1 },
    { x, y: BORDER + BAND / 2 + 0.1, width: side, height: BAND / 2 - 0.1 },
  ]
  return plates.flatMap((plate, lower) => {
    const room = lower === 0 ? plate.width : plate.height
    const inked = LINE_WIDTHS_UM.reduce((sum, width) => sum + width / 1000, 0)
    const gap = Math.min(LINE_GAP, (room - inked) / (LINE_WIDTHS_UM.length + 1))
    const length = (lower === 0 ? plate.height : plate.width) - 2 * rim
    let at = (room - inked - gap * (LINE_WIDTHS_UM.length - 1)) / 2
    return LINE_WIDTHS_UM.map((nominalUm): StripField => {
      const width = nominalUm / 1000
      const line: StripRect =
        lower === 0
          ? { x: plate.x + at, y: plate.y + rim, width, height: length }
          : { x: plate.x + rim, y: plate.y + at, width: length, height: width }
      at += width + gap
      const rect = pitch === null ? line : snappedLine(line, pitch)
      return {
        kind: 'line',
        polarity,
        runs: lower === 0 ? across : along,
        nominalUm,
        widthUm: (lower === 0 ? rect.width : rect.height) * 1000,
        rect,
        plate: pitch === null ? plate : snapped(plate, pitch),
      }
    })
  })
}

/** A lattice of crossing hair-lines in ink, and below it one left clear in ink: bleeding thickens the one and closes the other. */
function hairFields(x: number, pitch: Pitch | null): readonly StripField[] {
  const height = BAND / 2 - 0.1
  return (['positive', 'negative'] as const).map((polarity, lower): StripField => {
    const rect: StripRect = {
      x,
      y: lower === 0 ? BORDER : BORDER + BAND / 2 + 0.1,
      width: LINE_GROUP,
      height,
    }
    const hair = HAIR_UM / 1000
    // Three sorts of opening between them: a hair that fills narrow openings first is told from one that thickens evenly.
    const shares = [0.1, 0.28, 0.55, 0.9].slice(0, HAIRS)
    const lines = [
      ...shares.map(share => ({ x: x + share * (rect.width - hair), y: rect.y, width: hair, height })),
      ...shares.map(share => ({ x, y: rect.y + share * (height - hair), width: rect.width, height: hair })),
    ]
    return {
      kind: 'hairs',
      polarity,
      rect: pitch === null ? rect : snapped(rect, pitch),
      lines: pitch === null ? lines : lines.map(line => snappedLine(line, pitch)),
    }
  })
}
