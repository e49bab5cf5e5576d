import type { LadderPlan } from '../model/ladder.js'

/** What the setting that a ladder proved for a stock is called: its file in `settings/`, and what films printed so say. */
export function settingName({ name }: Pick<LadderPlan, 'name'>, stock: string): string {
  return `${name}-${stock}`
}
