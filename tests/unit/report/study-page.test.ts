import { describe, expect, it } from 'vitest'
import type { StudyTolerance, StudyValue } from '../../../src/model/gauge-study.js'
import { type StudyPageInput, studyPage } from '../../../src/report/study-page.js'
import { gaugeStudy } from '../../../src/trend/gauge-study.js'
import { simulatedStudy } from '../../support/simulated-study.js'

const HOSTILE = `<script>window.hit=1</script><img src=x onerror="window.hit=1">'"\`&`
const SIGMA = { part: 8, operator: 0.3, interaction: 0, repeat: 0.5 }
const rows = simulatedStudy(1, { parts: 10, operators: 3, repeats: 3 }, SIGMA, 45)

function page(
  values: readonly StudyValue[],
  tolerance?: StudyTolerance,
  changes: Partial<StudyPageInput> = {},
): string {
  return studyPage({
    study: gaugeStudy(values, { across: 'placement', ...(tolerance === undefined ? {} : { tolerance }) }),
    shop: 'Tidewater Screenworks',
    reading: 'riseWidth',
    gauge: 'scanner flatbed-a',
    source: '90 scans',
    toleranceFrom: tolerance === undefined ? null : 'fine-line',
    at: '2025-03-04T15:00:00Z',
    software: 'burngate 0.1.0',
    ...changes,
  })
}

/** The page as a person reads it: without styles and tags. */
const seen = (html: string) =>
  html
    .replace(/<style>[\s\S]*?<\/style>/g, '')
    .replace(/<[^>]*>/g, ' ')
    .replace(/\s+/g, ' ')

describe('the verdict', () => {
  it.each([
    [{ max: 150, min: 0 }, 'Good enough', 'pass'],
    [{ max: 55, min: 35 }, 'Marginal', 'recheck'],
    [{ max: 48, min: 42 }, 'Not good enough', 'fail'],
    [{ max: 20 }, 'Cannot tell', 'recheck'],
  ] as const)('for %j is %s, by word and shape', (tolerance, word, manner) => {
    const html = page(rows, tolerance)
    expect(html).toMatch(
      new RegExp(`<header class="verdict verdict-${manner}">[\\s\\S]*<svg class="shape"[\\s\\S]*${word}`),
    )
    expect(seen(html)).toContain('Edge rise width, scanner flatbed-a')
  })
})

describe('the page', () => {
  it('shows what was studied, the sources and the tolerance with units', () => {
    const text = seen(page(rows, { max: 60, aim: 40 }))
    expect(text).toContain('10 parts, 3 placements, 3 repeats')
    expect(text).toContain('Standard deviation, µm')
    expect(text).toContain('Reproducibility (between placements)')
    expect(text).toContain('at most 60 µm, aim 40 µm (job type fine-line)')
    expect(text).toContain('20 µm, between limit and aim; held against 3 standard deviations')
    expect(text).toContain('Share of tolerance, %')
  })

  it('has no column and no room for a tolerance that was not given', () => {
    const text = seen(page(rows))
    expect(text).not.toContain('Share of tolerance, %')
    expect(text).toContain('none given')
  })

  it('never shows NaN, undefined or null, whatever is absent', () => {
    const one = simulatedStudy(2, { parts: 3, operators: 1, repeats: 2 }, SIGMA, 45)
    const stuck = rows.map(row => ({ ...row, value: Number(row.part.slice(5)) }))
    const many = simulatedStudy(3, { parts: 60, operators: 9, repeats: 2 }, SIGMA, -4e-8)
    for (const html of [page(rows), page(one), page(stuck), page(stuck, { min: 0 }), page(many, { min: -9, max: 9 })])
      expect(seen(html)).not.toMatch(/\b(NaN|undefined|null|Infinity)\b/)
  })

  it('draws the first 8 of many operators and says so', () => {
    const text = seen(page(simulatedStudy(3, { parts: 4, operators: 9, repeats: 2 }, SIGMA, 45)))
    expect(text).toContain('The first 8 of 9 placements are drawn.')
  })

  it('takes any name for the values, without a unit', () => {
    expect(seen(page(rows, undefined, { reading: 'value', gauge: null }))).toMatch(/Standard deviation Share/)
  })

  it('makes no request and runs no script, and escapes every name', () => {
    const hostile = rows.map(row => ({ ...row, part: row.part + HOSTILE, operator: row.operator + HOSTILE }))
    const html = page(hostile, { max: 60 }, { shop: HOSTILE, reading: HOSTILE, gauge: HOSTILE, source: HOSTILE })
    expect(html).not.toMatch(/<script|<img|<link(?! rel="icon" href="data:,")/)
    expect(html).not.toMatch(/(?:src|href)="(?!data:|#)/)
    expect(html).not.toContain('onerror="')
    expect(html.includes('script-src &#x27;none&#x27;')).toBe(true)
  })
})
