import { describe, expect, it } from 'vitest'
import type { TiffDirectory } from '../../../src/decode/read-directories.js'
import { plausibleDpi, scanTags } from '../../../src/decode/scan-tags.js'
import { ProblemError } from '../../../src/model/problem.js'

function directory(tags: Record<number, number | string>): TiffDirectory {
  return {
    has: tag => tag in tags,
    numbers: tag => (typeof tags[tag] === 'number' ? Float64Array.of(tags[tag]) : null),
    text: tag => (typeof tags[tag] === 'string' ? tags[tag] : null),
  }
}
const [X, Y, UNIT, DATE] = [282, 283, 296, 306]

describe('scanTags', () => {
  it('takes the inch when no unit is given, turns centimetres, and no unit into none', () => {
    expect(scanTags(directory({ [X]: 1200, [Y]: 600 })).dpi).toEqual({ across: 1200, along: 600 })
    expect(scanTags(directory({ [X]: 1200, [Y]: 600, [UNIT]: 2 })).dpi).toEqual({ across: 1200, along: 600 })
    const cm = scanTags(directory({ [X]: 472.4409, [Y]: 236.22, [UNIT]: 3 })).dpi!
    expect(cm.across).toBeCloseTo(1200, 3)
    expect(cm.along).toBeCloseTo(599.9988, 4)
    for (const unit of [1, 0, 7]) expect(scanTags(directory({ [X]: 1200, [Y]: 1200, [UNIT]: unit })).dpi).toBeNull()
  })

  it('does not guess the other direction', () => {
    const { dpi, warnings } = scanTags(directory({ [X]: 1200 }))
    expect(dpi).toBeNull()
    expect(warnings.join()).toMatch(/one direction only/)
    expect(scanTags(directory({}))).toEqual({ dpi: null, maker: null, model: null, taggedAt: null, warnings: [] })
  })

  it('leaves out a resolution that cannot be right, with a sentence; the bounds are 10 and 20 000', () => {
    for (const wrong of [0, -600, Number.NaN, Number.POSITIVE_INFINITY, 9.99, 20_001]) {
      const { dpi, warnings } = scanTags(directory({ [X]: wrong, [Y]: 600 }))
      expect(dpi, `${wrong}`).toBeNull()
      expect(warnings.join()).toContain('cannot be right')
    }
    for (const right of [10, 20_000]) expect(plausibleDpi(right, right, [])).toEqual({ across: right, along: right })
  })

  it('a broken tag counts as absent', () => {
    const broken: TiffDirectory = {
      ...directory({}),
      numbers: () => {
        throw new ProblemError('SCAN_DAMAGED')
      },
    }
    expect(scanTags(broken).dpi).toBeNull()
  })

  it('dates: as ISO 8601 without zone, or none', () => {
    expect(scanTags(directory({ [DATE]: '2024:02:29 23:59:59' })).taggedAt).toBe('2024-02-29T23:59:59')
    expect(scanTags(directory({ [DATE]: '2024-02-29T23:59:59' })).taggedAt).toBe('2024-02-29T23:59:59')
    for (const wrong of [
      '2023:02:29 10:00:00',
      '0000:00:00 00:00:00',
      '2024:13:01 00:00:00',
      'yesterday',
      '2024:01:01 24:00:00',
    ])
      expect(scanTags(directory({ [DATE]: wrong })).taggedAt, wrong).toBeNull()
  })
})
