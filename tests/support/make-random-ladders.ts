import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createApp } from '../../src/app.js'
import { writeCalibration } from '../../src/calibrate/calibration-file.js'
import { type DemoStep, demoStep, ladderRow, rowBands } from '../../src/demo/ladder.js'
import { seededRandom } from '../../src/demo/random.js'
import { filmRise } from '../../src/demo/truth.js'
import { writeCodes } from '../../src/demo/write-codes.js'
import { compareCost, settingCost } from '../../src/ladder/setting-cost.js'
import type { Combination } from '../../src/model/ladder.js'
import { calibratedScanner } from './calibrated-scanner.js'
import { QUICK_SCANNER } from './quick-scanner.js'

/**
 * Random small ladders through make-believe prints and scans: is the true cheapest passing setting recommended, and never one that truly fails?
 * Some minutes, so by hand and not with the tests: `npx tsx tests/support/make-random-ladders.ts 12` (ladders, first seed). Rows of patches
 * at 600 dpi; truth is what was printed. The same question at data level, for 100 ladders, is in tests/truth/ladder.test.ts.
 */
const ladders = Number(process.argv[2] ?? 12)
const firstSeed = Number(process.argv[3] ?? 500)
const PATCHES = { pitchMm: 9, patchMm: 6 }
const LIMITS = { solidDensity: 2.8, riseWidth: 60, bandingAmplitude: 2.5 } as const
const scanner = { ...QUICK_SCANNER, dpi: 600, blurAcrossUm: 15, blurAlongUm: 17, gamma: 1.8 }
const now = new Date('2026-03-02T12:00:00Z')

const root = mkdtempSync(join(tmpdir(), 'ladders-'))
const app = createApp({
  terminal: { out: () => {}, say: () => {}, isTTY: false },
  cwd: root,
  now: () => now,
  tick: () => performance.now(),
  stopSignal: () => new AbortController().signal,
  debug: true,
})
const shop = join(root, 'shop')
await app.initWorkspace('shop')
writeFileSync(
  join(shop, 'job-types/own.yaml'),
  `name: own\nlimits:\n  solidDensity: { min: ${LIMITS.solidDensity} }\n  riseWidth: { max: ${LIMITS.riseWidth} }\n  bandingAmplitude: { max: ${LIMITS.bandingAmplitude} }\n`,
)
await writeCalibration(join(shop, 'scanners'), calibratedScanner(scanner, 71))

const rows: Record<string, string | number>[] = []
for (let seed = firstSeed; seed < firstSeed + ladders; seed++) {
  const random = seededRandom(seed)
  const stocks = ['stock-a', 'stock-b'].slice(0, 1 + Math.floor(2 * random.uniform()))
  const modes = ['fast', 'fine'].map((name, i) => ({
    name,
    minutes: 1 + 2 * i,
    ink: 0.9 + 0.3 * i,
    banding: 0.14 - 0.1 * i,
  }))
  const levels = [2, 5, 8, 11, 14]
  const plan = [
    `name: ladder-${seed}`,
    'jobType: own',
    `stocks: [${stocks}]`,
    'modes:',
    ...modes.map(({ name, minutes }) => `  - { name: ${name}, dpi: [720, 720], directions: 2, minutes: ${minutes} }`),
    `patches: { count: ${levels.length}, pitch: ${PATCHES.pitchMm}, first: ${levels[0]}, last: ${levels.at(-1)} }`,
  ].join('\n')
  writeFileSync(join(root, 'plan.yaml'), plan)
  const truth: (Combination & { step: DemoStep })[] = []
  const scans: string[] = []
  for (const stock of stocks) {
    const film = {
      baseDensity: random.between(0.04, 0.1),
      ceiling: random.between(2.7, 3.6),
      thirst: random.between(2, 6),
      hold: random.between(6, 16),
      spreadUm: random.between(12, 20),
    }
    for (const mode of modes) {
      const steps = levels.map(level => demoStep(film, { ...mode, raggednessUm: 0 }, level))
      steps.forEach((step, i) => {
        truth.push({ stock, mode: mode.name, level: levels[i]!, step })
      })
      const row = ladderRow(
        scanner,
        steps,
        { ...PATCHES, turnDegrees: random.between(0.4, 2), reversed: random.uniform() < 0.5 },
        seed * 10 + scans.length,
      )
      const file = join(root, `${stock}__${mode.name}.tif`)
      await writeCodes(
        file,
        { ...row, dpi: scanner.dpi, maker: scanner.maker, model: scanner.model, dateTime: '2026-03-02T09:00:00' },
        rowBands(row),
      )
      scans.push(file)
    }
  }
  const outcome = await app.readLadder({ plan: 'plan.yaml', scans, scanner: null }, { folder: shop })
  const { result, plan: read } = outcome
  /** Least distance of the truth inside a limit, in the U that was stated; below 0 it truly fails. */
  const room = ({ stock, mode, level }: Combination): number => {
    const { step } = truth.find(t => t.stock === stock && t.mode === mode && t.level === level)!
    const readings = result.steps.find(s => s.stock === stock && s.mode === mode && s.level === level)?.readings ?? {}
    const u = (name: keyof typeof LIMITS) => readings[name]?.expanded ?? Number.NaN
    return Math.min(
      (step.baseDensity + step.netDensity - LIMITS.solidDensity) / u('solidDensity'),
      (LIMITS.riseWidth - filmRise(step)) / u('riseWidth'),
      (LIMITS.bandingAmplitude - (100 * step.banding) / Math.SQRT2) / u('bandingAmplitude'),
    )
  }
  const cost = (at: Combination) => settingCost(read, at)
  const cheapest = truth.filter(at => room(at) >= 0).sort((a, b) => compareCost(read, cost(a), cost(b)))[0]
  const { recommended } = result
  const named = (at: Combination | null | undefined) => (at == null ? 'none' : `${at.stock} ${at.mode} ${at.level}`)
  rows.push({
    seed,
    settings: truth.length,
    unread: outcome.unread.length + result.missing.length,
    'true cheapest': named(cheapest),
    recommended: named(recommended),
    same: named(cheapest) === named(recommended) ? 'yes' : 'no',
    'room of the skipped, U':
      cheapest === undefined || named(cheapest) === named(recommended) ? '' : room(cheapest).toFixed(2),
    'room of the recommended, U': recommended === null ? '' : room(recommended).toFixed(2),
  })
}
console.table(rows)
await app.close()
rmSync(root, { recursive: true, force: true })
