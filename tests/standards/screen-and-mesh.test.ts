import { describe, expect, it } from 'vitest'
import { beatFrequency, rulingForMesh, screenWidthUm } from '../../src/advise/mesh-moire.js'

describe('dots and mesh against computed values', () => {
  it('two gratings of 60 lines/cm at 5, 15 and 30 degrees (Amidror, Hersch & Ostromoukhov, 1994; computed)', () => {
    for (const [degrees, beat] of [
      [5, 5.2343],
      [15, 15.6631],
      [30, 31.0583],
    ] as const)
      expect(Math.abs(beatFrequency(60, 60, degrees) - beat)).toBeLessThan(1e-4)
    expect(Math.abs(10 / beatFrequency(60, 60, 5) - 1.9105)).toBeLessThan(1e-4)
  })

  it('a mesh of 150 threads/cm at 3.75 and 5 threads a line (handbook ratios); 120 threads/cm in threads/in', () => {
    expect(rulingForMesh(150, 3.75)).toBe(40)
    expect(rulingForMesh(150, 5)).toBe(30)
    expect(120 * 2.54).toBeCloseTo(304.8, 9)
  })

  it('a fortieth of the screen width: 35 to 100 lines/in and 60 lines/cm (computed)', () => {
    const fortieth = [35, 45, 55, 65, 85, 100, 60 * 2.54].map(ruling => screenWidthUm(ruling) / 40)
    const expected = [18.14, 14.11, 11.55, 9.77, 7.47, 6.35, 4.17]
    fortieth.forEach((value, i) => {
      expect(Math.abs(value - expected[i]!)).toBeLessThan(1e-2)
    })
  })
})
