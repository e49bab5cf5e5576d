import type { Inspection } from '../model/inspection.js'
import { nearestName } from '../settings/nearest-name.js'
import type { PrintSettingShelf } from './load-print-settings.js'

/** What came with a scan, with what its named setting adds. */
export interface AppliedSetting {
  readonly told: Inspection['told']
  /** Sentences. */
  readonly notes: readonly string[]
}

/**
 * What a film's named setting says of it: mode and stock where neither sidecar nor strip do, so that the process is charted by it. A name that no
 * file of the shop's settings knows is said, and so is a film that claims another mode or stock than its setting has. A shop that keeps no
 * settings may call them as it likes.
 */
export function applyPrintSetting(told: Inspection['told'], shelf: PrintSettingShelf): AppliedSetting {
  const { setting } = told
  if (typeof setting !== 'string' || shelf.size === 0) return { told, notes: [] }
  const known = shelf.get(setting)
  if (known === undefined) {
    const near = nearestName(setting, [...shelf.keys()])
    return {
      told,
      notes: [
        `It was printed at the setting "${setting}", it says, and settings/ has no file of that name${near === null ? '' : ` (did you mean ${near}?)`}: \`burngate ladder read\` writes one for each setting it proved.`,
      ],
    }
  }
  if (known === null)
    return {
      told,
      notes: [`settings/${setting}.yaml is not a setting that can be read, so nothing was taken from it.`],
    }
  const notes = (['mode', 'stock'] as const).flatMap(name => {
    const said = told[name]
    const own = known[name]
    return said === undefined || own === null || String(said).toLowerCase() === own.toLowerCase()
      ? []
      : [`It says ${name} ${said}, and its setting ${setting} is of ${name} ${own}: what the film says counts.`]
  })
  const { withdrawn } = known
  if (withdrawn !== null)
    notes.unshift(
      `Its setting ${setting} was withdrawn on ${withdrawn.on}, so print its next films with another. ${withdrawn.why}`.trim(),
    )
  return {
    told: {
      ...told,
      ...(told.mode === undefined && known.mode !== null ? { mode: known.mode } : {}),
      ...(told.stock === undefined && known.stock !== null ? { stock: known.stock } : {}),
    },
    notes,
  }
}
