import type { Combination, LadderCost, LadderPlan } from '../model/ladder.js'

/**
 * What a page costs at a setting: the mode's minutes, and its ink in ml (level x ink of a level), or in levels where the
 * plan tells no ml.
 * @throws RangeError for a mode the plan does not have
 */
export function settingCost(plan: LadderPlan, { mode, level }: Pick<Combination, 'mode' | 'level'>): LadderCost {
  const found = plan.modes.find(m => m.name === mode)
  if (found === undefined) throw new RangeError(`the plan has no mode ${mode}`)
  return { minutes: found.minutes, ink: level * (found.inkPerLevel ?? plan.inkPerLevel ?? 1) }
}

/**
 * Which of two costs is less: below 0 when the first is. As the plan weighs minutes and ink; without weights time comes
 * first and ink breaks ties.
 */
export function compareCost(plan: LadderPlan, a: LadderCost, b: LadderCost): number {
  const { weigh } = plan
  if (weigh === null) return a.minutes - b.minutes || a.ink - b.ink
  const worth = (cost: LadderCost) => weigh.minutes * cost.minutes + weigh.ink * cost.ink
  return worth(a) - worth(b) || a.minutes - b.minutes || a.ink - b.ink
}
