import type { ArtworkAlignment, InkDifference } from './artwork.js'
import type { SeenOverview } from './block-overview.js'
import type { Calibration } from './calibration.js'
import type { MeasuredFlaws } from './flaw.js'
import type { Dpi, PixelPoint, PixelRect } from './geometry.js'
import type { ApartReason, BaselineRequest, Comparison } from './growth.js'
import type { NotMeasured, Reading, ReadingName } from './reading.js'
import type { Channel, ScanHeader } from './scan.js'
import type { MeasuredStrip, StripIdentity } from './strip.js'

/** The profile of one measured edge: distances along the normal, positive towards the clear side. */
export interface EdgeProfile {
  readonly id: string
  /** End points of the measured run on the scan. */
  readonly from: PixelPoint
  readonly to: PixelPoint
  /** Direction of the edge's normal: `across` (along a row) or `along` (down the columns). */
  readonly direction: 'across' | 'along'
  /** Tilt of the edge against the pixel grid, degrees. */
  readonly tilt: number
  readonly lengthMm: number
  /** Binned edge-spread function: distance um, transmittance. */
  readonly distanceUm: readonly number[]
  readonly transmittance: readonly number[]
  /** The fitted ink model as the scanner would see it, at the same distances; null when not fitted. */
  readonly model: readonly number[] | null
  /** Plateaus, T. */
  readonly clear: number
  readonly dark: number
  /** Where the seen profile crosses 10 and 90 % of its change, um. */
  readonly at10: number
  readonly at90: number
  readonly seenRise: number
  readonly filmRise: number | null
  readonly inkSpread: number | null
}

/** The spectrum of the solids' ripple in the direction where it is stronger, of the solid that shows it best. */
export interface RippleProfile {
  /** The solid, as its outline. */
  readonly id: string
  /** How the direction lies on the scan. */
  /** On the film, where a control strip says how that was fed; else on the page. */
  readonly direction: 'along the feed' | 'across the head' | 'across the page' | 'down the page'
  /** Cycles/mm, rising. */
  readonly frequency: readonly number[]
  /** Half of peak to peak of the ink, %, as scanned, and of the noise. */
  readonly amplitude: readonly number[]
  readonly noise: readonly number[]
  /** Longer pitches than this are slow trend, mm. */
  readonly longestMm: number
  /** Pitch of the strongest wave, mm; null when none stands out. */
  readonly pitchMm: number | null
}

/** An outlined place on the page picture. */
export interface Outline {
  readonly id: string
  readonly kind: 'solid' | 'base' | 'edge' | 'film' | 'openLight' | 'holder' | 'artwork' | 'strip'
  /** Corners in scan pixels, in order. */
  readonly corners: readonly PixelPoint[]
}

/** A PNG as base64, ready for a data URL. */
export interface Picture {
  readonly id: string
  readonly caption: string
  readonly pngBase64: string
  readonly width: number
  readonly height: number
  /** Window of the scan it shows. */
  readonly rect: PixelRect
}

/** What the pixel half hands over: plain JSON, no pixels but finished pictures. */
export interface MeasuredScan {
  readonly header: ScanHeader
  /** The dpi used for all lengths and who said so. */
  readonly dpi: { readonly across: number; readonly along: number; readonly from: 'file' | 'sidecar' | 'site' }
  /** Length of a pixel that all lengths were taken with; absent in what earlier versions measured: then as the dpi says. */
  readonly umPerPixel?: { readonly across: number; readonly along: number }
  /** Whether densities are calibrated, or `code density` only. */
  readonly response: 'calibrated' | 'unknown'
  readonly readings: Readonly<Partial<Record<ReadingName, Reading>>>
  readonly notMeasured: readonly NotMeasured[]
  /** Remarks that change no verdict: sentences. */
  readonly notes: readonly string[]
  /** Absent when there was no solid to see it in. */
  readonly ripple?: RippleProfile
  /** Doubts about the whole scan that forbid a pass. */
  readonly doubts: readonly Doubt[]
  readonly edges: readonly EdgeProfile[]
  readonly outlines: readonly Outline[]
  /** The page, at most about 1000 px on its long side, in scan orientation. */
  readonly page: Picture
  /** How the scans of a bracket were joined; absent for a single scan. */
  readonly joined?: JoinedScans
  /** Crops of the worst places; `id` as the part shown. */
  readonly crops: readonly Picture[]
  /** The control strip on the film; absent when none was read. */
  readonly strip?: MeasuredStrip
  /** The strip turned upright; present when `strip` is. */
  readonly stripPicture?: Picture
  /** The artwork beside the film; absent when none was given. */
  readonly artwork?: MeasuredArtwork
  /** Against the baseline of its positive; absent when none was asked for. */
  readonly comparison?: Comparison
  /** The steps of an ink ladder; absent when none was asked for. */
  readonly ladder?: readonly LadderPart[]
  /** Pinholes, specks, scratches and the like over the whole page; absent in what earlier versions measured. */
  readonly flaws?: MeasuredFlaws
}

/** Scans of one film at several exposures, joined to one. */
export interface JoinedScans {
  /** Deepest density the joined scans tell. */
  readonly deepest: number
  /** Darkest first; the first is the reference, at the calibration's exposure. Files as requested; those too dark to take part are left out. */
  readonly exposures: readonly {
    readonly file: string
    /** Exposure over the reference's, and its U (k = 2). */
    readonly exposure: number
    readonly expanded: number
    /** Where the film lies against its place in the reference, px. */
    readonly shift: { readonly column: number; readonly row: number }
  }[]
}

/** A reason why no reading of this scan may pass, e.g. no calibration. */
export interface Doubt {
  readonly code:
    | 'uncalibrated'
    | 'eightBit'
    | 'noOpenLight'
    | 'noFilm'
    | 'tooManyFlaws'
    | 'calibrationMismatch'
    | 'calibrationOld'
    | 'drift'
    | 'clipped'
    | 'artworkUnreadable'
    | 'artworkBlank'
    | 'notThisArtwork'
    | 'stripRefused'
    | 'stripMissing'
    | 'wrongWayRound'
    | ApartReason
    /** Older than the first scan known of its positive: growth counts from it now. */
    | 'earliest'
  readonly why: string
  readonly next: string
}

/** What the artwork said and how it lies on the film; `alignment` is null when its file could not be read. */
export interface MeasuredArtwork {
  readonly dpi: Dpi | null
  readonly widthMm: number | null
  readonly heightMm: number | null
  readonly alignment: ArtworkAlignment | null
  /** Length of a pixel of the scan it was laid on, um; absent when it was not. */
  readonly umPerPixel?: { readonly across: number; readonly along: number }
  /** Ink missing and too much; null when it was not laid on, absent in what earlier versions measured. */
  readonly difference?: InkDifference | null
  /** The film with the artwork's outline over it; null when it was not laid on. */
  readonly picture: Picture | null
}

/** What of a ladder lies on the scan: strips that say what they are (without any, the whole scan is one step), or a row of plain patches. */
export type LadderRequest =
  | { readonly kind: 'whole' }
  | { readonly kind: 'patches'; readonly count: number; readonly pitchMm: number }

/** One step of an ink ladder, read as a film of its own. */
export interface LadderPart {
  /** Of a row of patches: from 0, the lightest first; of strips: from 0, as they lie on the scan from top to bottom; else 0. */
  readonly index: number
  /** The strip it was read from; absent for patches, and where the scan as a whole stands for one step. */
  readonly strip?: LadderStrip
  readonly readings: MeasuredScan['readings']
  readonly notMeasured: readonly NotMeasured[]
  readonly notes: readonly string[]
  /** A solid with its edge, toned by density; null where there is neither. */
  readonly crop: Picture | null
}

/** One strip of a ladder among those on its scan. */
export interface LadderStrip {
  /** Strips in view. */
  readonly of: number
  /** Its middle, mm from the scan's upper left corner. */
  readonly atMm: { readonly across: number; readonly down: number }
  /** What its code says; null when it was not read. */
  readonly identity: StripIdentity | null
  /** Why not; null when it was. One sentence without its full stop. */
  readonly refused: string | null
}

/** What the pixel half is asked to do. Plain data: it crosses into the worker thread. */
export interface MeasureRequest {
  /** The overview of `file`, where it was looked at before. */
  readonly overview?: SeenOverview
  readonly file: string
  /** Further scans of the same unmoved film at other exposures, to be joined with it; absent or empty for a single scan. */
  readonly bracket?: readonly string[]
  /** The separation the film was printed from; a chosen one that cannot be read ends the inspection, one found in the inbox is a doubt. */
  readonly artwork?: { readonly file: string; readonly chosen: boolean }
  /** Resolution that wins over the file's, and who said so; null to use the file's. */
  readonly dpi: { readonly across: number; readonly along: number; readonly from: 'sidecar' | 'site' } | null
  /** Channel to read from a colour scan. */
  readonly channel: Channel
  readonly calibration: Calibration | null
  /** Density above base at which the fringe is read (ISO 12647-1: 10 and 90 % of the least core density asked), D. */
  readonly fringeContours: { readonly low: number; readonly high: number }
  /** A control strip in view was looked at and not believed: nothing is measured on it. */
  readonly stripRefused?: true
  /** The archived baseline of the positive, to be compared with; absent for a first scan. */
  readonly baseline?: BaselineRequest
  /** The scan is of an ink ladder: each step is read by itself as well. */
  readonly ladder?: LadderRequest
}
