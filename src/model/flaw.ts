import type { PixelPoint } from './geometry.js'

/**
 * What a flaw is. Light where ink should be: `pinhole`, `scratch` (long and thin), `missingNozzle` (a thin straight line
 * along the feed through whole solids), `thinSpot` (less dense than its solid, not open). Dark where the film should be clear: `speck`, `hair`.
 */
export type FlawKind = 'pinhole' | 'scratch' | 'missingNozzle' | 'thinSpot' | 'speck' | 'hair'

export const FLAW_KINDS: readonly FlawKind[] = ['pinhole', 'scratch', 'missingNozzle', 'thinSpot', 'speck', 'hair']

/** One flaw of the film; spots so near each other that they are one to the eye are one flaw of several members. */
export interface Flaw {
  /** Stable within an inspection, `flaw-1` the most severe; the same id as its crop. */
  readonly id: string
  readonly kind: FlawKind
  /** Centre of its light (or of what it takes away), scan pixels. */
  readonly place: PixelPoint
  /** The same from the film's first corner along its upper and left sides as scanned, mm; null when the film's corners are not in view. */
  readonly filmMm: { readonly x: number; readonly y: number } | null
  /** Equivalent diameter 2 sqrt(A / pi) of the open (or covered) area A, um; free of the scanner's blur. */
  readonly diameterUm: number
  /** U (k = 2) of the diameter, um. */
  readonly expandedUm: number
  /** Of a long flaw: length, mm, and mean open width, um; else null. */
  readonly lengthMm: number | null
  readonly widthUm: number | null
  /** Severity: the area of clear film that would pass as much light as it lets through (or as it holds back), mm2. */
  readonly leakedMm2: number
  /** Could be dust on the film or the glass: soft, or not as dark as ink though wide enough to show it. Cleaning and a second scan tell. */
  readonly possibleDust: boolean
  /** Spots that were merged into it, 1 or more. */
  readonly members: number
  /** Outline, scan pixels, in order: of a long flaw along its line. */
  readonly corners: readonly PixelPoint[]
}

/** Why a part of the film was not looked at. */
export type SkippedReason =
  /** Dots of a screen: which dot is missing only the artwork can tell. */
  | 'halftone'
  /** Within 1 mm of the film's edge, the holder or the scan's end. */
  | 'border'
  /** Neither ink nor clear film: a half-tone without dots. */
  | 'midTone'

/** How many flaws a square decimetre: of ink for light ones, of clear film for dark ones. */
export interface FlawRate {
  readonly found: number
  readonly perDm2: number
  readonly low: number
  readonly high: number
}

/** Flaws of one scan. */
export interface MeasuredFlaws {
  /** Most severe first, at most `MOST_FLAWS_LISTED`; `counts` has them all. */
  readonly list: readonly Flaw[]
  readonly counts: Readonly<Record<FlawKind, number>>
  /** Film that was looked at: ink, in which light is a flaw, and clear film, in which dark is; mm2. */
  readonly inspectedMm2: { readonly solid: number; readonly clear: number }
  readonly skippedMm2: Readonly<Partial<Record<SkippedReason, number>>>
  /** Flaws a square decimetre of what was looked at, with the exact 95 % interval of a Poisson count; null where nothing was. */
  readonly rates: { readonly light: FlawRate | null; readonly dark: FlawRate | null }
  /** Smallest spot that is found for certain and is counted, um of equivalent diameter. */
  readonly leastUm: number
  /** More than any film has: a page of noise or an unknown pattern. Counts then are no counts of flaws. */
  readonly tooMany: boolean
}

/** No flaws were looked for, and why. */
export interface NotLooked {
  readonly because: string
  readonly next: string
}

/** A page with more than this has another trouble than the next flaw; the report's map still shows where they lie. */
export const MOST_FLAWS_LISTED = 500
