import { describe, expect, it } from 'vitest'
import { checkedFilm, type Film } from '../../../src/demo/film.js'

const film: Film = { widthMm: 10, heightMm: 10, baseDensity: 0.05, netDensity: 3, inkSpreadUm: 10, shapes: [] }

describe('checkedFilm', () => {
  it('hands a good film back', () => {
    expect(checkedFilm(film)).toBe(film)
  })

  it.each([
    [{ widthMm: 0 }, { widthMm: 0.1 }, 'widthMm'],
    [{ heightMm: 2000 }, { heightMm: 1999 }, 'heightMm'],
    [{ baseDensity: -0.001 }, { baseDensity: 0 }, 'baseDensity'],
    [{ netDensity: 8.01 }, { netDensity: 8 }, 'netDensity'],
    [{ inkSpreadUm: 1.99 }, { inkSpreadUm: 2 }, 'inkSpreadUm'],
    [{ inkSpreadUm: Number.NaN }, { inkSpreadUm: 0 }, 'inkSpreadUm'],
    [
      { shapes: [{ kind: 'disc', u: 1, v: 1, radius: 0 }] },
      { shapes: [{ kind: 'disc', u: 1, v: 1, radius: 0.001 }] },
      'size of a disc',
    ],
    [
      { shapes: [{ kind: 'rectangle', u: 1, v: 1, width: 1, height: 1, ink: 1.01 }] },
      { shapes: [{ kind: 'rectangle', u: 1, v: 1, width: 1, height: 1, ink: -1 }] },
      'ink of a shape',
    ],
  ] as [Partial<Film>, Partial<Film>, string][])('refuses %j and takes %j', (bad, good, name) => {
    expect(() => checkedFilm({ ...film, ...bad })).toThrow(name)
    expect(checkedFilm({ ...film, ...good })).toBeDefined()
  })
})
