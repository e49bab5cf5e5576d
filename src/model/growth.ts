import type { Calibration } from './calibration.js'
import type { FlawKind } from './flaw.js'
import type { PixelPoint } from './geometry.js'
import type { MeasureRequest, Picture } from './measured.js'
import type { LimitName, NotMeasured, Reading } from './reading.js'
import type { InkLost } from './wear.js'

/** Readings that need two scans of one positive: what changed since its baseline. */
export const GROWTH_READINGS = ['edgeGrowth', 'fringeGrowth', 'densityLoss'] as const
export type GrowthReadingName = (typeof GROWTH_READINGS)[number]

/** Readings of one scan that go with the ink's spread: over several scans they are forecast against their own limits. */
export const SPREADING_READINGS = ['riseWidth', 'inkSpread'] as const
export type SpreadingReadingName = (typeof SPREADING_READINGS)[number]

/** The inspection that growth is counted from. */
export interface BaselineRef {
  readonly id: string
  readonly scannedAt: string
}

/** Why a scan says nothing of growth, though its positive has a baseline. Each is its own doubt. */
export type ApartReason =
  /** Another film under this positive's name. */
  | 'notSameFilm'
  /** The very file of an earlier inspection under another date. */
  | 'sameScan'
  /** Scanned before its baseline, it says, and yet its edges are wider: the date is not believed. */
  | 'beforeBaseline'
  /** Scanned later than now: a clock is wrong. */
  | 'futureScan'
  /** The baseline's scan is not in the archive any more. */
  | 'baselineLost'
  /** The baseline's archived scan is not the file any more that was measured. */
  | 'baselineChanged'
  /** Too little in common, no strokes in view, or no calibration to go by. */
  | 'notCompared'

/** What an inspection is in the life of its positive. Growth and trends take `compared` ones with the same baseline. */
export type Standing =
  /** Later scans are compared with it: the first of its positive, or one declared a reprint. */
  | { readonly kind: 'baseline'; readonly reprint: boolean }
  /** An older scan that came later: the same film as `before`, the first that was known. Later scans are compared with this one. */
  | { readonly kind: 'earliest'; readonly before: BaselineRef }
  | { readonly kind: 'compared'; readonly baseline: BaselineRef }
  /** Kept, and left out of growth and trends. */
  | { readonly kind: 'apart'; readonly baseline: BaselineRef | null; readonly because: ApartReason }

/** The archived scan of the baseline, opened anew beside the scan. Plain data: it crosses into the worker thread. */
export interface BaselineRequest {
  readonly file: string
  readonly bracket?: readonly string[]
  readonly dpi: MeasureRequest['dpi']
  readonly channel: MeasureRequest['channel']
  readonly calibration: Calibration | null
  /** Whether both scans go by one and the same calibration: what is not known of it then cancels. */
  readonly sameCalibration: boolean
  /** Sentences about how the baseline was measured again (another calibration, another version). */
  readonly notes: readonly string[]
  /** Ink that came off is told too. */
  readonly wear?: true
}

/** How the film lies on this scan against how it lay on its baseline's. */
export interface FilmPlacement {
  /** Turn of the film, degrees clockwise as seen, after the mirror. */
  readonly turnDegrees: number
  readonly mirrored: boolean
  /** Length on this scan over length on the baseline's, along the baseline's rows and down its columns. */
  readonly scale: { readonly across: number; readonly along: number }
  /** Share of the places with structure, of either scan and in view of both, that show the same. */
  readonly matched: number
  /** Share of the baseline's places with structure that are in view of this scan. */
  readonly inView: number
}

/** One stroke (or the gap between two) as both scans have it: widths at half the light, of the film itself, on the baseline's scale. */
export interface StrokePair {
  readonly id: string
  readonly kind: 'line' | 'gap'
  /** Middle of the measured run on this scan and on the baseline's. */
  readonly place: PixelPoint
  readonly before: PixelPoint
  readonly widthBeforeUm: number
  readonly widthAfterUm: number
  /** Ink spread of its edges, one sigma, um. */
  readonly spreadBeforeUm: number
  readonly spreadAfterUm: number
  /** Half the widening (of a gap: half the narrowing), um, with its own standard uncertainty. */
  readonly growthUm: number
  readonly standardUm: number
}

/** Light across one stroke in both scans, for a chart: as seen through each scanner, and of the film alone by the fitted model. */
export interface StrokeProfiles {
  readonly id: string
  readonly kind: 'line' | 'gap'
  readonly before: StrokeProfile
  readonly after: StrokeProfile
}

export interface StrokeProfile {
  /** From the middle of the stroke, um on the baseline's scale. */
  readonly distanceUm: readonly number[]
  /** Share of the light of clear film, 0..1. */
  readonly seen: readonly number[]
  readonly film: readonly number[]
}

/** Flaws of a film against those of its baseline; ids are those of this scan. */
export interface FlawChanges {
  /** Not there before: scratches, flakes, pinholes that opened, dust that came. */
  readonly fresh: readonly string[]
  /** There before, and now letting through half as much again beyond U. */
  readonly grown: readonly string[]
  /** On both scans, grown ones among them. */
  readonly stayed: number
  /** There before and not now: dust that went, or a spot that was touched up. Where they would be on this scan. */
  readonly gone: readonly {
    readonly kind: FlawKind
    readonly diameterUm: number
    readonly possibleDust: boolean
    readonly place: PixelPoint
  }[]
  /** Smaller ones are in neither list: one of the scans may have missed them. */
  readonly leastUm: number
}

/** What the pixel half found out of two scans of one positive. */
export type Comparison =
  | {
      readonly outcome: 'compared'
      readonly readings: Readonly<Partial<Record<GrowthReadingName | 'spreadGrowth', Reading>>>
      readonly notMeasured: readonly NotMeasured[]
      readonly placement: FilmPlacement
      readonly strokes: readonly StrokePair[]
      readonly profiles: StrokeProfiles | null
      /** The same window of film before and after, both turned as on the baseline's scan, at one scale of grey. */
      readonly crops: { readonly before: Picture; readonly after: Picture; readonly umPerPixel: number } | null
      /** Edges sharper and ink denser than the baseline's beyond doubt: a new print rather than an old one. */
      readonly looksReprinted: boolean
      readonly notes: readonly string[]
      /** Null where one of the scans shows too many, or was not looked at for flaws; absent in what earlier versions compared. */
      readonly flaws?: FlawChanges | null
      /** Ink that came off since the baseline; null when no solid is in view of both, absent when it was not asked. */
      readonly inkLost?: InkLost | null
      /** The place that lost most, before and after; present with `inkLost`. */
      readonly wearCrops?: { readonly before: Picture; readonly after: Picture; readonly widthMm: number } | null
    }
  | { readonly outcome: 'notSameFilm'; readonly placement: FilmPlacement | null; readonly why: string }
  | { readonly outcome: 'notCompared'; readonly why: string; readonly next: string }

/** When a limit is reached if it goes on like this. */
export interface Forecast {
  readonly reaches: LimitName
  /** Dates, ISO 8601. `latest` null: perhaps never. Earliest to latest holds with 80 %. */
  readonly on: string
  readonly earliest: string
  readonly latest: string | null
}

/** A growing reading as the forecast has it, for a chart: the law's own value and its 80 % band, unit of the reading. */
export interface ForecastBand {
  readonly reading: GrowthReadingName | SpreadingReadingName
  /** `diffusion`: goes with the root of time as ink spreads; `line`: as much each day. */
  readonly law: 'diffusion' | 'line'
  readonly points: readonly {
    readonly at: string
    readonly value: number
    readonly low: number
    readonly high: number
  }[]
}

/** A stroke of the film and its first scan, kept beside the report for the page of the history. */
export interface StrokePictures {
  readonly schema: 'burngate/stroke@1'
  readonly inspection: string
  readonly crops: Extract<Comparison, { outcome: 'compared' }>['crops']
  readonly profiles: StrokeProfiles | null
}

/** The growth part of the record. A reading that could not be made is absent and a finding or note says why. */
export interface Growth {
  readonly baseline: BaselineRef
  /** From the baseline's scan to this one; a quarter of an hour is 0.01. */
  readonly days: number
  readonly edgeGrowth?: Reading
  readonly fringeGrowth?: Reading
  /** Growth of the ink's spread (one sigma), um. */
  readonly spreadGrowth?: Reading
  readonly densityLoss?: Reading
  /** Flaws that came, grew, stayed and went; absent where they could not be compared. */
  readonly flaws?: FlawChanges
  readonly forecast: Forecast | null
  readonly placement: FilmPlacement
  readonly notes: readonly string[]
}
