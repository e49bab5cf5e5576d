import { describe, expect, it } from 'vitest'
import { alignArtwork } from '../../../src/artwork/align-artwork.js'
import { blockText, solid } from '../../../src/demo/artwork.js'
import type { Shape } from '../../../src/demo/film.js'
import type { ArtworkFit } from '../../../src/model/artwork.js'
import { type ArtworkFilmPlan, artworkFilm, filmForArtwork } from '../../support/artwork-film.js'

const PLAN = { artworkDpi: { across: 720, along: 720 }, scanDpi: 600, cells: [3, 3] } as const

function aligned(plan: Omit<ArtworkFilmPlan, 'artworkDpi' | 'scanDpi'>) {
  const film = artworkFilm({ ...PLAN, ...plan })
  const fit = alignArtwork(film.artwork, filmForArtwork(film.scan))
  if (fit.kind !== 'fitted') return expect.fail(`${fit.because} (${fit.likeness})`)
  return { film, fit }
}

function expectSizes(fit: ArtworkFit, film: { across: number; feed: number }, within = 0.0002): void {
  for (const direction of ['across', 'feed'] as const) {
    const size = fit.size[direction]
    if (size === null) expect.fail(`no size ${direction}`)
    expect(Math.abs(size.value - film[direction]), direction).toBeLessThan(within)
    expect(size.shares.across + size.shares.along).toBeCloseTo(1, 9)
  }
}

const turnsApart = (a: number, b: number) => Math.abs(((((a - b) % 360) + 540) % 360) - 180)

describe('alignArtwork', () => {
  it.each([
    [0, false],
    [93, true],
    [180, false],
    [226, true],
    [315, false],
  ])('finds a film turned by %d degrees, mirrored %s', (turned, mirrored) => {
    const { film, fit } = aligned({ seed: 40 + turned, turned, mirrored })
    expect(fit.mirrored).toBe(mirrored)
    expect(turnsApart(fit.turned, turned)).toBeLessThan(0.02)
    expect(fit.onFilm).toBeGreaterThan(0.99)
    expectSizes(fit, film)
  })

  it('takes a scale error of 2 % either way', () => {
    const { film, fit } = aligned({ seed: 5, sizeError: 0.02 })
    expectSizes(fit, film)
  })

  it('holds with pieces missing, text and a strip added, and dust', () => {
    const spoil: ArtworkFilmPlan['spoil'] = (shapes, random) => [
      ...shapes.filter(() => random.uniform() > 0.2),
      ...blockText('SET 47', 2, 0.4, 2),
      solid(0.3, 4, 1.5, 16),
      ...Array.from(
        { length: 60 },
        (): Shape => ({
          kind: 'disc',
          u: random.between(1, 35),
          v: random.between(1, 25),
          radius: random.between(0.02, 0.12),
          ink: random.uniform() < 0.5 ? -1 : 1,
        }),
      ),
    ]
    const { film, fit } = aligned({ seed: 11, spoil })
    expect(fit.mirrored).toBe(film.mirrored)
    expectSizes(fit, film)
  })

  it('lays an artwork on a film that lies partly outside the scan, and says how much', () => {
    const { film, fit } = aligned({ seed: 23, roomMm: -9, cells: [4, 3] })
    expect(fit.onFilm).toBeLessThan(0.995)
    expect(fit.onFilm).toBeGreaterThan(0.5)
    expectSizes(fit, film, 0.0003)
  })

  it('tells gain from size: the film’s edges lie outside, its size does not change', () => {
    const { film, fit } = aligned({ seed: 31, sizeError: 0 })
    expect(fit.gainUm!.across).toBeGreaterThan(5)
    expect(Math.abs(fit.gainUm!.across - fit.gainUm!.feed)).toBeLessThan(3)
    expectSizes(fit, film, 0.0001)
    expect(fit.residualUm!).toBeLessThan(8)
  })

  it('reads tints alone', () => {
    const { film, fit } = aligned({ seed: 8, only: [2] })
    expectSizes(fit, film, 0.0008)
  })

  it('does not tell a size from one block: its edges could as well be gain', () => {
    const { fit } = aligned({ seed: 3, only: [0], cells: [1, 1] })
    expect(fit.size).toEqual({ across: null, feed: null })
  })

  it('refuses the artwork of another job, a blank one, a black one, and a film without ink', () => {
    const film = artworkFilm({ ...PLAN, seed: 60 })
    const other = artworkFilm({ ...PLAN, seed: 61 })
    const on = filmForArtwork(film.scan)
    const kindOf = (artwork: typeof film.artwork, place = on) => alignArtwork(artwork, place).kind
    expect(kindOf(other.artwork)).toBe('other')
    expect(kindOf({ ...film.artwork, bits: film.artwork.bits.map(() => 0), inkShare: 0 })).toBe('blank')
    expect(kindOf({ ...film.artwork, bits: film.artwork.bits.map(() => 255), inkShare: 1 })).toBe('solid')
    expect(kindOf(film.artwork, { ...on, ink: { ...on.ink, ink: on.ink.ink.map(() => 0) } })).toBe('noInk')
  })

  it('says so when black and white are swapped', () => {
    const film = artworkFilm({ ...PLAN, seed: 62 })
    const { bits, inkShare } = film.artwork
    const swapped = { ...film.artwork, bits: bits.map(byte => byte ^ 0xff), inkShare: 1 - inkShare }
    const answer = alignArtwork(swapped, filmForArtwork(film.scan))
    expect(answer.kind === 'other' ? answer.because : answer.kind).toMatch(/swapped/)
  })
})
