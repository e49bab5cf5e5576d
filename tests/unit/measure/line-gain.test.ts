import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureLineGain } from '../../../src/measure/line-gain.js'
import { lineOf, stripEvidence } from '../../support/strip-evidence.js'

describe('measureLineGain', () => {
  it('is the middle one of lines that grew and gaps that closed', () => {
    const gain = measureLineGain(stripEvidence())
    if (!isReading(gain)) return expect.fail(gain.because)
    expect(gain.value).toBe(22)
    expect(gain.n).toBe(3)
    expect(gain.parts[1]).toMatchObject({ value: 24, note: 'gap of 100 um along the head' })
    expect(gain.expanded).toBeGreaterThan(0)
  })

  it('lets an error of the scanner’s spread cancel between lines and gaps', () => {
    const both = measureLineGain(stripEvidence({ lines: [lineOf('positive', 100, 20), lineOf('negative', 100, 20)] }))
    const lines = measureLineGain(stripEvidence({ lines: [lineOf('positive', 100, 20), lineOf('positive', 200, 20)] }))
    if (!isReading(both) || !isReading(lines)) return expect.fail('not measured')
    expect(both.budget.find(part => part.name === 'scanner')!.standard).toBeCloseTo(0, 12)
    expect(lines.budget.find(part => part.name === 'scanner')!.standard).toBeCloseTo(0.2, 12)
  })

  it('says what is missing', () => {
    const { strip, ...film } = stripEvidence()
    expect(strip.lines).toHaveLength(3)
    expect(measureLineGain(film)).toMatchObject({ reading: 'lineGain' })
    const lost = { polarity: 'negative', direction: 'feed', intendedUm: 50, because: 'it has filled in' } as const
    expect(measureLineGain(stripEvidence({ lines: [], lost: [lost] }))).toMatchObject({
      because: 'none of its lines could be measured: it has filled in',
    })
    expect(measureLineGain(stripEvidence({ lines: [] }))).toMatchObject({
      because: 'no edge of the control strip could be measured',
    })
  })
})
