import type { Store } from '../model/store.js'
import { processPage } from '../report/process-page.js'
import { type BoardContext, composeBoard } from './board-writer.js'
import { historyFile } from './history-file.js'
import { composeHistory, type HistoryContext } from './write-history.js'
import { keptProcess, type ProcessContext, processOf, REWRITTEN_UP_TO } from './write-process.js'

export interface LiveContext {
  readonly board: Omit<BoardContext, 'process' | 'store'>
  readonly process: ProcessContext
  readonly store: Pick<Store, 'board' | 'stored' | 'byPositive'>
  readonly history: (positive: string) => Promise<HistoryContext>
  readonly now: () => Date
  /** The board asks to be loaded again after so many seconds. */
  readonly refreshSeconds: number
}

/**
 * The pages of a workspace made from its history as it is now, nothing written. A request that comes while the board is being made gets that one.
 * @throws ProblemError DATABASE_* from each
 */
export function livePages({ board, process, store, history, now, refreshSeconds }: LiveContext) {
  let making: Promise<string> | null = null
  const inspectionsOf = (rows: readonly { readonly earlier: number }[]) =>
    rows.reduce((sum, row) => sum + 1 + row.earlier, 0)
  const make = async (): Promise<string> => {
    const rows = await store.board()
    const few = inspectionsOf(rows) <= REWRITTEN_UP_TO
    const signals = few
      ? { signals: processOf(await process.store.processFilms(), await process.store.events()).signals }
      : await keptProcess(process)
    return composeBoard({ ...board, store }, rows, {
      process: signals === null ? null : { writtenAt: now().toISOString(), ...signals },
      historyOf: ({ positive }) => `history/${encodeURIComponent(historyFile(positive))}`,
      refreshSeconds,
    })
  }
  return {
    board(): Promise<string> {
      making ??= make().finally(() => {
        making = null
      })
      return making
    },
    async process(): Promise<string | null> {
      if (inspectionsOf(await store.board()) > REWRITTEN_UP_TO) return null
      const outcome = processOf(await process.store.processFilms(), await process.store.events())
      return processPage({ site: process.site, ...outcome, now: now(), software: process.software })
    },
    async history(file: string): Promise<string | null> {
      const positive = (await store.board()).find(row => historyFile(row.positive) === file)?.positive
      if (positive === undefined) return null
      const { html } = await composeHistory(await store.byPositive(positive), await history(positive))
      return html
    },
  }
}
