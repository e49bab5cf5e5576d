import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type ToneCorrection, toneCorrection, toneTableCsv } from '../../../src/advise/tone-correction.js'
import { evaluateMonotoneCubic } from '../../../src/imaging/monotone-cubic.js'
import type { StripTone } from '../../../src/model/strip.js'

const TINTS = [5, 10, 20, 30, 40, 50, 60, 75, 90, 95]

/** What a printer of this gain at 50 % makes of a tint: a parabola of gain, skewed a little. */
const printed = (gain: number, skew: number) => (sent: number) =>
  sent + gain * 4 * (sent / 100) * (1 - sent / 100) * (1 + skew * (sent / 100 - 0.5))

function measured(film: (sent: number) => number, expanded: number, noise: (i: number) => number): StripTone[] {
  return TINTS.map((intended, i) => ({ intended, measured: film(intended) + noise(i), expanded }))
}

function made(tones: readonly StripTone[]): ToneCorrection {
  const correction = toneCorrection(tones)
  if (correction.kind !== 'made') throw new Error(correction.because)
  return correction
}

describe('the correction of tints', () => {
  it('straightens a film of known gain: what is sent prints as what was wanted, within 0.2 %', () => {
    const rows: { gain: number; skew: number; 'worst off before, %': string; 'after, %': string }[] = []
    for (const [gain, skew] of [
      [8, 0],
      [18, 0.5],
      [-6, 0],
      [14, -0.6],
    ] as const) {
      const film = printed(gain, skew)
      const { table, beyond } = made(measured(film, 0.5, () => 0))
      const before = Math.max(...table.map(row => Math.abs(film(row.wanted) - row.wanted)))
      const after = Math.max(...table.map(row => Math.abs(film(row.send) - row.wanted)))
      rows.push({ gain, skew, 'worst off before, %': before.toFixed(2), 'after, %': after.toFixed(2) })
      expect(after).toBeLessThan(0.2)
      expect(beyond).toEqual([])
    }
    console.table(rows)
  })

  it('with noise of U it stays within U of the truth, and bends no more often than the film', () => {
    const film = printed(12, 0.3)
    let worst = 0
    for (let seed = 1; seed <= 40; seed++) {
      const noise = TINTS.map((_, i) => 0.4 * Math.sin(seed * 12.9898 + i * 78.233))
      const { table } = made(measured(film, 0.8, i => noise[i]!))
      worst = Math.max(worst, ...table.map(row => Math.abs(film(row.send) - row.wanted)))
    }
    console.log(`tints off by up to 0.4 %, U 0.8 %: corrected tints off by at most ${worst.toFixed(2)} %`)
    expect(worst).toBeLessThan(0.8)
  })

  it('rises strictly from 0 to 100, whatever was measured', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            measured: fc.double({ min: -5, max: 105, noNaN: true }),
            expanded: fc.double({ min: 0, max: 3, noNaN: true }),
          }),
          {
            minLength: 10,
            maxLength: 10,
          },
        ),
        values => {
          const { table } = made(values.map((value, i) => ({ ...value, intended: TINTS[i]! })))
          expect(table[0]).toEqual({ wanted: 0, send: 0, prints: 0 })
          expect(table.at(-1)).toEqual({ wanted: 100, send: 100, prints: 100 })
          for (let i = 1; i < table.length; i++) {
            expect(table[i]!.send).toBeGreaterThan(table[i - 1]!.send)
            expect(table[i]!.prints).toBeGreaterThan(table[i - 1]!.prints)
          }
        },
      ),
      { numRuns: 100, seed: 3 },
    )
  })

  it('a film that is straight already is sent what is wanted', () => {
    const { table } = made(
      measured(
        sent => sent,
        0.5,
        () => 0,
      ),
    )
    for (const row of table) expect(row.send).toBeCloseTo(row.wanted, 9)
  })

  it('says which tints have filled in: no table opens them', () => {
    const film = (sent: number) => Math.min(100, sent * 1.25)
    const { beyond, table } = made(measured(film, 0.5, () => 0))
    expect(beyond).toContain(90)
    expect(beyond).toContain(95)
    expect(beyond).not.toContain(50)
    expect(table.find(row => row.wanted === 50)!.send).toBeCloseTo(40, 0)
  })

  it('goes through the tints it was measured at, both ways', () => {
    const tones = measured(printed(10, 0), 0.02, () => 0)
    const { curve } = made(tones)
    for (const tone of tones) expect(evaluateMonotoneCubic(curve, tone.intended)).toBeCloseTo(tone.measured, 1)
  })

  it('is not made from three tints, nor from one tint measured four times', () => {
    expect(toneCorrection(measured(printed(8, 0), 0.5, () => 0).slice(0, 3))).toEqual({
      kind: 'notMade',
      because: 'only 3 tints were measured; a correction needs 4 or more',
    })
    expect(toneCorrection(Array(4).fill({ intended: 50, measured: 60, expanded: 1 })).kind).toBe('notMade')
    expect(toneCorrection([]).kind).toBe('notMade')
  })

  it('is written as CSV', () => {
    const lines = toneTableCsv(made(measured(printed(10, 0), 0.5, () => 0))).split('\n')
    expect(lines).toHaveLength(103)
    expect(lines.slice(0, 2)).toEqual(['tint,send,prints', '0,0.00,0.00'])
    expect(lines[101]).toBe('100,100.00,100.00')
    expect(lines[51]).toMatch(/^50,\d\d\.\d\d,6\d\.\d\d$/)
  })
})
