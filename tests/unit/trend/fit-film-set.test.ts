import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { SetFilmSource } from '../../../src/model/film-set.js'
import { fitFilmSet } from '../../../src/trend/fit-film-set.js'
import { expectWithin } from '../../support/expect-within.js'

const FRAME = { widthMm: 80, heightMm: 60 }
const UM = 25_400 / 1200

/** A film that lies on the glass at a turn, its separation stretched by x and y and sheared; pixels of 1200 dpi. */
function film(
  positive: string,
  lies: { x?: number; y?: number; shear?: number; turn?: number; mirrored?: boolean } = {},
  change: Partial<SetFilmSource> = {},
): SetFilmSource {
  const { x = 0, y = 0, shear = 0, turn = 0, mirrored = false } = lies
  const [c, s] = [Math.cos((turn * Math.PI) / 180), Math.sin((turn * Math.PI) / 180)]
  const side = mirrored ? -1 : 1
  const px = 1000 / UM
  // Turn times stretch: columns are where the separation's axes go.
  const [ax, ay] = [(1 + x) * side, shear]
  const [bx, by] = [shear * side, 1 + y]
  return {
    positive,
    id: `id-${positive}`,
    scannedAt: '2026-03-01T10:00:00Z',
    frame: FRAME,
    map: {
      x0: 100,
      y0: 200,
      xx: px * (c * ax - s * ay),
      yx: px * (s * ax + c * ay),
      xy: px * (c * bx - s * by),
      yy: px * (s * bx + c * by),
    },
    umPerPixel: { across: UM, along: UM },
    scale: 'flatbed-a 2026-02-01',
    scaleStandard: { across: 0.003, along: 0.003 },
    fitStandard: { across: 0.00004, feed: 0.00004 },
    unevenUm: 4,
    ...change,
  }
}

describe('the films of a job against each other', () => {
  it('fit however they lie on the glass', () => {
    fc.assert(
      fc.property(fc.double({ min: -180, max: 180, noNaN: true }), fc.boolean(), (turn, mirrored) => {
        const { pairs, films } = fitFilmSet([film('a'), film('b', { turn, mirrored })])
        expectWithin(pairs[0]!.registerError.value, 0, { abs: 1e-6, unit: 'um', because: 'a turn is no misfit' })
        expectWithin(films[1]!.sizeErrorAcross.value, 0, { abs: 1e-9, unit: '%', because: 'a turn is no size' })
      }),
      { numRuns: 40 },
    )
  })

  it('are apart at the corners by what their sizes differ, the middle held: half the frame times the difference', () => {
    const { pairs, films } = fitFilmSet([
      film('a', { x: 0.001, turn: 17 }),
      film('b', { x: 0.0002, y: -0.0005, turn: 3 }),
    ])
    // Closed form: (0.0008 x 40 mm, 0.0005 x 30 mm).
    expectWithin(pairs[0]!.registerError.value, Math.hypot(32, 15), {
      abs: 0.02,
      unit: 'um',
      because: 'second order of the sizes',
    })
    expectWithin(pairs[0]!.sizeAcross.value, 0.08, { abs: 1e-6, unit: '%', because: 'rounding' })
    expectWithin(pairs[0]!.sizeFeed.value, 0.05, { abs: 1e-6, unit: '%', because: 'rounding' })
    expectWithin(films[0]!.sizeErrorAcross.value, 0.1, { abs: 1e-6, unit: '%', because: 'rounding' })
  })

  it('give a film out of square the best turn first', () => {
    const { pairs } = fitFilmSet([film('a'), film('b', { shear: 0.0004 })])
    // d = s (y, x) less the turn s (w2 - h2) / (w2 + h2); at the corner (40, 30): the turn is 0.28 s.
    const turn = (0.0004 * (40 ** 2 - 30 ** 2)) / (40 ** 2 + 30 ** 2)
    const expected = 1000 * Math.hypot((0.0004 + turn) * 30, (0.0004 - turn) * 40)
    expectWithin(pairs[0]!.registerError.value, expected, {
      abs: 0.02,
      unit: 'um',
      because: 'second order of the shear',
    })
  })

  it('share what their scanner errs by: it counts only where they lay differently or on another scanner', () => {
    const expanded = (of: readonly SetFilmSource[]) => fitFilmSet(of).pairs[0]!.registerError.expanded
    const alike = expanded([film('a', { turn: 2 }), film('b', { turn: 2 })])
    // Two films' own fits: 2 sqrt(2) x 0.00004 x (40, 30) mm.
    expectWithin(alike, 2 * Math.SQRT2 * 0.04 * 50, {
      abs: 0.02,
      unit: 'um',
      because: 'what one scanner errs by cancels',
    })
    const crossed = expanded([film('a'), film('b', { turn: 90 })])
    // Each axis errs by 0.3 % and stands crosswise on the other film: sqrt(2) x 0.003 x 50 mm, k = 2.
    expectWithin(crossed, 2 * Math.SQRT2 * 3 * 50, {
      abs: 3,
      unit: 'um',
      because: 'both axes of the scanner, the fits being small',
    })
    const other = expanded([film('a'), film('b', {}, { scale: 'flatbed-b 2026-02-01' })])
    expectWithin(other, 2 * Math.SQRT2 * 3 * 50, { abs: 3, unit: 'um', because: 'two scanners err apart' })
  })

  it('leave out a film whose separation is of another size, and the worst pair comes first', () => {
    const { frame, pairs, left } = fitFilmSet([
      film('a'),
      film('b', { x: 0.002 }),
      film('c', { x: 0.0005 }),
      film('d', {}, { frame: { widthMm: 80, heightMm: 61 } }),
    ])
    expect(frame).toEqual(FRAME)
    expect(left.map(one => one.positive)).toEqual(['d'])
    expect(left[0]!.because).toBe('its artwork is 80.0 x 61.0 mm, that of the others 80.0 x 60.0 mm')
    expect(pairs.map(pair => pair.films.join(''))).toEqual(['ab', 'bc', 'ac'])
    expect(fitFilmSet([])).toEqual({ frame: null, films: [], pairs: [], left: [] })
  })
})
