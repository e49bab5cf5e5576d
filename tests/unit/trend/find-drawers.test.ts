import { describe, expect, it } from 'vitest'
import type { StoredPositive } from '../../../src/model/drawer.js'
import { findDrawers } from '../../../src/trend/find-drawers.js'

const now = new Date('2026-06-01T12:00:00.000Z')
const before = new Date('2026-09-01T00:00:00.000Z')
const types = new Map([
  ['monthly', { rescanEveryDays: 30 }],
  ['never', { rescanEveryDays: null }],
])
const film = (change: Partial<StoredPositive> = {}): StoredPositive => ({
  positive: 'A',
  id: 'a',
  jobType: 'monthly',
  scannedAt: '2026-05-20T00:00:00Z',
  verdict: 'pass',
  accepted: false,
  forecast: null,
  reprintedAt: null,
  replacedBy: null,
  retired: null,
  uses: 0,
  olderRetired: false,
  ...change,
})
const find = (...films: StoredPositive[]) => findDrawers(films, types, { now, before })
const reaching = (on: string, earliest: string): StoredPositive['forecast'] => ({
  reaches: 'edgeGrowth',
  on,
  earliest,
  latest: null,
})

describe('findDrawers', () => {
  it.each([
    ['2026-05-02T12:00:00.000Z', 1],
    ['2026-05-02T12:00:00.001Z', 0],
  ])('a film scanned at %s with 30 days makes %d due', (scannedAt, count) => {
    expect(find(film({ scannedAt })).due).toHaveLength(count)
  })

  it('puts the longest overdue first and says since when', () => {
    const found = find(
      film({ id: 'b', scannedAt: '2026-04-01T00:00:00Z' }),
      film({ id: 'c', scannedAt: '2026-01-01T00:00:00Z' }),
    )
    expect(found.due.map(entry => [entry.stored.id, entry.dueOn])).toEqual([
      ['c', '2026-01-31T00:00:00.000Z'],
      ['b', '2026-05-01T00:00:00.000Z'],
    ])
  })

  it('never asks for a scan where the job type says never, and says where it does not know', () => {
    const old = '2020-01-01T00:00:00Z'
    const found = find(
      film({ jobType: 'never', scannedAt: old }),
      film({ jobType: 'gone', scannedAt: old }),
      film({ jobType: 'gone' }),
    )
    expect(found.due).toEqual([])
    expect(found.unknown).toEqual({ count: 2, jobTypes: ['gone'] })
  })

  it.each([
    ['2026-08-31T23:59:59Z', '2026-07-01T00:00:00Z', 'expected'],
    ['2026-09-01T00:00:00Z', '2026-08-31T23:59:59Z', 'possible'],
    ['2026-12-01T00:00:00Z', '2026-09-01T00:00:00Z', undefined],
  ])('a limit reached on %s, at the earliest on %s, is %s', (on, earliest, odds) => {
    expect(find(film({ forecast: reaching(on, earliest) })).failing[0]?.odds).toBe(odds)
  })

  it('puts the soonest to fail first', () => {
    const found = find(
      film({ id: 'late', forecast: reaching('2026-08-20', '2026-08-01') }),
      film({ id: 'soon', forecast: reaching('2026-07-20', '2026-07-01') }),
    )
    expect(found.failing.map(entry => entry.stored.id)).toEqual(['soon', 'late'])
  })

  it('leaves a failed film out, but not one that was let through', () => {
    const failed = film({
      verdict: 'fail',
      scannedAt: '2026-01-01T00:00:00Z',
      forecast: reaching('2026-07-01', '2026-06-10'),
    })
    expect(find(failed)).toMatchObject({ due: [], failing: [], overtaken: [] })
    const through = find({ ...failed, accepted: true })
    expect([through.due.length, through.failing.length]).toEqual([1, 1])
  })

  it('lists what is overtaken, newest first, and asks nothing more of what another replaces', () => {
    const old = '2026-01-01T00:00:00Z'
    const found = find(
      film({ id: 'r', scannedAt: old, reprintedAt: '2026-02-01T00:00:00Z' }),
      film({ id: 'x', scannedAt: old, replacedBy: { positive: 'X new', scannedAt: '2026-03-01T00:00:00Z' } }),
    )
    expect(found.overtaken.map(({ stored, by, since }) => [stored.id, by, since])).toEqual([
      ['x', 'X new', '2026-03-01T00:00:00Z'],
      ['r', null, '2026-02-01T00:00:00Z'],
    ])
    expect(found.due.map(entry => entry.stored.id)).toEqual(['r'])
  })

  it('asks nothing of a film that was taken out, and names it, the last first', () => {
    const old = '2026-01-01T00:00:00Z'
    const out = (at: string) => ({ at, because: 'shredded', by: null })
    const found = find(
      film({ id: 'a', scannedAt: old, retired: out('2026-02-01T00:00:00Z'), reprintedAt: old }),
      film({ id: 'b', scannedAt: old, retired: out('2026-03-01T00:00:00Z'), jobType: 'gone' }),
    )
    expect(found).toMatchObject({ due: [], failing: [], overtaken: [], unknown: { count: 0 } })
    expect(found.retired.map(entry => [entry.stored.id, entry.since])).toEqual([
      ['b', '2026-03-01T00:00:00Z'],
      ['a', '2026-02-01T00:00:00Z'],
    ])
  })

  it('looks after the newest print when only the older ones were taken out', () => {
    const found = find(
      film({ scannedAt: '2026-01-01T00:00:00Z', reprintedAt: '2026-01-01T00:00:00Z', olderRetired: true }),
    )
    expect([found.overtaken.length, found.due.length, found.retired.length]).toEqual([0, 1, 0])
  })
})
