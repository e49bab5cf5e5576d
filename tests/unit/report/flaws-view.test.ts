import { describe, expect, it } from 'vitest'
import { flawMap } from '../../../src/report/flaw-map.js'
import { flawsView } from '../../../src/report/flaws-view.js'
import { flaws } from '../../support/flaw-evidence.js'
import { sampleInspection } from '../../support/sample-inspection.js'

const sample = await sampleInspection('pass')
const withFlaws = (found: ReturnType<typeof flaws>) => ({ ...sample.measured, flaws: found })

describe('flawsView', () => {
  it('is nothing for what an earlier version measured, and says when there is none', () => {
    const { flaws: _, ...earlier } = sample.measured
    expect(flawsView(earlier, 'mm')).toBeNull()
    expect(flawsView(withFlaws(flaws({})), 'mm')).toMatchObject({ none: true, counts: [], map: null })
  })

  it('counts by kind and size class', () => {
    const view = flawsView(withFlaws(flaws({ pinhole: 5, speck: 1 })), 'mm')!
    expect(view.counts.map(row => [row.name, row.count])).toEqual([
      ['Pinholes', 5],
      ['Speck', 1],
    ])
    // 100, 200, 300, 400 and 500 um.
    expect(view.counts[0]!.classes).toEqual(['–', '–', '1', '2', '2'])
  })

  it('writes sizes with U, says what may be dust, and rates with their interval', () => {
    const rate = { found: 3, perDm2: 1.234, low: 0.2544, high: 3.607 }
    const view = flawsView(
      withFlaws(flaws({ speck: 1 }, { rates: { light: null, dark: rate } }, { possibleDust: true })),
      'mm',
    )!
    expect(view.rows[0]).toMatchObject({ size: '100 ± 10\u00a0µm', remark: 'may be dust' })
    expect(view.rates).toEqual(['1.2 dark flaws a square decimetre of clear film (0.25 to 3.6, 95\u00a0%)'])
  })
})

describe('flawMap', () => {
  it('marks every listed flaw, each kind by its own shape', () => {
    const map = flawMap(withFlaws(flaws({ pinhole: 1, scratch: 1, missingNozzle: 1, thinSpot: 1, speck: 1, hair: 1 })))
    // All at one place, so that the paths themselves tell the kinds.
    const paths = [...String(map.lines).matchAll(/class="flaw" d="([^"]+)"/g)].map(match => match[1])
    expect(new Set(paths).size).toBe(6)
    expect(map.tags).toHaveLength(6)
  })
})
