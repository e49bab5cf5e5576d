import { describe, expect, it } from 'vitest'
import { chooseBaseline } from '../../../src/compare/choose-baseline.js'
import type { Standing } from '../../../src/model/growth.js'
import type { Inspection } from '../../../src/model/inspection.js'
import { inspectionRecord } from '../../support/inspection-record.js'

const NOW = new Date('2025-06-01T12:00:00Z')

function record(sha256: string, scannedAt: string, standing?: Standing): Inspection {
  const made = inspectionRecord({ id: `${scannedAt}-${sha256}`, scannedAt, inspectedAt: scannedAt })
  const { standing: _, ...bare } = made
  return { ...bare, scan: { ...made.scan, sha256 }, ...(standing === undefined ? {} : { standing }) }
}
const baseline: Standing = { kind: 'baseline', reprint: false }
const reprint: Standing = { kind: 'baseline', reprint: true }
const ref = { id: 'x', scannedAt: '2025-01-01T10:00:00Z' }
const compared: Standing = { kind: 'compared', baseline: ref }
const wrong: Standing = { kind: 'apart', baseline: ref, because: 'notSameFilm' }

const ask = (sha256: string, scannedAt: string, history: Inspection[], declared = false) =>
  chooseBaseline({ sha256, scannedAt, reprint: declared, history, now: NOW })

const jan = record('a', '2025-01-01T10:00:00Z', baseline)
const feb = record('b', '2025-02-01T10:00:00Z', compared)

describe('chooseBaseline', () => {
  it('the first scan of a positive is its baseline; later ones are compared with it', () => {
    expect(ask('a', '2025-01-01T10:00:00Z', [])).toEqual({ kind: 'baseline', reprint: false })
    expect(ask('b', '2025-02-01T10:00:00Z', [jan])).toEqual({ kind: 'compare', baseline: jan })
    expect(ask('c', '2025-03-01T10:00:00Z', [feb, jan])).toEqual({ kind: 'compare', baseline: jan })
  })

  it('a scan inspected again stands where it stood', () => {
    expect(ask('a', '2025-01-01T10:00:00Z', [jan, feb])).toEqual({ kind: 'baseline', reprint: false })
    expect(ask('b', '2025-02-01T10:00:00Z', [jan, feb])).toEqual({ kind: 'compare', baseline: jan })
    const again = { ...jan, id: 'newer', inspectedAt: '2025-04-01T10:00:00Z' }
    expect(ask('b', '2025-02-01T10:00:00Z', [again, jan])).toEqual({ kind: 'compare', baseline: again })
  })

  it('a declared reprint begins anew; scans between keep to the older print', () => {
    const new_ = record('r', '2025-03-01T10:00:00Z', reprint)
    expect(ask('r', '2025-03-01T10:00:00Z', [jan, feb], true)).toEqual({ kind: 'baseline', reprint: true })
    expect(ask('d', '2025-04-01T10:00:00Z', [jan, feb, new_])).toEqual({ kind: 'compare', baseline: new_ })
    expect(ask('e', '2025-02-15T10:00:00Z', [jan, feb, new_])).toEqual({ kind: 'compare', baseline: jan })
  })

  it('another film under the name is never a baseline, nor is what a scan is the same file as', () => {
    const other = record('w', '2025-01-15T10:00:00Z', wrong)
    expect(ask('b', '2025-02-01T10:00:00Z', [other, jan])).toEqual({ kind: 'compare', baseline: jan })
    expect(ask('b', '2025-02-01T10:00:00Z', [other])).toEqual({ kind: 'baseline', reprint: false })
    // Told apart by mistake of the date, it may come again under the right one.
    expect(ask('w', '2025-02-01T10:00:00Z', [other, jan])).toMatchObject({ kind: 'compare' })
  })

  it('records of versions that knew no growth begin with their oldest', () => {
    const old = [record('q', '2024-05-01T10:00:00Z'), record('p', '2024-03-01T10:00:00Z')]
    expect(ask('b', '2025-02-01T10:00:00Z', old)).toEqual({ kind: 'compare', baseline: old[1] })
  })

  it('a scan older than the first one is held against it, and takes its place once it was seen to be the same film', () => {
    const early = (history: Inspection[]) => ask('z', '2024-12-01T10:00:00Z', history)
    expect(early([jan, feb])).toEqual({ kind: 'compare', baseline: jan, older: true })
    const dec = record('z', '2024-12-01T10:00:00Z', {
      kind: 'earliest',
      before: { id: jan.id, scannedAt: jan.scannedAt },
    })
    const history = [jan, feb, dec]
    // The same question again; what comes or is asked again is compared with it, the former first scan too.
    expect(early(history)).toEqual({ kind: 'compare', baseline: jan, older: true })
    expect(ask('c', '2025-03-01T10:00:00Z', history)).toEqual({ kind: 'compare', baseline: dec })
    expect(ask('a', '2025-01-01T10:00:00Z', history)).toEqual({ kind: 'compare', baseline: dec })
    expect(ask('b', '2025-02-01T10:00:00Z', history)).toEqual({ kind: 'compare', baseline: dec })
    // A still older one, and a reprint, which begins anew as ever.
    expect(ask('y', '2024-11-01T10:00:00Z', history)).toEqual({ kind: 'compare', baseline: dec, older: true })
    const new_ = record('r', '2025-03-01T10:00:00Z', reprint)
    expect(ask('d', '2025-04-01T10:00:00Z', [...history, new_])).toEqual({ kind: 'compare', baseline: new_ })
    expect(ask('e', '2025-02-15T10:00:00Z', [...history, new_])).toEqual({ kind: 'compare', baseline: dec })
    // Another film under the name never gets there.
    const other = record('z', '2024-12-01T10:00:00Z', wrong)
    expect(ask('c', '2025-03-01T10:00:00Z', [jan, other])).toEqual({ kind: 'compare', baseline: jan })
  })

  it('an older scan whose date was wrong comes again under the right one, and the first scan is the first again', () => {
    const clock = record('z', '2000-01-01T00:00:00Z', {
      kind: 'earliest',
      before: { id: jan.id, scannedAt: jan.scannedAt },
    })
    expect(ask('z', '2025-03-01T10:00:00Z', [jan, clock])).toEqual({ kind: 'compare', baseline: jan })
    const righted = { ...record('z', '2025-03-01T10:00:00Z', compared), inspectedAt: '2025-05-01T10:00:00Z' }
    expect(ask('c', '2025-04-01T10:00:00Z', [jan, clock, righted])).toEqual({ kind: 'compare', baseline: jan })
  })

  it('tells the same file under another date, and a date to come', () => {
    expect(ask('b', '2025-02-09T10:00:00Z', [jan, feb])).toMatchObject({ kind: 'apart', because: 'sameScan' })
    expect(ask('a', '2025-02-09T10:00:00Z', [jan])).toMatchObject({ kind: 'apart', because: 'sameScan' })
    expect(ask('z', '2025-01-01T10:00:00Z', [jan])).toMatchObject({ kind: 'compare' })
    expect(ask('z', '2025-06-03T10:00:00Z', [jan])).toMatchObject({ kind: 'apart', because: 'futureScan' })
    // Within what a missing time zone can do.
    expect(ask('z', '2025-06-02T10:00:00Z', [jan])).toMatchObject({ kind: 'compare' })
    expect(ask('z', 'no date', [jan])).toMatchObject({ kind: 'apart', because: 'futureScan' })
  })
})
