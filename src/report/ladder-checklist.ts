import type { LadderPlan, LadderPrint } from '../model/ladder.js'
import { renderTemplate } from './render-template.js'

export interface LadderChecklistInput {
  readonly plan: LadderPlan
  readonly prints: readonly (LadderPrint & { readonly file: string })[]
  readonly shop: string
  /** `burngate x.y.z` */
  readonly software: string
}

/** The page that lies beside the printer: every print in its order, what to change before it, and a box to tick. */
export function ladderChecklist({ plan, prints, shop, software }: LadderChecklistInput): string {
  const unit = plan.levelUnit === '' ? '' : ' %'
  return renderTemplate('ladder-checklist', {
    title: `Ink ladder ${plan.name}: what to print`,
    shop,
    name: plan.name,
    counted: `${prints.length} prints, to satisfy ${plan.jobType}`,
    rows: prints.map(print => {
      const mode = plan.modes.find(m => m.name === print.mode)!
      const levels = [...new Set(print.levels)]
      return {
        number: String(print.number),
        stock: print.stock,
        mode: `${mode.name} (${mode.dpi.across} x ${mode.dpi.along} dpi, ${mode.directions === 1 ? 'one way' : 'both ways'})`,
        level: levels.length === 1 ? `${levels[0]}${unit}` : `${levels[0]} to ${levels.at(-1)}${unit}`,
        change: print.number === 1 ? 'load the film, set mode and level' : print.change.join(' and ') || 'nothing',
        loud: print.change.includes('stock') ? 'sum' : '',
        file: print.file,
      }
    }),
    software,
  })
}
