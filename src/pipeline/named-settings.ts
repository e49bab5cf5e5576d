import { stringify } from 'yaml'
import type { JobType } from '../model/job-type.js'
import type { LadderPlan, LadderResult } from '../model/ladder.js'
import { settingName } from './setting-name.js'

/** A setting kept by name, as its file. */
export interface NamedSetting {
  /** `<plan>-<stock>`: what a sidecar's or strip's `setting` says of a film printed with it. */
  readonly name: string
  readonly text: string
}

/** The recommended setting of each stock with its evidence, as YAML files `settings/<name>.yaml`. */
export function namedSettings(outcome: {
  readonly plan: LadderPlan
  readonly jobType: JobType
  readonly result: LadderResult
  readonly scannedAt: string
  readonly scanner: string | null
  readonly record: string
  readonly software: string
}): readonly NamedSetting[] {
  const { plan, result } = outcome
  return plan.stocks.flatMap(stock => {
    const choice = result.perStock[stock]?.recommended ?? null
    const step =
      choice === null
        ? undefined
        : result.steps.find(s => s.stock === stock && s.mode === choice.mode && s.level === choice.level)
    if (choice === null || step === undefined) return []
    const mode = plan.modes.find(m => m.name === choice.mode)!
    const content = {
      setting: settingName(plan, stock),
      stock,
      mode: { name: mode.name, dpi: [mode.dpi.across, mode.dpi.along], directions: mode.directions },
      level: plan.levelUnit === '' ? choice.level : `${choice.level} %`,
      satisfies: plan.jobType,
      minutes: choice.minutes,
      ...(plan.inkPerLevel === null && mode.inkPerLevel === undefined
        ? {}
        : { inkMl: Number(choice.ink.toPrecision(4)) }),
      evidence: {
        ladder: plan.name,
        scannedAt: outcome.scannedAt,
        scanner: outcome.scanner ?? 'not calibrated',
        record: `reports/${outcome.record}`,
        prints: step.samples.length,
        readings: Object.fromEntries(
          Object.entries(step.readings).map(([name, { value, expanded, unit, bound }]) => [
            name,
            {
              value: Number(value.toPrecision(5)),
              expanded: Number(expanded.toPrecision(2)),
              unit,
              ...(bound === null ? {} : { bound }),
            },
          ]),
        ),
        software: outcome.software,
      },
    }
    const head = `# Written by \`burngate ladder read\`. A film printed so says \`setting: ${content.setting}\` in its sidecar.\n`
    return [{ name: content.setting, text: head + stringify(content) }]
  })
}
