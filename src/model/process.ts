import type { ReadingName } from './reading.js'

/** What changed on the machine. Limits of films printed before it say nothing about those after. */
export interface ProcessEvent {
  /** From when on, ISO 8601: films scanned then or later are counted anew. */
  readonly on: string
  readonly kind: 'newHead' | 'newInk' | 'newBox' | 'other'
  /** What a person calls it. */
  readonly name: string
  /** The printer it happened to; null: every printer. */
  readonly printer: string | null
  /** The film stock it concerns; null: every stock. */
  readonly stock: string | null
  /** When it was written down, ISO 8601 in UTC. */
  readonly recordedAt: string
}

/** One number of an inspection, slim. */
export interface FilmValue {
  readonly value: number
  /** Expanded uncertainty (95 % coverage). */
  readonly expanded: number
  readonly bound: 'atLeast' | 'atMost' | null
  readonly method: string
}

/** What the charts and the comparison of stocks need of one inspection. */
export interface ProcessFilm {
  readonly id: string
  readonly positive: string
  readonly scannedAt: string
  readonly sha256: string
  readonly printer: string | null
  readonly mode: string | null
  readonly stock: string | null
  /** Null: not calibrated, so its readings are no densities and no widths. */
  readonly scanner: string | null
  /** Of the separation it was printed from; null when none was given. */
  readonly artwork: string | null
  /** Null in records of versions that knew no growth. */
  readonly standing: 'baseline' | 'earliest' | 'compared' | 'apart' | null
  /** Id of the inspection that growth is counted from, and the days since; null for none. */
  readonly baseline: string | null
  readonly days: number | null
  readonly readings: Readonly<Record<string, FilmValue>>
}

/** The part of the store that charts live on. */
export interface ProcessStore {
  /** Adds an event. The same event again changes nothing and returns false. */
  addEvent(event: ProcessEvent): Promise<boolean>
  /** By the date they count from, then in the order they were added. */
  events(): Promise<readonly ProcessEvent[]>
  /** Every inspection, slim, by scannedAt; then in the order they were added. */
  processFilms(): Promise<readonly ProcessFilm[]>
}

/** Which rule a signal broke. See `trend/run-rules.ts` and `trend/process-chart.ts`. */
export type ProcessRule = 'limit' | 'side' | 'twoOfThree' | 'range'

/** Something that chance seldom does. Places are indices into the series' points. */
export interface ProcessSignal {
  readonly rule: ProcessRule
  readonly since: number
  readonly until: number
  /** Of the mean; null for a step between neighbours. */
  readonly side: 'above' | 'below' | null
}

/** Films between two resets, with the limits that hold for them. Places are indices into the series' points. */
export interface ProcessSegment {
  readonly from: number
  /** One past the last. */
  readonly to: number
  /** What it began with, for people; null for the first film there is. */
  readonly reset: string | null
  /** Null: too few films yet, or all alike. */
  readonly limits: ProcessLimits | null
  /** Lag-1 autocorrelation of the films the limits are from, and whether it is too high for limits that take films as independent; null: not known. */
  readonly autocorrelation: { readonly r1: number; readonly tooHigh: boolean } | null
}

export interface ProcessLimits {
  readonly mean: number
  readonly lower: number
  readonly upper: number
  /** Two thirds of the way, for the rule of two of three. */
  readonly lowerWarning: number
  readonly upperWarning: number
  /** Mean step between neighbours, and its limit. */
  readonly movingRange: number
  readonly rangeLimit: number
  /** Films that they are from. */
  readonly from: number
}

export interface ProcessPoint {
  readonly id: string
  readonly positive: string
  readonly at: string
  readonly value: number
  readonly scanner: string
}

/** One reading of one printer, mode and stock over its films. */
export interface ProcessSeries {
  readonly printer: string | null
  readonly mode: string | null
  readonly stock: string | null
  readonly reading: ReadingName
  /** Oldest first. */
  readonly points: readonly ProcessPoint[]
  readonly segments: readonly ProcessSegment[]
  /** Oldest first. */
  readonly signals: readonly ProcessSignal[]
  /** Films left out because their reading is only a bound. */
  readonly bounds: number
}

/** A rate with its 95 % interval, units a month (30.44 days). */
export interface GrowthRate {
  readonly value: number
  readonly lower: number
  readonly upper: number
}

/** What is compared of the stocks. */
export type StockReading = 'edgeGrowth' | 'densityLoss'

export interface StockGrowth {
  readonly stock: string
  /** Films with a rate. */
  readonly films: number
  /** Scans behind them, baselines not counted. */
  readonly scans: number
  /** Null: too few films; `because` says so. */
  readonly rate: GrowthRate | null
  readonly because: string | null
}

/** Two stocks beside each other: the first less the second. */
export interface StockDifference {
  readonly first: string
  readonly second: string
  /** `paired`: the same artwork on both, at like ages. */
  readonly manner: 'paired' | 'unpaired' | 'none'
  /** Pairs of films; 0 when not paired. */
  readonly pairs: number
  readonly difference: GrowthRate | null
  readonly verdict: 'firstFaster' | 'secondFaster' | 'noDifferenceSeen' | 'tooLittle'
  readonly says: string
}

export interface StockComparison {
  readonly reading: StockReading
  readonly stocks: readonly StockGrowth[]
  readonly differences: readonly StockDifference[]
}

/** A signal as the board names it. */
export interface BoardSignal {
  /** One sentence. */
  readonly says: string
  /** Where on the page of the process it is drawn. */
  readonly anchor: string
}
