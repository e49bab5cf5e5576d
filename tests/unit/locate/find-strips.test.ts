import { describe, expect, it } from 'vitest'
import { type BlockOverview, blockOverview } from '../../../src/imaging/block-overview.js'
import { mapped } from '../../../src/imaging/fit-plane-map.js'
import { lightField } from '../../../src/imaging/light-field.js'
import { findStrips } from '../../../src/locate/find-strips.js'
import { catchStrip, fitStrip } from '../../../src/locate/fit-strip.js'
import type { StripForm } from '../../../src/model/strip.js'
import { stripLayout } from '../../../src/strip/strip-layout.js'
import { memoryScan } from '../../support/memory-scan.js'

const DPI = 300
const UM = 25_400 / DPI
const SIZE = { across: UM, along: UM }
const LINEAR = Float32Array.from({ length: 65536 }, (_, code) => code / 60_000)

interface Lie {
  readonly form: StripForm
  /** Middle of the strip on the page, mm. */
  readonly x: number
  readonly y: number
  readonly turn: number
  readonly mirrored: boolean
}

/** A page with strips' solid fields on clear film, each pixel by four samples a side; `spoil` takes ink away, strip mm. */
function page(
  wideMm: number,
  highMm: number,
  lies: readonly Lie[],
  spoil: (x: number, y: number) => boolean = () => false,
) {
  const width = Math.round((wideMm * 1000) / UM)
  const height = Math.round((highMm * 1000) / UM)
  const codes = new Uint16Array(width * height).fill(54_000)
  const maps = lies.map(({ form, x, y, turn, mirrored }) => {
    const layout = stripLayout(form, 'head', null)
    const cos = Math.cos((turn * Math.PI) / 180)
    const sin = Math.sin((turn * Math.PI) / 180)
    const toStrip = (px: number, py: number) => {
      const dx = px - x
      const dy = py - y
      return {
        x: dx * cos + dy * sin + layout.width / 2,
        y: (mirrored ? -1 : 1) * (dy * cos - dx * sin) + layout.height / 2,
      }
    }
    const toPage = (sx: number, sy: number) => {
      const u = sx - layout.width / 2
      const v = (mirrored ? -1 : 1) * (sy - layout.height / 2)
      return { x: x + u * cos - v * sin, y: y + u * sin + v * cos }
    }
    const inked = layout.fields.filter(
      f => f.kind === 'mark' || f.kind === 'rail' || f.kind === 'solid' || f.kind === 'code',
    )
    return { layout, toStrip, toPage, inked }
  })
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      let ink = 0
      // Samples of a pixel lie within half of it: a page is mostly far from any strip.
      const near = maps.some(({ toStrip, layout }) => {
        const at = toStrip(((c + 0.5) * UM) / 1000, ((r + 0.5) * UM) / 1000)
        return at.x > -0.1 && at.y > -0.1 && at.x < layout.width + 0.1 && at.y < layout.height + 0.1
      })
      for (let i = 0; near && i < 4; i++)
        for (let j = 0; j < 4; j++) {
          const px = ((c + (j + 0.5) / 4) * UM) / 1000
          const py = ((r + (i + 0.5) / 4) * UM) / 1000
          if (
            maps.some(({ toStrip, inked }) => {
              const at = toStrip(px, py)
              return (
                !spoil(at.x, at.y) &&
                inked.some(
                  ({ rect }) =>
                    at.x > rect.x && at.y > rect.y && at.x < rect.x + rect.width && at.y < rect.y + rect.height,
                )
              )
            })
          )
            ink++
        }
      codes[r * width + c] = Math.round(54_000 - (ink / 16) * 53_900)
    }
  const scan = memoryScan(codes, width, height, DPI)
  const overview: BlockOverview = blockOverview(scan, 2, LINEAR)
  return { scan, overview, maps }
}

describe('findStrips', () => {
  it.each([
    { form: 'short', x: 45, y: 40, turn: 2.3, mirrored: false },
    { form: 'short', x: 42, y: 44, turn: 117, mirrored: true },
    { form: 'short', x: 45, y: 41, turn: 178, mirrored: true },
  ] as const)('finds %j, and its edges lay it to a fifth of a pixel', lie => {
    const { scan, overview, maps } = page(90, 84, [lie])
    const [found, ...others] = findStrips(overview, SIZE, 0.9)
    expect(others).toEqual([])
    expect(found).toMatchObject({ form: lie.form, mirrored: lie.mirrored, marks: 3 })
    const field = lightField(scan, LINEAR, SIZE)
    const fit = fitStrip(field, maps[0]!.layout, catchStrip(field, maps[0]!.layout, found!.map)!)!
    // The page is painted in quarters of a pixel, which alone is an eighth off; the truth test holds the scanned strip to hundredths.
    for (const [x, y] of [
      [5, 3],
      [65, 12],
    ] as const) {
      const at = mapped(fit.map, x, y)
      const truly = maps[0]!.toPage(x, y)
      expect(Math.abs(at.x + 0.5 - (truly.x * 1000) / UM)).toBeLessThan(0.2)
      expect(Math.abs(at.y + 0.5 - (truly.y * 1000) / UM)).toBeLessThan(0.2)
    }
  })

  it('finds one that has lost a mark, and one that is cut off', () => {
    const lie = { form: 'short', x: 45, y: 20, turn: 3, mirrored: false } as const
    expect(findStrips(page(90, 40, [lie], x => x > 29 && x < 32.5).overview, SIZE, 0.9)).toMatchObject([
      { form: 'short', marks: 2 },
    ])
    expect(findStrips(page(62, 40, [lie]).overview, SIZE, 0.9)).toMatchObject([{ form: 'short' }])
  })

  it('finds two of them, and none where bars only look like one', () => {
    const two = page(100, 60, [
      { form: 'short', x: 45, y: 15, turn: 1, mirrored: false },
      { form: 'short', x: 50, y: 42, turn: 184, mirrored: false },
    ])
    expect(findStrips(two.overview, SIZE, 0.9)).toHaveLength(2)
    // The marks alone, without the long solid and the solid.
    const marks = page(
      90,
      40,
      [{ form: 'short', x: 45, y: 20, turn: 3, mirrored: false }],
      (x, y) => y > 11.2 || (x > 18 && x < 29) || x < 15,
    )
    expect(findStrips(marks.overview, SIZE, 0.9)).toEqual([])
    expect(findStrips(marks.overview, SIZE, 0)).toEqual([])
  })
})
