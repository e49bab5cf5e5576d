import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createApp } from '../../src/app.js'
import { writeCalibration } from '../../src/calibrate/calibration-file.js'
import { type DemoStep, demoStep } from '../../src/demo/ladder.js'
import { seededRandom } from '../../src/demo/random.js'
import { fringeWidth, halfLightShift } from '../../src/demo/truth.js'
import { calibratedScanner } from './calibrated-scanner.js'
import { printAndScan } from './printed-ladder.js'
import { QUICK_SCANNER } from './quick-scanner.js'

/**
 * The same ladder sheets scanned when printed and five weeks later, laid anew: one stock unchanged, the other, which is blacker with less ink, grown.
 * Does the age told hold the truth within U, and does the choice change over to the stock that holds? Some minutes, so by hand:
 * `npx tsx tests/support/make-aged-ladders.ts 6 [folder]` (shops; a folder keeps them).
 */
const shops = Number(process.argv[2] ?? 6)
const kept = process.argv[3]
const SEED = 4400
const PLAN = `name: aged
jobType: keeps
stocks: [stock-a, stock-b]
modes:
  - { name: fine, dpi: [1440, 720], directions: 1, minutes: 4 }
levels: [5, 11]
ramp: true
paper: { width: 160, height: 81 }
`
const LEAST_DENSITY = 2.6
const JOB_TYPE = `name: keeps
limits:
  solidDensity: { min: ${LEAST_DENSITY} }
  riseWidth: { max: 90 }
  edgeGrowth: { max: 10 }
  densityLoss: { max: 0.15 }
`
const MODE = { ink: 0.9, banding: 0, raggednessUm: 0 }
const DAYS = ['2026-03-02T09:00:00', '2026-04-06T10:00:00'] as const

const rows: Record<string, string | number>[] = []
for (let shop = 0; shop < shops; shop++) {
  const seed = SEED + shop
  const random = seededRandom(seed)
  const root = kept === undefined ? mkdtempSync(join(tmpdir(), 'aged-')) : join(kept, `shop-${shop}`)
  const app = createApp({
    terminal: { out: () => {}, say: () => {}, isTTY: false },
    cwd: '/',
    now: () => new Date('2026-04-06T12:00:00Z'),
    tick: () => performance.now(),
    stopSignal: () => new AbortController().signal,
    debug: true,
  })
  await app.initWorkspace(root)
  writeFileSync(join(root, 'job-types/keeps.yaml'), JOB_TYPE)
  const planFile = join(root, 'plan.yaml')
  writeFileSync(planFile, PLAN)
  const scanner = {
    ...QUICK_SCANNER,
    dpi: 600,
    blurAcrossUm: random.between(12, 20),
    blurAlongUm: random.between(12, 20),
    gamma: random.between(1.4, 2.2),
  }
  await writeCalibration(join(root, 'scanners'), calibratedScanner(scanner, seed))
  const { plan } = await app.planLadder(planFile, root)
  const { files } = await app.writeLadderSheets(planFile, { folder: root, out: join(root, 'sheets'), each: false })
  const spread = { a: random.between(16, 24), b: random.between(16, 24) }
  const stocks = {
    'stock-a': { baseDensity: 0.06, ceiling: random.between(3, 3.2), thirst: 3.6, hold: 20, spreadUm: spread.a },
    'stock-b': { baseDensity: 0.07, ceiling: random.between(3, 3.2), thirst: 2, hold: 20, spreadUm: spread.b },
  }
  /** What the second stock's ink creeps by in five weeks, um of its spread, and loses, D. */
  const crept = random.between(14, 22)
  const lost = random.between(0, 0.12)
  const aged = (step: DemoStep): DemoStep => ({
    ...step,
    inkSpreadUm: Math.hypot(step.inkSpreadUm, Math.sqrt(2 * step.inkSpreadUm * crept)),
    netDensity: step.netDensity - lost,
  })
  const scans: string[][] = [[], []]
  const truth = new Map<string, { growth: number; loss: number; fringe: number }>()
  for (const [i, stock] of (['stock-a', 'stock-b'] as const).entries()) {
    const young = plan.levels.map(level => demoStep(stocks[stock], MODE, level))
    const old = stock === 'stock-a' ? young : young.map(aged)
    for (const [day, steps] of [young, old].entries()) {
      const file = join(root, `${stock}-day-${day}.tif`)
      const lies = {
        scanner,
        turnDegrees: random.between(-3, 3),
        mirrored: random.uniform() < 0.5,
        seed: seed * 10 + 2 * i + day,
        dateTime: DAYS[day]!,
      }
      await printAndScan(files[i]!, file, plan, steps, lies, join(root, 'tmp'))
      scans[day]!.push(file)
    }
    const fringeOf = (edge: DemoStep) => fringeWidth(edge, 0.1 * LEAST_DENSITY, 0.9 * LEAST_DENSITY) ?? Number.NaN
    // All strips of a sheet have the spread of its first: the film's, as it was drawn.
    const edge = (steps: readonly DemoStep[], k: number) => ({ ...steps[k]!, inkSpreadUm: steps[0]!.inkSpreadUm })
    plan.levels.forEach((level, k) => {
      truth.set(`${stock} ${level}`, {
        growth: halfLightShift(edge(old, k)) - halfLightShift(edge(young, k)),
        loss: young[k]!.netDensity - old[k]!.netDensity,
        fringe: fringeOf(edge(old, k)) - fringeOf(edge(young, k)),
      })
    })
  }
  const where = { folder: root }
  const first = await app.readLadder({ plan: planFile, scans: scans[0]!, scanner: null }, where)
  const { result, ages, unread, notes } = await app.readLadder(
    { plan: planFile, scans: scans[1]!, scanner: null },
    where,
  )
  if (unread.length > 0) console.log(JSON.stringify(unread))
  if (shop === 0) console.log(notes.join('\n'))
  const named = (one: typeof result.recommended) => (one === null ? 'none' : `${one.stock} ${one.level}`)
  for (const step of result.steps) {
    const { growth, loss, fringe } = truth.get(`${step.stock} ${step.level}`)!
    const { edgeGrowth, densityLoss, fringeGrowth } = step.readings
    const told = (reading: typeof edgeGrowth, decimals: number) =>
      reading === undefined ? '-' : `${reading.value.toFixed(decimals)} ± ${reading.expanded.toFixed(decimals)}`
    rows.push({
      shop,
      setting: `${step.stock} ${step.level}`,
      'edge growth': growth.toFixed(2),
      told: told(edgeGrowth, 2),
      'off, U': edgeGrowth === undefined ? '' : ((edgeGrowth.value - growth) / edgeGrowth.expanded).toFixed(2),
      fringe: fringe.toFixed(2),
      ' told': told(fringeGrowth, 2),
      ' off, U': fringeGrowth === undefined ? '' : ((fringeGrowth.value - fringe) / fringeGrowth.expanded).toFixed(2),
      'density lost': loss.toFixed(3),
      'told ': told(densityLoss, 3),
      'off, U ': densityLoss === undefined ? '' : ((densityLoss.value - loss) / densityLoss.expanded).toFixed(2),
      stock: ages.find(age => age.stock === step.stock)?.verdict ?? '-',
      verdict: step.verdict,
      'at first': named(first.result.recommended),
      'later on': named(result.recommended),
    })
  }
  await app.close()
  if (kept === undefined) rmSync(root, { recursive: true, force: true })
}
console.table(rows)
