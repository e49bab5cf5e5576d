import type { LadderPlan } from '../model/ladder.js'
import { nearestName } from './nearest-name.js'

/** What a scan or strip says it shows; null where it does not say. */
export interface LadderSaying {
  readonly stock: string | null
  readonly mode: string | null
  /** As it is written: `10`, `40 %`. */
  readonly level: string | null
}

export type LadderPlace =
  | { readonly ok: true; readonly stock: string; readonly mode: string; readonly level: number | null }
  | { readonly ok: false; readonly because: string }

/** What the file name `<stock>__<mode>__<level>[__<anything>].<ext>` says; of a row of patches `<stock>__<mode>`. */
export function ladderScanName(fileName: string, plan: Pick<LadderPlan, 'patches'>): LadderSaying {
  const [stock, mode, level] = fileName.replace(/(?<=.)\.[^.]*$/, '').split('__')
  return { stock: stock ?? null, mode: mode ?? null, level: plan.patches === null ? (level ?? null) : null }
}

/**
 * Which combination of the plan that is. Case does not matter; what the plan has only one of need not be said.
 * @returns why it is none of this plan's otherwise, with the nearest name it has
 */
export function ladderPlace(saying: LadderSaying, plan: LadderPlan): LadderPlace {
  const stock = named('stock', saying.stock, plan.stocks)
  if ('because' in stock) return { ok: false, because: stock.because }
  const mode = named(
    'mode',
    saying.mode,
    plan.modes.map(m => m.name),
  )
  if ('because' in mode) return { ok: false, because: mode.because }
  if (plan.patches !== null) return { ok: true, stock: stock.name, mode: mode.name, level: null }
  const unit = plan.levelUnit === '' ? '' : ' %'
  if (saying.level === null && plan.levels.length > 1) return { ok: false, because: 'it says no level' }
  const level = saying.level === null ? plan.levels[0]! : Number.parseFloat(saying.level)
  if (!plan.levels.includes(level) || (saying.level !== null && !/^[0-9]+([.][0-9]+)? ?%?$/.test(saying.level)))
    return {
      ok: false,
      because: `level ${shown(saying.level ?? '')} is not in the plan (it has ${plan.levels.join(', ')}${unit})`,
    }
  return { ok: true, stock: stock.name, mode: mode.name, level }
}

function named(
  kind: string,
  said: string | null,
  known: readonly string[],
): { readonly name: string } | { readonly because: string } {
  const found = known.find(name => name.toLowerCase() === said?.toLowerCase())
  if (found !== undefined) return { name: found }
  if (known.length === 1) return { name: known[0]! }
  if (said === null || said === '') return { because: `it says no ${kind}` }
  const near = nearestName(said, known)
  return {
    because: `${kind} ${shown(said)} is not in the plan (${near === null ? `it has ${known.join(', ')}` : `did you mean ${near}?`})`,
  }
}

function shown(text: string): string {
  return `"${text.replace(/\p{C}+/gu, ' ').slice(0, 60)}"`
}
