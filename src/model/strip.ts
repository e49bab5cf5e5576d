import type { Dpi, PixelPoint } from './geometry.js'
import type { Reading, ReadingName } from './reading.js'

/**
 * The control strip. Its own axes: x along the strip, y across it, millimetres from its corner, as it reads upright.
 * `laid` says how it lies on the print: along the head (x is the print's u, y its v) or along the feed (turned by a
 * quarter: x is v, and y runs against u). u runs across the print head, v along the feed.
 */
export type StripForm = 'standard' | 'short' | 'ladder'
export type StripLaid = 'head' | 'feed'
/** `screened` by the strip itself at the job's ruling and angle; `grey`: plain grey, for the shop's own screening. */
export type StripTints = 'screened' | 'grey'

/** What the code on the strip says. */
export interface StripIdentity {
  readonly positive: string
  readonly jobType: string
  /** The printer's own resolution: across the head, along the feed. */
  readonly dpi: Dpi
  readonly form: StripForm
  readonly laid: StripLaid
  readonly tints: StripTints
  /** The printer's setting, by the shop's own name. */
  readonly setting?: string
  readonly stock?: string
  readonly mode?: string
  /** Ink level of a ladder, as its plan writes it. */
  readonly level?: string
  readonly printer?: string
}

/** A rectangle on the strip's own axes, mm. */
export interface StripRect {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

/** Whether a line or an edge runs along the head's travel (u) or along the feed (v). */
export type PrintDirection = 'head' | 'feed'

/** One field of the strip. Rectangles of ink are what the printer was sent, on whole pixels of it. */
export type StripField =
  /** Data Matrix; `rect` is the module square, `end` which end of the strip. Upright in the strip's axes, clear film round it. */
  | { readonly kind: 'code'; readonly rect: StripRect; readonly end: 'first' | 'last' }
  /** A locating bar, solid; `index` counts along x from 0. */
  | { readonly kind: 'mark'; readonly rect: StripRect; readonly index: number }
  /** The long solid along the strip, on one side of it only. */
  | { readonly kind: 'rail'; readonly rect: StripRect }
  | { readonly kind: 'solid'; readonly rect: StripRect }
  /** Clear film, nothing printed. */
  | { readonly kind: 'clear'; readonly rect: StripRect }
  /** One line: ink on clear film (positive) or clear in a plate of ink (negative). */
  | {
      readonly kind: 'line'
      readonly rect: StripRect
      readonly polarity: 'positive' | 'negative'
      /** The direction the line runs in; its width lies across that. */
      readonly runs: PrintDirection
      /** The width asked for, um. */
      readonly nominalUm: number
      /** The width sent to the printer, whole pixels of it, um. */
      readonly widthUm: number
      /** The group of lines it stands in (clear film or the plate). */
      readonly plate: StripRect
    }
  /** Hair-lines that cross, both directions. */
  | {
      readonly kind: 'hairs'
      readonly rect: StripRect
      readonly polarity: 'positive' | 'negative'
      readonly lines: readonly StripRect[]
    }
  /** A tint; `percent` is the share of ink asked for. */
  | { readonly kind: 'tint'; readonly rect: StripRect; readonly percent: number }
  /** Words for people; nothing is measured here. */
  | { readonly kind: 'text'; readonly rect: StripRect }

export interface StripLayout {
  readonly form: StripForm
  readonly laid: StripLaid
  /** Size along x and y, mm, clear border included. */
  readonly width: number
  readonly height: number
  readonly fields: readonly StripField[]
}

/** One tint of the strip as it was measured. `expanded` is U at k = 2, percent of area. */
export interface StripTone {
  readonly intended: number
  readonly measured: number
  readonly expanded: number
}

/** One line of the strip as it was measured, um; `expanded` is U at k = 2. */
export interface StripLine {
  readonly polarity: 'positive' | 'negative'
  readonly direction: PrintDirection
  readonly intendedUm: number
  readonly measuredUm: number
  readonly expanded: number
}

/** What the strip's fields say beyond single readings: the record keeps it. */
export interface StripCurves {
  readonly tones: readonly StripTone[]
  readonly lines: readonly StripLine[]
}

/** Where a strip lies on the scan: pixels of the scan from millimetres of the strip. */
export interface StripMap {
  readonly x0: number
  readonly y0: number
  readonly xx: number
  readonly yx: number
  readonly xy: number
  readonly yy: number
}

/** A strip whose code was read, laid on the scan by its own edges. */
export interface LaidStrip {
  readonly identity: StripIdentity
  /** Which of its codes told it. */
  readonly ends: readonly ('first' | 'last')[]
  /** Whether it is seen from its back: reads the wrong way round on the scan. */
  readonly mirrored: boolean
  /** Share of places that are as the strip has them. */
  readonly likeness: number
  readonly map: StripMap
  /** Corners of the whole strip, its clear border included, in order; they may lie outside the scan. */
  readonly corners: readonly PixelPoint[]
  /** Length on the scan over length sent to the printer, less one, along x and y; standard uncertainties of the fit alone. */
  readonly stretch: { readonly x: number; readonly y: number; readonly standardX: number; readonly standardY: number }
  /** Root mean square distance of its edges from where the map has them, um. */
  readonly residualUm: number
}

/** The control strip as the record keeps it. */
export interface MeasuredStrip extends LaidStrip, StripCurves {
  /** Lines without a width, and why: a gap that has filled in has none. */
  readonly lost: readonly {
    readonly polarity: 'positive' | 'negative'
    readonly direction: PrintDirection
    readonly intendedUm: number
    readonly because: string
  }[]
  /** The same readings taken from the artwork beside the strip: the strip's stand in the record, these beside them. */
  readonly artwork: Readonly<Partial<Record<ReadingName, Reading>>>
}

/** What the control strips on a scan came to. */
export interface StripLook {
  /** Who the scan says it is; null when no strip said so, or none was believed. */
  readonly identity: StripIdentity | null
  /** Control strips in view. */
  readonly found: number
  /** Why a strip in view was not believed; null when it was, or there was none. One sentence without its full stop. */
  readonly refused: string | null
}
