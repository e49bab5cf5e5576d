import { expect, it } from 'vitest'
import { mapped } from '../../../src/imaging/fit-plane-map.js'
import { inverseMap } from '../../../src/imaging/inverse-map.js'
import { expectWithin } from '../../support/expect-within.js'

it('takes a place back, mirrored and turned, and refuses a flat map', () => {
  const map = { x0: 20_000, y0: -300, xx: 0.2, yx: 0.97, xy: 0.98, yy: -0.21 }
  const to = mapped(map, 1234, -567)
  const back = mapped(inverseMap(map), to.x, to.y)
  expectWithin(back.x, 1234, { abs: 1e-9, unit: 'um', because: 'the inverse' })
  expectWithin(back.y, -567, { abs: 1e-9, unit: 'um', because: 'the inverse' })
  expect(() => inverseMap({ ...map, xx: 0, yx: 0 })).toThrow('a map must not be flat; its determinant is 0')
})
