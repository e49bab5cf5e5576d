import { describe, expect, it } from 'vitest'
import { sheetPlaces } from '../../../src/ladder/sheet-places.js'

const on = (widthMm: number, heightMm: number) =>
  sheetPlaces({ paper: { widthMm, heightMm } }, { widthMm: 140, heightMm: 27 }, 8)

describe('sheetPlaces', () => {
  it('lays steps one below the other inside the rim, below the words', () => {
    const { turned, places } = on(210, 297)
    expect(turned).toBe(false)
    expect(places).toHaveLength(9)
    expect(places[0]).toEqual({ u: 8, v: 16 })
    expect(places[8]!.v + 27).toBeLessThanOrEqual(297 - 8)
  })

  it('turns them where more fit so', () => {
    expect(on(300, 170)).toMatchObject({ turned: true, places: { length: 9 } })
    expect(on(60, 300).turned).toBe(true)
  })

  it('has a place on each side of its edge, and none on a sheet too small', () => {
    expect(on(156, 51).places).toHaveLength(1)
    expect(on(155.9, 51).places).toHaveLength(0)
    expect(on(156, 50.9).places).toHaveLength(0)
    expect(on(50, 50).places).toEqual([])
  })
})
