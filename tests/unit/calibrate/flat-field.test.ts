import { describe, expect, it } from 'vitest'
import { flatField, LATERAL_UNKNOWN, surveyFlat } from '../../../src/calibrate/flat-field.js'
import { seededRandom } from '../../../src/demo/random.js'
import { litShare } from '../../../src/demo/scanner.js'
import { surfaceAt } from '../../../src/imaging/fit-surface.js'
import type { FlatField } from '../../../src/model/calibration.js'
import { type ProblemCode, ProblemError } from '../../../src/model/problem.js'
import { expectWithin } from '../../support/expect-within.js'
import { FLAT_BLACK, type FlatScene, flatLight, flatRaster } from '../../support/flat-raster.js'
import { memoryScan } from '../../support/memory-scan.js'

const SCENE: FlatScene = { widthMm: 100, heightMm: 70, dpi: 150, light: (u, v) => 1 - 0.05 * u * u - 0.01 * v }
const SETTING = { dpi: { across: 150, along: 150 }, channel: 'grey' as const, told: undefined }
/** The tablet lay in the middle of the same window. */
const TABLET = { widthMm: 100, heightMm: 70, dpi: SETTING.dpi, open: [{ column: 295, row: 206 }] }

const survey = (change: Partial<FlatScene> = {}, sha256 = 'f'.repeat(64)) =>
  surveyFlat({ scan: flatRaster({ ...SCENE, ...change }), sha256 }, SETTING)
const field = (change: Partial<FlatScene> = {}) => flatField([survey(change)], flatLight, TABLET)
const fallAt = (flat: FlatField, u: number, v: number) =>
  surfaceAt(
    flat.terms.map(term => ({ ...term, value: term.density })),
    u,
    v,
  )

function refusal(run: () => unknown): { code: ProblemCode; what: string } {
  try {
    run()
  } catch (error) {
    if (error instanceof ProblemError) return error.problem
    throw error
  }
  return expect.fail('was not refused')
}

/** The map must be within this of the truth anywhere it was tested: a tenth of what a density may be off. */
const MAP = { abs: 0.0015, unit: 'D', because: 'noise of a block is 0.0002 D, corners see a quarter of the blocks' }

function expectMap(flat: FlatField, light: FlatScene['light'], inset = 0): void {
  for (let i = 0; i <= 8; i++)
    for (let j = 0; j <= 8; j++) {
      const u = (i / 4 - 1) * (1 - inset)
      const v = (j / 4 - 1) * (1 - inset)
      expectWithin(fallAt(flat, u, v), -Math.log10(light(u, v) / light(0, 0)), MAP)
    }
}

describe('flatField maps the light over the glass', () => {
  it('of lamps drawn at random, to the corners', () => {
    const random = seededRandom(41)
    const signed = (most: number) => random.between(-most, most)
    for (let i = 0; i < 4; i++) {
      const fall = {
        across: random.between(0, 0.06),
        along: random.between(0, 0.03),
        steep: signed(0.015),
        tiltAcross: signed(0.02),
        tiltAlong: signed(0.02),
        twist: signed(0.01),
      }
      const light = (u: number, v: number) => litShare(fall, u, v)
      expectMap(field({ light, seed: i + 2 }), light)
    }
  })

  it('says what it is of, how even the glass is, and that the bare glass tells nothing of the lateral artefact', () => {
    const flat = field()
    expect(flat.scans).toEqual([{ sha256: 'f'.repeat(64), kind: 'open', density: 0 }])
    expect(flat.tablet).toEqual({ across: true, along: true })
    expect(flat.lateral).toEqual({ share: 0, standard: LATERAL_UNKNOWN, measured: false })
    expect(flat.maskedShare).toBeLessThan(0.01)
    const percent = { abs: 0.25, unit: '%', because: 'the mean of the glass is 98.3 % of its middle' }
    expectWithin(flat.uniformity.least, (100 * 0.94) / 0.983 - 100, percent)
    expectWithin(flat.uniformity.greatest, (100 * 1.01) / 0.983 - 100, percent)
    expect(flat.standard).toBeLessThan(0.0006)
    expect(flat.areas).toHaveLength(16)
    expect(Math.max(...flat.areas.map(area => Math.abs(area.residual)))).toBeLessThan(0.1)
  })

  it('0 where the tablet saw its open light; of a bare film too, which is named', () => {
    const u = (2 * 30.5) / 591 - 1
    // The curve calls light 1 what the tablet's open light was.
    const light = (code: number) => flatLight(code) / SCENE.light(u, 0)
    const open = [{ column: 30, row: 206 }]
    const flat = flatField([survey({ over: () => 10 ** -0.06 })], light, { ...TABLET, open })
    expectWithin(fallAt(flat, u, 0), 0, MAP)
    expect(flat.scans[0]!.kind).toBe('film')
    expectWithin(flat.scans[0]!.density, 0.06, { abs: 0.001, unit: 'D', because: 'read where the tablet lay' })
  })

  it('a streak that no smooth map holds is what it leaves', () => {
    const streaked = field({ over: x => (Math.floor(x) % 4 === 0 ? 0.997 : 1) })
    expectWithin(streaked.standard, 0.0013 * Math.sqrt(3 / 16), {
      abs: 0.0003,
      unit: 'D',
      because: 'a quarter of the glass 0.0013 D off, and a block is a millimetre',
    })
    expectMap(streaked, SCENE.light)
  })

  it('dust, a scratch, a label, a frame and the open glass beside a film do not enter', () => {
    const random = seededRandom(8)
    const dust = Array.from({ length: 25 }, () => [random.between(6, 94), random.between(1, 69)] as const)
    const over = (x: number, y: number): number => {
      if (x < 5) return 0.001
      if (x > 40 && x < 48 && y > 30 && y < 35) return 0.4
      if (Math.abs(x - 60 - 0.2 * y) < 0.15) return 1.08
      for (const [dx, dy] of dust) if ((x - dx) ** 2 + (y - dy) ** 2 < 0.16) return 0.3
      return y > 66 ? 1 / 0.9 : 1
    }
    const flat = field({ over })
    expectMap(flat, SCENE.light, 0.12)
    expect(flat.maskedShare).toBeGreaterThan(0.1)
    expectWithin(flat.tested.left, 6, { abs: 1, unit: 'mm', because: 'a block beside the frame' })
    expectWithin(flat.tested.bottom, 65, { abs: 1.5, unit: 'mm', because: 'a block beside the film’s end' })
    expect(flat.tested.right).toBeCloseTo(100, 0)
  })
})

describe('the lateral artefact', () => {
  const lamp = (u: number, v: number) => litShare({ across: 0.04, along: 0.01 }, u, v)
  const seenThrough = (density: number, share: number) => (x: number) =>
    10 ** (-density * (1 + share * ((x - 50) / 100) ** 2))

  it('is measured from a denser even film beside the bare glass', () => {
    for (const share of [0, 0.03]) {
      const film = survey({ light: lamp, over: seenThrough(1.2, share), seed: 5 }, 'e'.repeat(64))
      const flat = flatField([film, survey({ light: lamp })], flatLight, TABLET)
      expect(flat.scans.map(scan => scan.kind)).toEqual(['open', 'film'])
      expect(flat.lateral.measured).toBe(true)
      expectWithin(flat.lateral.share, share, { abs: 2 * flat.lateral.standard, unit: '', because: 'its own U' })
      expect(flat.lateral.standard).toBeLessThan(0.01)
    }
  })

  it('is not told from a bare film, whose density is too small', () => {
    const film = survey({ light: lamp, over: seenThrough(0.03, 0.03), noise: 1000, seed: 5 }, 'e'.repeat(64))
    expect(flatField([film, survey({ light: lamp })], flatLight, TABLET).lateral).toEqual({
      share: 0,
      standard: LATERAL_UNKNOWN,
      measured: false,
    })
  })

  it('needs both scans of one window', () => {
    const film = survey({ widthMm: 90, over: () => 0.1 }, 'e'.repeat(64))
    expect(refusal(() => flatField([survey(), film], flatLight, TABLET))).toMatchObject({ code: 'FLAT_OTHER_SETTING' })
  })
})

describe('a flat scan is refused', () => {
  const even = () => 1
  const at = (dpi: number) =>
    surveyFlat({ scan: flatRaster(SCENE), sha256: '' }, { ...SETTING, dpi: { across: dpi, along: dpi } })
  const blownUp = (step: number) => {
    const scan = flatRaster({ ...SCENE, noise: 300 })
    const { codes } = scan.readWindow({ column: 0, row: 0, width: scan.header.width, height: scan.header.height })
    return memoryScan(
      codes.map(code => Math.floor(code / step) * step),
      scan.header.width,
      scan.header.height,
      150,
    )
  }

  it('of another dpi, bits or channel than the tablet, or without a resolution', () => {
    expect(refusal(() => at(155))).toMatchObject({ code: 'FLAT_OTHER_SETTING' })
    expect(at(152).widthMm).toBeCloseTo(100, 0)
    const header = (change: Partial<FlatScene['header']>) => refusal(() => survey({ header: change ?? {} }))
    expect(header({ bits: 8 }).what).toMatch(/8 bits a sample, the tablet 16/)
    expect(header({ channel: 'blue' }).what).toMatch(/channel blue, the tablet grey/)
    expect(header({ dpi: null }).code).toBe('RESOLUTION_MISSING')
    expect(refusal(() => surveyFlat({ scan: blownUp(257), sha256: '' }, SETTING)).what).toMatch(/8-bit values/)
    expect(surveyFlat({ scan: blownUp(16), sha256: '' }, SETTING).samples).toHaveLength(36)
  })

  it('that is clipped', () => {
    const burnt = (share: number) => survey({ over: x => (x < 100 * share ? 1.6 : 1) })
    expect(refusal(() => burnt(0.03)).code).toBe('FLAT_CLIPPED')
    expect(burnt(0).survey.columns).toBeGreaterThan(60)
    expect(refusal(() => survey({ light: () => 1.31 })).code).toBe('FLAT_CLIPPED')
  })

  it('too small to show a map', () => {
    expect(refusal(() => survey({ heightMm: 19 })).what).toMatch(/100 x 19 mm; at least 20/)
    expect(survey({ heightMm: 21 }).survey.rows).toBeGreaterThan(20)
  })

  it('with print on it: solids, a tint, a film over half the glass', () => {
    const solids = (side: number) => (x: number, y: number) =>
      x > 30 && x < 30 + side && y > 20 && y < 20 + side ? 0.001 : 1
    expect(refusal(() => field({ over: solids(20) })).what).toMatch(/% of its inside departs/)
    expectMap(field({ over: solids(9) }), SCENE.light)
    const tint = (x: number, y: number) => ((x * 1.6) % 1 < 0.35 && (y * 1.6) % 1 < 0.35 ? 0.01 : 1)
    expect(refusal(() => field({ over: tint })).what).toMatch(/as in a tint/)
    expect(['FLAT_PRINTED', 'FLAT_UNEVEN']).toContain(
      refusal(() => field({ over: x => (x < 52 ? 10 ** -0.05 : 1) })).code,
    )
    expect(refusal(() => field({ over: (_, y) => (y < 30 ? 0.01 : 1) })).code).toBe('FLAT_PRINTED')
    expectMap(field({ over: (_, y) => (y < 14 ? 0.01 : 1) }), SCENE.light, 0.45)
  })

  it('that varies more than a lamp can', () => {
    expect(refusal(() => field({ light: u => 1 - 0.36 * u * u })).what).toMatch(
      /in a way no lamp does \(from −?-\d+ to/,
    )
    const steep = (u: number) => 1 - 0.22 * u * u
    expectMap(field({ light: steep }), steep)
    expect(refusal(() => field({ over: x => 1 + 0.02 * Math.sin(x), light: even })).code).toBe('FLAT_UNEVEN')
  })

  it('at another exposure, or of a film that is not bare', () => {
    expect(refusal(() => field({ over: () => 1.25 })).what).toMatch(/2[34] % brighter|25 % brighter/)
    expectMap(field({ over: () => 1.15 }), SCENE.light)
    expect(refusal(() => field({ over: () => 10 ** -0.4 })).what).toMatch(/reads D 0.40, too dark/)
    expect(field({ over: () => 10 ** -0.3 }).scans[0]!.kind).toBe('film')
  })

  it('takes no code for black', () => {
    expect(flatLight(FLAT_BLACK)).toBe(0)
    expect(refusal(() => field({ light: () => 0 })).code).toMatch(/FLAT_/)
  })
})
