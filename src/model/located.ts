import type { FlawKind, SkippedReason } from './flaw.js'
import type { PixelPoint, PixelRect } from './geometry.js'

/** A 1.0 mm square clear of every edge by 0.3 mm. */
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
  /** Which of its axes lies along the feed; absent where the film does not say. */
  readonly feed?: 'first' | 'second'
}

/** A place that looks like a flaw; what it measures is told by `measure/`. */
export interface FlawCandidate {
  readonly kind: FlawKind
  /** Its own pixels lie in this box, both ends included; scan pixels. */
  readonly left: number
  readonly top: number
  readonly right: number
  readonly bottom: number
  /** Pixels beyond the level it was found by; 0 for one found on the overview. */
  readonly cells: number
  /** Roots of its principal second moments, pixels, and the direction of the longer, radians from the rows towards the columns. */
  readonly long: number
  readonly short: number
  readonly angle: number
  /** Of a hair, which a drawn line may look like: along the film's axes, with nothing of a letter's size near, or else amid other things. */
  readonly lies: 'onAxis' | 'alone' | 'amid'
  /** A long flaw or thin area found on the overview: ends of its line, and its open area in mm2. */
  readonly run: { readonly from: PixelPoint; readonly to: PixelPoint; readonly openMm2: number } | null
}

/** Where flaws were looked for and what looks like one. */
export interface FlawPlaces {
  readonly candidates: readonly FlawCandidate[]
  /** Light of clear film and of solids on the scale `table` (codes to light), on which shares are taken. */
  readonly clear: number
  readonly solid: number
  readonly table: Float32Array
  /** Codes: light spots lie above the one, dark spots below the other. */
  readonly lightAbove: number
  readonly darkBelow: number
  readonly inspectedMm2: { readonly solid: number; readonly clear: number }
  readonly skippedMm2: Readonly<Partial<Record<SkippedReason, number>>>
  /** More spots than are kept were met: candidates are not all there are. */
  readonly overflow: boolean
  readonly filmCorners: readonly PixelPoint[] | null
}
