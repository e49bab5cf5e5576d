import type { LimitName } from './reading.js'

export interface Limit {
  readonly min?: number
  readonly max?: number
  /** Advice in the report, never a verdict. */
  readonly aim?: number
  readonly why?: string
}

/** A job type's tolerances: `pipelines/*.yaml`, copied to `job-types/`. */
export interface JobType {
  readonly name: string
  readonly description: string
  readonly limits: Readonly<Partial<Record<LimitName, Limit>>>
  readonly rule: 'guarded' | 'simple'
  /** Days after which a stored positive is due for another scan; null when never. */
  readonly rescanEveryDays: number | null
  /** `required`: a film without a control strip that was read is a recheck. Else limits on its tints and lines are asked only of films that have one. */
  readonly strip?: 'optional' | 'required'
  readonly printed: { readonly ruling?: number; readonly angle?: number; readonly mesh?: number }
}
