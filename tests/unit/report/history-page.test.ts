import { expect, it } from 'vitest'
import { forecastSays, historyPage, newestTaken } from '../../../src/report/history-page.js'
import { useHistory } from '../../../src/trend/use-history.js'
import { inspectionRecord } from '../../support/inspection-record.js'

const picture = {
  id: 'p',
  caption: '',
  pngBase64: 'AAAA',
  width: 10,
  height: 10,
  rect: { column: 0, row: 0, width: 1, height: 1 },
}
const input = {
  positive: 'HARBOR-17 <front>',
  inspections: [
    { ...inspectionRecord({ id: 'a', told: { humidity: 70, note: '<b>shelf</b>' } }), href: '../a.html' },
    { ...inspectionRecord({ id: 'b', scannedAt: '2026-04-01T10:00:00Z' }), href: '../b.html' },
  ],
  acceptances: [],
  retirements: [],
  used: null,
  limits: { solidDensity: { min: 3 } },
  forecast: null,
  because: '2 scans of the 3 that it takes',
  bands: [],
  stroke: null,
  manner: { rulingUnit: 'lines/in' as const, calibrated: true },
  now: new Date('2026-04-02T10:00:00Z'),
  software: 'burngate 0.1.0',
}

it('shows every inspection, storage beside, why there is no forecast, and nothing unescaped', () => {
  const html = historyPage(input)
  expect(html).toContain('No forecast: 2 scans of the 3 that it takes.')
  expect(html).toContain('href="../a.html"')
  expect(html).toContain('70\u00a0%\u00a0RH')
  expect(html).not.toContain('<b>shelf</b>')
  expect(html).not.toContain('<front>')
  expect(html).not.toContain('compare-pair">')
  expect(html).toContain('One scan was inspected more than once')
})

it('puts both crops side by side without a script, and says a date in the future', () => {
  const stroke = {
    schema: 'burngate/stroke@1' as const,
    inspection: 'b',
    crops: { before: picture, after: picture, umPerPixel: 7.5 },
    profiles: null,
  }
  const html = historyPage({ ...input, stroke, now: new Date('2026-03-20T10:00:00Z') })
  expect(html).toContain('compare-pair">')
  expect(html.match(/data:image\/png;base64,AAAA/g)).toHaveLength(4)
  expect(html).toContain('A scan is dated in the future')
})

it('sets growth against use, with a line only where use explains it', () => {
  const grown = (id: string, month: string) => ({
    ...inspectionRecord({
      id,
      scannedAt: `2026-${month}-01T10:00:00Z`,
      standing: { kind: 'compared', because: null } as never,
      growth: { baseline: { id: 'a', scannedAt: '2026-01-01T10:00:00Z' }, days: 30.4 * (Number(month) - 1) } as never,
    }),
    href: `../${id}.html`,
  })
  const scans = [
    { ...inspectionRecord({ id: 'a', scannedAt: '2026-01-01T10:00:00Z' }), href: '../a.html' },
    ...(
      [
        ['02', 1],
        ['03', 9],
        ['04', 9.2],
        ['05', 20],
      ] as const
    ).map(([month, value]) => {
      const one = grown(`s${month}`, month)
      const edge = { ...one.readings.riseWidth!, value, expanded: 0.8, bound: null }
      return { ...one, readings: { ...one.readings, edgeGrowth: edge } }
    }),
  ]
  const used = (month: string, times: number) => ({
    positive: input.positive,
    times,
    by: null,
    at: `2026-${month}-15T10:00:00.000Z`,
  })
  const uses = [used('01', 1), used('02', 8), used('04', 11)]
  const html = historyPage({ ...input, inspections: scans, used: useHistory(scans, uses) })
  expect(html).toContain('Used 20 times.')
  expect(html).toContain('It goes with use, not with age: 1 ±')
  expect(historyPage(input)).not.toContain('id="use"')
})

it('says a forecast in one sentence, with or without an end', () => {
  const forecast = {
    reaches: 'edgeGrowth' as const,
    on: '2026-10-01T00:00:00Z',
    earliest: '2026-09-05T00:00:00Z',
    latest: null,
  }
  const newest = '2026-06-01T09:00:00'
  expect(forecastSays(forecast, newest)).toContain('not before 2026-09-05, perhaps never')
  const ending = { ...forecast, latest: '2027-02-18T00:00:00Z' }
  expect(forecastSays(ending, newest)).toMatch(/^If it goes on like this,.*between 2026-09-05 and 2027-02-18\.$/)
})

it('says of a limit that was passed before the newest scan that it was, not that it will be', () => {
  const passed = {
    reaches: 'edgeGrowth' as const,
    on: '2026-11-11T00:00:00Z',
    earliest: '2026-11-10T00:00:00Z',
    latest: '2026-11-12T00:00:00Z',
  }
  const told = forecastSays(passed, '2026-11-24T08:40:50')
  expect(told).toBe('Edge growth passed its limit about 2026-11-11; with 80 % between 2026-11-10 and 2026-11-12.')
  expect(forecastSays({ ...passed, latest: passed.on, earliest: passed.on }, '2026-11-24T08:40:50')).toBe(
    'Edge growth passed its limit about 2026-11-11.',
  )
  // Hours apart on one day read as that day.
  expect(forecastSays({ ...passed, latest: '2026-11-11T09:00:00Z', earliest: passed.on }, '2026-11-24T08:40:50')).toBe(
    'Edge growth passed its limit about 2026-11-11.',
  )
  expect(forecastSays(passed, '2026-11-11T08:40:50')).toContain('If it goes on like this')
})

it('counts what has passed from the newest scan that takes part, not from one whose date is still to come', () => {
  const [a, b] = [input.inspections[0]!, input.inspections[1]!]
  const future = {
    ...b,
    id: 'c',
    scannedAt: '2027-08-08T09:00:00Z',
    standing: { kind: 'apart' as const, baseline: null, because: 'futureScan' as const },
  }
  expect(newestTaken([a, b, future]).id).toBe('b')
  expect(newestTaken([future]).id).toBe('c')
})

it('shows what people let through and took out, beside what the instrument said', () => {
  const accepted = {
    inspection: 'b',
    verdict: 'fail',
    by: 'Lee <i>',
    because: 'short run',
    at: '2026-04-01T12:00:00Z',
  } as const
  const out = { positive: input.positive, because: 'torn', by: null, at: '2026-04-02T09:00:00Z' } as const
  const html = historyPage({
    ...input,
    acceptances: [accepted, { ...accepted, inspection: 'another film' }],
    retirements: [
      { ...out, prints: 'older' },
      { ...out, prints: 'all', by: 'Sam' },
    ],
  })
  expect(html).toContain('<b>Accepted</b> on 2026-04-01 by <bdi>Lee &lt;i&gt;</bdi>: <bdi>short run</bdi>')
  expect(html.match(/<b>Accepted<\/b>/g)).toHaveLength(1)
  expect(html).toContain('2026-04-01, accepted by a person')
  expect(html).toContain('The prints from before it was printed anew were taken out of the drawer on 2026-04-02: ')
  expect(html).toContain('It was taken out of the drawer on 2026-04-02 by <bdi>Sam</bdi>: <bdi>torn</bdi>')
})
