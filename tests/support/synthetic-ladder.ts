import { type Random, seededRandom } from '../../src/demo/random.js'
import type { JobType } from '../../src/model/job-type.js'
import type { Combination, LadderPlan, LadderReadings, LadderSample } from '../../src/model/ladder.js'
import type { LimitName, Reading, Unit } from '../../src/model/reading.js'
import { ladderPlan } from './ladder-plan.js'

/** A ladder whose truth is known, and what a scanner of known uncertainty reads of it. */
export interface SyntheticLadder {
  readonly plan: LadderPlan
  readonly jobType: JobType
  readonly truth: readonly (Combination & { readonly values: Readonly<Partial<Record<LimitName, number>>> })[]
  readonly samples: readonly LadderSample[]
  /** Of each stock and mode: the level at which 95 % of the darkening is reached. */
  readonly knees: ReadonlyMap<string, number>
}

const UNITS: Readonly<Partial<Record<LimitName, Unit>>> = {
  solidDensity: 'D',
  baseDensity: 'D',
  riseWidth: 'um',
  raggedness: 'um',
  bandingAmplitude: '%',
  lineGain: 'um',
  inkSpread: 'um',
  scratchCount: 'count',
}

export const LADDER_JOB: JobType = {
  name: 'fine-line',
  description: '',
  limits: {
    solidDensity: { min: 3.0 },
    baseDensity: { max: 0.15 },
    riseWidth: { max: 60 },
    raggedness: { max: 15 },
    bandingAmplitude: { max: 2 },
    lineGain: { max: 40 },
  },
  rule: 'guarded',
  rescanEveryDays: null,
  printed: {},
}

export function readingOf(name: LimitName, value: number, expanded: number, change: Partial<Reading> = {}): Reading {
  return {
    value,
    unit: UNITS[name]!,
    expanded,
    bound: null,
    n: 6,
    parts: [],
    budget: [],
    method: `${name}@1`,
    ...change,
  }
}

/**
 * A random ladder: 1 to 3 stocks of unlike coatings, 2 to 4 modes, 5 to 10 levels. Density rises with ink to saturation (a better
 * coating reaches black at fewer steps; a finer mode lays more), banding falls with ink and with slower modes, edges soften and strokes
 * thicken with ink beyond what the coating holds, one-direction printing is less ragged. Common practice, no source.
 * Every reading is off by a normal error of half its stated U.
 * @param repeats prints of each setting; each scatters by itself as well
 */
export function syntheticLadder(seed: number, repeats = 1): SyntheticLadder {
  const random = seededRandom(seed)
  const stocks = ['stock-a', 'stock-b', 'stock-c'].slice(0, 1 + Math.floor(random.uniform() * 3))
  const modes = ['draft', 'fast', 'fine', 'best'].slice(0, 2 + Math.floor(random.uniform() * 3)).map((name, i) => ({
    name,
    dpi: { across: 720 * (i > 1 ? 2 : 1), along: 720 },
    directions: (random.uniform() < 0.5 ? 1 : 2) as 1 | 2,
    minutes: Number((1 + 1.5 * i + random.uniform()).toFixed(2)),
  }))
  const step = random.pick([1, 2])
  const levels = Array.from({ length: 5 + Math.floor(random.uniform() * 6) }, (_, i) => 2 + i * step)
  const plan = ladderPlan({ stocks, modes, levels, repeats, weigh: random.pick([null, { minutes: 1, ink: 2 }]) })
  const truth: (Combination & { values: Partial<Record<LimitName, number>> })[] = []
  const samples: LadderSample[] = []
  const knees = new Map<string, number>()
  for (const stock of stocks) {
    const film = {
      base: random.between(0.04, 0.12),
      ceiling: random.between(2.7, 4.3),
      thirst: random.between(1.5, 6),
      hold: random.between(6, 16),
      rise: random.between(25, 45),
    }
    modes.forEach((mode, m) => {
      const scale = film.thirst * (1 - 0.12 * m)
      knees.set(`${stock}__${mode.name}`, -scale * Math.log(0.05))
      for (const level of levels) {
        const over = Math.max(0, level - film.hold)
        const values = {
          solidDensity: film.base + (film.ceiling - film.base) * (1 - Math.exp(-level / scale)),
          baseDensity: film.base,
          riseWidth: film.rise + 0.8 * level + 3 * over,
          raggedness: (mode.directions === 1 ? 6 : 9) + 0.4 * over,
          bandingAmplitude: 0.4 + (6 * Math.exp(-level / 4)) / (m + 1),
          lineGain: 8 + 0.6 * level + 2.5 * over,
        }
        truth.push({ stock, mode: mode.name, level, values })
        for (let print = 1; print <= repeats; print++)
          samples.push({
            stock,
            mode: mode.name,
            level,
            file: `${stock}__${mode.name}__${level}__${print}.tif`,
            scannedAt: '2026-03-02T09:00:00',
            readings: measured(values, repeats > 1 ? 0.5 : 0, random),
            notMeasured: [],
            response: 'calibrated',
            doubts: [],
            crop: null,
          })
      }
    })
  }
  return { plan, jobType: LADDER_JOB, truth, samples, knees }
}

/** Standard uncertainty of each reading: as the tool's own budgets come out on a calibrated flatbed. */
const STANDARD: Readonly<Record<string, (value: number) => number>> = {
  solidDensity: value => 0.008 + 0.01 * Math.max(0, value - 2),
  baseDensity: () => 0.004,
  riseWidth: value => 0.5 + 0.015 * value,
  raggedness: () => 0.4,
  bandingAmplitude: value => 0.05 + 0.04 * value,
  lineGain: () => 1.2,
}

function measured(values: Readonly<Record<string, number>>, scatter: number, random: Random): LadderReadings {
  return Object.fromEntries(
    Object.entries(values).map(([name, value]) => {
      const standard = STANDARD[name]!(value)
      const seen = value + standard * random.normal() + scatter * standard * random.normal()
      return [name, readingOf(name as LimitName, seen, 2 * standard)]
    }),
  )
}
