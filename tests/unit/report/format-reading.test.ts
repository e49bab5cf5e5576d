import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { formatLimit, formatReading, readingKind } from '../../../src/report/format-reading.js'

const MANNER = { rulingUnit: 'lines/in', calibrated: true } as const
const plain = (text: string) => text.replace(/\u00a0/g, ' ').replace(/\u2212/g, '-')
const written = (value: number, expanded: number, finest: number, unit: 'D' | 'um' | 'count' | 'lines/in' = 'um') =>
  plain(formatReading({ value, expanded, bound: null, unit }, finest, MANNER).text)

describe('formatReading', () => {
  it('rounds value and U to the second significant digit of U, never finer than the reading allows', () => {
    expect(written(34.2149, 2.434, 1)).toBe('34.2 ± 2.4 µm')
    expect(written(57.94, 12.34, 1)).toBe('58 ± 12 µm')
    expect(written(563.4, 123.4, 1)).toBe('560 ± 120 µm')
    expect(written(3.4178, 0.0342, 2, 'D')).toBe('3.42 ± 0.03 D')
    expect(written(34.2, 0.0996, 3)).toBe('34.20 ± 0.10 µm')
    expect(written(12, 0, 0, 'count')).toBe('12 ± 0')
  })

  it('never rounds U away to nothing', () => {
    expect(written(3.4178, 0.0021, 2, 'D')).toBe('3.42 ± 0.01 D')
  })

  it('rounds a bound to its safe side', () => {
    const at = (value: number, bound: 'atLeast' | 'atMost') =>
      plain(formatReading({ value, expanded: 0.05, bound, unit: 'D' }, 2, MANNER).text)
    expect(at(3.319, 'atLeast')).toBe('at least 3.31 D')
    expect(at(3.311, 'atMost')).toBe('at most 3.32 D')
    expect(at(0.29, 'atLeast')).toBe('at least 0.29 D')
  })

  it('calls densities code density when the response is unknown', () => {
    const shown = formatReading({ value: 1.794, expanded: 0.012, bound: null, unit: 'D' }, 2, {
      ...MANNER,
      calibrated: false,
    })
    expect(plain(shown.text)).toBe('1.79 ± 0.01 code density')
  })

  it('writes rulings in the site’s unit', () => {
    const cm = { ...MANNER, rulingUnit: 'lines/cm' } as const
    expect(plain(formatReading({ value: 55, expanded: 0.5, bound: null, unit: 'lines/in' }, 2, cm).text)).toBe(
      '21.65 ± 0.20 lines/cm',
    )
    expect(plain(formatLimit(55, 'lines/in', cm))).toBe('21.65 lines/cm')
  })

  it('refuses what is not a number, and a negative U', () => {
    const quantity = { value: 1, expanded: 0.1, bound: null, unit: 'um' } as const
    expect(() => formatReading({ ...quantity, value: Number.NaN }, 1, MANNER)).toThrow(/value.*finite.*NaN/)
    expect(() => formatReading({ ...quantity, expanded: Number.NaN }, 1, MANNER)).toThrow(/uncertainty.*NaN/)
    expect(() => formatReading({ ...quantity, expanded: -0.01 }, 1, MANNER)).toThrow(/uncertainty.*-0.01/)
    expect(() => formatReading({ ...quantity, expanded: 0 }, 1, MANNER)).not.toThrow()
  })

  it('shows a value that is never off by more than half its last digit', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -500, max: 500, noNaN: true }),
        fc.double({ min: 1e-4, max: 200, noNaN: true }),
        fc.integer({ min: 0, max: 3 }),
        (value, expanded, finest) => {
          const shown = formatReading({ value, expanded, bound: null, unit: 'um' }, finest, MANNER)
          const lastDigit = Math.max(10 ** -finest, 10 ** (Math.floor(Math.log10(Number(expanded.toPrecision(2)))) - 1))
          expect(Math.abs(Number(plain(shown.value)) - value)).toBeLessThanOrEqual(lastDigit / 2 + 1e-6)
          expect(Number(shown.expanded)).toBeGreaterThan(0)
        },
      ),
    )
  })
})

describe('formatLimit', () => {
  it('drops no digit of what the shop wrote', () => {
    expect(plain(formatLimit(3, 'D', MANNER))).toBe('3.00 D')
    expect(plain(formatLimit(0.105, 'D', MANNER))).toBe('0.105 D')
    expect(plain(formatLimit(60, 'um', MANNER))).toBe('60 µm')
    expect(plain(formatLimit(12.5, 'um', MANNER))).toBe('12.5 µm')
  })

  it('keeps a limit on density in D where the scan gives code density only', () => {
    expect(plain(formatLimit(3, 'D', { ...MANNER, calibrated: false }))).toBe('3.00 D')
  })
})

describe('readingKind', () => {
  it('gives readings of later versions a readable name', () => {
    expect(readingKind('edgeGrowth')).toMatchObject({ label: 'Edge growth', unit: 'um' })
    expect(readingKind('riseWidth').label).toBe('Edge rise width')
  })
})
