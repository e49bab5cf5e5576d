import type { PixelRect } from './geometry.js'

/** A 1.0 mm square clear of every edge by 0.3 mm (measurement.md 2). */
export interface Patch {
  readonly id: string
  readonly kind: 'solid' | 'base'
  /** Which solid (connected inked area) or which part of the film it belongs to, from 1. */
  readonly area: number
  readonly rect: PixelRect
}

/** A rectangle of nothing but solid ink, its sides along the film's own axes. */
export interface SolidArea {
  readonly id: string
  /** Middle, mm of the scan from the centre of its first pixel. */
  readonly x: number
  readonly y: number
  /** Turn of its first axis from the rows towards the columns, degrees, -45..45. */
  readonly turn: number
  /** Length along the first axis and along the second, mm. */
  readonly first: number
  readonly second: number
}
