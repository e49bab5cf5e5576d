import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { matchSteps } from '../../../src/calibrate/match-steps.js'
import { stepLattice } from '../../../src/calibrate/step-lattice.js'
import { normals, seeded } from './tablet-raster.js'

describe('stepLattice', () => {
  it('finds pitch and phase of any steps to a twentieth of a step over their whole run', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 8, max: 30, noNaN: true }),
        fc.integer({ min: 8, max: 40 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.integer(),
        (pitch, count, phase, seed) => {
          const normal = normals(seeded(seed))
          const start = 30 + phase * pitch
          const length = Math.ceil(start + pitch * count + 30)
          const profile = Float64Array.from({ length }, (_, i) => {
            const step = Math.floor((i - start) / pitch)
            return (step < 0 || step >= count ? 1 : -0.07 * step) + 0.003 * normal()
          })
          const found = stepLattice(profile, Math.ceil(start), Math.floor(start + pitch * count))!
          const first = found.start + Math.round((start - found.start) / found.pitch) * found.pitch
          return Math.abs(first - start) < 0.12 * pitch && Math.abs(found.pitch - pitch) * count < 0.2 * pitch
        },
      ),
      { numRuns: 20, seed: 7 },
    )
  })

  it('takes neither a ramp nor a run too short for steps', () => {
    const ramp = Float64Array.from({ length: 300 }, (_, i) => -0.01 * i)
    expect(stepLattice(ramp, 0, 300)).toBeNull()
    expect(stepLattice(ramp, 0, 17)).toBeNull()
  })
})

describe('matchSteps', () => {
  const steps = Array.from({ length: 15 }, (_, i) => ({ step: i + 1, density: 0.05 + 0.15 * i, expanded: 0.02 }))
  const code = (density: number) => 400 + 50_000 * 10 ** (-density / 2)

  it('scores the right offset far below its neighbours when open light is in view', () => {
    const at = (shift: number) =>
      matchSteps(
        steps,
        steps.map(s => code(s.density + 0.15 * shift)),
        3,
        code(0),
      )!.score
    expect(at(0)).toBeLessThan(0.05)
    expect(at(1)).toBeGreaterThan(10 * at(0) + 0.5)
    expect(at(-1)).toBeGreaterThan(10 * at(0) + 0.5)
  })

  it('says null when codes rise with density or too few are seen', () => {
    expect(
      matchSteps(
        steps,
        steps.map(s => 60_000 - code(s.density)),
        3,
        null,
      ),
    ).toBeNull()
    expect(
      matchSteps(
        steps,
        steps.map((s, i) => (i < 3 ? code(s.density) : null)),
        3,
        null,
      ),
    ).toBeNull()
  })
})
