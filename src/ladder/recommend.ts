import type { JobType } from '../model/job-type.js'
import type {
  Combination,
  LadderAnswer,
  LadderChoice,
  LadderKnee,
  LadderLine,
  LadderPlan,
  LadderRefusal,
  LadderResult,
  LadderStep,
} from '../model/ladder.js'
import { closestSetting } from './closest-setting.js'
import { growthBeyond } from './growth-beyond.js'
import { lookNext } from './look-next.js'
import { saturationKnee } from './saturation-knee.js'
import { compareCost, settingCost } from './setting-cost.js'
import { settingMargins } from './setting-margin.js'

/** Savings are told over so many films: what a shop prints in a week or a month. */
const FILMS = 100
/** Room that is worth its cost: one standard uncertainty more, half of U. Less is told from none only by luck. */
const WORTHWHILE = 0.5

/**
 * The answer of an ink ladder: the cheapest setting that passes with its uncertainty, the next safer one, the one reason why each
 * cheaper one was not taken, what it saves; for all stocks together and for each. Only settings that were printed and read are ever
 * recommended. The verdicts come with the steps: nothing is judged here.
 * @param steps one for each combination read, its repeats averaged and judged
 * @param limits of the job type they were judged by
 */
export function recommend(plan: LadderPlan, steps: readonly LadderStep[], limits: JobType['limits']): LadderResult {
  const lines = linesOf(plan, steps)
  const kneeOf = (stock: string, mode: string): LadderKnee =>
    lines.find(line => line.stock === stock && line.mode === mode)?.knee ?? {
      kind: 'untold',
      why: 'nothing was read of it',
    }
  const answer = (some: readonly LadderStep[]) => answerOf(plan, some, limits, kneeOf)
  const perStock = Object.fromEntries(plan.stocks.map(stock => [stock, answer(steps.filter(s => s.stock === stock))]))
  const all = answer(steps)
  return {
    ...all,
    steps: steps.map(step => ({ ...step, ...settingCost(plan, step) })),
    perStock,
    bestStock: all.recommended?.stock ?? null,
    lines,
    missing: missingOf(plan, steps),
    limits,
  }
}

function answerOf(
  plan: LadderPlan,
  steps: readonly LadderStep[],
  limits: JobType['limits'],
  kneeOf: (stock: string, mode: string) => LadderKnee,
): LadderAnswer {
  const byCost = (a: Combination, b: Combination) => compareCost(plan, settingCost(plan, a), settingCost(plan, b))
  const passing = steps
    .filter(step => step.verdict === 'pass')
    .map(step => choiceOf(plan, step, limits))
    // Of equal cost the one with more room.
    .sort((a, b) => byCost(a, b) || roomOf(b) - roomOf(a))
  const [recommended] = passing
  if (recommended === undefined)
    return {
      recommended: null,
      safer: null,
      cheaper: [],
      saves: null,
      closest: steps.length === 0 ? null : closestSetting(plan, steps, limits, kneeOf),
      lookNext: null,
    }
  const dearest = passing.at(-1)!
  const line = steps.filter(step => step.stock === recommended.stock && step.mode === recommended.mode)
  return {
    recommended,
    safer: passing.find(c => c.stock === recommended.stock && roomOf(c) > roomOf(recommended) + WORTHWHILE) ?? null,
    cheaper: steps
      .filter(step => step.verdict !== 'pass' && byCost(step, recommended) < 0)
      .map(step => refusalOf(plan, step))
      .sort(byCost),
    saves:
      byCost(dearest, recommended) > 0
        ? {
            against: { stock: dearest.stock, mode: dearest.mode, level: dearest.level },
            minutes: FILMS * (dearest.minutes - recommended.minutes),
            ink: FILMS * (dearest.ink - recommended.ink),
          }
        : null,
    closest: null,
    lookNext: lookNext(line, recommended.level, limits),
  }
}

/** Settings whose every limit is held by bounds have room nobody knows: no less than any other. */
function roomOf({ margin }: LadderChoice): number {
  return margin ?? Number.POSITIVE_INFINITY
}

function choiceOf(plan: LadderPlan, step: LadderStep, limits: JobType['limits']): LadderChoice {
  const tightest = settingMargins(step.readings, limits)[0] ?? null
  const { stock, mode, level } = step
  return {
    stock,
    mode,
    level,
    ...settingCost(plan, step),
    margin: tightest?.margin ?? null,
    tightest: tightest?.reading ?? null,
  }
}

function refusalOf(plan: LadderPlan, step: LadderStep): LadderRefusal {
  const { stock, mode, level } = step
  const finding = step.findings.find(f => f.verdict !== 'pass')
  return {
    stock,
    mode,
    level,
    ...settingCost(plan, step),
    verdict: step.verdict === 'fail' ? 'fail' : 'recheck',
    reading: finding?.reading ?? 'scan',
    why: finding?.why ?? step.why,
  }
}

function linesOf(plan: LadderPlan, steps: readonly LadderStep[]): readonly LadderLine[] {
  return plan.stocks.flatMap(stock =>
    plan.modes.flatMap(({ name: mode }) => {
      const line = steps.filter(step => step.stock === stock && step.mode === mode)
      return line.length === 0 ? [] : [{ stock, mode, knee: kneeOfLine(line) }]
    }),
  )
}

function kneeOfLine(line: readonly LadderStep[]): LadderKnee {
  const read = line.flatMap(({ level, readings: { solidDensity } }) =>
    solidDensity === undefined ? [] : [{ level, reading: solidDensity }],
  )
  const exact = read.filter(({ reading }) => reading.bound === null && reading.expanded > 0)
  const bases = line.flatMap(({ readings: { baseDensity } }) =>
    baseDensity === undefined || baseDensity.bound !== null ? [] : [baseDensity.value],
  )
  const clear = bases.length === 0 ? null : bases.reduce((sum, value) => sum + value, 0) / bases.length
  const knee = saturationKnee(
    exact.map(({ level, reading }) => ({ level, density: reading.value, standard: reading.expanded / 2 })),
    clear,
  )
  if (knee.kind !== 'found') {
    const deep = read.length - exact.length
    return deep > 0 && knee.kind === 'untold'
      ? { ...knee, why: `${knee.why}; ${deep} levels are blacker than the scanner tells` }
      : knee
  }
  return { ...knee, grows: growthBeyond(line, knee.level) }
}

function missingOf(plan: LadderPlan, steps: readonly LadderStep[]): readonly Combination[] {
  const read = new Set(steps.map(keyOf))
  return plan.stocks.flatMap(stock =>
    plan.modes.flatMap(({ name: mode }) =>
      plan.levels.flatMap(level => {
        const one = { stock, mode, level }
        return read.has(keyOf(one)) ? [] : [one]
      }),
    ),
  )
}

function keyOf({ stock, mode, level }: Combination): string {
  return `${stock}__${mode}__${level}`
}
