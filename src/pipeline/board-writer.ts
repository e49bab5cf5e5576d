import type { SiteSettings } from '../model/site.js'
import type { BoardRow, Store } from '../model/store.js'
import { boardPage } from '../report/board-page.js'
import { reportName } from './report-name.js'
import { writeWhole } from './write-whole.js'

export interface BoardContext {
  readonly store: Pick<Store, 'board'>
  readonly file: string
  readonly site: SiteSettings
  readonly now: () => Date
}

/** Rewrites the burn-room board from the history. */
export async function writeBoard({ store, file, site, now }: BoardContext): Promise<readonly BoardRow[]> {
  const rows = await store.board()
  const hrefOf = (row: BoardRow) => `${encodeURIComponent(reportName(row))}.html`
  await writeWhole(file, boardPage({ rows, site, now: now(), hrefOf }))
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
