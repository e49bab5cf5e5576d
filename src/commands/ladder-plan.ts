import type { App } from '../app.js'
import type { LadderPlan, LadderPrint } from '../model/ladder.js'
import { EXIT } from './exit-code.js'
import { tableLines } from './print-table.js'

/** `burngate ladder plan PLAN`: is the plan right, how many prints and sheets, in what order. 0: it is; 64: it is not. */
export async function ladderPlanCommand(
  file: string,
  options: { readonly workspace?: string; readonly json?: boolean },
  app: App,
): Promise<number> {
  const { terminal } = app
  const { plan, prints, cost } = await app.planLadder(file, app.workspaceFolder(options.workspace))
  const combinations = plan.stocks.length * plan.modes.length * plan.levels.length
  if (options.json === true)
    terminal.out(JSON.stringify({ schema: 'burngate/ladder-plan@1', name: plan.name, combinations, cost, prints }))
  else {
    terminal.say(`The plan ${plan.name} is right: ${counted(plan)}, to satisfy ${plan.jobType}.`)
    terminal.say(
      `  ${combinations} combinations${plan.repeats > 1 ? ` x ${plan.repeats} repeats` : ''}: ${prints.length} prints on ${prints.length} sheets of film.`,
    )
    const ink =
      plan.inkPerLevel === null && plan.modes.some(m => m.inkPerLevel === undefined)
        ? ''
        : ` and up to ${rounded(cost.ink)} ml of ink`
    terminal.say(`  About ${rounded(cost.minutes)} minutes of printing${ink}, were every page full.`)
    terminal.say('')
    terminal.say('In this order the least is changed from sheet to sheet:')
    for (const line of tableLines(
      [['print', 'stock', 'mode', 'level', 'change'], ...prints.map(print => row(print, plan))],
      100,
    ))
      terminal.say(`  ${line}`)
  }
  return EXIT.pass
}

function counted({ stocks, modes, levels }: LadderPlan): string {
  const many = (n: number, one: string) => `${n} ${one}${n === 1 ? '' : 's'}`
  return `${many(stocks.length, 'film stock')}, ${many(modes.length, 'mode')}, ${many(levels.length, 'level')}`
}

function row({ number, stock, mode, levels, change }: LadderPrint, { levelUnit }: LadderPlan): string[] {
  const unit = levelUnit === '' ? '' : ' %'
  const distinct = [...new Set(levels)]
  const shown =
    distinct.length === 1
      ? `${distinct[0]}${unit}${levels.length > 1 ? ` (${levels.length} strips)` : ''}`
      : `${distinct[0]} to ${distinct.at(-1)}${unit} (${levels.length} strips)`
  return [String(number), stock, mode, shown, number === 1 ? 'load and set all' : change.join(' and ') || 'nothing']
}

function rounded(value: number): string {
  return value >= 10 ? value.toFixed(0) : String(Number(value.toPrecision(2)))
}
