import { readdir } from 'node:fs/promises'
import { dirname, join } from 'node:path'
import type { SiteSettings } from '../model/site.js'
import type { BoardRow, Store } from '../model/store.js'
import { type BoardPageInput, boardPage } from '../report/board-page.js'
import { historyFile } from './history-file.js'
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
  const { store, file } = context
  const rows = await store.board()
  const inspections = rows.reduce((sum, row) => sum + 1 + row.earlier, 0)
  const process = context.process === undefined ? null : await boardProcess(context.process, inspections)
  const written = new Set(await readdir(join(dirname(file), 'history')).catch(() => []))
  const historyOf = ({ positive }: { readonly positive: string }) => {
    const name = historyFile(positive)
    return written.has(name) ? `history/${encodeURIComponent(name)}` : null
  }
  await writeWhole(file, await composeBoard(context, rows, { process, historyOf }))
  return rows
}

/** The board as a page; writes nothing. @param rows as the store gave them */
export async function composeBoard(
  context: Omit<BoardContext, 'process' | 'file'>,
  rows: readonly BoardRow[],
  also: Pick<BoardPageInput, 'process' | 'historyOf' | 'refreshSeconds'>,
): Promise<string> {
  const { site, now } = context
  const drawers = await workspaceDrawers(context)
  const hrefOf = (row: { readonly positive: string; readonly id: string }) =>
    `${encodeURIComponent(reportName(row))}.html`
  return boardPage({ rows, drawers, ...also, site, now: now(), hrefOf })
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
