import { describe, it } from 'vitest'
import { fitSimilarity } from '../../src/imaging/fit-plane-map.js'
import { expectWithin } from '../support/expect-within.js'

/**
 * Size of a film from four corner marks, nominal against measured, mm. The scale, turn and shift that made the measured
 * corners are 1.0002, 0.05 degrees and (1, -2), rounded to 0.1 um.
 */
const CORNERS = [
  { fromX: 0, fromY: 0, toX: 1.0, toY: -2.0 },
  { fromX: 200, fromY: 0, toX: 201.0399, toY: -1.8254 },
  { fromX: 200, fromY: 280, toX: 200.7955, toY: 278.2305 },
  { fromX: 0, fromY: 280, toX: 0.7556, toY: 278.0559 },
]

describe('similarity fit of four corners', () => {
  it('scale 1.00020, turn 0.0500 degrees, shift (1, -2)', () => {
    const { scale, turn, shiftX, shiftY } = fitSimilarity(CORNERS)
    expectWithin(scale, 1.0002, { abs: 1e-6, unit: '', because: 'corners are rounded to 0.1 um in 344 mm' })
    expectWithin(turn, 0.05, { abs: 1e-4, unit: 'degrees', because: 'corners are rounded to 0.1 um' })
    expectWithin(shiftX, 1, { abs: 2e-4, unit: 'mm', because: 'corners are rounded to 0.1 um' })
    expectWithin(shiftY, -2, { abs: 2e-4, unit: 'mm', because: 'corners are rounded to 0.1 um' })
  })

  it('the diagonal has grown by 68.8 um, 0.0200 %', () => {
    const nominal = Math.hypot(200, 280)
    const grown = nominal * (fitSimilarity(CORNERS).scale - 1) * 1000
    expectWithin(grown, 68.8, { abs: 0.3, unit: 'um', because: 'the scale is known to 1e-6 of 344 mm' })
  })
})
