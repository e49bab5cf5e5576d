import { describe, expect, it } from 'vitest'
import type { ProcessEvent } from '../../../src/model/process.js'
import { openSignals, processPage } from '../../../src/report/process-page.js'
import { compareStocks } from '../../../src/trend/compare-stocks.js'
import { processSeries } from '../../../src/trend/process-series.js'
import { freshFilm, laterScan } from '../../support/process-films.js'

const HOSTILE = '"><script>alert(1)</script>'
const site = { shop: 'Tidewater Screenworks' }
const rest = { site, now: new Date('2026-06-01T12:00:00Z'), software: 'burngate 0.0.0' }

/** Steady films with one far out at `odd`. */
const films = (count: number, odd: number, change = {}) =>
  Array.from({ length: count }, (_, i) =>
    freshFilm(`pier-${i}`, i, i === odd ? 3 : 3.4 + [0.02, -0.03, 0.01, -0.01][i % 4]!, change),
  )

describe('processPage', () => {
  it('names an open signal, links it to its chart and marks it by shape and word', () => {
    const series = processSeries(films(30, 29), [])
    const page = processPage({ ...rest, series, events: [], stocks: [] })
    expect(page).toContain('href="#series-1"')
    expect(page).toContain('id="series-1"')
    expect(page).toContain(
      'Solid density, printer-1 / fine / stock-a: a film beyond the limits, low, since 2026-01-30 with pier-29.',
    )
    expect(page).toMatch(/class="mark-word"[^>]*>limit</)
    expect(page).toContain('Signal: limit, step.')
  })

  it('lets a signal rest once five films have followed', () => {
    expect(openSignals(processSeries(films(30, 25), [])).length).toBeGreaterThan(0)
    expect(openSignals(processSeries(films(31, 24), []))).toEqual([])
    const page = processPage({ ...rest, series: processSeries(films(31, 24), []), events: [], stocks: [] })
    expect(page).toContain('No open signal.')
    expect(page).toContain('3 earlier')
  })

  it('flags what was changed and escapes what people wrote', () => {
    const event: ProcessEvent = {
      on: '2026-01-11',
      kind: 'other',
      name: HOSTILE,
      printer: null,
      stock: null,
      recordedAt: '2026-01-11T10:00:00Z',
    }
    const own = films(20, -1, { printer: HOSTILE, positive: HOSTILE, scanner: HOSTILE }).map((film, i) => ({
      ...film,
      positive: `${HOSTILE}${i}`,
    }))
    const page = processPage({ ...rest, series: processSeries(own, [event]), events: [event], stocks: [] })
    expect(page).not.toContain('<script>alert')
    expect(page).toContain('&lt;script&gt;alert')
    expect(page).toMatch(/Mean 3\.40, limits .* from the first 10 of 10 films since/)
  })

  it('tells rates with their intervals, too little, and nothing at all', () => {
    const grown = [1, 1.2, 0.8].flatMap((rate, i) => {
      const first = freshFilm(`job-${i}`, i, 3.4)
      return [first, laterScan(first, 60, 2 * rate)]
    })
    const lone = freshFilm('lone', 0, 3.4, { stock: 'stock-b' })
    const stocks = [
      compareStocks([...grown, lone, laterScan(lone, 30, 1)], 'edgeGrowth'),
      compareStocks([], 'densityLoss'),
    ]
    const page = processPage({ ...rest, series: [], events: [], stocks })
    expect(page).toMatch(/1\.01 \(0\.51 to 1\.52\)/)
    expect(page).toContain('too little: 1 film scanned again after 7 days or more')
    expect(page).toContain('Density loss: no film with its stock told')
    expect(page).toContain('No film of a calibrated scanner is in the history yet.')
  })
})
