import type { App } from '../app.js'
import { EXIT } from './exit-code.js'
import { tableLines } from './print-table.js'
import { plain } from './say-problem.js'

export interface WearOptions {
  readonly workspace?: string
  readonly stock?: string
  readonly scanner?: string
  readonly out?: string
  readonly json?: boolean
}

/** `burngate wear BEFORE AFTER ...`: ink lost in rub tests, by film stock. 0: all told; 3: a pair could not be. */
export async function wearCommand(scans: readonly string[], options: WearOptions, app: App): Promise<number> {
  const { terminal } = app
  const { pairs, stocks, untold, page } = await app.measureWear(
    { scans, stock: options.stock ?? null, scanner: options.scanner ?? null },
    {
      folder: app.workspaceFolder(options.workspace),
      ...(options.out === undefined ? {} : { out: options.out }),
    },
  )
  if (options.json === true)
    terminal.out(
      JSON.stringify({
        schema: 'burngate/wear@1',
        pairs: pairs.map(({ crops: _, ...pair }) => pair),
        stocks,
        untold: untold.map(({ problem, ...rest }) => ({ ...rest, ...problem })),
      }),
    )
  if (pairs.length > 0) {
    const rows = pairs.map(({ after, stock, inkLost, densityLoss }) => [
      plain(after),
      stock === null ? '-' : plain(stock),
      `${plusMinus(inkLost.areaMm2, inkLost.expandedMm2)} mm2`,
      `${plusMinus(inkLost.sharePercent, inkLost.expandedPercent)} %`,
      densityLoss === null
        ? 'not told'
        : `${densityLoss.value.toFixed(2).replace('-0.00', '0.00')} ± ${densityLoss.expanded.toFixed(2)} D`,
      `${inkLost.places}, ${inkLost.scratches} long`,
    ])
    for (const line of tableLines([
      ['rubbed', 'stock', 'ink lost', 'of the solids', 'density lost', 'places'],
      ...rows,
    ]))
      terminal.say(line)
    terminal.say('')
    for (const { stock, pairs: count, sharePercent, lower, upper } of stocks)
      terminal.say(
        `${stock === null ? 'All' : plain(stock)}: ${amount(sharePercent)} % of the ink lost (95 % interval ${amount(lower)} to ${amount(upper)} %, ${count} ${count === 1 ? 'test: its own uncertainty alone' : 'tests'})`,
      )
  }
  for (const { problem } of untold) terminal.say(`Not told: ${plain(problem.what)}. To do: ${plain(problem.next)}`)
  if (page !== null) terminal.say(`Page: ${page}`)
  return untold.length > 0 ? EXIT.notInspected : EXIT.pass
}

function amount(value: number): string {
  return String(Number(value.toPrecision(2)))
}

/** Both to the second digit of the uncertainty. */
function plusMinus(value: number, expanded: number): string {
  const decimals = expanded > 0 ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(expanded)))) : 2
  return `${value.toFixed(decimals)} ± ${expanded.toFixed(decimals)}`
}
