import type { JobType } from '../model/job-type.js'
import type { LadderReadings } from '../model/ladder.js'
import type { LimitName } from '../model/reading.js'

export interface SettingMargin {
  readonly reading: LimitName
  /** How far inside its limit, units of U; below 0 outside. */
  readonly margin: number
}

/**
 * How far a setting's readings lie inside their limits, the tightest first. A bound that satisfies its limit is not counted:
 * nobody knows how much room it has; nor is a count within its limit, as none found is none whatever the setting. What does not satisfy its limit
 * counts by its value. What was not read is left out.
 */
export function settingMargins(readings: LadderReadings, limits: JobType['limits']): readonly SettingMargin[] {
  const found: SettingMargin[] = []
  for (const [name, { min, max }] of Object.entries(limits) as [LimitName, JobType['limits'][LimitName] & object][]) {
    const reading = readings[name]
    if (reading === undefined) continue
    const { value, expanded, bound, unit } = reading
    const room = Math.min(
      min === undefined || (bound === 'atLeast' && value >= min) ? Number.POSITIVE_INFINITY : value - min,
      max === undefined || (bound === 'atMost' && value <= max) ? Number.POSITIVE_INFINITY : max - value,
    )
    if (!Number.isFinite(room) || (unit === 'count' && room >= 0)) continue
    const scale = expanded > 0 ? expanded : Math.max(Math.abs(min ?? max ?? 1), 1e-9)
    found.push({ reading: name, margin: room / scale })
  }
  return found.sort((a, b) => a.margin - b.margin)
}
