import { describe, expect, it } from 'vitest'
import { unknownLightScale } from '../../../src/calibrate/light-scale.js'
import { lineSpread, shapeRise } from '../../../src/calibrate/line-spread.js'
import type { LineSpread } from '../../../src/model/calibration.js'
import { expectWithin } from '../../support/expect-within.js'
import { memoryScan } from '../../support/memory-scan.js'
import { type EdgeScene, edgeRaster } from './edge-raster.js'

const LINEAR = { black: 0, gain: 55_000, gamma: 1, noise: 30 }
const SCENE: EdgeScene = {
  dpi: 1200,
  scanner: LINEAR,
  seed: 5,
  blurUm: { across: 10, along: 14 },
  tiltDegrees: 2,
  plateMm: { width: 8, height: 8 },
  pageMm: { width: 13, height: 13 },
}
const light = unknownLightScale(55_000)

function measured(scene: EdgeScene) {
  const pitch = 25_400 / scene.dpi
  return lineSpread(edgeRaster(scene), light, { across: pitch, along: pitch })
}

function expectRise(spread: LineSpread | null, scene: EdgeScene, sigma: number): void {
  const glare = scene.glare ?? { share: 0, sigmaUm: sigma }
  const shape = { place: 0, sigma, wideSigma: glare.sigmaUm, wideWeight: glare.share }
  const truth = shapeRise(shape, 25_400 / scene.dpi)
  expectWithin(spread!.riseWidth, truth, {
    abs: 0.5,
    unit: 'um',
    because: 'a quarter of the 2 um wanted of film widths',
  })
  expect(Math.abs(spread!.riseWidth - truth)).toBeLessThanOrEqual(spread!.riseWidthExpanded)
  const sum = spread!.weights.reduce((a, b) => a + b, 0)
  expectWithin(sum, 1, { abs: 1e-9, unit: '1', because: 'it is a share of light' })
  const middle = (spread!.weights.length - 1) / 2
  const centre = spread!.weights.reduce((a, w, i) => a + w * (i - middle), 0)
  expectWithin(centre, 0, { abs: 1e-6, unit: 'um', because: 'centred' })
}

describe('lineSpread', () => {
  it('tells both directions apart on a plate turned by 2 degrees', () => {
    const { across, along, warnings } = measured(SCENE)
    expectRise(across, SCENE, 10)
    expectRise(along, SCENE, 14)
    expect(warnings).toEqual([])
    const middle = (across!.weights.length - 1) / 2
    const variance = across!.weights.reduce((a, w, i) => a + w * (i - middle) ** 2, 0)
    expectWithin(Math.sqrt(variance), Math.sqrt(100 + 21.1667 ** 2 / 12), {
      abs: 0.15,
      unit: 'um',
      because: 'Gaussian and pixel add in squares; the table is cut at 4 sigma',
    })
  })

  it('holds at 600 and 2400 dpi and at 0.5 and 9 degrees', () => {
    for (const change of [
      { dpi: 600, blurUm: { across: 15, along: 20 }, tiltDegrees: 3 },
      { dpi: 2400, plateMm: { width: 6.5, height: 6.5 }, pageMm: { width: 9.5, height: 9.5 } },
      { tiltDegrees: 0.5 },
      { tiltDegrees: 9, pageMm: { width: 14, height: 14 } },
    ] as const) {
      const scene = { ...SCENE, ...change }
      const { across, along } = measured(scene)
      expectRise(across, scene, scene.blurUm.across)
      expectRise(along, scene, scene.blurUm.along)
    }
  })

  it('sees glare as a second, wider part', () => {
    const scene = { ...SCENE, glare: { share: 0.08, sigmaUm: 60 } }
    const { across } = measured(scene)
    expectRise(across, scene, 10)
    const middle = (across!.weights.length - 1) / 2
    const far = across!.weights.reduce((a, w, i) => a + (Math.abs(i - middle) > 60 ? w : 0), 0)
    expectWithin(far, 0.08 * 0.3173, { abs: 0.003, unit: '1', because: 'light beyond one sigma of the wide part' })
  })

  it('gives null and a remark for a direction without an edge', () => {
    const scene = { ...SCENE, plateMm: { width: 6, height: 60 } }
    const { across, along, warnings } = measured(scene)
    expectRise(across, scene, 10)
    expect(along).toBeNull()
    expect(warnings.join()).toMatch(/along the carriage/)
  })

  it('refuses a page without an opaque straight edge', () => {
    const empty = memoryScan(new Uint16Array(600 * 600).fill(50_000), 600, 600, 1200)
    const pitch = { across: 21.1667, along: 21.1667 }
    expect(() => lineSpread(empty, light, pitch)).toThrow(/EDGE_NOT_FOUND/)
    expect(() => measured({ ...SCENE, plateMm: { width: 3, height: 3 } })).toThrow(/EDGE_NOT_FOUND/)
  })

  const pitch = 25_400 / SCENE.dpi
  const changed = (scene: EdgeScene, change: (codes: Float64Array, width: number, height: number) => void) => {
    const { header, readWindow } = edgeRaster(scene)
    const { width, height } = header
    const codes = Float64Array.from(readWindow({ column: 0, row: 0, width, height }).codes)
    change(codes, width, height)
    const whole = Uint16Array.from(codes, code => Math.min(65_535, Math.max(0, Math.round(code))))
    return lineSpread(memoryScan(whole, width, height, scene.dpi), light, { across: pitch, along: pitch })
  }
  /** What a driver's sharpening does along the rows: each code less a share of its neighbours' mean. */
  const sharpened = (amount: number) => (codes: Float64Array, width: number) => {
    const from = codes.slice()
    for (let i = 2; i < codes.length - 2; i++) {
      if (i % width < 2 || i % width > width - 3) continue
      const mean = (from[i - 2]! + from[i - 1]! + from[i]! + from[i + 1]! + from[i + 2]!) / 5
      codes[i] = from[i]! + amount * (from[i]! - mean)
    }
  }

  it('refuses the halos of sharpening, and takes a little unevenness beside the edge for none', () => {
    const stripe = { ...SCENE, plateMm: { width: 6, height: 60 } }
    expect(() => changed(stripe, sharpened(0.5))).toThrow(/EDGE_SHARPENED.*above open light at 2 of 2 edges/)
    expectRise(changed(stripe, () => {}).across, stripe, 10)
    const slope = (codes: Float64Array, width: number) => {
      for (let i = 0; i < codes.length; i++) codes[i]! *= 1 + 0.01 * ((i % width) / width)
    }
    expect(changed(stripe, slope).across).not.toBeNull()
  })

  it('says why an edge will not do: not opaque, no light, turned by 30 degrees, nicked', () => {
    const grey = (codes: Float64Array) => {
      for (let i = 0; i < codes.length; i++) codes[i] = Math.max(codes[i]!, 0.1 * 55_000)
    }
    expect(() => changed(SCENE, grey)).toThrow(/nothing is opaque: the darkest place lets 10 % through/)
    expect(() => changed(SCENE, codes => codes.fill(300))).toThrow(/no open light in view/)
    const turned = { ...SCENE, tiltDegrees: 30, pageMm: { width: 17, height: 17 } }
    expect(() => measured(turned)).toThrow(/turned by 30 degrees/)
    const nicked = (codes: Float64Array, width: number, height: number) => {
      for (let r = 0; r < height; r++)
        for (let c = 0; c < width; c++) if (r % 12 < 5 && Math.abs(c - width / 2) > 120) codes[r * width + c] = 55_000
    }
    expect(() => changed({ ...SCENE, plateMm: { width: 7, height: 60 } }, nicked)).toThrow(/EDGE_NOT_STRAIGHT/)
  })
})
