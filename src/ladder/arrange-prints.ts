import type { LadderPlan, LadderPrint } from '../model/ladder.js'

/**
 * The prints of a ladder in the order that changes least: film is changed once a stock, the mode once a mode, and from one
 * sheet to the next only one thing is changed (a reflected Gray code over stock, mode and level). A sheet is one setting,
 * with all repeats on it as far as they fit; where the driver can ramp, all levels of a mode share sheets.
 * @param stepsASheet strips the sheet holds, 1 or more
 */
export function arrangePrints(plan: LadderPlan, stepsASheet: number): readonly LadderPrint[] {
  if (!(Number.isInteger(stepsASheet) && stepsASheet >= 1))
    throw new RangeError(`stepsASheet must be a whole number, 1 or more; got ${stepsASheet}`)
  const sheets: Omit<LadderPrint, 'number' | 'change'>[] = []
  plan.stocks.forEach((stock, s) => {
    const modes = s % 2 === 0 ? plan.modes : [...plan.modes].reverse()
    modes.forEach(({ name: mode }, m) => {
      const rising = plan.ramp || (s * plan.modes.length + m) % 2 === 0
      const levels = rising ? plan.levels : [...plan.levels].reverse()
      const steps = levels.flatMap(level => Array.from({ length: plan.repeats }, () => level))
      const parts = plan.ramp ? [steps] : levels.map(level => steps.filter(step => step === level))
      for (const part of parts)
        for (let i = 0; i < part.length; i += stepsASheet)
          sheets.push({ stock, mode, levels: part.slice(i, i + stepsASheet) })
    })
  })
  return sheets.map((sheet, i) => ({ ...sheet, number: i + 1, change: changed(sheets[i - 1], sheet) }))
}

type Sheet = Omit<LadderPrint, 'number' | 'change'>

function changed(before: Sheet | undefined, sheet: Sheet): LadderPrint['change'] {
  if (before === undefined) return ['stock', 'mode', 'level']
  return [
    ...(before.stock === sheet.stock ? [] : ['stock' as const]),
    ...(before.mode === sheet.mode ? [] : ['mode' as const]),
    ...(before.levels.join() === sheet.levels.join() ? [] : ['level' as const]),
  ]
}
