import { join } from 'node:path'
import { parentPort, workerData } from 'node:worker_threads'
import { writeScan } from '../../src/demo/write-scan.js'
import { ProblemError } from '../../src/model/problem.js'
import type { Reading, ReadingName } from '../../src/model/reading.js'
import { measureScan } from '../../src/pipeline/measure-scan.js'
import { type DrawnFilm, drawFilm, drawScanner, FRINGE } from './drawn-scanner.js'

/** Which scanners a worker draws, and where it may write. */
export interface CoverageTask {
  readonly seeds: readonly number[]
  readonly filmsEach: number
  readonly folder: string
}

/** One film as drawn and as read. */
export interface CoverageRow {
  readonly seed: number
  readonly dpi: number
  readonly gamma: number
  readonly grid: boolean
  readonly truth: DrawnFilm['truth']
  readonly readings: Readonly<Partial<Record<ReadingName, Pick<Reading, 'value' | 'expanded' | 'bound'>>>>
}

const FILMS_A_CERTIFICATE = 2

/**
 * The road a shop's scan goes: a scanner is drawn, calibrated from its own scans, and films drawn for it are written as files and measured.
 * Only two films share a certificate, for the tablet's errors are the largest and films that share them are no draws apart.
 */
async function rows({ seeds, filmsEach, folder }: CoverageTask): Promise<CoverageRow[]> {
  const all: CoverageRow[] = []
  for (const seed of seeds) {
    const drawn = drawScanner(seed)
    let calibration = null
    for (let i = 0; i < filmsEach; i++) {
      const own = 1000 * seed + i
      if (calibration === null || i % FILMS_A_CERTIFICATE === 0) calibration = drawn.calibrate(own)
      const { scan, truth } = drawFilm(own, drawn)
      const file = join(folder, `film-${own}.tif`)
      await writeScan(file, scan, '2026-03-02T09:00:00')
      const request = { file, dpi: null, channel: 'grey', fringeContours: FRINGE } as const
      const { readings } = await measureScan({ ...request, calibration }, { tempDir: folder })
      all.push({ seed, dpi: scan.scanner.dpi, gamma: scan.scanner.gamma, grid: drawn.grid, truth, readings })
    }
  }
  return all
}

const asked = workerData as CoverageTask
rows(asked).then(
  done => parentPort?.postMessage({ rows: done }),
  (error: unknown) => {
    const say = error instanceof ProblemError ? error.problem.what : error instanceof Error ? error.stack : error
    parentPort?.postMessage({ failed: `${say}` })
  },
)
