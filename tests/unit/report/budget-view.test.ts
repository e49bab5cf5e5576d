import { describe, expect, it } from 'vitest'
import type { Reading } from '../../../src/model/reading.js'
import { budgetView } from '../../../src/report/budget-view.js'

const manner = { rulingUnit: 'lines/in', calibrated: true } as const
const reading: Reading = {
  value: 50,
  unit: 'um',
  expanded: 5.6,
  standard: 2.5,
  degreesOfFreedom: 8.2,
  coverageFactor: 2.24,
  bound: null,
  n: 8,
  parts: [],
  budget: [
    {
      name: 'resolution',
      standard: 1.5,
      type: 'B',
      input: { standard: 0.03, unit: '1' },
      sensitivity: 50,
      degreesOfFreedom: null,
    },
    {
      name: 'edges',
      standard: 2,
      type: 'A',
      input: { standard: 4, unit: 'um' },
      sensitivity: 0.5,
      degreesOfFreedom: 5,
    },
  ],
  method: 'riseWidth@1',
}

describe('budgetView', () => {
  const view = budgetView(reading, manner)

  it('lists the largest first, in words, with its share', () => {
    expect(view.components.map(c => [c.name.slice(0, 9), c.share])).toEqual([
      ['The edges', '64\u00a0%'],
      ['A pixel m', '36\u00a0%'],
    ])
  })

  it('shows the quantity, its sensitivity and degrees of freedom', () => {
    expect(view.components[1]).toMatchObject({
      quantity: '3\u00a0%',
      sensitivity: '\u00d7\u00a00.5\u00a0µm/%',
      freedom: '∞',
    })
    expect(view.components[0]).toMatchObject({ quantity: '4\u00a0µm', freedom: '5.0', standard: '2' })
  })

  it('says when k was widened', () => {
    expect(view).toMatchObject({ k: '2.24', widened: true, combined: '2.5', expanded: '5.6', freedom: '8.2' })
    expect(budgetView({ ...reading, coverageFactor: 2 }, manner)).toMatchObject({ k: '2', widened: false })
  })

  it('shows records of earlier versions, which tell less', () => {
    const old: Reading = {
      value: 3,
      unit: 'D',
      expanded: 0.02,
      bound: null,
      n: 1,
      parts: [],
      budget: [{ name: 'tablet', standard: 0.01 }],
      method: 'solidDensity@1',
    }
    expect(budgetView(old, manner)).toMatchObject({ k: '2', freedom: '' })
    expect(budgetView(old, manner).components[0]).toMatchObject({ quantity: '', sensitivity: '', freedom: '' })
  })
})
