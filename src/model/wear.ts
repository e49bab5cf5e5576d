import type { Picture } from './measured.js'
import type { Reading } from './reading.js'

/** Ink that came off the solids of a film between two scans. */
export interface InkLost {
  /** Bare area, mm2, and its U (k = 2). */
  readonly areaMm2: number
  readonly expandedMm2: number
  /** Solid that was looked at, mm2, and the bare share of it, %, with U. */
  readonly solidMm2: number
  readonly sharePercent: number
  readonly expandedPercent: number
  /** Separate places, how many of them are long and thin, and the bare area of the largest, mm2. */
  readonly places: number
  readonly scratches: number
  readonly largestMm2: number
  /** Middle of that place on the earlier scan, um, and its longer side, mm; null when nothing came off. */
  readonly worst: { readonly x: number; readonly y: number; readonly lengthMm: number } | null
}

/** Two scans of one rub test. */
export interface WearPair {
  readonly before: string
  readonly after: string
  /** Film stock, as told; null when nobody said. */
  readonly stock: string | null
  readonly inkLost: InkLost
  /** Blackness that the solids lost where they are still inked; null when it could not be told. */
  readonly densityLoss: Pick<Reading, 'value' | 'expanded' | 'bound'> | null
  /** The worst place before and after, or where nothing came off one stroke; null where it could not be shown. */
  readonly crops: { readonly before: Picture; readonly after: Picture; readonly widthMm: number } | null
}

/** All pairs of one stock: mean share lost with its 95 % interval. */
export interface StockWear {
  readonly stock: string | null
  readonly pairs: number
  readonly sharePercent: number
  readonly lower: number
  readonly upper: number
  readonly scratches: number
}
