import * as z from 'zod'
import type { LadderMode, LadderPlan } from '../model/ladder.js'
import { NAME_RULE, namePattern } from './name-rule.js'
import { readYaml } from './yaml-document.js'

const name = z.string().regex(namePattern, { error: NAME_RULE })
const dpi = z.number().min(50).max(19_200)
const ink = z.number().min(0.0001).max(1000)
/** A level is the driver's own number, or percent as text. */
const level = z
  .union([
    z.number().min(0).max(1_000_000),
    z
      .string()
      .regex(/^[0-9]+([.][0-9]+)? ?%$/, { error: 'it must be a number, or percent as in "40 %"' })
      .meta({ examples: ['40 %'] }),
  ])
  .meta({ examples: ['8', '40 %'] })

const mode = z.strictObject({
  name: name.describe('What the shop calls it; it stands in file names.'),
  dpi: z
    .tuple([dpi, dpi])
    .describe('Resolution across the head and along the feed.')
    .meta({ examples: ['[720, 1440]'] }),
  directions: z
    .literal([1, 2])
    .describe('1: prints one way; 2: both ways.')
    .meta({ examples: ['1', '2'] }),
  minutes: z.number().min(0.01).max(1000).describe('Minutes a page, or any measure that goes with time.'),
  inkPerLevel: ink.exactOptional().describe('Ink of a page and level in this mode, ml; without it as below.'),
})

/** The plan of an ink ladder: the only place where its ranges stand. */
export const ladderPlanSchema = z
  .strictObject({
    name: name.describe('What the ladder is called; it stands in file names.'),
    jobType: name.describe('The job type that a setting must satisfy.'),
    stocks: z
      .array(name)
      .min(1)
      .max(20)
      .describe('The film stocks.')
      .meta({ examples: ['[stock-a, stock-b]'] }),
    modes: z.array(mode).min(1).max(20).describe('The print modes.'),
    levels: z
      .array(level)
      .min(1)
      .max(50)
      .exactOptional()
      .describe("The driver's ink levels, from little ink to much: its own numbers, or percent.")
      .meta({ examples: ['[4, 6, 8, 10]', '["40 %", "60 %"]'] }),
    inkPerLevel: ink.exactOptional().describe('Ink of a page and level, ml; without it ink is counted in levels.'),
    weigh: z
      .strictObject({
        minutes: z.number().min(0).max(1000).describe('Worth of a minute.'),
        ink: z.number().min(0).max(1000).describe('Worth of a millilitre, or of a level.'),
      })
      .exactOptional()
      .describe('What cheap means; without it time comes first and ink breaks ties.'),
    repeats: z.number().int().min(1).max(20).default(1).describe('Prints of each combination.'),
    paper: z
      .strictObject({
        width: z.number().min(50).max(2000).describe('Width of the sheet across the head, mm.'),
        height: z.number().min(50).max(5000).describe('Length of the sheet along the feed, mm.'),
      })
      .default({ width: 210, height: 297 })
      .describe('The sheet of film the printer takes, mm.'),
    ramp: z.boolean().default(false).describe('The driver can set several levels on one sheet.'),
    patches: z
      .strictObject({
        count: z.number().int().min(2).max(50).describe('How many patches.'),
        pitch: z.number().min(4).max(200).describe('From the middle of one patch to the next, mm.'),
        first: z.number().min(0).max(1_000_000).describe('Level of the lightest patch.'),
        last: z.number().min(0).max(1_000_000).describe('Level of the darkest patch.'),
      })
      .exactOptional()
      .describe('A row or column of plain patches printed by other means, in place of `levels`.'),
  })
  .superRefine((plan, context) => {
    const refuse = (path: (string | number)[], message: string) => context.addIssue({ code: 'custom', path, message })
    const twice = (list: readonly (string | number)[], path: (i: number) => (string | number)[]) => {
      list.forEach((value, i) => {
        const before = list.findIndex(other => String(other).toLowerCase() === String(value).toLowerCase())
        if (before < i) refuse(path(i), `it is named twice, as number ${before + 1} and ${i + 1}; leave one out`)
      })
    }
    twice(plan.stocks, i => ['stocks', i])
    twice(
      plan.modes.map(m => m.name),
      i => ['modes', i, 'name'],
    )
    if (plan.patches !== undefined) {
      if (plan.levels !== undefined) refuse(['levels'], 'a plan has levels or patches, not both')
      if (!(plan.patches.last > plan.patches.first))
        refuse(['patches', 'last'], `it must be above first (${plan.patches.first})`)
    } else if (plan.levels === undefined) refuse(['levels'], 'name at least one ink level, or describe patches')
    else {
      const values = plan.levels.map(levelValue)
      twice(values, i => ['levels', i])
      const falls = values.findIndex((value, i) => i > 0 && value < values[i - 1]!)
      if (falls > 0)
        refuse(
          ['levels', falls],
          `levels go from little ink to much, and it is below the one before (${values[falls - 1]})`,
        )
      const percent = plan.levels.map(one => typeof one === 'string')
      const other = percent.findIndex(is => is !== percent[0])
      if (other > 0) refuse(['levels', other], 'all levels must be numbers, or all percent')
    }
    if (plan.weigh !== undefined && !(plan.weigh.minutes + plan.weigh.ink > 0))
      refuse(['weigh'], 'minutes or ink must be worth more than 0')
    if (plan.modes.some(m => m.inkPerLevel !== undefined) && plan.inkPerLevel === undefined) {
      const without = plan.modes.findIndex(m => m.inkPerLevel === undefined)
      if (without >= 0)
        refuse(['modes', without], 'give every mode its inkPerLevel, or give one inkPerLevel for those without')
    }
  })

/**
 * The plan of an ink ladder, checked and frozen.
 * @param file name used in messages
 * @throws ProblemError LADDER_PLAN_INVALID naming every fault with its line, key, value and rule
 */
export function parseLadderPlan(text: string, file: string): LadderPlan {
  const plan = readYaml(text, file, ladderPlanSchema, {
    problem: 'LADDER_PLAN_INVALID',
    textKeys: ['name', 'jobType'],
    blankIsAbsent: true,
  })
  const { patches } = plan
  const levels =
    patches === undefined
      ? plan.levels!.map(levelValue)
      : Array.from({ length: patches.count }, (_, i) =>
          Number((patches.first + ((patches.last - patches.first) * i) / (patches.count - 1)).toPrecision(6)),
        )
  return Object.freeze({
    name: plan.name,
    jobType: plan.jobType,
    stocks: plan.stocks,
    modes: plan.modes.map(({ dpi: [across, along], ...rest }): LadderMode => ({ ...rest, dpi: { across, along } })),
    levels,
    levelUnit: typeof plan.levels?.[0] === 'string' ? '%' : '',
    inkPerLevel: plan.inkPerLevel ?? null,
    weigh: plan.weigh ?? null,
    repeats: plan.repeats,
    paper: { widthMm: plan.paper.width, heightMm: plan.paper.height },
    ramp: plan.ramp,
    patches: patches === undefined ? null : { count: patches.count, pitchMm: patches.pitch },
  })
}

function levelValue(one: number | string): number {
  return typeof one === 'number' ? one : Number.parseFloat(one)
}
