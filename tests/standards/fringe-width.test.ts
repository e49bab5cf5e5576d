import { describe, it } from 'vitest'
import { normalQuantile } from '../../src/imaging/normal.js'
import { expectWithin } from '../support/expect-within.js'

/**
 * A perfectly sharp film seen through Gaussian blur of 10 um, base 0.05: the fringe a scan would show between the contours
 * of ISO 12647-1 (10 and 90 % of the least core density asked, above base). Shows why the fringe is taken from the ink model
 * and not off the scan: the blur alone makes 27 um. Definition seen in ISO 12645; numbers computed.
 */
describe('apparent fringe of a sharp edge (ISO 12647-1 definition)', () => {
  it.each([
    [4.05, 2.5, 26.98],
    [3.05, 2.5, 27.582],
    [4.05, 3.5, 31.009],
  ])('solid %f, least core density %f: %f um', (solid, limit, wanted) => {
    const clear = 10 ** -0.05
    const dark = 10 ** -solid
    const at = (density: number) => 10 * normalQuantile((clear * 10 ** -density - dark) / (clear - dark))
    expectWithin(at(0.1 * limit) - at(0.9 * limit), wanted, { abs: 1e-2, unit: 'um', because: 'closed form' })
  })
})
