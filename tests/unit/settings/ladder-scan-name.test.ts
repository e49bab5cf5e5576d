import { describe, expect, it } from 'vitest'
import { ladderPlace, ladderScanName } from '../../../src/settings/ladder-scan-name.js'
import { ladderPlan } from '../../support/ladder-plan.js'

const plan = ladderPlan()
const patches = { count: 5, pitchMm: 12 }
const place = (name: string, of = plan) => ladderPlace(ladderScanName(name, of), of)

describe('ladderScanName and ladderPlace', () => {
  it('read stock, mode and level, whatever comes after', () => {
    expect(place('stock-a__fast__10.tif')).toEqual({ ok: true, stock: 'stock-a', mode: 'fast', level: 10 })
    expect(place('STOCK-B__Fine__4__2.tiff')).toEqual({ ok: true, stock: 'stock-b', mode: 'fine', level: 4 })
    const percent = ladderPlan({ levels: [40, 60], levelUnit: '%' })
    expect(place('stock-a__fast__60 %.png', percent)).toMatchObject({ ok: true, level: 60 })
  })

  it('need no level for a row of patches, and nothing the plan has only one of', () => {
    expect(place('stock-a__fast.tif', ladderPlan({ patches }))).toMatchObject({ ok: true, level: null })
    const one = ladderPlan({ patches, stocks: ['stock-a'], modes: [plan.modes[0]!] })
    expect(place('scan0001.tif', one)).toEqual({ ok: true, stock: 'stock-a', mode: 'fast', level: null })
  })

  it.each([
    ['stock-c__fast__10.tif', 'stock "stock-c" is not in the plan (did you mean stock-a?)'],
    ['stock-a__quick__10.tif', 'mode "quick" is not in the plan (it has fast, fine)'],
    ['stock-a__fast__11.tif', 'level "11" is not in the plan (it has 4, 6, 8, 10, 12)'],
    ['stock-a__fast__10x.tif', 'level "10x" is not in the plan'],
    ['stock-a__fast.tif', 'it says no level'],
    ['stock-a.tif', 'it says no mode'],
  ])('%s is none of this plan', (name, because) => {
    expect(place(name)).toMatchObject({ ok: false, because: expect.stringContaining(because) })
  })
})
