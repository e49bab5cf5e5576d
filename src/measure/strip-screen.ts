import { findScreen, type ScreenPicture } from '../imaging/find-screen.js'
import type { PlaneMap } from '../imaging/fit-plane-map.js'
import type { DensityScan } from '../model/light.js'
import type { StripField, StripLayout, StripRect } from '../model/strip.js'
import { type StripWindow, stripWindow } from './strip-window.js'

/** The screen of a strip's tints on the strip's own axes: two waves, cycles a millimetre. */
export interface StripScreen {
  readonly first: { readonly x: number; readonly y: number }
  readonly second: { readonly x: number; readonly y: number }
  /** The screen of each tint alone, lines/in and degrees from the print's u towards v (0 <= angle < 90). */
  readonly tints: readonly { readonly percent: number; readonly ruling: number; readonly angle: number }[]
}

/** Tints with waves enough to tell the screen by, %. */
const TOLD_BY = { from: 15, to: 85 }
/** Kept off the tint's rim, mm: ink and optics round it. */
const INSET_MM = 0.2
/** The tints of one strip agree to these, lines/in and degrees; what is further off is a scratch or a stain. */
const ALIKE = { ruling: 1, angle: 1.5 }
const MM_PER_INCH = 25.4

/**
 * Ruling and angle of the strip's tints, from both first harmonics of each (imaging/find-screen.ts).
 * @param stretch film over layout less one, along the strip's x and y: the waves are told in true lengths
 * @returns null when the tints have no screen (grey ones, other structures)
 */
export function stripScreen(
  scan: DensityScan,
  layout: StripLayout,
  map: PlaneMap,
  stretch: { readonly x: number; readonly y: number },
): StripScreen | null {
  const found = layout.fields.flatMap(field => {
    if (field.kind !== 'tint' || field.percent < TOLD_BY.from || field.percent > TOLD_BY.to) return []
    const window = stripWindow(scan, map, inset(field.rect, INSET_MM))
    if (window === null) return []
    const screen = findScreen(onGrid(window, inset(field.rect, INSET_MM)))
    if (screen === null || screen.second === null) return []
    const true_ = (v: { x: number; y: number }) => ({ x: v.x / (1 + stretch.x), y: v.y / (1 + stretch.y) })
    return [{ percent: field.percent, screen, told: printScreen(true_(screen.first), true_(screen.second), layout) }]
  })
  const middle = found[Math.floor(found.length / 2)]
  if (middle === undefined) return null
  // The one that most others agree with speaks for the strip.
  const alike = (a: (typeof found)[number], b: (typeof found)[number]) =>
    Math.abs(a.told.ruling - b.told.ruling) < ALIKE.ruling &&
    Math.abs(angleOff(a.told.angle, b.told.angle)) < ALIKE.angle
  const group = found
    .map(one => found.filter(other => alike(one, other)))
    .reduce((most, next) => (next.length > most.length ? next : most))
  const mean = (of: (one: (typeof found)[number]) => number) =>
    group.reduce((sum, one) => sum + of(one), 0) / group.length
  return {
    first: { x: mean(({ screen }) => screen.first.x), y: mean(({ screen }) => screen.first.y) },
    second: { x: mean(({ screen }) => screen.second!.x), y: mean(({ screen }) => screen.second!.y) },
    tints: group.map(({ percent, told }) => ({ percent, ...told })),
  }
}

/** Difference of two screen angles, which look the same every quarter turn: -45 to 45 degrees. */
export function angleOff(a: number, b: number): number {
  const off = (((a - b) % 90) + 90) % 90
  return off > 45 ? off - 90 : off
}

/** Ruling, lines/in, and angle, degrees from u towards v, of two waves on the strip's axes. */
function printScreen(
  first: { readonly x: number; readonly y: number },
  second: { readonly x: number; readonly y: number },
  { laid }: Pick<StripLayout, 'laid'>,
): { ruling: number; angle: number } {
  // Laid along the feed, x is the print's v and y runs against its u.
  const angles = [first, second].map(
    ({ x, y }) => (Math.atan2(laid === 'head' ? y : x, laid === 'head' ? x : -y) * 180) / Math.PI,
  )
  const angle = angles[0]! + angleOff(angles[1]!, angles[0]!) / 2
  return {
    ruling: (MM_PER_INCH * (Math.hypot(first.x, first.y) + Math.hypot(second.x, second.y))) / 2,
    angle: ((angle % 90) + 90) % 90,
  }
}

export function inset({ x, y, width, height }: StripRect, by: number): StripRect {
  return { x: x + by, y: y + by, width: width - 2 * by, height: height - 2 * by }
}

/** A grid of the strip's own axes, mm a cell: a tenth of the finest screen's period. */
const GRID_MM = 0.04

/** Light of a field on an even grid of the strip's axes: each pixel is shared among its four neighbours by nearness, empty cells filled from theirs. */
function onGrid({ light, x, y }: StripWindow, rect: StripField['rect']): ScreenPicture {
  // Coarse scans: no finer than their pixels.
  const pitch = Math.max(GRID_MM, 1.05 * Math.sqrt((rect.width * rect.height) / Math.max(1, light.length)))
  const columns = Math.floor(rect.width / pitch)
  const rows = Math.floor(rect.height / pitch)
  const sums = new Float32Array(columns * rows)
  const weights = new Float32Array(columns * rows)
  const add = (r: number, c: number, w: number, value: number) => {
    if (r < 0 || c < 0 || r >= rows || c >= columns) return
    sums[r * columns + c]! += w * value
    weights[r * columns + c]! += w
  }
  for (let i = 0; i < light.length; i++) {
    const u = x[i]! / pitch + (columns - 1) / 2
    const v = y[i]! / pitch + (rows - 1) / 2
    const c = Math.floor(u)
    const r = Math.floor(v)
    const a = u - c
    const b = v - r
    add(r, c, (1 - a) * (1 - b), light[i]!)
    add(r, c + 1, a * (1 - b), light[i]!)
    add(r + 1, c, (1 - a) * b, light[i]!)
    add(r + 1, c + 1, a * b, light[i]!)
  }
  return { columns, rows, pitch, values: sums.map((sum, i) => (weights[i]! > 0 ? sum / weights[i]! : 0)) }
}
