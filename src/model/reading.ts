import type { PixelPoint } from './geometry.js'

export type Unit = 'D' | 'um' | 'mm' | 'mm2' | '%' | 'lines/in' | 'degrees' | 'count'
export type Bound = 'atLeast' | 'atMost'

export interface ReadingKind {
  readonly unit: Unit
  /** For people: what it is called on the report. */
  readonly label: string
  /** One sentence a printer understands. */
  readonly meaning: string
  /** Decimals shown. */
  readonly decimals: number
  /** Whether a shop wants it high or low: decides which end of the bar is bad. */
  readonly better: 'higher' | 'lower'
}

/** Every reading this version can make. A limit may name only these or the ones in `SET_READINGS`. */
export const READINGS = {
  baseDensity: {
    unit: 'D',
    label: 'Base density',
    meaning: 'How much light the clear film takes away.',
    decimals: 3,
    better: 'lower',
  },
  solidDensity: {
    unit: 'D',
    label: 'Solid density',
    meaning: 'How black the middle one of all solids is.',
    decimals: 2,
    better: 'higher',
  },
  solidDensityLowest: {
    unit: 'D',
    label: 'Lowest solid',
    meaning: 'How black the thinnest solid is.',
    decimals: 2,
    better: 'higher',
  },
  riseWidth: {
    unit: 'um',
    label: 'Edge rise width',
    meaning: 'How far an edge takes to go from 10 % to 90 % of the light; the middle one of all edges.',
    decimals: 1,
    better: 'lower',
  },
  riseWidthWorst: {
    unit: 'um',
    label: 'Softest edge',
    meaning: 'The rise width of the softest edge.',
    decimals: 1,
    better: 'lower',
  },
  fringeWidth: {
    unit: 'um',
    label: 'Fringe width',
    meaning: 'How wide the half-dense rim of an edge is.',
    decimals: 1,
    better: 'lower',
  },
  inkSpread: {
    unit: 'um',
    label: 'Ink spread',
    meaning: 'How far the ink itself has crept sideways (one sigma), the scanner taken out.',
    decimals: 1,
    better: 'lower',
  },
  raggedness: {
    unit: 'um',
    label: 'Raggedness',
    meaning: 'How far an edge wanders from its straight line (rms).',
    decimals: 1,
    better: 'lower',
  },
  bandingAmplitude: {
    unit: '%',
    label: 'Banding',
    meaning: 'How much the ink of the solids ripples in bands (rms, share of the ink), noise taken out.',
    decimals: 2,
    better: 'lower',
  },
  bandingPitch: {
    unit: 'mm',
    label: 'Pitch of the bands',
    meaning: 'How far apart the strongest bands lie.',
    decimals: 2,
    better: 'lower',
  },
  mottle: {
    unit: '%',
    label: 'Mottle',
    meaning:
      'How unevenly the ink of the solids lies from place to place (tiles of 1.27 mm), bands and noise taken out.',
    decimals: 2,
    better: 'lower',
  },
  edgeGrowth: {
    unit: 'um',
    label: 'Edge growth',
    meaning: 'How far the edges have moved outwards since the first scan of this positive, at half the light.',
    decimals: 1,
    better: 'lower',
  },
  fringeGrowth: {
    unit: 'um',
    label: 'Fringe growth',
    meaning: 'How much wider the half-dense rim of the edges has become since the first scan of this positive.',
    decimals: 1,
    better: 'lower',
  },
  densityLoss: {
    unit: 'D',
    label: 'Density loss',
    meaning: 'How much blackness the same solids have lost since the first scan of this positive.',
    decimals: 2,
    better: 'lower',
  },
  pinholeCount: {
    unit: 'count',
    label: 'Pinhole count',
    meaning: 'How many spots of light there are in the ink.',
    decimals: 0,
    better: 'lower',
  },
  pinholeLargest: {
    unit: 'um',
    label: 'Largest pinhole',
    meaning: 'Diameter of the hole that would pass as much light as the largest pinhole does.',
    decimals: 0,
    better: 'lower',
  },
  speckCount: {
    unit: 'count',
    label: 'Speck count',
    meaning: 'How many dark spots and hairs there are in the clear film; some may be dust.',
    decimals: 0,
    better: 'lower',
  },
  speckLargest: {
    unit: 'um',
    label: 'Largest speck',
    meaning: 'Diameter of the spot of ink that would hold back as much light as the largest speck or hair does.',
    decimals: 0,
    better: 'lower',
  },
  scratchCount: {
    unit: 'count',
    label: 'Scratch count',
    meaning: 'How many long thin lines of light run through the ink.',
    decimals: 0,
    better: 'lower',
  },
  missingNozzleCount: {
    unit: 'count',
    label: 'Missing nozzle count',
    meaning:
      'How many thin straight lines along the film run through whole solids, as a nozzle without ink leaves them.',
    decimals: 0,
    better: 'lower',
  },
  thinSpotCount: {
    unit: 'count',
    label: 'Thin spot count',
    meaning: 'How many places inside solids let clearly more light through than their solid, without being open.',
    decimals: 0,
    better: 'lower',
  },
  sizeErrorAcross: {
    unit: '%',
    label: 'Size error across the head',
    meaning: 'How much larger (or, below 0, smaller) the film is than its artwork, across the print head.',
    decimals: 3,
    better: 'lower',
  },
  sizeErrorFeed: {
    unit: '%',
    label: 'Size error along the feed',
    meaning: 'How much larger (or, below 0, smaller) the film is than its artwork, along the feed.',
    decimals: 3,
    better: 'lower',
  },
  toneValueError: {
    unit: '%',
    label: 'Tone value error',
    meaning:
      'How far the worst tint of the control strip is from the share of ink it was sent with: above 0 it prints too full.',
    decimals: 1,
    better: 'lower',
  },
  ruling: {
    unit: 'lines/in',
    label: 'Screen ruling',
    meaning: 'How many rows of dots the control strip’s tints have to the inch.',
    decimals: 1,
    better: 'lower',
  },
  screenAngle: {
    unit: 'degrees',
    label: 'Screen angle',
    meaning: 'How the rows of dots lie, turned from the head’s travel towards the feed.',
    decimals: 1,
    better: 'lower',
  },
  lineGain: {
    unit: 'um',
    label: 'Line gain',
    meaning:
      'How much wider the control strip’s lines are than they were sent, and its gaps narrower; the middle one of all.',
    decimals: 1,
    better: 'lower',
  },
  missingInk: {
    unit: 'mm2',
    label: 'Missing ink',
    meaning: 'Area of the artwork’s ink that is not on the film.',
    decimals: 2,
    better: 'lower',
  },
  extraInk: {
    unit: 'mm2',
    label: 'Extra ink',
    meaning: 'Area of ink on the film that the artwork does not have.',
    decimals: 2,
    better: 'lower',
  },
} as const satisfies Record<string, ReadingKind>

export type ReadingName = keyof typeof READINGS

/** Readings between films, not of one: `burngate set` makes them. A limit on one is not asked of a film by itself. */
export const SET_READINGS = {
  registerError: 'um',
} as const satisfies Record<string, Unit>

export type SetReadingName = keyof typeof SET_READINGS
export type LimitName = ReadingName | SetReadingName

/**
 * One component of an uncertainty budget (JCGM 100:2008, 5.1): a quantity that is not known exactly, and what that does to the reading.
 * What is optional is absent in records of earlier versions.
 */
export interface Component {
  readonly name: string
  /** Contribution to the reading's combined standard uncertainty, unit of the reading: |sensitivity| x standard uncertainty of the quantity. */
  readonly standard: number
  /** `A`: from the scatter of repeated readings; `B`: from what is stated or held of the quantity (JCGM 100:2008, 4.2 and 4.3). */
  readonly type?: 'A' | 'B'
  /** Standard uncertainty of the quantity, in its own unit (`1` for a share). */
  readonly input?: { readonly standard: number; readonly unit: string }
  /** How much the reading changes with one unit of the quantity: unit of the reading over that of the quantity. */
  readonly sensitivity?: number
  /** Null: infinite, as for a type B whose own uncertainty is not in doubt (JCGM 100:2008, G.4.3). */
  readonly degreesOfFreedom?: number | null
}

/** One patch or edge behind a reading. */
export interface Part {
  /** Stable within an inspection, e.g. `solid-3` or `edge-7`; the same id as the outline on the page picture. */
  readonly id: string
  readonly place: PixelPoint
  readonly value: number
  readonly expanded: number
  readonly bound: Bound | null
  readonly note?: string
}

export interface Reading {
  readonly value: number
  readonly unit: Unit
  /**
   * Expanded uncertainty U = `coverageFactor` x combined standard uncertainty: covers the truth 95 times in 100. k = 2, or Student's t where few
   * degrees of freedom ask for more. For a bound: how well the bound itself is known.
   */
  readonly expanded: number
  /** Combined standard uncertainty; absent in records of earlier versions, as are the next two. */
  readonly standard?: number
  /** Effective degrees of freedom (Welch-Satterthwaite); null: infinite. */
  readonly degreesOfFreedom?: number | null
  readonly coverageFactor?: number
  readonly bound: Bound | null
  /** How many patches or edges it was taken from. */
  readonly n: number
  readonly parts: readonly Part[]
  readonly budget: readonly Component[]
  /** `name@version`; a comparison across versions says so. */
  readonly method: string
}

/** "Not measured" is a value with a reason, and it never passes. */
export interface NotMeasured {
  readonly reading: LimitName
  /** Nothing was given that it could be measured against (no artwork, no earlier scan): a limit on it is not asked. It does not pass either. */
  readonly notAsked?: true
  readonly because: string
  readonly next: string
}
