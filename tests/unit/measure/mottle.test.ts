import { describe, expect, it } from 'vitest'
import { isReading } from '../../../src/measure/film-evidence.js'
import { measureMottle } from '../../../src/measure/mottle.js'
import { rippled } from '../../support/rippled-evidence.js'

const read = (film: ReturnType<typeof rippled>) => {
  const measured = measureMottle(film)
  if (!isReading(measured)) expect.fail(measured.because)
  return measured
}

describe('measureMottle', () => {
  it('is the spread of the tiles’ ink, the noise of their means taken out (closed form)', () => {
    // A chessboard of +-2 %: sum of squares over (rows - 1)(columns - 1).
    const reading = read(rippled({ amplitude: 0, pitchMm: 1, chess: 0.02, tileNoise: 0.005 }))
    const n = 10
    expect(reading.value).toBeCloseTo(100 * Math.sqrt((0.02 ** 2 * n * n) / (n - 1) ** 2 - 0.005 ** 2), 3)
    expect(reading.n).toBe(100)
    expect(reading.expanded).toBeGreaterThan(0.1)
  })

  it('leaves bands to banding', () => {
    expect(read(rippled({ amplitude: 0.05, pitchMm: 4 })).value).toBeCloseTo(0, 6)
  })

  it('is not measured without a large solid', () => {
    expect(measureMottle(rippled({ amplitude: 0, pitchMm: 1, solids: 0 }))).toMatchObject({ notAsked: true })
  })
})
