import { describe, expect, it } from 'vitest'
import { gridFilm } from '../../../src/demo/grid.js'

const PLAN = { pitchMm: 5, columns: 6, rows: 4, mark: 'squares', markMm: 1, marginMm: 5 } as const

describe('gridFilm', () => {
  it('lays one mark a node, the margin round them', () => {
    const film = gridFilm(PLAN)
    expect([film.widthMm, film.heightMm]).toEqual([35, 25])
    expect(film.shapes).toHaveLength(24)
    expect(film.shapes[0]).toMatchObject({ u: 4.5, v: 4.5, width: 1, height: 1 })
    expect(gridFilm({ ...PLAN, missing: ['0,0', '5,3'] }).shapes).toHaveLength(22)
    expect(gridFilm({ ...PLAN, mark: 'lines' }).shapes).toHaveLength(10)
  })

  it('a lean moves the last row by its sine', () => {
    const film = gridFilm({ ...PLAN, leanDegrees: 1 })
    expect(film.shapes.at(-1)).toMatchObject({ u: 5 + 25 + 15 * Math.sin(Math.PI / 180) - 0.5 })
  })

  it('refuses marks that fill the pitch, and takes those that do not', () => {
    expect(() => gridFilm({ ...PLAN, markMm: 3 })).toThrow(/markMm must be/)
    expect(gridFilm({ ...PLAN, markMm: 2.9 }).shapes).toHaveLength(24)
  })
})
