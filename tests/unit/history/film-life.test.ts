import { describe, expect, it } from 'vitest'
import { filmLife } from '../../../src/history/film-life.js'
import { inspectionRecord } from '../../support/inspection-record.js'

const apart = (
  because: 'notSameFilm' | 'sameScan' | 'futureScan' | 'beforeBaseline' | 'baselineLost' | 'notCompared',
) => filmLife(inspectionRecord({ standing: { kind: 'apart', baseline: null, because } })).look

describe('filmLife', () => {
  it('of a record of an early version is a look at the film and no more', () => {
    expect(filmLife(inspectionRecord())).toEqual({ look: true, reprint: false, replaces: null, forecast: null })
    expect(filmLife({})).toEqual({ look: true, reprint: false, replaces: null, forecast: null })
  })

  it('takes what shows another film, no new look, or a wrong clock for no look', () => {
    expect(['notSameFilm', 'sameScan', 'futureScan'].map(because => apart(because as 'sameScan'))).toEqual([
      false,
      false,
      false,
    ])
    expect(['beforeBaseline', 'baselineLost', 'notCompared'].map(because => apart(because as 'sameScan'))).toEqual([
      true,
      true,
      true,
    ])
  })

  it('knows a reprint from a first print, and does not let a film replace itself', () => {
    const of = (reprint: boolean) => filmLife(inspectionRecord({ standing: { kind: 'baseline', reprint } })).reprint
    expect([of(true), of(false)]).toEqual([true, false])
    expect(filmLife(inspectionRecord({ told: { replaces: 'HARBOR-17 front' } })).replaces).toBeNull()
    expect(filmLife(inspectionRecord({ told: { replaces: 'HARBOR-16' } })).replaces).toBe('HARBOR-16')
  })
})
