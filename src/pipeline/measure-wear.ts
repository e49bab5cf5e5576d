import { basename, join, resolve } from 'node:path'
import { stockWear } from '../ladder/stock-wear.js'
import type { ScanArrival } from '../model/arrival.js'
import type { Comparison } from '../model/growth.js'
import { type Problem, ProblemError } from '../model/problem.js'
import type { StockWear, WearPair } from '../model/wear.js'
import { hashFile } from './hash-file.js'
import { type InspectContext, type InspectedScan, inspectScan } from './inspect-scan.js'
import { writeWhole } from './write-whole.js'

export interface WearTask {
  /** Before and after in turns, two for each rub test. */
  readonly scans: readonly string[]
  /** The stock of all; null: as sidecars or names `<stock>__...` say. */
  readonly stock: string | null
  readonly scanner: string | null
}

export interface WearContext extends Omit<InspectContext, 'store' | 'onStep'> {
  readonly cwd: string
  /** Where the page goes; null for nowhere. */
  readonly reports: string | null
  readonly arrivalOf: (file: string, told: ScanArrival['told']) => Promise<ScanArrival>
}

export interface WearOutcome {
  readonly pairs: readonly WearPair[]
  readonly stocks: readonly StockWear[]
  /** Pairs that could not be told, and why. */
  readonly untold: readonly { readonly before: string; readonly after: string; readonly problem: Problem }[]
  /** The page; null where nothing was told or nowhere to put it was said. */
  readonly page: string | null
}

/**
 * Rub tests told from two scans each: ink and density lost, by film stock. Every film is laid on its own earlier scan by its pattern, so it
 * may lie anyhow. Nothing goes into the history.
 * @throws ProblemError WEAR_PAIRS_INCOMPLETE for a scan without its fellow
 */
export async function measureWear(task: WearTask, context: WearContext): Promise<WearOutcome> {
  const { scans } = task
  if (scans.length === 0 || scans.length % 2 !== 0)
    throw new ProblemError(
      'WEAR_PAIRS_INCOMPLETE',
      scans.length === 1 ? 'one scan was named' : `${scans.length} scans were named`,
    )
  const pairs: WearPair[] = []
  const untold: WearOutcome['untold'][number][] = []
  for (let i = 0; i < scans.length; i += 2) {
    const before = scans[i]!
    const after = scans[i + 1]!
    try {
      pairs.push(await pairOf(before, after, task, context))
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error
      untold.push({ before: basename(before), after: basename(after), problem: error.problem })
    }
  }
  const stocks = stockWear(pairs)
  if (pairs.length === 0 || context.reports === null) return { pairs, stocks, untold, page: null }
  const { wearPage } = await import('../report/wear-page.js')
  const at = context.now().toISOString()
  const page = join(context.reports, `wear__${at.slice(0, 19).replaceAll(':', '')}.html`)
  const { site, software } = context
  await writeWhole(
    page,
    wearPage({ pairs, stocks, untold: untold.map(({ problem }) => problem), shop: site.shop, at, software }),
  )
  return { pairs, stocks, untold, page }
}

async function pairOf(before: string, after: string, task: WearTask, context: WearContext): Promise<WearPair> {
  const told = { positive: 'wear', ...(task.scanner === null ? {} : { scanner: task.scanner }) }
  const look = async (file: string, measure: InspectContext['measure']): Promise<InspectedScan> => {
    const path = resolve(context.cwd, file)
    const hashed = await hashFile(path)
    const scan = await inspectScan(
      await context.arrivalOf(path, told),
      { ...context, measure, store: null },
      false,
      hashed,
    )
    if (!('inspection' in scan)) throw new Error('a rub test has no history to know a scan from')
    return scan
  }
  const was = await look(before, context.measure)
  const { across, along } = was.measured.dpi
  let found: Comparison | undefined
  const is = await look(after, async request => {
    const measured = await context.measure({
      ...request,
      baseline: {
        file: resolve(context.cwd, before),
        dpi: { across, along, from: 'site' },
        channel: request.channel,
        calibration: was.calibration,
        sameCalibration: was.calibration !== null && was.calibration.calibratedAt === request.calibration?.calibratedAt,
        notes: [],
        wear: true,
      },
    })
    found = measured.comparison
    return measured
  })
  if (was.inspection.scan.sha256 === is.inspection.scan.sha256)
    throw new ProblemError('WEAR_NOT_TOLD', `${basename(before)} and ${basename(after)} are the very same scan`)
  if (found === undefined || found.outcome !== 'compared')
    throw new ProblemError('WEAR_NOT_TOLD', `${basename(after)}: ${found?.why ?? 'the scans were not compared'}`)
  if (found.inkLost === undefined || found.inkLost === null)
    throw new ProblemError('WEAR_NOT_TOLD', `${basename(before)}: no solid of 1 mm lies in view of both scans`)
  const loss = found.readings.densityLoss
  return {
    before: basename(before),
    after: basename(after),
    stock: task.stock ?? is.arrival.sidecar?.facts.stock ?? was.arrival.sidecar?.facts.stock ?? stockNamed(before),
    inkLost: found.inkLost,
    densityLoss: loss === undefined ? null : { value: loss.value, expanded: loss.expanded, bound: loss.bound },
    crops:
      found.wearCrops ??
      (found.crops === null
        ? null
        : {
            before: found.crops.before,
            after: found.crops.after,
            widthMm: (found.crops.before.width * found.crops.umPerPixel) / 1000,
          }),
  }
}

/** `stock-a` of `stock-a__rub__before.tif`; null for a name without `__`. */
function stockNamed(file: string): string | null {
  const parts = basename(file).split('__')
  return parts.length > 1 && parts[0] !== '' ? parts[0]! : null
}
