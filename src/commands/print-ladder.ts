import type { LadderPlan, LadderResult, StockAge } from '../model/ladder.js'
import { tableLines } from './print-table.js'
import { plain } from './say-problem.js'

/** What a person reads of a ladder: the setting, the next safer one, what it saves, the other stocks, and why each cheaper one was not taken. */
export function ladderLines({
  plan,
  result,
  ages,
}: {
  readonly plan: LadderPlan
  readonly result: LadderResult
  readonly ages: readonly StockAge[]
}): string[] {
  const { recommended, safer, saves, cheaper, closest, lookNext, perStock } = result
  const unit = plan.levelUnit === '' ? '' : ' %'
  const named = ({ stock, mode, level }: { stock: string; mode: string; level: number }) =>
    `${stock}, ${mode}, level ${level}${unit}`
  const amount = (value: number) => String(Number(value.toPrecision(3)))
  if (recommended === null)
    return [
      `NOTHING PASSES  ${plan.name}  (${plan.jobType})`,
      ...(closest === null
        ? []
        : [`  Closest is ${named(closest)}: ${plain(closest.why)}`, `  To do: ${plain(closest.advice)}`]),
      ...ages.map(ageLine),
    ]
  const rows = cheaper.slice(0, MOST_ROWS).map(c => [named(c), c.verdict, plain(c.why)])
  return [
    `PRINT AT  ${named(recommended)}  (${plan.jobType})`,
    ...(safer === null ? [] : [`  Next safer: ${named(safer)}`]),
    ...(saves === null
      ? []
      : [
          `  Saves ${amount(saves.minutes)} minutes and ${amount(saves.ink)} ${plan.inkPerLevel === null ? 'ink levels' : 'ml of ink'} on a hundred films, against ${named(saves.against)}`,
        ]),
    ...Object.entries(perStock)
      .filter(([stock]) => stock !== recommended.stock)
      .map(
        ([stock, { recommended: own, closest: near }]) =>
          `  On ${stock}: ${own === null ? (near === null ? 'nothing was read' : 'nothing passes') : `${own.mode}, level ${own.level}${unit}`}`,
      ),
    ...ages.map(ageLine),
    ...(lookNext === null ? [] : [`  Look next: ${plain(lookNext.why)}`]),
    ...(rows.length === 0
      ? []
      : ['', ...tableLines([['cheaper', 'verdict', 'why not'], ...rows], 110).map(line => `  ${line}`)]),
    ...(cheaper.length > MOST_ROWS ? [`  and ${cheaper.length - MOST_ROWS} more, on the page`] : []),
    '',
  ]
}

/** The page has all of them. */
const MOST_ROWS = 12

function ageLine({ stock, days, growth: { edgeGrowth }, limit, verdict }: StockAge): string {
  const grown =
    edgeGrowth === undefined
      ? 'edge growth not told'
      : `edges grew by ${edgeGrowth.value.toFixed(1)} ± ${edgeGrowth.expanded.toFixed(1)} um`
  const word = { bleeds: 'BLEEDS, ', holds: 'holds, ', unsure: 'not sure, ', notAsked: '' }[verdict]
  return `  After ${days} days ${stock}: ${word}${grown}${limit === null ? '' : ` (at most ${limit} allowed)`}`
}
