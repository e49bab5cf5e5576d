import type { JobType } from '../model/job-type.js'
import type { LadderNext, LadderStep } from '../model/ladder.js'
import type { LimitName } from '../model/reading.js'

/**
 * Where to print next: between the recommended level and the next lower one printed, at the level where a straight line
 * between the two says that every limit would hold with its U. It says where to look; the level itself was never printed, so it
 * is never recommended.
 * @param line steps of the recommended stock and mode
 * @returns null when no lower level was printed, a reading is missing or a bound, or the gap leaves no level between
 */
export function lookNext(
  line: readonly LadderStep[],
  recommended: number,
  limits: JobType['limits'],
): LadderNext | null {
  const upper = line.find(step => step.level === recommended)
  const lower = line.filter(step => step.level < recommended).sort((a, b) => b.level - a.level)[0]
  if (upper === undefined || lower === undefined || lower.verdict === 'pass') return null
  let share = 0
  for (const [name, { min, max }] of Object.entries(limits) as [LimitName, JobType['limits'][LimitName] & object][]) {
    const a = lower.readings[name]
    const b = upper.readings[name]
    if (a === undefined || b === undefined || a.bound !== null || b.bound !== null) {
      if (lower.findings.some(f => f.reading === name && f.verdict !== 'pass')) return null
      continue
    }
    for (const [roomA, roomB] of [
      min === undefined ? [0, 0] : [a.value - a.expanded - min, b.value - b.expanded - min],
      max === undefined ? [0, 0] : [max - a.value - a.expanded, max - b.value - b.expanded],
    ] as const) {
      if (roomA >= 0) continue
      if (!(roomB > roomA)) return null
      share = Math.max(share, -roomA / (roomB - roomA))
    }
  }
  const whole = line.every(step => Number.isInteger(step.level))
  const exact = lower.level + Math.min(1, share) * (recommended - lower.level)
  // Up to the next number a driver can be set to: levels that were whole stay whole, others go in tenths of the gap.
  const step = whole ? 1 : (recommended - lower.level) / 10
  const level = Number((lower.level + Math.ceil((exact - lower.level) / step - 1e-9) * step).toPrecision(6))
  if (!(level > lower.level && level < recommended)) return null
  return {
    stock: upper.stock,
    mode: upper.mode,
    level,
    why: `Between ${lower.level}, which does not pass, and ${recommended}, which does, a straight line says that ${level} would just pass. It was never printed: print it and read it before using it.`,
  }
}
