import { describe, expect, it } from 'vitest'
import { fitRobustSurface, fitSurface, type Grid, surfaceAt } from '../../../src/imaging/fit-surface.js'
import { expectWithin } from '../../support/expect-within.js'

const centres = (n: number) => Float64Array.from({ length: n }, (_, i) => (2 * (i + 0.5)) / n - 1)

function grid(columns: number, rows: number, of: (u: number, v: number) => number): Grid {
  const u = centres(columns)
  const v = centres(rows)
  return {
    columns,
    rows,
    u,
    v,
    values: Float64Array.from({ length: columns * rows }, (_, i) => of(u[i % columns]!, v[Math.floor(i / columns)]!)),
  }
}

const shape = (u: number, v: number) => 0.3 + 0.1 * u - 0.2 * u * u + 0.05 * u * v ** 3 - 0.07 * v ** 4
const EXACT = { abs: 1e-9, unit: '', because: 'the surface has these very terms' }

describe('fitSurface', () => {
  it('gives back a polynomial of its order', () => {
    const all = grid(20, 30, shape)
    const terms = fitSurface(all, new Float64Array(600).fill(1), 4)
    expect(terms).toHaveLength(15)
    for (const [u, v] of [
      [0, 0],
      [1, -1],
      [-0.4, 0.9],
    ] as const)
      expectWithin(surfaceAt(terms, u, v), shape(u, v), EXACT)
  })

  it('leaves out cells of weight 0, whatever they hold', () => {
    const all = grid(20, 30, shape)
    const values = Float64Array.from(all.values)
    const weights = new Float64Array(600).fill(1)
    for (let i = 0; i < 600; i += 7) {
      values[i] = Number.NaN
      weights[i] = 0
    }
    expectWithin(surfaceAt(fitSurface({ ...all, values }, weights, 4), 0.5, 0.5), shape(0.5, 0.5), EXACT)
  })

  it('needs as many cells as terms', () => {
    const all = grid(5, 3, shape)
    const some = (n: number) => Float64Array.from({ length: 15 }, (_, i) => (i < n ? 1 : 0))
    expect(() => fitSurface(all, some(5), 2)).toThrow(/order 2 needs 6 cells; got 5/)
    expect(fitSurface(all, some(15), 1)).toHaveLength(3)
  })
})

describe('fitRobustSurface', () => {
  it('is not bent by a fifth of cells that are far off on one side, and says how far they are', () => {
    const all = grid(40, 40, shape)
    const spoilt = (i: number) => i % 40 > 4 && i % 40 < 14
    const values = Float64Array.from(all.values)
    for (let i = 0; i < 1600; i++) if (spoilt(i)) values[i]! += 0.05 + 0.01 * (i % 3)
    const fit = fitRobustSurface({ ...all, values }, new Uint8Array(1600).fill(1), 4, 1e-5)
    expectWithin(surfaceAt(fit.terms, 0.3, 0.3), shape(0.3, 0.3), {
      abs: 1e-3,
      unit: '',
      because: 'a fiftieth of what they are off',
    })
    expect(Math.min(...fit.residuals.filter((_, i) => spoilt(i)))).toBeGreaterThan(0.045)
  })
})
