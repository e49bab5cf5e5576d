/** What a gauge study crosses the parts with. */
export type Across = 'operator' | 'placement'

/** Where a measurement of a gauge study belongs: one part, one operator (or placement), one repeat (from 1). */
export interface StudyPlace {
  readonly part: string
  readonly operator: string
  readonly repeat: number
}

export interface StudyValue extends StudyPlace {
  readonly value: number
}

/** The limits the gauge has to judge by, in the unit of the values. `aim` is where the shop means its films to lie. */
export interface StudyTolerance {
  readonly min?: number
  readonly max?: number
  readonly aim?: number
}

/** One line of an analysis of variance. */
export interface VarianceLine {
  readonly sumOfSquares: number
  readonly degreesOfFreedom: number
  readonly meanSquare: number
  /** Ratio to the mean square it is tested against and the probability of one as large by chance; null where untested. */
  readonly f: number | null
  readonly p: number | null
}

/** One source of scatter. All in the unit of the values (variance: its square) or percent. */
export interface GaugeComponent {
  readonly variance: number
  /** Standard deviation. */
  readonly deviation: number
  /** Its variance as a share of the total variance. */
  readonly contributionPercent: number
  /** Six standard deviations: nearly all of the spread. */
  readonly studyVariation: number
  /** That spread as a share of the total spread; these shares do not add up to 100. */
  readonly studyVariationPercent: number
  /** That spread as a share of the tolerance; null when there is none. */
  readonly tolerancePercent: number | null
  /** The estimate came out below 0 and was set to 0. */
  readonly clamped: boolean
}

/** One part by one operator. */
export interface StudyCell {
  readonly part: string
  readonly operator: string
  readonly values: readonly number[]
  readonly mean: number
  /** Largest less smallest. */
  readonly range: number
  /** The range is above its control limit: something happened here that did not happen elsewhere. */
  readonly flagged: boolean
}

/** The average-and-range method: standard deviations and percent of the total, as the classic form prints them. */
export interface AverageAndRange {
  readonly averageRange: number
  /** Range of the operators' means. */
  readonly operatorDifference: number | null
  /** Range of the parts' means. */
  readonly partRange: number
  readonly equipmentVariation: number
  readonly appraiserVariation: number | null
  readonly gauge: number
  readonly partVariation: number
  readonly totalVariation: number
  readonly percent: {
    readonly equipment: number
    readonly appraiser: number | null
    readonly gauge: number
    readonly part: number
  }
  /** Whole number; null when the gauge shows no scatter. */
  readonly distinctCategories: number | null
}

/** Whether the gauge will do. `undecided` when the data cannot say. */
export type GaugeWord = 'good' | 'marginal' | 'poor' | 'undecided'

export interface GaugeVerdict {
  readonly word: GaugeWord
  /** What the gauge was held against. */
  readonly basis: 'tolerance' | 'studyVariation'
  /** The share judged, percent; null when undecided. */
  readonly percent: number | null
  /** One sentence. */
  readonly why: string
  /** What to do. */
  readonly next: string
}

/** A crossed gauge study, worked out. */
export interface GaugeStudy {
  readonly across: Across
  readonly parts: readonly string[]
  readonly operators: readonly string[]
  readonly repeats: number
  readonly mean: number
  /** Part by part, operators in their order. */
  readonly cells: readonly StudyCell[]
  /** Upper control limit of the ranges. */
  readonly rangeLimit: number
  /** The interaction as it was tested, also when it was then pooled. Null lines: only one operator. */
  readonly analysis: {
    readonly part: VarianceLine
    readonly operator: VarianceLine | null
    readonly interaction: VarianceLine | null
    /** What the components were taken from: with the interaction in it when pooled. */
    readonly repeatability: VarianceLine
    /** Within the cells only. */
    readonly within: VarianceLine
    readonly total: { readonly sumOfSquares: number; readonly degreesOfFreedom: number }
  }
  /** The interaction was no larger than chance and went into the repeatability. */
  readonly pooled: boolean
  readonly components: {
    readonly repeatability: GaugeComponent
    /** Operator and interaction together; null with one operator. */
    readonly reproducibility: GaugeComponent | null
    readonly operator: GaugeComponent | null
    /** Null with one operator, and when pooled. */
    readonly interaction: GaugeComponent | null
    /** Repeatability and reproducibility together. */
    readonly gauge: GaugeComponent
    readonly part: GaugeComponent
    readonly total: GaugeComponent
  }
  /** How many groups of parts the gauge can tell apart; null when no repeat ever differed. */
  readonly distinctCategories: number | null
  /** How well the study itself knows the gauge's standard deviation: 90 % interval. */
  readonly gaugeInterval: { readonly lower: number; readonly upper: number } | null
  /** Two readings of one part, each taken anew, lie closer than this 95 times in 100 (ISO 5725 reproducibility limit). */
  readonly reproducibilityLimit: number
  readonly tolerance: StudyTolerance | null
  /** The room the gauge was held against, and how many standard deviations count as its spread there. */
  readonly room: {
    readonly width: number
    readonly sigmas: number
    readonly from: 'limits' | 'aim' | 'mean'
  } | null
  /** Null when neither ranges nor means of parts or operators differ. */
  readonly averageAndRange: AverageAndRange | null
  readonly verdict: GaugeVerdict
  /** Sentences a reader must know. */
  readonly notes: readonly string[]
}
