/** One thing that is not known of the length of a pixel. Things of the same name are one and the same error. */
export interface SizeDoubt {
  readonly name: string
  /** Standard uncertainty as a share of the length. */
  readonly share: number
  readonly type: 'A' | 'B'
  /** Null: infinite. */
  readonly degreesOfFreedom: number | null
}

/** A step of the tablet that the light scale rests on. */
export interface ScaleStep {
  readonly density: number
  /** Standard uncertainty of its density, D. */
  readonly standard: number
  /** The part of it that is this step's own, not common to its neighbours. */
  readonly own: number
  /** What a unit of its own error does to the scale at open light and at every step, where the scale is smoothed; left out: at itself alone. */
  readonly spread?: readonly number[]
}

/** What is not known of the scales on which edges are read: of length and of light. */
export interface LengthDoubts {
  readonly across: readonly SizeDoubt[]
  readonly along: readonly SizeDoubt[]
  /** Rising density; empty when the response is not known. */
  readonly steps: readonly ScaleStep[]
}
