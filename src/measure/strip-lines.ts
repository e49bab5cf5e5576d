import type { PlaneMap } from '../imaging/fit-plane-map.js'
import { lightField } from '../imaging/light-field.js'
import type { PixelPoint } from '../model/geometry.js'
import type { DensityScan } from '../model/light.js'
import type { Component } from '../model/reading.js'
import type { StripField, StripLayout, StripLine } from '../model/strip.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import { measureStroke, type Stroke } from './measure-stroke.js'
import { filmTable } from './measured-edge.js'
import type { ScaleError } from './scale-errors.js'
import { scannerNodes } from './scanner-nodes.js'
import { strokeLight } from './stroke-model.js'

/** One line of the strip with what its uncertainty is made of. */
export interface MeasuredLine extends StripLine {
  /** How much wider its ink is than was sent: of a negative line, how much narrower the gap. um. */
  readonly gainUm: number
  readonly place: PixelPoint
  /** What differs from line to line. */
  readonly own: readonly Component[]
  /** What all lines share, as effects on the gain of this one, um, signed. */
  readonly scanner: number
  readonly scale: readonly number[]
}

/** A line without a width. */
export interface LostLine {
  readonly polarity: 'positive' | 'negative'
  readonly direction: 'head' | 'feed'
  readonly intendedUm: number
  readonly because: string
}

/** Where the width is told: 60 % of the way from base to line, in light (ISO/IEC 13660 manner). */
const WAY_TO_LINE = 0.6
/** Kept off both ends of a line, mm: they are rounded. */
const END_MM = 0.5
/** What fit and binning leave of a width, um (from the truth test). */
const METHOD_UM = 0.5
/** A line and its neighbours lie at least so far apart that this much beside it is its own, mm (strip-layout: lines 0.55, rim 0.45). */
const ROOM_MM = 0.45

export interface LineConditions {
  /** Light of clear film and net density of the strip's solid. */
  readonly clear: number
  readonly net: number
  /** 10-90 % rise of the strip's edges as seen, of the scanner alone, um. */
  readonly seenRise: number
}

const WHY: Readonly<Record<string, string>> = {
  outOfView: 'it does not lie wholly on the scan',
  noEdges: 'its edges were not found: it may be missing, or filled in',
  ragged: 'its edges are too ragged',
  shape: 'it is not of the shape of a line: damaged, or run into its neighbour',
  faint: 'it is too faint, or filled in: light never crosses the level at which widths are told',
}

/**
 * Width of every line of a strip where light is 60 % of the way from base to solid (ISO/IEC 13660 manner), of the film alone: a bar of ink through
 * the scanner's own line spread is fitted (stroke-model.ts), positive and negative lines at one and the same level, so that a line and
 * the gap beside it share their edge.
 */
export function stripLines(
  scan: DensityScan,
  layout: StripLayout,
  map: PlaneMap,
  { clear, net, seenRise }: LineConditions,
  errors: readonly ScaleError[],
): { lines: MeasuredLine[]; lost: LostLine[] } {
  const lines: MeasuredLine[] = []
  const lost: LostLine[] = []
  const dark = clear * 10 ** -net
  const level = 1 - WAY_TO_LINE * (1 - dark / clear)
  for (const field of layout.fields) {
    if (field.kind !== 'line') continue
    const stroke = strokeOf(field, map, scan.umPerPixel)
    const place = { column: stroke.x / scan.umPerPixel.across, row: stroke.y / scan.umPerPixel.along }
    const light = lightField(scan.scan, filmTable(scan, { from: place, to: place }), scan.umPerPixel)
    const { nodes } = scannerNodes(scan, stroke.ty, -stroke.tx)
    const options = { clear, net, seenRise, scannerRise: nodes.rise, level }
    const told = { polarity: field.polarity, direction: field.runs, intendedUm: field.widthUm }
    const measured = measureStroke(light, nodes, stroke, options)
    if (typeof measured === 'string') {
      lost.push({ ...told, because: WHY[measured] ?? measured })
      continue
    }
    const wider = { ...nodes, offsets: nodes.offsets.map(x => x * (1 + nodes.riseError / nodes.rise)) }
    const other = nodes.riseError > 0 ? measureStroke(light, wider, stroke, options) : measured
    const sign = field.polarity === 'positive' ? 1 : -1
    const ink = { ...measured.model }
    const half = measured.halfWidth / 2
    const slope = (strokeLight(ink, half + 1) - strokeLight(ink, half - 1)) / 2
    // The level is told from clear and solid on the same scale: what moves all of them alike moves no edge.
    const scale = errors.map(error => {
      const moved = level * error(clear) - error(level * clear)
      return Math.abs(slope) > 0 ? (2 * moved) / Math.abs(slope) : 0
    })
    const own: Component[] = [
      {
        name: 'noise',
        standard: measured.widthError,
        type: 'A',
        input: { standard: measured.widthError, unit: 'um' },
        sensitivity: 1,
        degreesOfFreedom: null,
      },
      {
        name: 'method',
        standard: METHOD_UM,
        type: 'B',
        input: { standard: METHOD_UM, unit: 'um' },
        sensitivity: 1,
        degreesOfFreedom: null,
      },
    ]
    const scanner = typeof other === 'string' ? nodes.riseError : sign * (other.halfWidth - measured.halfWidth)
    const all: Component[] = [
      ...own,
      { name: 'scanner', standard: Math.abs(scanner) },
      { name: 'light scale', standard: Math.hypot(...scale) },
    ]
    lines.push({
      ...told,
      measuredUm: measured.halfWidth,
      expanded: expandedUncertainty(all).expanded,
      gainUm: sign * (measured.halfWidth - field.widthUm),
      place,
      own,
      scanner,
      scale,
    })
  }
  return { lines, lost }
}

/** A line of the strip on the scan, um. */
function strokeOf(
  field: Extract<StripField, { kind: 'line' }>,
  map: PlaneMap,
  umPerPixel: { readonly across: number; readonly along: number },
): Stroke {
  const { rect } = field
  const alongX = rect.width > rect.height
  const x = rect.x + rect.width / 2
  const y = rect.y + rect.height / 2
  const tx = (alongX ? map.xx : map.xy) * umPerPixel.across
  const ty = (alongX ? map.yx : map.yy) * umPerPixel.along
  const size = Math.hypot(tx, ty)
  return {
    kind: field.polarity === 'positive' ? 'line' : 'gap',
    x: (map.x0 + map.xx * x + map.xy * y) * umPerPixel.across,
    y: (map.y0 + map.yx * x + map.yy * y) * umPerPixel.along,
    tx: tx / size,
    ty: ty / size,
    length: ((alongX ? rect.width : rect.height) - 2 * END_MM) * size,
    width: field.widthUm,
    room: ROOM_MM * 1000,
  }
}
