import { join } from 'node:path'
import { SHEET_RIM_MM } from '../ladder/sheet-places.js'
import { MM_PER_INCH } from '../model/geometry.js'
import type { LadderMode, LadderPlan, LadderPrint } from '../model/ladder.js'
import { ProblemError } from '../model/problem.js'
import type { StripIdentity } from '../model/strip.js'
import { composeSheet, wordsWidth } from '../strip/compose-sheet.js'
import { drawStrip, type StripDrawing, USUAL_SCREEN } from '../strip/draw-strip.js'
import { printFile } from '../strip/print-file.js'
import { dpiOf } from '../strip/strip-code.js'
import { ladderSheet, type PlannedLadder, SHEET_HEAD_MM } from './plan-ladder.js'
import { writeWhole } from './write-whole.js'

export interface LadderSheetTask {
  readonly out: string
  /** One file a combination, the strip alone, in place of sheets. */
  readonly each: boolean
  readonly shop: string
  readonly software: string
}

export interface WrittenSheets {
  readonly files: readonly string[]
  /** The page to tick off; null with `each`. */
  readonly checklist: string | null
}

/** Height of a capital of the instruction line, mm, where there is room for it. */
const LETTER_MM = 3

/**
 * Draws the sheets of a ladder: on each the strips of its print, which say what they are, and a line that says what to print it at.
 * A sheet is as long as what stands on it. Or each combination's strip alone.
 * @throws ProblemError LADDER_PLAN_INVALID for a plan of patches, STRIP_DPI_INVALID, FILE_NOT_WRITABLE
 */
export async function writeLadderSheets(planned: PlannedLadder, task: LadderSheetTask): Promise<WrittenSheets> {
  const { plan, prints, jobType } = planned
  if (plan.patches !== null)
    throw new ProblemError(
      'LADDER_PLAN_INVALID',
      `${plan.name} describes patches that are printed by other means; name levels in their place to have sheets drawn`,
    )
  const screen = {
    ruling: jobType.printed.ruling ?? USUAL_SCREEN.ruling,
    angle: jobType.printed.angle ?? USUAL_SCREEN.angle,
  }
  const { turned, places } = ladderSheet(plan)
  const drawn = (stock: string, mode: LadderMode, level: number): StripDrawing => {
    const { across, along } = mode.dpi
    const dpi = dpiOf(`${across}x${along}`)
    if (dpi === null) throw new ProblemError('STRIP_DPI_INVALID', `mode ${mode.name}, ${across} x ${along}`)
    const identity: StripIdentity = {
      positive: plan.name,
      jobType: plan.jobType,
      dpi,
      form: 'ladder',
      laid: turned ? 'feed' : 'head',
      tints: 'screened',
      stock,
      mode: mode.name,
      level: levelWord(plan, level),
    }
    return drawStrip(identity, screen)
  }
  const modeOf = (name: string) => plan.modes.find(mode => mode.name === name)!
  const files: string[] = []
  const write = async (name: string, bitmap: StripDrawing['bitmap'], greys: StripDrawing['greys'], title: string) => {
    const file = join(task.out, `${name}.png`)
    await writeWhole(file, await printFile({ bitmap, greys, title }, 'png'))
    files.push(file)
  }
  if (task.each) {
    for (const stock of plan.stocks)
      for (const mode of plan.modes)
        for (const level of plan.levels) {
          const { bitmap, greys } = drawn(stock, mode, level)
          await write(`${stock}__${mode.name}__${level}`, bitmap, greys, instruction(plan, stock, mode.name, [level]))
        }
    return { files, checklist: null }
  }
  for (const print of prints) {
    const mode = modeOf(print.mode)
    const strips = print.levels.map((level, i) => ({ drawing: drawn(print.stock, mode, level), ...places[i]! }))
    const words = `Print ${print.number} of ${prints.length}: ${instruction(plan, print.stock, print.mode, print.levels)}`
    const room = plan.paper.widthMm - 2 * SHEET_RIM_MM
    const letterMm = Math.min(LETTER_MM, (LETTER_MM * room) / wordsWidth(words, LETTER_MM))
    const used = Math.max(
      ...strips.map(({ drawing: { bitmap }, v }) => v + (bitmap.height / bitmap.dpi.along) * MM_PER_INCH),
    )
    const { bitmap, greys } = composeSheet({
      widthMm: plan.paper.widthMm,
      heightMm: Math.min(plan.paper.heightMm, used + SHEET_RIM_MM),
      dpi: strips[0]!.drawing.bitmap.dpi,
      strips,
      words: [{ words, u: SHEET_RIM_MM, v: SHEET_RIM_MM + (SHEET_HEAD_MM - 2 * LETTER_MM) / 2, letterMm }],
    })
    await write(sheetName(plan, print, prints.length), bitmap, greys, words)
  }
  const { ladderChecklist } = await import('../report/ladder-checklist.js')
  const checklist = join(task.out, 'checklist.html')
  await writeWhole(
    checklist,
    ladderChecklist({
      plan,
      prints: prints.map(print => ({ ...print, file: `${sheetName(plan, print, prints.length)}.png` })),
      shop: task.shop,
      software: task.software,
    }),
  )
  return { files, checklist }
}

/** `03__stock-a__fast__8`; of a ramp `03__stock-a__fast`. */
function sheetName(plan: LadderPlan, { number, stock, mode, levels }: LadderPrint, count: number): string {
  const first = String(number).padStart(String(count).length, '0')
  return [first, stock, mode, ...(plan.ramp ? [] : [String(levels[0])])].join('__')
}

function instruction(plan: LadderPlan, stock: string, mode: string, levels: readonly number[]): string {
  const distinct = [...new Set(levels)]
  const level =
    distinct.length === 1
      ? `level ${levelWord(plan, distinct[0]!)}`
      : `levels ${levelWord(plan, distinct[0]!)} to ${levelWord(plan, distinct.at(-1)!)}, each strip at its own`
  return `on ${stock}, at mode ${mode}, ${level}`
}

function levelWord(plan: LadderPlan, level: number): string {
  return `${level}${plan.levelUnit}`
}
