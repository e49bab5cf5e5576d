import type { BlockOverview } from '../imaging/block-overview.js'
import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import { lightField } from '../imaging/light-field.js'
import type { PixelPoint } from '../model/geometry.js'
import type { DensityScan } from '../model/light.js'
import type { LaidStrip, StripForm, StripLayout } from '../model/strip.js'
import { stripLayout } from '../strip/strip-layout.js'
import { findStrips } from './find-strips.js'
import { catchStrip, fitStrip, type StripFit } from './fit-strip.js'
import { type IdentityReading, readIdentity } from './read-identity.js'

/** A control strip laid on the scan; who it is, is not read yet. */
export interface LocatedStrip {
  readonly form: StripForm
  readonly mirrored: boolean
  /** Share of places that are as the strip has them. */
  readonly likeness: number
  /** Strip, mm, to pixels of the scan: good to half a printer pixel, before the code has told the printer's. */
  readonly map: PlaneMap
  /** How far its edges lie outside the layout's, um, along its x and y. */
  readonly gainUm: StripFit['gainUm']
  /** Corners of the whole strip, its clear border included, in order; they may lie outside the scan. */
  readonly corners: readonly PixelPoint[]
}

/** Every control strip in view, likeliest first. */
export function locateStrips(scan: DensityScan, overview: BlockOverview, clear: number): LocatedStrip[] {
  const found = findStrips(overview, scan.umPerPixel, clear)
  const field = lightField(scan.scan, scan.light.transmittance, scan.umPerPixel)
  return found.flatMap(({ form, map, mirrored, likeness }) => {
    const layout = stripLayout(form, 'head', null)
    const fit = catchStrip(field, layout, map)
    if (fit === null) return []
    return [{ form, mirrored, likeness, map: fit.map, gainUm: fit.gainUm, corners: cornersOf(layout, fit.map) }]
  })
}

/** A strip with its layout as printed. */
export interface ReadStrip {
  readonly laid: LaidStrip
  readonly layout: StripLayout
}

/** Who a strip says it is, and where exactly it lies; or why that was not taken. */
export async function readStrip(
  scan: DensityScan,
  strip: LocatedStrip,
  clear: number,
): Promise<ReadStrip | Extract<IdentityReading, { kind: 'refused' }>> {
  const field = lightField(scan.scan, scan.light.transmittance, scan.umPerPixel)
  const read = await readIdentity(field, stripLayout(strip.form, 'head', null), strip.map, clear)
  if (read.kind === 'refused') return read
  const { identity, ends } = read
  if (identity.form !== strip.form)
    return { kind: 'refused', because: `it names a ${identity.form} strip, and this one is ${strip.form}` }
  const layout = stripLayout(identity.form, identity.laid, identity.dpi)
  const fit = fitStrip(field, layout, strip)
  if (fit === null) return { kind: 'refused', because: 'too few of its edges are in view to lay it on the scan' }
  const { mirrored, likeness } = strip
  const { map, stretch, residualUm } = fit
  const laid = { identity, ends, mirrored, likeness, map, corners: cornersOf(layout, map), stretch, residualUm }
  return { laid, layout }
}

function cornersOf({ width, height }: StripLayout, map: PlaneMap): PixelPoint[] {
  return [
    [0, 0],
    [width, 0],
    [width, height],
    [0, height],
  ].map(([x, y]) => {
    const at = mapped(map, x!, y!)
    return { column: at.x, row: at.y }
  })
}
