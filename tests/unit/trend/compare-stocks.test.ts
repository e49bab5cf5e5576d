import { describe, expect, it } from 'vitest'
import type { ProcessFilm } from '../../../src/model/process.js'
import { compareStocks } from '../../../src/trend/compare-stocks.js'
import { gaussian } from '../../support/gaussian-series.js'
import { freshFilm, laterScan } from '../../support/process-films.js'

const MONTH = 365.25 / 12

/** Films of a stock that grow at these rates, um a month, scanned after each of these days. */
function stock(
  name: string,
  rates: readonly number[],
  days: readonly number[],
  draw = () => 0,
  artwork = false,
): ProcessFilm[] {
  return rates.flatMap((rate, i) => {
    const first = freshFilm(`${name}-${i}`, i, 3.4, { stock: name, artwork: artwork ? `artwork-${i}` : null })
    return [first, ...days.map(day => laterScan(first, day, (rate * day) / MONTH + draw()))]
  })
}

describe('compareStocks', () => {
  it('has the mean of the films’ rates and its Student interval', () => {
    const { stocks, differences } = compareStocks(stock('stock-a', [0.8, 1, 1.2], [30, 60]), 'edgeGrowth')
    expect(stocks).toHaveLength(1)
    const { rate, films, scans } = stocks[0]!
    expect([films, scans]).toEqual([3, 6])
    expect(rate!.value).toBeCloseTo(1, 10)
    // t of 2 degrees of freedom, 4.302653, times 0.2 / sqrt(3).
    expect(rate!.upper - 1).toBeCloseTo((4.302653 * 0.2) / Math.sqrt(3), 5)
    expect(differences).toEqual([])
  })

  it('pairs one artwork on two stocks, which tells apart what means cannot', () => {
    const [a, b] = [
      [0.5, 1, 2, 4],
      [0.82, 1.28, 2.32, 4.29],
    ]
    const paired = compareStocks(
      [...stock('stock-a', a, [40], undefined, true), ...stock('stock-b', b, [45], undefined, true)],
      'edgeGrowth',
    )
    expect(paired.differences[0]).toMatchObject({ manner: 'paired', pairs: 4, verdict: 'secondFaster' })
    expect(paired.differences[0]!.says).toBe('stock-b grows faster than stock-a (4 pairs of one artwork on both).')
    const apart = compareStocks([...stock('stock-a', a, [40]), ...stock('stock-b', b, [45])], 'edgeGrowth')
    expect(apart.differences[0]).toMatchObject({ manner: 'unpaired', pairs: 0, verdict: 'noDifferenceSeen' })
    // Ages 1.5 times apart still are alike, more are not.
    const old = (days: number) =>
      compareStocks(
        [...stock('stock-a', a, [40], undefined, true), ...stock('stock-b', b, [days], undefined, true)],
        'edgeGrowth',
      ).differences[0]!.manner
    expect([old(60), old(61)]).toEqual(['paired', 'unpaired'])
  })

  it('pairs a positive printed anew on another stock with its earlier life', () => {
    const films = [0, 1, 2].flatMap(i => {
      const first = freshFilm(`a-${i}`, 0, 3.4, { positive: `job-${i}` })
      const anew = freshFilm(`b-${i}`, 90, 3.4, { positive: `job-${i}`, stock: 'stock-b' })
      return [first, laterScan(first, 30, 1 + i), anew, laterScan(anew, 30, 1.1 + i)]
    })
    expect(compareStocks(films, 'edgeGrowth').differences[0]).toMatchObject({
      manner: 'paired',
      pairs: 3,
      verdict: 'secondFaster',
    })
  })

  it('says when there is too little', () => {
    const few = compareStocks(
      [...stock('stock-a', [1, 1.1, 0.9], [30]), ...stock('stock-b', [2, 2.1], [30])],
      'edgeGrowth',
    )
    expect(few.stocks[1]).toMatchObject({
      rate: null,
      because: '2 films scanned again after 7 days or more, where 3 are needed',
    })
    expect(few.differences[0]).toMatchObject({ manner: 'none', verdict: 'tooLittle', difference: null })
    expect(few.differences[0]!.says).toMatch(/Too little to tell stock-a and stock-b apart: stock-b has 2 films/)
    expect(compareStocks(stock('stock-a', [1, 1, 1], [6.9]), 'edgeGrowth').stocks).toEqual([])
    expect(compareStocks(stock('stock-a', [1, 1, 1], [7]), 'edgeGrowth').stocks).toHaveLength(1)
    expect(compareStocks(stock('stock-a', [1, 1, 1], [30]), 'densityLoss').stocks).toEqual([])
    const untold = stock('stock-a', [1, 1, 1], [30]).map(film => ({ ...film, stock: null }))
    expect(compareStocks(untold, 'edgeGrowth').stocks).toEqual([])
  })

  it('holds the truth 95 times in 100, alone, apart and in pairs', () => {
    const draw = gaussian(21)
    const times = 500
    const held = { rate: 0, unpaired: 0, paired: 0 }
    const rates = (count: number, mean: number) => Array.from({ length: count }, () => mean + 0.25 * draw())
    for (let i = 0; i < times; i++) {
      // Scans are off by 0.5 um; so the young ones tell less than the old.
      const noise = () => 0.5 * draw()
      const a = stock('stock-a', rates(5, 1), [30, 75], noise)
      const b = stock('stock-b', rates(8, 1.6), [45, 60, 90], noise)
      const apart = compareStocks([...a, ...b], 'edgeGrowth')
      const own = apart.stocks[0]!.rate!
      if (own.lower < 1 && own.upper > 1) held.rate++
      const gap = apart.differences[0]!.difference!
      if (gap.lower < -0.6 && gap.upper > -0.6) held.unpaired++
      const jobs = rates(6, 1)
      const pairs = compareStocks(
        [
          ...stock('stock-a', jobs, [60], noise, true),
          ...stock(
            'stock-b',
            jobs.map(rate => rate + 0.6 + 0.1 * draw()),
            [70],
            noise,
            true,
          ),
        ],
        'edgeGrowth',
      ).differences[0]!
      expect(pairs.manner).toBe('paired')
      if (pairs.difference!.lower < -0.6 && pairs.difference!.upper > -0.6) held.paired++
    }
    // Three standard errors of 500 are 2.9 in 100. Measured with 1500: 95.1, 94.7 and 95.6 in 100.
    for (const count of Object.values(held)) expect(Math.abs(count / times - 0.95)).toBeLessThan(0.029)
  })
})
