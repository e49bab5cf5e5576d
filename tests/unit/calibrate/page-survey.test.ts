import { describe, expect, it } from 'vitest'
import { pageSurvey } from '../../../src/calibrate/page-survey.js'
import { memoryScan } from '../../support/memory-scan.js'

describe('pageSurvey', () => {
  it('gives block means, clipped shares and the number of different codes, without the cut-off rim', () => {
    const width = 7
    const height = 132
    const codes = Uint16Array.from({ length: width * height }, (_, i) =>
      (i % width) + Math.floor(i / width) < 2 ? 65_535 : i % 5,
    )
    const survey = pageSurvey(memoryScan(codes, width, height, 600), 3)
    expect([survey.columns, survey.rows]).toEqual([2, 44])
    expect(survey.fullShare[0]).toBeCloseTo(3 / 9, 6)
    expect(survey.distinctCodes).toBe(6)
    let sum = 0
    for (let r = 129; r < 132; r++) for (let c = 3; c < 6; c++) sum += codes[r * width + c]!
    expect(survey.means[43 * 2 + 1]).toBeCloseTo(sum / 9, 4)
  })

  it('wants whole blocks of 1 px or more that fit the page', () => {
    const scan = memoryScan(new Uint16Array(4), 2, 2, 600)
    for (const blockPx of [0, 1.5, Number.NaN, 3]) expect(() => pageSurvey(scan, blockPx)).toThrow(RangeError)
    expect(pageSurvey(scan, 1).columns).toBe(2)
    expect(pageSurvey(scan, 2).columns).toBe(1)
  })
})
