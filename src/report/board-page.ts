import type { Drawers } from '../model/drawer.js'
import type { BoardSignal } from '../model/process.js'
import type { SiteSettings } from '../model/site.js'
import type { BoardRow } from '../model/store.js'
import { boardView } from './board-view.js'
import { renderTemplate } from './render-template.js'

/** All that the burn-room board is made of. */
export interface BoardPageInput {
  /** One row a positive: its newest inspection. */
  readonly rows: readonly BoardRow[]
  /** What the stored positives ask for; absent: nobody asked. */
  readonly drawers?: Drawers
  /** Open signals of the process; absent or null: its page was never written. */
  readonly process?: { readonly signals: readonly BoardSignal[]; readonly writtenAt: string } | null
  readonly site: SiteSettings
  /** When the board is written. */
  readonly now: Date
  /** Address of a row's report, relative to the board. */
  readonly hrefOf: (row: { readonly positive: string; readonly id: string }) => string
  /** Address of the page of a positive's history, relative to the board; null or absent where there is none. */
  readonly historyOf?: (row: { readonly positive: string }) => string | null
  /** The page asks to be loaded again after so many seconds; absent: it is a file. */
  readonly refreshSeconds?: number
}

/**
 * The burn-room board: which positives may be burned, which need another look, which may not be burned.
 * One HTML page that needs nothing outside itself; its small script only filters and keeps the ages right.
 */
export function boardPage(input: BoardPageInput): string {
  return renderTemplate('board', boardView(input), input.refreshSeconds)
}
