import type { Dpi, PixelPoint, PixelRect } from './geometry.js'

/** A 1-bit separation in memory, an eighth of a byte a pixel. Rows run across the print head, columns along the feed. */
export interface ArtworkBitmap {
  readonly file: string
  readonly width: number
  readonly height: number
  /** Pixels per inch; the two may differ. */
  readonly dpi: Dpi
  /** `height` rows of `rowBytes` bytes, first pixel in the highest bit; 1 is ink. */
  readonly bits: Uint8Array
  readonly rowBytes: number
  /** Share of its pixels that are ink. */
  readonly inkShare: number
  /** Sentences for the report. */
  readonly warnings: readonly string[]
}

/** A length ratio with its uncertainty: film over artwork, less one. */
export interface SizeRatio {
  readonly value: number
  /** Standard uncertainty from the fit alone: the scanner's own scale comes on top. */
  readonly standard: number
  /** Share of the scanner's scale across and along that this direction takes, squares of the cosines. */
  readonly shares: { readonly across: number; readonly along: number }
}

/** What is known of the scanner's own scale, shares (standard uncertainty), and who says so. */
export interface ScannerScale {
  readonly across: number
  readonly along: number
  readonly from: 'grid' | 'resolution'
}

/** Where the artwork lies on the scan: pixels of the scan from millimetres of the artwork (x right, y down from its corner). */
export interface ArtworkMap {
  readonly x0: number
  readonly y0: number
  readonly xx: number
  readonly yx: number
  readonly xy: number
  readonly yy: number
}

/**
 * A smooth shift of the plane as cubic B-splines on square cells, from the artwork's corner on: (columns + 3) x (rows + 3) coefficients for each
 * axis, row by row. A place (x, y) of the artwork lies on the film where the even map has (x + across, y + feed).
 */
export interface ShiftField {
  /** Side of a cell, mm. */
  readonly pitch: number
  readonly columns: number
  readonly rows: number
  /** Coefficients, mm along the artwork's axes. */
  readonly across: Float64Array
  readonly feed: Float64Array
}

/** The artwork lies on the film like this. */
export interface ArtworkFit {
  readonly kind: 'fitted'
  readonly map: ArtworkMap
  /** Turn of the artwork on the scan, degrees, column towards row, -180..180; of a mirrored one after it was mirrored left for right. */
  readonly turned: number
  readonly mirrored: boolean
  /** Likeness of artwork and film laid over each other: 1 is the same picture. */
  readonly likeness: number
  /** Share of the artwork's ink that has film under it on the scan. */
  readonly onFilm: number
  /** Film size over artwork size; null when the artwork shows too little to tell that direction. */
  readonly size: { readonly across: SizeRatio | null; readonly feed: SizeRatio | null }
  /** How far the film's edges lie outside the artwork's, um, across the head and along the feed (edges at half light). */
  readonly gainUm: { readonly across: number; readonly feed: number } | null
  /** Root mean square distance of the film's edges from the fitted artwork, um, gain and smooth wander taken out. */
  readonly residualUm: number | null
  /** How the film wanders about the even map; null where too few edges tell. */
  readonly shift: ShiftField | null
  /** Edge places that the map was fitted to. */
  readonly edges: number
  /** Corners of the artwork on the scan, in order. */
  readonly corners: readonly PixelPoint[]
}

/** Why the artwork could not be laid on the film. */
export interface ArtworkUnfitted {
  readonly kind: 'blank' | 'solid' | 'noInk' | 'other'
  /** One sentence. */
  readonly because: string
  readonly next: string
  readonly likeness: number | null
}

export type ArtworkAlignment = ArtworkFit | ArtworkUnfitted

/** What the record keeps of the artwork beside the film. */
export interface ArtworkRecord {
  readonly file: string
  readonly sha256: string
  /** Null when its file could not be read. */
  readonly dpi: readonly [number, number] | null
  readonly widthMm: number | null
  readonly heightMm: number | null
  /** Whether it is this film's; null for one that says nothing (blank, unreadable). */
  readonly matches: boolean | null
  readonly likeness: number | null
  /** Degrees, column towards row; null when it was not laid on the film. */
  readonly turned: number | null
  readonly mirrored: boolean | null
  /** Film over artwork, less one, %. */
  readonly scale: {
    readonly across: { readonly value: number; readonly expanded: number } | null
    readonly feed: { readonly value: number; readonly expanded: number } | null
  } | null
  readonly gainUm: { readonly across: number; readonly feed: number } | null
  readonly residualUm: number | null
  /** Share of its ink that has film under it on the scan. */
  readonly onFilm: number | null
  readonly map: ArtworkMap | null
  /** Length of a pixel of the scan that `map` is on, um; absent in records of earlier versions. */
  readonly umPerPixel?: { readonly across: number; readonly along: number }
}

/** One place where film and artwork do not agree. */
export interface InkPlace {
  /** `missing-1`, `extra-3`: by size, largest first. */
  readonly id: string
  /** Middle and frame on the scan, pixels. */
  readonly place: PixelPoint
  readonly rect: PixelRect
  readonly areaMm2: number
  /** Standard uncertainty: its rim times how well the edges lie. */
  readonly standardMm2: number
  /** A tint is compared by its mean ink. */
  readonly tint: boolean
}

/** Ink that the film lacks, or has too much, against its artwork. */
export interface InkDifference {
  readonly missing: InkAmount
  readonly extra: InkAmount
  /** Area of the artwork that was compared, mm2: what of its frame has film under it. */
  readonly comparedMm2: number
  /** Film and artwork may differ by so much at an edge before it counts, mm, towards missing and towards extra ink. */
  readonly allowanceMm: { readonly missing: number; readonly extra: number }
  /** Smaller places than this are pinholes and specks and not counted here, mm2. */
  readonly leastMm2: number
  /** There were more places than can be listed in memory: the sums are of those found until then. */
  readonly crowded: boolean
}

export interface InkAmount {
  readonly areaMm2: number
  readonly standardMm2: number
  /** All of them; `places` lists the largest. */
  readonly count: number
  readonly places: readonly InkPlace[]
}
