import { describe, expect, it } from 'vitest'
import type { Drawers, StoredPositive } from '../../../src/model/drawer.js'
import { boardPage } from '../../../src/report/board-page.js'
import { drawersView } from '../../../src/report/drawers-view.js'
import { SAMPLE_SITE, sampleBoardRows } from '../../support/sample-inspection.js'

const now = new Date('2026-06-01T12:00:00Z')
const hrefOf = (row: { readonly id: string }) => `${row.id}.html`
const film = (positive: string): StoredPositive => ({
  positive,
  id: positive,
  jobType: 'fine-line',
  scannedAt: '2026-04-01T10:00:00Z',
  verdict: 'pass',
  accepted: false,
  forecast: null,
  reprintedAt: null,
  replacedBy: null,
  retired: null,
  uses: 0,
  olderRetired: false,
})
const none: Drawers = {
  due: [],
  failing: [],
  overtaken: [],
  retired: [],
  before: '2026-09-01T00:00:00Z',
  unknown: { count: 0, jobTypes: [] },
}
const due = (count: number): Drawers['due'] =>
  Array.from({ length: count }, (_, i) => ({
    kind: 'due',
    stored: film(`P-${i}`),
    dueOn: '2026-05-01T10:00:00Z',
    everyDays: 30,
  }))
const forecast = { reaches: 'edgeGrowth', on: '2026-08-01', earliest: '2026-07-01', latest: null } as const

describe('drawersView', () => {
  it('says that nothing waits', () => {
    const view = drawersView(none, now, hrefOf)
    expect(view).toMatchObject({ count: 0, lists: [] })
    expect(view.none).toContain('before 2026-09-01')
  })

  it('says of each positive why it is listed', () => {
    const view = drawersView(
      {
        ...none,
        due: due(1),
        failing: [
          { kind: 'failing', stored: film('F'), forecast, odds: 'expected' },
          { kind: 'failing', stored: film('G'), forecast: { ...forecast, latest: '2027-01-01' }, odds: 'possible' },
        ],
        overtaken: [
          { kind: 'overtaken', stored: film('O'), by: 'O new', since: '2026-03-01T00:00:00Z' },
          { kind: 'overtaken', stored: film('R'), by: null, since: '2026-03-02T00:00:00Z' },
        ],
        unknown: { count: 2, jobTypes: ['gone'] },
      },
      now,
      hrefOf,
    )
    expect(view.lists.flatMap(list => list.shown.map(row => row.why))).toEqual([
      'Edge growth reaches its limit about 2026-08-01 (earliest 2026-07-01, latest perhaps never).',
      'Edge growth may reach its limit by then: about 2026-08-01 (earliest 2026-07-01, latest 2027-01-01).',
      'Due since 2026-05-01, 31 days ago: every 30 days.',
      'Replaced by O new since 2026-03-01.',
      'Printed anew; first scanned on 2026-03-02. Prints from before are overtaken.',
    ])
    expect(view.unknown).toContain('gone')
  })

  it('tells what was taken out last, and does not count it as asking', () => {
    const out = { at: '2026-05-02T08:00:00Z', because: '=shredded', by: 'Lee' }
    const retired = [
      { kind: 'retired', stored: { ...film('X'), retired: out }, since: out.at, because: out.because },
    ] as const
    const view = drawersView({ ...none, due: due(1), retired }, now, hrefOf)
    expect(view.count).toBe(1)
    expect(view.lists.map(list => [list.title, list.count])).toEqual([
      ['Due for another scan', 1],
      ['Taken out', 1],
    ])
    expect(view.lists[1]!.shown[0]!.why).toBe('Taken out on 2026-05-02 by Lee: =shredded')
    const alone = drawersView({ ...none, retired }, now, hrefOf)
    expect(alone.none).toContain('No stored positive is due')
    expect(alone.lists).toHaveLength(1)
  })

  it('says of a day that has gone by that the film was to reach its limit', () => {
    const film_ = {
      kind: 'failing',
      stored: film('F'),
      forecast: { ...forecast, on: '2026-05-31' },
      odds: 'expected',
    } as const
    const [list] = drawersView({ ...none, failing: [film_] }, now, hrefOf).lists
    expect(list!.shown[0]!.why).toContain('was to reach its limit about 2026-05-31')
  })

  it.each([
    [20, 0],
    [21, 1],
  ])('of %d shows 20 and counts %d more', (count, more) => {
    const [list] = drawersView({ ...none, due: due(count) }, now, hrefOf).lists
    expect(list).toMatchObject({ count, more })
    expect(list!.shown).toHaveLength(20)
  })

  it('stands on the board, escaped', () => {
    const rows = sampleBoardRows(3, now)
    const hostile = { ...none, due: [{ ...due(1)[0]!, stored: film('<script>x</script>') }] }
    const page = boardPage({ rows, drawers: hostile, site: SAMPLE_SITE, now, hrefOf })
    expect(page).toContain('In the drawers')
    expect(page).not.toContain('<script>x')
    expect(boardPage({ rows, drawers: none, site: SAMPLE_SITE, now, hrefOf })).toContain('No stored positive is due')
    expect(boardPage({ rows, site: SAMPLE_SITE, now, hrefOf })).not.toContain('In the drawers')
  })
})
