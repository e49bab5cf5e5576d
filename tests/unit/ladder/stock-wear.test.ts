import { expect, it } from 'vitest'
import { stockWear } from '../../../src/ladder/stock-wear.js'
import type { WearPair } from '../../../src/model/wear.js'

const pair = (stock: string | null, sharePercent: number, expandedPercent = 0.1): WearPair => ({
  before: 'a.tif',
  after: 'b.tif',
  stock,
  inkLost: {
    areaMm2: sharePercent,
    expandedMm2: expandedPercent,
    solidMm2: 100,
    sharePercent,
    expandedPercent,
    places: 1,
    scratches: 1,
    largestMm2: 0.1,
    worst: null,
  },
  densityLoss: null,
  crops: null,
})

it('gives the mean of each stock with an interval by Student, least wear first', () => {
  const [a, b] = stockWear([pair('stock-b', 2), pair('stock-a', 1), pair('stock-a', 1.2), pair('stock-a', 0.8)])
  expect(a).toMatchObject({ stock: 'stock-a', pairs: 3, scratches: 3 })
  expect(a!.sharePercent).toBeCloseTo(1, 12)
  // t95(2) = 4.303, s = 0.2
  expect(a!.upper - a!.sharePercent).toBeCloseTo((4.303 * 0.2) / Math.sqrt(3), 3)
  expect(b).toMatchObject({ stock: 'stock-b', pairs: 1, lower: 1.9, upper: 2.1 })
})

it('never goes below nothing, nor below what the pairs themselves are unsure of', () => {
  const [one] = stockWear([pair(null, 0.05), pair(null, 0.05)])
  expect(one!.lower).toBe(0)
  expect(one!.upper).toBeCloseTo(0.05 + 0.1 / Math.sqrt(2), 12)
  expect(stockWear([])).toEqual([])
})
