import { studentT95 } from '../imaging/student-t.js'
import type { StockWear, WearPair } from '../model/wear.js'

/**
 * Wear by stock: mean share of ink lost over its pairs, with its 95 % interval: what each pair is unsure of and how pairs scatter
 * (Student's t), never below 0. One pair has its own U alone: it tells nothing of the next rub. Least wear first.
 */
export function stockWear(pairs: readonly WearPair[]): readonly StockWear[] {
  const stocks = [...new Set(pairs.map(pair => pair.stock))]
  return stocks
    .map(stock => {
      const own = pairs.filter(pair => pair.stock === stock)
      const n = own.length
      const mean = own.reduce((sum, { inkLost }) => sum + inkLost.sharePercent, 0) / n
      const known = Math.sqrt(own.reduce((sum, { inkLost }) => sum + inkLost.expandedPercent ** 2, 0)) / n
      const squares = own.reduce((sum, { inkLost }) => sum + (inkLost.sharePercent - mean) ** 2, 0)
      const scatter = n > 1 ? studentT95(n - 1) * Math.sqrt(squares / (n - 1) / n) : 0
      const half = Math.max(known, scatter)
      return {
        stock,
        pairs: n,
        sharePercent: mean,
        lower: Math.max(0, mean - half),
        upper: mean + half,
        scratches: own.reduce((sum, { inkLost }) => sum + inkLost.scratches, 0),
      }
    })
    .sort((a, b) => a.sharePercent - b.sharePercent)
}
