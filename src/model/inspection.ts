import type { ArtworkRecord } from './artwork.js'
import type { Growth, Standing } from './growth.js'
import type { Limit } from './job-type.js'
import type { LimitName, Reading, ReadingName } from './reading.js'
import type { MeasuredStrip, StripCurves } from './strip.js'

export type Verdict = 'pass' | 'fail' | 'recheck'

export interface Finding {
  /** The reading judged, or `scan` for a doubt about the whole scan. */
  readonly reading: LimitName | 'scan'
  readonly verdict: Verdict
  readonly limit: Limit | null
  /** One sentence. */
  readonly why: string
  /** What to do; empty for a pass. */
  readonly next: string
}

/** The record: stored in the history and written as JSON beside each report. */
export interface Inspection {
  readonly schema: 'burngate/inspection@1'
  readonly id: string
  readonly positive: string
  /** Who said which positive it is. */
  readonly positiveFrom: 'strip' | 'sidecar' | 'fileName' | 'stem' | 'commandLine'
  readonly jobType: string
  readonly jobTypeFrom: 'commandLine' | 'sidecar' | 'folder' | 'strip' | 'history' | 'site'
  readonly scannedAt: string
  readonly scannedAtFrom: 'sidecar' | 'tag' | 'fileTime'
  readonly inspectedAt: string
  readonly verdict: Verdict
  /** Worst first. */
  readonly findings: readonly Finding[]
  readonly readings: Readonly<Partial<Record<ReadingName, Reading>>>
  /**
   * Density of the middle solid as an ultraviolet densitometer would read it, estimated by the shop's own table of paired readings.
   * Never judged. Null or absent without a table, or where it cannot say (a note tells why).
   */
  readonly actinic?: {
    readonly table: string
    readonly pairs: number
    readonly solidDensity: { readonly value: number; readonly expanded: number }
  } | null
  /** The artwork beside the film; absent when none was given. */
  readonly artwork?: ArtworkRecord
  /** The control strip: its tints and lines, who it says the film is, and where it lay; absent when none was read. */
  readonly strip?: StripCurves & Partial<MeasuredStrip>
  readonly notes: readonly string[]
  /** Change since the positive's baseline; null for a baseline itself and for a scan that could not be compared. */
  readonly growth: Growth | null
  /** What this inspection is in the life of its positive; absent in records of versions that knew no growth. */
  readonly standing?: Standing
  readonly scan: {
    readonly file: string
    readonly sha256: string
    readonly width: number
    readonly height: number
    readonly dpi: readonly [number, number]
    readonly bits: number
    readonly channels: number
    readonly channel: string
    /** Further scans at other exposures that were joined with this one; absent for a single scan. */
    readonly bracket?: readonly {
      readonly file: string
      readonly sha256: string
      /** Exposure over that of the scan above, and its U; absent for one too dark to take part. */
      readonly exposure?: number
      readonly expanded?: number
    }[]
    /** Deepest density that the joined scans of a bracket tell; absent for a single scan. */
    readonly deepest?: number
  }
  readonly scanner: {
    readonly name: string
    readonly calibratedAt: string
    readonly deepest: number
    readonly riseWidth: number | null
    readonly tablet: string
  } | null
  /** Facts that came with the scan. */
  readonly told: Readonly<
    Partial<
      Record<
        'printer' | 'mode' | 'stock' | 'setting' | 'temperature' | 'humidity' | 'replaces' | 'note',
        string | number
      >
    >
  >
  readonly software: string
  readonly tookMs: number
}
