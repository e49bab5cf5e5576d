import type { PixelRect } from './geometry.js'

/** A 1.0 mm square clear of every edge by 0.3 mm (measurement.md 2). */
export interface Patch {
  readonly id: string
  readonly kind: 'solid' | 'base'
  /** Which solid (connected inked area) or which part of the film it belongs to, from 1. */
  readonly area: number
  readonly rect: PixelRect
}
