import { Matrix, solve } from 'ml-matrix'
import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { LightField } from '../imaging/light-field.js'
import { median, robustDeviation } from '../imaging/robust.js'
import type { SpreadNodes } from '../measure/edge-model.js'
import type { Stroke } from '../measure/measure-stroke.js'
import { type MeasuredStroke, measureStroke, type StrokeFault } from '../measure/measure-stroke.js'

/** One scan, ready to have strokes measured on it. */
export interface StrokeScan {
  /** Light near a place of the scan, um, flare taken out by what is round it. */
  readonly fieldAt: (x: number, y: number) => LightField
  readonly nodes: (nx: number, ny: number) => { readonly nodes: SpreadNodes; readonly known: boolean }
  readonly clear: number
  readonly net: number
}

/** One stroke measured on both scans. */
export interface PairedStroke {
  readonly stroke: Stroke
  readonly before: MeasuredStroke
  readonly after: MeasuredStroke
}

/** Seen rise to begin with, um, before the first strokes have told it. */
const FIRST_RISE_UM = 100
/** Strokes looked at to learn how wide the film's edges are. */
const SAMPLE = 10
/** A stroke thicker than this shows its edges apart. */
const THICK_UM = 350

/** Strokes of either direction that hold a map. */
const FEWEST_A_DIRECTION = 3
/** A middle further off than this many robust deviations is damage. */
const OUTLIER = 5
/** Weight of staying where the pictures put it, in strokes. */
const RELUCTANCE = 1e-3

/** The seen 10-90 % rise of a scan's edges, um, from a few of its thicker strokes. */
export function seenRise(scan: StrokeScan, strokes: readonly Stroke[]): number {
  const thick = strokes.filter(stroke => stroke.width > THICK_UM)
  const sample = (thick.length >= 4 ? thick : strokes).slice(0, SAMPLE)
  const widths: number[] = []
  for (const stroke of sample) {
    const measured = measureOn(scan, stroke, FIRST_RISE_UM)
    if (typeof measured === 'string') continue
    const { nodes } = scan.nodes(measured.nx, measured.ny)
    widths.push(Math.hypot(nodes.rise, 1.7 * measured.model.sigma))
  }
  return widths.length > 0 ? median(widths) : FIRST_RISE_UM
}

export function measureOn(scan: StrokeScan, stroke: Stroke, rise: number): MeasuredStroke | StrokeFault {
  const { nodes } = scan.nodes(stroke.ty, -stroke.tx)
  return measureStroke(scan.fieldAt(stroke.x, stroke.y), nodes, stroke, {
    clear: scan.clear,
    net: scan.net,
    seenRise: rise,
    scannerRise: nodes.rise,
  })
}

/** The stroke as the map lays it on the other scan. */
export function movedStroke(stroke: Stroke, map: PlaneMap): Stroke {
  const tx = map.xx * stroke.tx + map.xy * stroke.ty
  const ty = map.yx * stroke.tx + map.yy * stroke.ty
  const stretch = Math.hypot(tx, ty)
  const across = 1 / acrossScale(map, stroke.ty, -stroke.tx, ty / stretch, -tx / stretch)
  return {
    ...stroke,
    x: map.x0 + map.xx * stroke.x + map.xy * stroke.y,
    y: map.y0 + map.yx * stroke.x + map.yy * stroke.y,
    tx: tx / stretch,
    ty: ty / stretch,
    length: stroke.length * stretch,
    width: stroke.width / Math.abs(across),
    room: stroke.room / Math.abs(across),
  }
}

/** How long a um across a stroke (normal n) is on the other scan, along its normal m there. */
export function acrossScale(map: PlaneMap, nx: number, ny: number, mx: number, my: number): number {
  return mx * (map.xx * nx + map.xy * ny) + my * (map.yx * nx + map.yy * ny)
}

/**
 * The map again, from the middles of the strokes: growth widens a stroke and leaves its middle. Each middle counts across its stroke only;
 * least squares, outliers left out.
 * @returns the map as it was when the strokes do not hold it in both directions; `scatter`: rms distance of the middles from it, um, or null
 */
export function mapByMiddles(
  pairs: readonly PairedStroke[],
  map: PlaneMap,
): { readonly map: PlaneMap; readonly scatter: number | null } {
  const across = pairs.filter(({ before }) => Math.abs(before.nx) >= Math.abs(before.ny)).length
  if (across < FEWEST_A_DIRECTION || pairs.length - across < FEWEST_A_DIRECTION) return { map, scatter: null }
  const midX = pairs.reduce((sum, p) => sum + p.before.x, 0) / pairs.length
  const midY = pairs.reduce((sum, p) => sum + p.before.y, 0) / pairs.length
  const half = Math.max(...pairs.map(p => Math.hypot(p.before.x - midX, p.before.y - midY)), 1)
  const weights = new Float64Array(pairs.length).fill(1)
  let now = map
  let scatter = 0
  for (let round = 0; round < 4; round++) {
    const matrix = Matrix.zeros(6, 6)
    const pull = Matrix.zeros(6, 1)
    const offs = pairs.map(({ before, after }, i) => {
      const u = (before.x - midX) / half
      const v = (before.y - midY) / half
      const at = mapped(now, before.x, before.y)
      const off = (after.x - at.x) * after.nx + (after.y - at.y) * after.ny
      const row = [after.nx, after.nx * u, after.nx * v, after.ny, after.ny * u, after.ny * v]
      for (let j = 0; j < 6; j++) {
        pull.set(j, 0, pull.get(j, 0) + weights[i]! * row[j]! * off)
        for (let k = 0; k < 6; k++) matrix.set(j, k, matrix.get(j, k) + weights[i]! * row[j]! * row[k]!)
      }
      return off
    })
    scatter = Math.max(robustDeviation(offs), 1e-3)
    // A direction in which no two strokes lie apart stays as the pictures gave it.
    for (let j = 0; j < 6; j++) matrix.set(j, j, matrix.get(j, j) + RELUCTANCE)
    const [x0, xx, xy, y0, yx, yy] = solve(matrix, pull).to1DArray() as [number, number, number, number, number, number]
    const moved = {
      xx: now.xx + xx / half,
      xy: now.xy + xy / half,
      yx: now.yx + yx / half,
      yy: now.yy + yy / half,
    }
    const middle = mapped(now, midX, midY)
    now = {
      ...moved,
      x0: middle.x + x0 - moved.xx * midX - moved.xy * midY,
      y0: middle.y + y0 - moved.yx * midX - moved.yy * midY,
    }
    const left = pairs.map(({ before, after }) => {
      const at = mapped(now, before.x, before.y)
      return (after.x - at.x) * after.nx + (after.y - at.y) * after.ny
    })
    scatter = Math.max(robustDeviation(left), 1e-3)
    for (let i = 0; i < left.length; i++) weights[i] = Math.abs(left[i]!) <= OUTLIER * Math.max(scatter, 0.3) ? 1 : 0
  }
  return { map: now, scatter }
}
