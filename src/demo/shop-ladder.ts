import { type DemoMode, type DemoStep, type DemoStock, demoStep, ladderRow, rowBands } from './ladder.js'
import { demoScans } from './shop.js'
import { writeCodes } from './write-codes.js'

/** One scan of the demo's ladder: a row of patches, one a level. */
export interface DemoLadderScan {
  /** `<stock>__<mode>.tif`. */
  readonly fileName: string
  readonly stock: string
  readonly mode: string
  /** What is true of each patch, lightest first. */
  readonly steps: readonly DemoStep[]
  /** How the row lies: degrees, and whether the darkest patch comes first. */
  readonly turnDegrees: number
  readonly reversed: boolean
  readonly seed: number
}

const LEVELS = [2, 4, 6, 8, 10, 12, 14, 16] as const
const PATCHES = { pitchMm: 9, patchMm: 7 } as const

/** The good coating reaches black at fewer levels and holds more ink. Common practice, no source. */
const STOCKS: Readonly<Record<string, DemoStock>> = {
  'stock-a': { baseDensity: 0.05, ceiling: 3.5, thirst: 3.1, hold: 13, spreadUm: 12 },
  'stock-b': { baseDensity: 0.08, ceiling: 3.3, thirst: 4.6, hold: 11, spreadUm: 16 },
}
/** Slower modes lay more ink in more passes; one direction keeps edges cleaner. Common practice, no source. */
const MODES: Readonly<Record<string, DemoMode & { readonly line: string }>> = {
  draft: {
    ink: 0.75,
    banding: 0.16,
    raggednessUm: 9,
    line: '{ name: draft, dpi: [720, 720], directions: 2, minutes: 1.2 }',
  },
  fast: {
    ink: 1,
    banding: 0.05,
    raggednessUm: 7,
    line: '{ name: fast, dpi: [720, 1440], directions: 2, minutes: 2.5 }',
  },
  fine: {
    ink: 1.2,
    banding: 0.02,
    raggednessUm: 3,
    line: '{ name: fine, dpi: [1440, 1440], directions: 1, minutes: 6 }',
  },
}

/** The plan of the demo's ladder: 2 film stocks, 3 modes, 8 levels, printed as rows of plain patches. */
export const DEMO_LADDER_PLAN = `# 2 film stocks x 3 modes x 8 ink levels, one row of patches a scan
name: spring-films
jobType: ladder
stocks: [${Object.keys(STOCKS).join(', ')}]
modes:
${Object.values(MODES)
  .map(mode => `  - ${mode.line}`)
  .join('\n')}
patches: { count: ${LEVELS.length}, pitch: ${PATCHES.pitchMm}, first: ${LEVELS[0]}, last: ${LEVELS.at(-1)} }   # mm; levels 2, 4 ... 16
inkPerLevel: 0.08     # ml a page and level
`

/** The six scans of the ladder, in the order they were made. */
export function demoLadder(): readonly DemoLadderScan[] {
  let seed = 30
  return Object.entries(STOCKS).flatMap(([stock, film]) =>
    Object.entries(MODES).map(([mode, print]) => {
      seed++
      return {
        fileName: `${stock}__${mode}.tif`,
        stock,
        mode,
        steps: LEVELS.map(level => demoStep(film, print, level)),
        turnDegrees: (seed % 2 === 0 ? -1 : 1) * (0.5 + 0.17 * (seed % 5)),
        reversed: seed % 3 === 0,
        seed,
      }
    }),
  )
}

/** Scans one row on the demo's scanner and writes it. */
export async function writeDemoLadderScan(scan: DemoLadderScan, file: string, dateTime: string): Promise<void> {
  const { scanner } = demoScans()[0]!.scan
  const row = ladderRow(scanner, scan.steps, { ...PATCHES, ...scan }, scan.seed)
  const { dpi, maker, model } = scanner
  await writeCodes(file, { width: row.width, height: row.height, dpi, maker, model, dateTime }, rowBands(row))
}
