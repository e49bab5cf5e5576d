import { describe, expect, it } from 'vitest'
import { actinicDensity, parseActinicTable } from '../../../src/calibrate/actinic-table.js'
import { normals, seeded } from './tablet-raster.js'

const TEXT = '# ink of stock-a\nscanner,actinic\n0.5,0.71\n1.5,1.69\n2.5,2.81\n3.0,3.29\n3.5,3.80\n'

describe('parseActinicTable', () => {
  it('reads pairs, with heading, comments and CRLF or without', () => {
    const table = parseActinicTable(TEXT, 'scanners/actinic/stock-a.csv')
    expect(table.name).toBe('stock-a')
    expect(table.pairs).toHaveLength(5)
    expect(table.pairs[0]).toEqual({ scanner: 0.5, actinic: 0.71 })
    const bare = TEXT.split('\n').slice(2).join('\r\n')
    expect(parseActinicTable(`\uFEFF${bare}`, 'stock-a.csv').pairs).toEqual(table.pairs)
  })

  for (const [why, text] of [
    [/4 pairs; at least 5/, '0.5,0.7\n1,1.2\n2,2.2\n3,3.2\n'],
    [/0 pairs/, ''],
    [/line 2 is "1;2"/, `0.5,0.7\n1;2\n`],
    [/line 1 is "0,5,0,7"/, '0,5,0,7\n'],
    [/line 1 is "scanner,ultraviolet"/, 'scanner,ultraviolet\n0.5,0.7\n'],
    [/density 9/, '0.5,0.7\n1,9\n'],
    [/density -0.1/, '-0.1,0.7\n'],
    [/all its pairs have the scanner density 1/, '1,1\n1,1.1\n1,1.2\n1,1.3\n1,1.4\n'],
    [/do not rise/, '1,5\n2,4\n3,3\n4,2\n5,1\n'],
  ] as const)
    it(`refuses: ${why.source}`, () => {
      expect(() => parseActinicTable(text, 'x.csv')).toThrow(/ACTINIC_TABLE_INVALID.*x\.csv/)
      expect(() => parseActinicTable(text, 'x.csv')).toThrow(why)
    })
})

describe('actinicDensity', () => {
  const table = parseActinicTable(TEXT, 'stock-a.csv')

  it('lies on the line, and grows less certain with the reading itself', () => {
    const sure = actinicDensity(table, 2.2, 0)
    const unsure = actinicDensity(table, 2.2, 0.05)
    if ('because' in sure || 'because' in unsure) throw new Error('no estimate')
    expect(sure).toMatchObject({ table: 'stock-a', pairs: 5 })
    // Mean of x 2.2, mean of y 2.46: the line goes through them.
    expect(sure.value).toBeCloseTo(2.46, 12)
    expect(unsure.value).toBe(sure.value)
    expect(unsure.expanded).toBeCloseTo(Math.hypot(sure.expanded, 0.1 * 1.0392), 3)
  })

  it('goes no further than the pairs', () => {
    for (const inside of [0.5, 3.5]) expect(actinicDensity(table, inside, 0)).toHaveProperty('value')
    for (const outside of [0.49, 3.51])
      expect(actinicDensity(table, outside, 0)).toEqual({
        because: expect.stringMatching(/lies outside the pairs of table stock-a, 0\.50 to 3\.50/),
      })
    expect(() => actinicDensity(table, Number.NaN, 0)).toThrow(RangeError)
    expect(() => actinicDensity(table, 1, -1)).toThrow(RangeError)
  })

  it('holds the truth 95 times in 100', () => {
    const next = normals(seeded(5))
    let held = 0
    const runs = 2000
    for (let run = 0; run < runs; run++) {
      const pairs = [0.5, 1, 2, 2.5, 3, 3.5].map(scanner => ({
        scanner,
        actinic: 0.2 + 1.05 * scanner + 0.03 * next(),
      }))
      const seen = actinicDensity({ name: 'a', pairs }, 2.8, 0)
      if ('because' in seen) throw new Error('no estimate')
      // One more film of that ink, with its own deviation from the line.
      if (Math.abs(seen.value - (0.2 + 1.05 * 2.8 + 0.03 * next())) <= seen.expanded) held++
    }
    expect(held / runs).toBeGreaterThan(0.935)
    expect(held / runs).toBeLessThan(0.965)
  })
})
