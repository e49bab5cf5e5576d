import type { Picture } from '../model/measured.js'
import type { StockWear, WearPair } from '../model/wear.js'
import { formatTime } from './format-time.js'
import { prose } from './prose.js'
import { renderTemplate, safe } from './render-template.js'

export interface WearPageInput {
  /** One or more. */
  readonly pairs: readonly WearPair[]
  /** Least wear first. */
  readonly stocks: readonly StockWear[]
  readonly untold: readonly { readonly what: string; readonly next: string }[]
  readonly shop: string
  /** ISO 8601: when it was worked out. */
  readonly at: string
  /** `burngate x.y.z` */
  readonly software: string
}

/** The page of rub tests: ink and density lost by film stock, every test with its worst place before and after. */
export function wearPage({ pairs, stocks, untold, shop, at, software }: WearPageInput): string {
  const most = Math.max(...stocks.map(stock => stock.upper), 1e-6)
  return renderTemplate('wear', {
    title: 'Wear: ink lost in rub tests',
    shop,
    written: formatTime(at),
    count: pairs.length === 1 ? '1 rub test' : `${pairs.length} rub tests`,
    verdict: sayStocks(stocks),
    stocks: stocks.map(({ stock, pairs: count, sharePercent, lower, upper, scratches }) => ({
      stock: stock ?? 'not told',
      count,
      share: `${amount(sharePercent)} %`,
      interval: `${amount(lower)} to ${amount(upper)} %`,
      basis:
        count === 1 ? 'one test alone: its own uncertainty, nothing of the next' : `95 % interval of ${count} tests`,
      scratches,
      bar: safe(`left:${share(lower, most)}%;width:${Math.max(0.5, share(upper, most) - share(lower, most))}%`),
      mark: safe(`left:${share(sharePercent, most)}%`),
    })),
    most: amount(most),
    tests: pairs.map(({ before, after, stock, inkLost, densityLoss, crops }) => ({
      name: after,
      before,
      stock: stock ?? 'not told',
      area: `${plusMinus(inkLost.areaMm2, inkLost.expandedMm2)} mm²`,
      share: `${plusMinus(inkLost.sharePercent, inkLost.expandedPercent)} % of ${amount(inkLost.solidMm2)} mm² of solid`,
      density:
        densityLoss === null
          ? 'not told'
          : `${densityLoss.bound === null ? '' : densityLoss.bound === 'atLeast' ? 'at least ' : 'at most '}${densityLoss.value.toFixed(2).replace('-0.00', '0.00')} ± ${densityLoss.expanded.toFixed(2)} D`,
      places: `${inkLost.places}, the largest ${amount(inkLost.largestMm2)} mm²; ${inkLost.scratches} long and thin`,
      crops:
        crops === null
          ? null
          : {
              before: pictureView(crops.before),
              after: pictureView(crops.after),
              width: `${crops.widthMm.toFixed(1)}\u00a0mm wide`,
              what: inkLost.places === 0 ? 'One stroke: nothing came off' : 'The place that lost most',
            },
    })),
    untold: untold.map(({ what, next }) => ({ what: prose(what), next: prose(next) })),
    software,
  })
}

/** One sentence: which stock holds its ink best, where intervals tell. */
function sayStocks(stocks: readonly StockWear[]): string {
  const [best, second] = stocks
  if (best === undefined) return ''
  const name = best.stock ?? 'The film'
  if (second === undefined)
    return `${name} lost ${amount(best.sharePercent)} % of the ink of its solids (${amount(best.lower)} to ${amount(best.upper)} %).`
  if (best.pairs > 1 && second.pairs > 1 && best.upper < second.lower)
    return `${name} holds its ink best: its interval lies below all others.`
  return `${name} lost least, but the intervals do not tell the stocks apart${stocks.some(stock => stock.pairs === 1) ? ': rub several prints of each' : ''}.`
}

function share(value: number, most: number): number {
  return Number(((100 * value) / most).toFixed(1))
}

function pictureView(picture: Picture) {
  return { source: safe(`data:image/png;base64,${picture.pngBase64}`), width: picture.width, height: picture.height }
}

function amount(value: number): string {
  return String(Number(value.toPrecision(2)))
}

/** Both to the second digit of the uncertainty. */
function plusMinus(value: number, expanded: number): string {
  const decimals = expanded > 0 ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(expanded)))) : 2
  return `${value.toFixed(decimals)} ± ${expanded.toFixed(decimals)}`
}
