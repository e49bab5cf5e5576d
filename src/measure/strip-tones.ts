import type { PlaneMap } from '../imaging/fit-plane-map.js'
import type { DensityScan } from '../model/light.js'
import type { Component } from '../model/reading.js'
import type { StripLayout, StripTone } from '../model/strip.js'
import { expandedUncertainty } from './expanded-uncertainty.js'
import type { ScaleError } from './scale-errors.js'
import { inset, type StripScreen } from './strip-screen.js'
import { type StripWindow, stripWindow } from './strip-window.js'
import { toneValue } from './tone-value.js'

/** One tint with what its uncertainty is made of. */
export interface MeasuredTone extends StripTone {
  readonly budget: readonly Component[]
  /** Middle of the tint on the scan. */
  readonly place: { readonly column: number; readonly row: number }
}

/** Kept off a tint's rim, and off the clear field's and the solid's, mm: three sigma of bleed and optics. */
const TINT_INSET_MM = 0.25
const FIELD_INSET_MM = 0.35
/** What a mean over whole dots leaves of their place on the pixels and of half-shadow at their rims, % of area (from the truth test). */
const METHOD = 0.15
/** How many levels of light the scale's errors are asked at. */
const LEVELS = 64

/**
 * Tone value of every tint of a strip (tone-value.ts), light averaged over whole dots: each pixel counts by where it lies in the screen's own lattice,
 * so that no part of a dot at the rim weighs (a trapezium of one period's slope each way has no share of any harmonic). Grey tints are averaged under
 * a window without a screen. Light is averaged as transmittance, never as codes or densities. Ink and base are the strip's own.
 * @param errors what is not known of the light scale
 */
export function stripTones(
  scan: DensityScan,
  layout: StripLayout,
  map: PlaneMap,
  screen: StripScreen | null,
  errors: readonly ScaleError[],
): MeasuredTone[] {
  const flat = (kind: 'clear' | 'solid') => {
    const field = layout.fields.find(one => one.kind === kind)
    const window = field === undefined ? null : stripWindow(scan, map, inset(field.rect, FIELD_INSET_MM))
    return window === null ? null : weightedMean(window, () => 1)
  }
  const clear = flat('clear')
  const solid = flat('solid')
  if (clear === null || solid === null || !(clear.mean > solid.mean)) return []
  return layout.fields.flatMap(field => {
    if (field.kind !== 'tint') return []
    const rect = inset(field.rect, TINT_INSET_MM)
    const window = stripWindow(scan, map, rect)
    if (window === null) return []
    const seen = weightedMean(window, screen === null ? () => 1 : wholeDots(screen, rect.width, rect.height))
    if (seen === null) return []
    const measured = toneValue(clear.mean, seen.mean, solid.mean)
    const span = clear.mean - solid.mean
    const share = measured / 100
    const percent = 100 / span
    const scale = Math.hypot(
      ...errors.map(error => {
        let mean = 0
        for (let k = 0; k < LEVELS; k++) mean += seen.levels[k]! * error(seen.levelLight(k))
        return percent * ((1 - share) * error(clear.mean) + share * error(solid.mean) - mean)
      }),
    )
    const noise = percent * Math.hypot(seen.error, (1 - share) * clear.error, share * solid.error)
    const budget: Component[] = [
      { name: 'light scale', standard: scale, type: 'B', degreesOfFreedom: null },
      { name: 'noise', standard: noise, type: 'A', degreesOfFreedom: null },
      { name: 'dots over pixels', standard: METHOD, type: 'B', degreesOfFreedom: null },
    ]
    const x = field.rect.x + field.rect.width / 2
    const y = field.rect.y + field.rect.height / 2
    return [
      {
        intended: field.percent,
        measured,
        expanded: expandedUncertainty(budget).expanded,
        budget,
        place: { column: map.x0 + map.xx * x + map.xy * y, row: map.y0 + map.yx * x + map.yy * y },
      },
    ]
  })
}

/** Fewest periods each way that a window must hold. */
const FEWEST_PERIODS = 1.5

/** Weight of a place in the largest window of whole periods, along the screen's own two directions, that fits a field of this size. */
function wholeDots({ first, second }: StripScreen, width: number, height: number): (x: number, y: number) => number {
  const determinant = first.x * second.y - first.y * second.x
  // One period each way: the vectors for which one wave turns once and the other not at all.
  const p = { x: second.y / determinant, y: -second.x / determinant }
  const q = { x: -first.y / determinant, y: first.x / determinant }
  let best = { s: 0, t: 0 }
  for (let s = FEWEST_PERIODS; s < 40; s += 0.25) {
    const t = Math.min(
      (width - s * Math.abs(p.x)) / Math.max(Math.abs(q.x), 1e-9),
      (height - s * Math.abs(p.y)) / Math.max(Math.abs(q.y), 1e-9),
    )
    if (!(t >= FEWEST_PERIODS)) break
    if ((s - 0.5) * (t - 0.5) > (best.s - 0.5) * (best.t - 0.5)) best = { s, t }
  }
  if (best.s === 0) return () => 1
  const trapezium = (at: number, whole: number) => Math.min(1, Math.max(0, whole / 2 - Math.abs(at)))
  return (x, y) => trapezium(first.x * x + first.y * y, best.s) * trapezium(second.x * x + second.y * y, best.t)
}

interface WindowMean {
  readonly mean: number
  readonly error: number
  /** Share of the weight at each level of light. */
  readonly levels: Float64Array
  levelLight(k: number): number
}

function weightedMean({ light, x, y }: StripWindow, weight: (x: number, y: number) => number): WindowMean | null {
  let sum = 0
  let total = 0
  let squares = 0
  let most = 0
  for (let i = 0; i < light.length; i++) if (light[i]! > most) most = light[i]!
  const levels = new Float64Array(LEVELS)
  for (let i = 0; i < light.length; i++) {
    const w = weight(x[i]!, y[i]!)
    if (!(w > 0)) continue
    sum += w * light[i]!
    total += w
    squares += w * w
    levels[Math.min(LEVELS - 1, Math.max(0, Math.floor((light[i]! / most) * LEVELS)))]! += w
  }
  if (!(total > 0 && most > 0)) return null
  for (let k = 0; k < LEVELS; k++) levels[k]! /= total
  const levelLight = (k: number) => ((k + 0.5) / LEVELS) * most
  // Noise of one pixel is at most some half a percent of open light; neighbours share it.
  return { mean: sum / total, error: (PIXEL_NOISE * Math.sqrt(2 * squares)) / total, levels, levelLight }
}

/** Noise of a pixel of clear film, share of open light: the most an ordinary scanner shows. */
const PIXEL_NOISE = 0.005
