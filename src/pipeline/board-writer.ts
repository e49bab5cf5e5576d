import type { SiteSettings } from '../model/site.js'
import type { BoardRow, Store } from '../model/store.js'
import { boardPage } from '../report/board-page.js'
import { reportName } from './report-name.js'
import { type DrawerContext, workspaceDrawers } from './workspace-drawers.js'
import { boardProcess, type ProcessContext } from './write-process.js'
import { writeWhole } from './write-whole.js'

export interface BoardContext {
  readonly store: Pick<Store, 'board' | 'stored'>
  readonly file: string
  readonly site: SiteSettings
  readonly now: () => Date
  readonly jobTypes: DrawerContext['jobTypes']
  /** See `DrawerContext`. */
  readonly before?: Date | null
  /** The page of the process, whose signals the board names; absent: it does not speak of it. */
  readonly process?: ProcessContext
}

/** Rewrites the burn-room board from the history. */
export async function writeBoard(context: BoardContext): Promise<readonly BoardRow[]> {
  const { store, file, site, now } = context
  const rows = await store.board()
  const drawers = await workspaceDrawers(context)
  const hrefOf = (row: { readonly positive: string; readonly id: string }) =>
    `${encodeURIComponent(reportName(row))}.html`
  const inspections = rows.reduce((sum, row) => sum + 1 + row.earlier, 0)
  const process = context.process === undefined ? null : await boardProcess(context.process, inspections)
  await writeWhole(file, boardPage({ rows, drawers, process, site, now: now(), hrefOf }))
  return rows
}

/** Writes the board as often as asked, but one writing at a time: what is asked meanwhile is answered by the next. */
export interface BoardWriter {
  /** Resolves when the board shows everything recorded before the call. */
  write(): Promise<void>
}

export function boardWriter(context: BoardContext): BoardWriter {
  let running: Promise<void> | null = null
  let waiting: Promise<void> | null = null
  const begin = (): Promise<void> => {
    const turn = writeBoard(context).then(() => {})
    running = turn.finally(() => {
      running = null
    })
    // Whoever asked hears of a failure; the chain itself goes on.
    running.catch(() => {})
    return running
  }
  return {
    write() {
      if (running === null) return begin()
      waiting ??= running
        .catch(() => {})
        .then(() => {
          waiting = null
          return begin()
        })
      return waiting
    },
  }
}
