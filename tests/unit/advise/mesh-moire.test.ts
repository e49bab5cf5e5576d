import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type FilmScreen, meshMoire } from '../../../src/advise/mesh-moire.js'

const film = (ruling: number, angle: number): FilmScreen => ({ ruling, angle, rulingExpanded: 0, angleExpanded: 0 })

describe('dots on a mesh', () => {
  it('is worst along the threads and on their diagonals when threads are a whole number of lines (common practice: 0, 45 and 90 are worst)', () => {
    const at = (angle: number) => meshMoire(film(55, angle), 3 * 55).nearest[0]!
    expect(at(0).periodMm).toBeNull()
    expect(at(90).periodMm).toBeNull()
    expect(meshMoire(film(55, 0), 165).risk).toBe('some')
    expect(meshMoire(film(55, 0), 110).risk).toBe('high')
    // 3 threads to a line on the diagonal: the diagonal harmonic (2, 2), 2.83 to a line, is near.
    expect(meshMoire(film(55, 45), 165).risk).toBe('high')
  })

  it('finds little in what the trade uses: 22.5 degrees and 3.5 to 5 threads to a line', () => {
    for (const ratio of [3.5, 3.75, 4, 4.2, 4.5, 5])
      expect(meshMoire(film(55, 22.5), 55 * ratio).risk, `${ratio}`).toBe('low')
  })

  it('looks the same from the back of the film, and a quarter turn on', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 30, max: 70, noNaN: true }),
        fc.double({ min: 0, max: 90, noNaN: true }),
        fc.double({ min: 80, max: 400, noNaN: true }),
        (ruling, angle, mesh) => {
          const score = (turned: number) => {
            const [worst] = meshMoire(film(ruling, turned), mesh).nearest
            return worst === undefined ? 0 : worst.contrast
          }
          expect(score(-angle)).toBeCloseTo(score(angle), 6)
          expect(score(angle + 90)).toBeCloseTo(score(angle), 6)
        },
      ),
      { numRuns: 25, seed: 5 },
    )
  })

  it('turns with the mesh', () => {
    const turned = meshMoire(film(50, 32.5), 210, 10)
    const straight = meshMoire(film(50, 22.5), 210)
    expect(turned.nearest[0]!.periodMm!).toBeCloseTo(straight.nearest[0]!.periodMm!, 6)
    expect(turned.aboutAngle).toBe(straight.aboutAngle)
  })

  it('counts the worst within what is not known of ruling and angle', () => {
    const sure = meshMoire(film(55, 8), 110)
    const unsure = meshMoire({ ...film(55, 8), angleExpanded: 3 }, 110)
    expect(unsure.nearest[0]!.periodMm ?? Number.POSITIVE_INFINITY).toBeGreaterThan(sure.nearest[0]!.periodMm!)
  })

  it('explains ratio and angle in a sentence each, and says what to do only where there is a risk', () => {
    const good = meshMoire(film(55, 22.5), 230)
    expect(good.aboutRatio).toBe('4.2 threads to a line of dots: within the usual 3.5 to 5.')
    expect(good.aboutAngle).toBe(
      'Rows of dots lie 22.5 degrees from the threads, clear of the threads and of their diagonals.',
    )
    expect(good.next).toBe('')
    const coarse = meshMoire(film(55, 22.5), 110)
    expect(coarse.aboutRatio).toMatch(/^2\.0 threads to a line of dots: too few/)
    expect(coarse.next).toMatch(/finer mesh, about 250 threads\/in/)
    expect(meshMoire(film(55, 0), 165).aboutAngle).toMatch(/nearly along them/)
    expect(meshMoire(film(55, 45), 165).aboutAngle).toMatch(/diagonals/)
    expect(meshMoire(film(55, 0), 165).next).toMatch(/^Screen the next film at \d+\.\d degrees/)
    expect(meshMoire(film(45, 20), 400).aboutRatio).toMatch(/more than the usual 5/)
    expect(meshMoire(film(50, 20), 150).aboutRatio).toMatch(/few; small dots fall between/)
  })

  it('names each pattern once', () => {
    const { nearest } = meshMoire(film(55, 22.5), 110)
    expect(new Set(nearest.map(n => n.periodMm!.toFixed(4))).size).toBe(nearest.length)
  })
})
