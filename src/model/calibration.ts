import type { Dpi } from './geometry.js'
import type { Channel } from './scan.js'

/** One step of the tablet as the certificate and the scan give it. */
export interface TabletStep {
  readonly step: number
  /** Certified density. */
  readonly density: number
  /** Expanded uncertainty (k = 2) of the certified density. */
  readonly expanded: number
  /** Mean code of the inner 60 % of the step. */
  readonly code: number
  /** Standard error of that mean, from block means (neighbouring pixels are correlated). */
  readonly codeError: number
  /** Standard deviation of a single pixel in the step, codes. */
  readonly pixelNoise: number
  /** Whether the curve goes through it; a step too deep to be told from the next is not trusted. */
  readonly trusted: boolean
  /** Parametric fit minus certificate, D: shown, never used. */
  readonly residual: number
  /** Where it was read on the scan: centre column and row. */
  readonly column: number
  readonly row: number
  /** Light round it, one for each reach of the flare. */
  readonly surround?: readonly number[] | undefined
}

/**
 * The scanner's response to light: transmittance for any code, with its uncertainty.
 * `knots` run from the clearest to the deepest: density against code, strictly falling code.
 * Between knots: PCHIP of density over the density that the fitted formula gives the code, shape-preserving (Fritsch &
 * Carlson, SIAM J. Numer. Anal. 17, 238, 1980); without veil that is PCHIP over log(code - black). Beyond the end knots
 * the formula goes on without a jump; past the deepest, that knot's distance from the formula fades out over 0.3 D.
 */
export interface ResponseCurve {
  readonly knots: readonly { readonly code: number; readonly density: number; readonly standardError: number }[]
  /** Code of no light (offset and whatever veil the tablet scan had), and its standard uncertainty, codes. */
  readonly black: number
  readonly blackError: number
  /** code = black + gain * ((T + veil)^(1/gamma) - veil^(1/gamma)), fitted to all trusted steps. */
  readonly gain: number
  readonly gamma: number
  /** Stray light that reaches the sensor wherever it looks, share of open light; 0 when absent. */
  readonly veil?: number
  /** Covariance of black, ln gain, 1/gamma and veil^(1/gamma), 4 x 4; absent when only `blackError` is known. */
  readonly covariance?: readonly (readonly number[])[]
  /** Root mean square of certificate minus parametric fit, D. */
  readonly fitResidual: number
}

/** Light spread of the scanner in one direction, measured on a knife edge: kept as a curve, not only a width. */
export interface LineSpread {
  /** 10-90 % rise width of the knife edge as scanned, um. */
  readonly riseWidth: number
  readonly riseWidthExpanded: number
  /**
   * The part of its standard uncertainty, um, that reading any edge between pixels leaves alike (binning): most of it goes out again where another
   * edge is read in the same way. Absent in calibrations made before it was told apart.
   */
  readonly method?: number | undefined
  /** Line spread function sampled at `stepUm`, centred, sums to 1. */
  readonly stepUm: number
  readonly weights: readonly number[]
}

/** A number with its expanded uncertainty (95 % coverage). */
export interface Expanded {
  readonly value: number
  readonly expanded: number
}

/**
 * Size of the scanner's pixels from a grid of known pitch. All U hold for a grid whose pitch is exact: what is not known of the
 * grid itself comes on top.
 */
export interface GridScale {
  /** Pitch as told, mm, and nodes used. */
  readonly pitchMm: number
  /** Expanded uncertainty (k = 2) of the pitch itself, mm; absent in calibrations made before it was asked. */
  readonly pitchExpandedMm?: number | undefined
  readonly nodes: number
  /** True length of a pixel over the one the resolution says, along a row and down the columns. */
  readonly across: Expanded
  readonly along: Expanded
  /** Angle between the rows and the columns of pixels, less 90 degrees. */
  readonly squareness: Expanded
  /** How the grid lay, degrees, column towards row. */
  readonly turn: number
  /** Root mean square distance of the nodes from the even grid, mm. */
  readonly residualMm: number
  /** Mean offset of the nodes from the even grid by area of the scan, mm: where it lies, how far off, U, how many nodes. */
  readonly residuals: readonly {
    readonly column: number
    readonly row: number
    readonly acrossMm: number
    readonly alongMm: number
    readonly expandedMm: number
    readonly nodes: number
  }[]
}

/** One way in which flare may reach: its shape, its standard deviation along an axis (`null`: all of the scan alike), what is taken to lie beyond the scan. */
export interface FlareReach {
  readonly shape: 'gaussian' | 'tent' | 'square'
  readonly sigmaUm: number | null
  readonly outside: 'rim' | 'dark'
}

/**
 * Veiling glare: seen = (T + sum of shares x light round the place at each reach) / (1 + sum of shares). No one knows its shape, so it is a
 * sum over reaches, and the covariance says how well each sum of them is known.
 */
export interface Flare {
  /** Sum of `shares`: what an endless open bed adds, and its standard uncertainty. */
  readonly share: number
  readonly standard: number
  readonly reaches: readonly FlareReach[]
  readonly shares: readonly number[]
  readonly covariance: readonly (readonly number[])[]
  /** Root mean square of the light that it leaves unexplained in opaque places, share of open light. */
  readonly remainder: number
}

/**
 * How evenly the scanner lights its glass, from scans of the bare glass or of an even film on it. Fall of light, D, at a place of the scanned
 * window is the sum of `density * u^across * v^along`, u and v running from -1 to 1 over the window; 0 where the tablet saw its open light.
 */
export interface FlatField {
  /** What was scanned, the clearest first: it gave the map; further films gave the lateral artefact. */
  readonly scans: readonly {
    readonly sha256: string
    readonly kind: 'open' | 'film'
    /** Density above open light. */
    readonly density: number
  }[]
  /** Scanned window, mm: a later scan as wide lies in the same columns of the glass, one as high in the same rows. */
  readonly widthMm: number
  readonly heightMm: number
  readonly terms: readonly { readonly across: number; readonly along: number; readonly density: number }[]
  /** Standard uncertainty of the map at a place, D: what the smooth map leaves of the light it was fitted to. */
  readonly standard: number
  /** Part of the window that light was seen in, mm. */
  readonly tested: { readonly left: number; readonly top: number; readonly right: number; readonly bottom: number }
  /** Light over the tested part against its mean, before correction: least, greatest and root mean square, %. */
  readonly uniformity: { readonly least: number; readonly greatest: number; readonly rms: number }
  /** Share of the window that was left out: dust, scratches, labels, rims. */
  readonly maskedShare: number
  /**
   * Density seen = density x (1 + share x (x / 100 mm)^2), x from the glass's mid-line (Schoenfeld et al., Phys. Med. Biol. 2016: OD(x) =
   * c0 + c x^2). Not measured: share 0, and `standard` is what it may be.
   */
  readonly lateral: { readonly share: number; readonly standard: number; readonly measured: boolean }
  /** Whether the tablet's own scan lay in the same columns and rows, so that its steps were corrected too. */
  readonly tablet: { readonly across: boolean; readonly along: boolean }
  /** Means of even areas of the window that were seen: their middle, mm; light against the mean, %; what the map leaves, %. */
  readonly areas: readonly {
    readonly across: number
    readonly along: number
    readonly light: number
    readonly residual: number
  }[]
}

/** A scanner's calibration at one setting: a readable JSON file in `scanners/`. */
export interface Calibration {
  readonly schema: 'burngate/calibration@1'
  readonly scanner: string
  readonly calibratedAt: string
  readonly software: string
  readonly tablet: { readonly name: string; readonly nominal: boolean; readonly sha256: string }
  readonly scan: {
    readonly file: string
    readonly sha256: string
    readonly dpi: Dpi
    readonly bits: number
    readonly channel: Channel
    readonly maker: string | null
    readonly model: string | null
  }
  readonly steps: readonly TabletStep[]
  readonly response: ResponseCurve
  /** Mean code of open light and its share of clipped pixels; null when none was in view. */
  readonly openLight: { readonly code: number; readonly clippedShare: number; readonly pixelNoise: number } | null
  /** Mean code of an opaque holder or card; null when none was in view. */
  readonly dark: { readonly code: number; readonly codeError: number; readonly pixelNoise: number } | null
  /** Deepest density told apart (measurement: docs in calibrate/deepest-density.ts). */
  readonly deepest: number
  /** Knife edge; null when no edge scan was given. `across`: edge normal along a row; `along`: down the columns. */
  readonly sharpness: {
    readonly sha256: string
    readonly dpi: Dpi
    readonly across: LineSpread | null
    readonly along: LineSpread | null
  } | null
  /** Grid of known pitch; null or absent when no grid scan was given. Lengths then come from the file's resolution. */
  readonly size?:
    | (GridScale & {
        readonly sha256: string
        readonly dpi: Dpi
        /** When, ISO 8601: a later calibration without a grid carries the size over. Absent in those made before that was kept. */
        readonly measuredAt?: string | undefined
      })
    | null
  /**
   * Flare as the tablet, opaque areas and the edge scan tell it, taken out of every reading by the light round it; absent in a calibration
   * that looked for none. The knots are effective densities: what the scanner sees of a step, flare included.
   */
  readonly flare?: Flare | null | undefined
  /** How evenly the glass is lit; null or absent when no flat scan was given. */
  readonly flat?: FlatField | null | undefined
  /** Without a flat scan: how far light fell off round the tablet, standard uncertainty of its densities, D; absent when even. */
  readonly uneven?: number | undefined
  readonly warnings: readonly string[]
}
