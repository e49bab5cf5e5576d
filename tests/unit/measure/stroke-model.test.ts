import { describe, expect, it } from 'vitest'
import {
  fitStroke,
  halfLightWidth,
  type StrokeModel,
  seenStroke,
  strokeLight,
} from '../../../src/measure/stroke-model.js'
import { expectWithin } from '../../support/expect-within.js'

const model = (change: Partial<StrokeModel> = {}): StrokeModel => ({
  kind: 'line',
  width: 600,
  sigma: 20,
  clear: 0.9,
  net: 3.5,
  ...change,
})

/** A Gaussian scanner of sigma `s`. */
function scanner(s: number, shift = 0) {
  const offsets = Float64Array.from({ length: 81 }, (_, i) => ((i - 40) / 10) * s + shift)
  const raw = offsets.map(x => Math.exp(-(((x - shift) / s) ** 2) / 2))
  const sum = raw.reduce((a, b) => a + b, 0)
  return { offsets, weights: raw.map(w => w / sum) }
}

describe('the stroke model', () => {
  it('moves the half-light contour of an edge out by 1.03 to 1.44 sigma (closed forms, Dmax 2, 3, 3.5, 4)', () => {
    for (const [net, sigmas] of [
      [2, 1.03423],
      [3, 1.2796],
      [3.5, 1.36575],
      [4, 1.43771],
    ] as const) {
      const width = halfLightWidth(model({ net }))!
      expectWithin((width - 600) / 2 / 20, sigmas, { abs: 1e-4, unit: 'sigma', because: 'closed form' })
    }
  })

  it('a gap narrows by what a line widens', () => {
    const gap = halfLightWidth(model({ kind: 'gap' }))!
    expectWithin(600 - gap, halfLightWidth(model())! - 600, { abs: 1e-6, unit: 'um', because: 'the same edges' })
  })

  it('a line too faint to halve the light, a gap filled in, have no width', () => {
    expect(halfLightWidth(model({ width: 2, sigma: 60 }))).toBeNull()
    expect(halfLightWidth(model({ width: 40, sigma: 60 }))).not.toBeNull()
    expect(halfLightWidth(model({ kind: 'gap', width: 60, sigma: 60 }))).toBeNull()
  })

  it('conserves the light that a line holds back, whatever the scanner', () => {
    const distance = Float64Array.from({ length: 1201 }, (_, i) => i - 600)
    const held = (light: Float64Array) => light.reduce((sum, v) => sum + 0.9 - v, 0)
    const film = held(distance.map(d => strokeLight(model({ width: 120 }), d)))
    const seen = held(seenStroke(model({ width: 120 }), scanner(35), distance, 0))
    expectWithin(seen / film, 1, { abs: 2e-4, unit: '', because: 'table steps of a fortieth sigma' })
  })

  it('gets width and spread back through any scanner, of hair-lines too', () => {
    for (const change of [{}, { width: 100 }, { width: 220, sigma: 40 }, { kind: 'gap' as const, width: 260 }])
      for (const s of [12, 30]) {
        const truth = model(change)
        const edges = truth.width / 2 + 300
        const distance = Float64Array.from({ length: 300 }, (_, i) => ((i - 149.5) / 150) * edges)
        const light = seenStroke(truth, scanner(s), distance, 7)
        const fit = fitStroke(
          truth.kind,
          { distance, light, count: new Float64Array(300).fill(40), noise: 0.003, width: truth.width },
          scanner(s),
          3.5,
          0.88,
          30,
        )!
        const because = `${JSON.stringify(change)} through ${s} um`
        expectWithin(fit.halfWidth, halfLightWidth(truth)!, { abs: 0.05, unit: 'um', because })
        expectWithin(fit.model.sigma, truth.sigma, { abs: 0.1, unit: 'um', because })
        expectWithin(fit.centre, 7, { abs: 0.02, unit: 'um', because })
      }
  })
})
