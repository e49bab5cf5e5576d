import { describe, expect, it } from 'vitest'
import { toneCorrection } from '../../src/advise/tone-correction.js'
import { SHORT_TINT_PERCENTS, TINT_PERCENTS } from '../../src/strip/strip-layout.js'
import { stripFilm, trueTone } from '../support/strip-film.js'

/**
 * The correction straightens what it was made from: the strip's ten tints go through the synthetic printer's screen and spread ink, the table is made of
 * their true tones, and what it says to send goes through the same printer again. That the strip is read so well is tested in `strip.test.ts`.
 */
const SHOWN = [20, 40, 60, 80, 90] as const
/** Of the short form, whose outermost tints are 20 and 80 %: beyond them the rule of dots goes on. */
const SHORT_SHOWN = [15, 20, 30, 50, 70, 80, 90] as const

const PLAN = {
  dpi: 1200,
  forms: ['short'],
  scratched: 0,
  inkSpreadUm: [14, 45],
  netDensity: [2.4, 3.4],
} as const

describe('tints sent as the correction says', () => {
  it.each([9601, 9603])('print what was wanted within a percent (film %d)', { timeout: 120_000 }, seed => {
    const film = stripFilm(seed, PLAN)
    const correction = toneCorrection(
      TINT_PERCENTS.map(intended => ({ intended, measured: trueTone(film, intended), expanded: 0.5 })),
    )
    if (correction.kind !== 'made') return expect.fail(correction.because)
    const before: number[] = []
    for (const wanted of SHOWN) {
      const { send, prints } = correction.table.find(row => row.wanted === wanted)!
      before.push(prints - wanted)
      expect(Math.abs(trueTone(film, send) - wanted), `${wanted} %, sent as ${send.toFixed(1)} %`).toBeLessThan(1)
    }
    // It had something to straighten.
    expect(Math.max(...before)).toBeGreaterThan(5)
  })

  it.each([9601, 9603])('do so from the four tints of the short form, too (film %d)', { timeout: 120_000 }, seed => {
    const film = stripFilm(seed, PLAN)
    const correction = toneCorrection(
      SHORT_TINT_PERCENTS.map(intended => ({ intended, measured: trueTone(film, intended), expanded: 0.5 })),
      { dots: true },
    )
    if (correction.kind !== 'made') return expect.fail(correction.because)
    const off = SHORT_SHOWN.map(wanted => {
      const { send } = correction.table.find(row => row.wanted === wanted)!
      return { wanted, send, off: trueTone(film, send) - wanted }
    })
    console.table(off)
    for (const one of off) expect(Math.abs(one.off), `${one.wanted} %`).toBeLessThan(1)
  })
})
