import type { JobType } from '../model/job-type.js'
import type { LadderStep, StockAge } from '../model/ladder.js'
import type { LimitName, Reading } from '../model/reading.js'

const GROWTH = ['edgeGrowth', 'fringeGrowth', 'densityLoss'] as const

/**
 * What a film stock did between two readings of its strips: the mean growth over its settings, with the U of one (errors of a scan are common to
 * all of them), and whether any setting, or all, went beyond what the job type allows.
 */
export function stockAges(steps: readonly LadderStep[], limits: JobType['limits']): readonly StockAge[] {
  const stocks = [...new Set(steps.map(step => step.stock))]
  return stocks.flatMap(stock => {
    const aged = steps.filter(step => step.stock === stock && step.age !== null)
    if (aged.length === 0) return []
    const growth = Object.fromEntries(
      GROWTH.flatMap(name => {
        const mean = meanOf(aged.flatMap(step => step.readings[name] ?? []))
        return mean === null ? [] : [[name, mean] as const]
      }),
    )
    const failing = aged.filter(step =>
      step.findings.some(({ reading, verdict }) => verdict === 'fail' && isGrowth(reading)),
    )
    const limit = limits.edgeGrowth?.max ?? null
    const verdict =
      limit === null
        ? ('notAsked' as const)
        : failing.length > 0
          ? ('bleeds' as const)
          : aged.every(
                step => !step.findings.some(({ reading, verdict: word }) => word === 'recheck' && isGrowth(reading)),
              )
            ? ('holds' as const)
            : ('unsure' as const)
    const days = Math.round(Math.max(...aged.map(step => step.age!.days)))
    return [{ stock, days, settings: aged.length, beyond: failing.length, growth, limit, verdict }]
  })
}

function isGrowth(name: LimitName | 'scan'): boolean {
  return (GROWTH as readonly string[]).includes(name)
}

function meanOf(found: readonly Reading[]): { value: number; expanded: number } | null {
  const exact = found.filter(reading => reading.bound === null)
  if (exact.length === 0) return null
  return {
    value: exact.reduce((sum, { value }) => sum + value, 0) / exact.length,
    expanded: Math.sqrt(exact.reduce((sum, { expanded }) => sum + expanded ** 2, 0) / exact.length),
  }
}
