import { readFile } from 'node:fs/promises'
import type {
  BoardSignal,
  ProcessEvent,
  ProcessFilm,
  ProcessSeries,
  ProcessStore,
  StockComparison,
} from '../model/process.js'
import type { SiteSettings } from '../model/site.js'
import { openSignals, processPage } from '../report/process-page.js'
import { compareStocks } from '../trend/compare-stocks.js'
import { processSeries } from '../trend/process-series.js'
import { writeWhole } from './write-whole.js'

/** Inspections up to which the page is rewritten with every board, as that takes a fraction of a second; 60 000 take seconds. */
export const REWRITTEN_UP_TO = 1000

export interface ProcessContext {
  readonly store: ProcessStore
  /** The page. */
  readonly file: string
  /** Where its signals are kept as JSON, for the board. */
  readonly signals: string
  readonly site: Pick<SiteSettings, 'shop'>
  readonly now: () => Date
  readonly software: string
}

export interface ProcessOutcome {
  readonly series: readonly ProcessSeries[]
  readonly stocks: readonly StockComparison[]
  readonly events: readonly ProcessEvent[]
  /** Open ones, the newest first. */
  readonly signals: readonly BoardSignal[]
}

/** What the board says of the process. */
export interface BoardProcess {
  readonly signals: readonly BoardSignal[]
  /** When the signals were looked for, ISO 8601. */
  readonly writtenAt: string
}

/**
 * Works out charts and rates from the history and writes the page of the process.
 * @throws ProblemError FILE_NOT_WRITABLE, or as the store
 */
export async function writeProcess({
  store,
  file,
  signals,
  site,
  now,
  software,
}: ProcessContext): Promise<ProcessOutcome> {
  const outcome = processOf(await store.processFilms(), await store.events())
  const at = now()
  await writeWhole(file, processPage({ site, ...outcome, now: at, software }))
  const board: BoardProcess = { signals: outcome.signals, writtenAt: at.toISOString() }
  await writeWhole(signals, `${JSON.stringify({ schema: 'burngate/signals@1', ...board })}\n`)
  return outcome
}

/** Charts, rates and open signals of a history; plain data. */
export function processOf(films: readonly ProcessFilm[], events: readonly ProcessEvent[]): ProcessOutcome {
  const series = processSeries(films, events)
  const stocks = (['edgeGrowth', 'densityLoss'] as const).map(reading => compareStocks(films, reading))
  return { series, stocks, events, signals: openSignals(series) }
}

/**
 * What the board is to say: worked out anew while the history is small, else as `burngate process` left it.
 * @param inspections how many there are
 * @returns null when the page was never written
 */
export async function boardProcess(context: ProcessContext, inspections: number): Promise<BoardProcess | null> {
  if (inspections <= REWRITTEN_UP_TO) {
    const { signals } = await writeProcess(context)
    return { signals, writtenAt: context.now().toISOString() }
  }
  return keptProcess(context)
}

/** The signals as they were last written; null when they never were. */
export async function keptProcess(context: Pick<ProcessContext, 'signals'>): Promise<BoardProcess | null> {
  try {
    const { signals, writtenAt } = JSON.parse(await readFile(context.signals, 'utf8')) as BoardProcess
    return Array.isArray(signals) && typeof writtenAt === 'string' ? { signals, writtenAt } : null
  } catch {
    // Not there yet, or not whole: the next run of the command writes it.
    return null
  }
}
