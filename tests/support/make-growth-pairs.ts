import { seededRandom } from '../../src/demo/random.js'
import { drawScanner } from './drawn-scanner.js'
import { type CalibratedDemo, growthPair } from './growth-pair.js'

/**
 * How often unchanged films are called unchanged, and how far growth is off, over many pairs. Half an hour, so by hand and not with the tests:
 * `npx tsx tests/support/make-growth-pairs.ts 100 600` (pairs, dpi, first seed, `grown`). Scanners and their certificates err as their
 * budgets state (`drawn-scanner.ts`); every third pair is of one scanner, every fifth is partly off the glass.
 */
const [pairs, dpi, firstSeed] = [
  Number(process.argv[2] ?? 100),
  Number(process.argv[3] ?? 600),
  Number(process.argv[4] ?? 20_000),
]
const grown = process.argv[5] === 'grown'
const SCANNERS = Math.max(2, Math.min(12, Math.ceil(pairs! / 4)))
const CERTIFICATES = 2

const pool: CalibratedDemo[] = []
for (let seed = firstSeed; pool.length < SCANNERS * CERTIFICATES; seed++) {
  const drawn = drawScanner(seed)
  if (drawn.scanner.dpi !== dpi) continue
  for (let k = 0; k < CERTIFICATES; k++)
    pool.push({ scanner: drawn.scanner, calibration: drawn.calibrate(seed * 10 + k) })
}

interface Row {
  readonly kind: 'same' | 'other'
  readonly cut: boolean
  readonly name: string
  readonly off: number
  readonly expanded: number
}

const random = seededRandom(firstSeed)
const rows: Row[] = []
const apart: string[] = []
for (let i = 0; i < pairs; i++) {
  const seed = firstSeed + i * 10
  const first = random.pick(pool)
  const others = pool.filter(one => one.scanner !== first.scanner)
  const plan = { first, second: i % 3 === 0 ? first : random.pick(others), grown, cut: i % 5 === 4 }
  const { found, edgeTruth, spreadTruth, lies } = growthPair(seed, plan)
  if (found.outcome !== 'compared') {
    apart.push(`${seed}: ${JSON.stringify(found)} (${lies})`)
    continue
  }
  const { readings, notMeasured, placement } = found.comparison
  const says: string[] = []
  for (const [name, truth] of [
    ['edgeGrowth', edgeTruth],
    ['spreadGrowth', spreadTruth],
    ['fringeGrowth', grown ? null : 0],
    ['densityLoss', 0],
  ] as const) {
    const reading = readings[name]
    if (reading === undefined || truth === null || reading.bound !== null) continue
    const { value, expanded } = reading
    const off = value - truth
    rows.push({ kind: first === plan.second ? 'same' : 'other', cut: plan.cut, name, off, expanded })
    says.push(`${name} off ${off.toFixed(3)} U ${expanded.toFixed(3)}${Math.abs(off) > expanded ? ' BEYOND U' : ''}`)
  }
  if (readings.edgeGrowth === undefined) apart.push(`${seed}: ${notMeasured[0]?.because} (${lies})`)
  process.stdout.write(`${seed} ${lies}, matched ${placement.matched.toFixed(2)}: ${says.join('; ')}\n`)
}

const kinds: readonly [string, (row: Row) => boolean][] = [
  ['all', () => true],
  ['same scanner', row => row.kind === 'same'],
  ['other scanner', row => row.kind === 'other'],
  ['cut off', row => row.cut],
]
const round = (value: number) => Number(value.toFixed(3))
console.table(
  ['edgeGrowth', 'spreadGrowth', 'fringeGrowth', 'densityLoss'].flatMap(name =>
    kinds.map(([kind, of]) => {
      const list = rows.filter(row => row.name === name && of(row))
      return {
        reading: name,
        pairs: kind,
        n: list.length,
        'beyond U': list.filter(row => Math.abs(row.off) > row.expanded).length,
        'worst off': round(Math.max(0, ...list.map(row => Math.abs(row.off)))),
        'rms off': round(Math.sqrt(list.reduce((sum, row) => sum + row.off ** 2, 0) / list.length)),
        'mean U': round(list.reduce((sum, row) => sum + row.expanded, 0) / list.length),
        'most U': round(Math.max(0, ...list.map(row => row.expanded))),
      }
    }),
  ),
)
process.stdout.write(`${apart.length} without a growth\n${apart.join('\n')}\n`)
