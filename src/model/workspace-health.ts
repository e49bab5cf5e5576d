/** One thing looked at. `bad`: scans cannot be inspected, or records may be lost; `warn`: see to it soon. */
export interface HealthFinding {
  readonly about: 'settings' | 'jobTypes' | 'calibration' | 'database' | 'inbox' | 'rejected' | 'disk'
  readonly state: 'ok' | 'warn' | 'bad'
  readonly says: string
  /** What to do; empty when nothing need be done. */
  readonly next: string
}

/** A property of a scanner that ages. */
export type HealthName =
  | 'openLightNoise'
  | 'darkNoise'
  | 'openLight'
  | 'black'
  | 'flare'
  | 'deepest'
  | 'riseWidthAcross'
  | 'riseWidthAlong'

/** One property as one calibration found it. */
export interface HealthPoint {
  /** When the scanner was calibrated, ISO 8601. */
  readonly at: string
  readonly value: number
  /** Standard uncertainty of the value; null when the calibration does not tell it. */
  readonly standard: number | null
}

/** Why a property counts as moved. */
export interface HealthMove {
  /** `share`: more than 5 % since the first calibration; `scatter`: further from the mean before than chance takes it 3 times in 1000. */
  readonly rule: 'share' | 'scatter'
  /** One sentence. */
  readonly why: string
  /** What to do. */
  readonly next: string
}

/** One property of a scanner at one setting, over its calibrations. */
export interface HealthSeries {
  readonly name: HealthName
  readonly label: string
  readonly unit: 'codes' | '%' | 'D' | 'um'
  readonly decimals: number
  /** Oldest first; at least one. */
  readonly points: readonly HealthPoint[]
  /** Where the newest value of a steady property would lie by those before it; null when they are too few to tell. */
  readonly limits: { readonly mean: number; readonly lower: number; readonly upper: number } | null
  readonly moves: readonly HealthMove[]
}

/** A scanner at one setting, over its calibrations. */
export interface ScannerHealth {
  readonly scanner: string
  /** For people: `1200 dpi, blue`. */
  readonly setting: string
  /** Every calibration there is, oldest first; the last one is in use. */
  readonly calibrations: readonly { readonly at: string; readonly tablet: string; readonly scan: string }[]
  /** Only properties that at least one calibration tells. */
  readonly series: readonly HealthSeries[]
}
