import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { reportName } from '../../../src/pipeline/report-name.js'

describe('reportName', () => {
  it('can be read', () => {
    expect(reportName({ positive: 'HARBOR-17 front', id: '20260301T102200-0123456789abcdef' })).toBe(
      'HARBOR-17-front__20260301T102200-0123456789abcdef',
    )
    expect(reportName({ positive: 'Fähre № 3', id: 'x' })).toBe('Fahre-No-3__x')
    expect(reportName({ positive: '漢字', id: 'x' })).toBe('positive__x')
  })

  it('is a plain file name whatever it is given', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), fc.string(), (positive, id) => {
        const name = reportName({ positive, id })
        expect(name).toMatch(/^[A-Za-z0-9][A-Za-z0-9._-]*__[A-Za-z0-9-]*$/)
        expect(name).not.toContain('..')
        expect(name.length).toBeLessThanOrEqual(82 + id.length)
      }),
    )
  })
})
