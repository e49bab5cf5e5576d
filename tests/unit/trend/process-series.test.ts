import { describe, expect, it } from 'vitest'
import type { ProcessEvent } from '../../../src/model/process.js'
import { freshFilms, processSeries } from '../../../src/trend/process-series.js'
import { freshFilm, laterScan } from '../../support/process-films.js'

const event = (change: Partial<ProcessEvent>): ProcessEvent => ({
  on: '2026-01-11T00:00:00Z',
  kind: 'newHead',
  name: 'new head',
  printer: null,
  stock: null,
  recordedAt: '2026-01-12T00:00:00Z',
  ...change,
})

const steady = (count: number, change = {}) =>
  Array.from({ length: count }, (_, i) => freshFilm(`pier-${i}`, i, 3.4 + [0.02, -0.03, 0.01][i % 3]!, change))

describe('freshFilms', () => {
  it('takes the first scan of each film, also where the record does not say so, and none that was not calibrated', () => {
    const first = freshFilm('pier', 0, 3.4)
    const old = freshFilm('kite', 1, 3.4, { standing: null })
    const films = [
      first,
      old,
      laterScan(first, 20, 1),
      freshFilm('kite-2', 21, 3.4, { positive: 'kite', standing: null }),
    ]
    expect(freshFilms(films).map(film => film.id)).toEqual(['pier', 'kite'])
    expect(freshFilms([freshFilm('raw', 0, 1.7, { scanner: null })])).toEqual([])
    const reprint = freshFilm('pier-again', 30, 3.5, { positive: 'pier' })
    expect(freshFilms([...films, reprint]).map(film => film.id)).toEqual(['pier', 'kite', 'pier-again'])
  })

  it('counts one scan once, as it was read last', () => {
    const again = freshFilm('pier-read-again', 0, 3.5, { positive: 'pier', sha256: 'pier' })
    expect(freshFilms([freshFilm('pier', 0, 3.4), again]).map(film => film.id)).toEqual(['pier-read-again'])
  })
})

describe('processSeries', () => {
  it('keeps printers, modes and stocks apart, and leaves bounds out', () => {
    const bound = { solidDensity: { value: 4, expanded: 0.1, bound: 'atLeast', method: 'solid-density@1' } } as const
    const films = [
      ...steady(2),
      freshFilm('a', 3, 3.3, { mode: 'fast' }),
      freshFilm('b', 4, 3.3, { printer: null, mode: null, stock: null }),
      freshFilm('deep', 5, 4, { readings: bound }),
    ]
    const series = processSeries(films, [])
    expect(series.map(s => [s.printer, s.mode, s.stock, s.points.length, s.bounds])).toEqual([
      ['printer-1', 'fast', 'stock-a', 1, 0],
      ['printer-1', 'fine', 'stock-a', 2, 1],
      [null, null, null, 1, 0],
    ])
  })

  it('begins anew at events of its own printer and stock only, and where the method changed', () => {
    const resets = (...events: ProcessEvent[]) =>
      processSeries(steady(20), events)[0]!.segments.map(s => [s.from, s.reset])
    expect(resets(event({}))).toEqual([
      [0, null],
      [10, 'new head (2026-01-11)'],
    ])
    expect(resets(event({ printer: 'printer-1', stock: 'stock-a' }))).toHaveLength(2)
    expect(resets(event({ printer: 'printer-2' }))).toHaveLength(1)
    expect(resets(event({ stock: 'stock-b' }))).toHaveLength(1)
    // Before the first film it only names the beginning; after the last one it waits.
    expect(resets(event({ on: '2025-12-01' }))).toEqual([[0, 'new head (2025-12-01)']])
    expect(resets(event({ on: '2026-02-01' }))).toEqual([[0, null]])
    expect(resets(event({}), event({ name: 'new ink', on: '2026-01-10T12:00:00Z' }))[1]).toEqual([
      10,
      'new head (2026-01-11), new ink (2026-01-10)',
    ])
    const newer = { solidDensity: { value: 3.4, expanded: 0.03, bound: null, method: 'solid-density@2' } }
    const [series] = processSeries([...steady(3), freshFilm('x', 4, 0, { readings: newer })], [])
    expect(series!.segments.map(s => s.reset)).toEqual([null, 'measured another way (solid-density@2)'])
  })
})
