import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { calibrateScanner } from '../../../src/calibrate/calibrate-scanner.js'
import { writeCalibration } from '../../../src/calibrate/calibration-file.js'
import { type Certificate, nominalCertificate } from '../../../src/calibrate/certificate.js'
import type { Calibration } from '../../../src/model/calibration.js'
import type { ProblemCode } from '../../../src/model/problem.js'
import { ProblemError } from '../../../src/model/problem.js'
import type { OpenScan } from '../../../src/model/scan.js'
import { expectWithin } from '../../support/expect-within.js'
import { memoryScan } from '../../support/memory-scan.js'
import { type TabletScene, tabletRaster, trueCode } from './tablet-raster.js'

const TWENTY_ONE = nominalCertificate('nominal-21')
const THIRTY_ONE = nominalCertificate('nominal-31')
const densitiesOf = (certificate: Certificate) => certificate.steps.map(step => step.density)
const LINEAR = { black: 300, gain: 55_000, gamma: 1, noise: 20 }
const BENT = { black: 300, gain: 60_000, gamma: 2.2, noise: 20 }
const SCENE: TabletScene = {
  dpi: 300,
  densities: densitiesOf(TWENTY_ONE),
  scanner: LINEAR,
  seed: 3,
  pitchMm: 3,
  widthMm: 6,
  bedMm: { ends: 6, sides: 6 },
}

const calibrate = (tablet: OpenScan, certificate: Certificate, more: object = {}): Calibration =>
  calibrateScanner({
    tablet,
    tabletSha256: 'a'.repeat(64),
    certificate,
    edge: null,
    scanner: 'flatbed-a',
    now: new Date('2026-01-02T03:04:05Z'),
    software: 'burngate test',
    ...more,
  })

/** Every step's code must be that of its own density: a step read in the wrong place is thousands of codes off. */
function expectStepsRight(calibration: Calibration, scene: TabletScene): void {
  for (const step of calibration.steps)
    expectWithin(step.code, trueCode(scene.scanner, step.density), {
      abs: Math.max(3, 6 * step.codeError),
      unit: 'codes',
      because: `six standard errors of step ${step.step}, a step apart is at least 20 codes`,
    })
}

function refusal(run: () => unknown): { code: ProblemCode; what: string } {
  try {
    run()
  } catch (error) {
    if (error instanceof ProblemError) return error.problem
    throw error
  }
  return expect.fail('was not refused')
}

describe('calibrateScanner finds the tablet', () => {
  for (const scanner of [LINEAR, BENT])
    for (const rises of ['right', 'down', 'left', 'up'] as const)
      for (const tiltDegrees of [scanner === LINEAR ? -5 : 2])
        it(`gamma ${scanner.gamma}, densities rising to the ${rises}, tilted by ${tiltDegrees} degrees`, () => {
          const scene = { ...SCENE, scanner, rises, tiltDegrees }
          expectStepsRight(calibrate(tabletRaster(scene), TWENTY_ONE), scene)
        })

  const scenes: Record<string, Partial<TabletScene>> = {
    'a clear margin of the density of step 1': { margin: { endsMm: 4, sidesMm: 3, density: 0.05 }, tiltDegrees: 2 },
    'a clear margin as long as two steps': { margin: { endsMm: 6, sidesMm: 2, density: 0.05 }, tiltDegrees: -1 },
    'a margin that looks like step 2': { margin: { endsMm: 4, sidesMm: 3, density: 0.2 } },
    'clear gaps between steps': { gap: { mm: 0.4, light: 1 }, tiltDegrees: 1 },
    'opaque lines between steps': { gap: { mm: 0.4, light: 0 }, tiltDegrees: 1 },
    dust: { dust: 30, tiltDegrees: 1 },
    'a holder along one side': { opaque: [{ x: -20, y: -5, width: 300, height: 11.2 }] },
    'a holder against the deep end': { opaque: [{ x: 68.5, y: -5, width: 40, height: 50 }] },
    'a holder round three sides': {
      opaque: [
        { x: -50, y: -5, width: 300, height: 9 },
        { x: -50, y: 14.5, width: 300, height: 20 },
        { x: -50, y: -5, width: 53, height: 60 },
      ],
    },
    'deep steps lost in noise': { scanner: { ...LINEAR, noise: 150 } },
    'a lamp that falls off by 5 %': { shading: 0.05, rises: 'down', bedMm: { ends: 8, sides: 30 } },
    '150 dpi': { dpi: 150, tiltDegrees: 1, bedMm: { ends: 8, sides: 7 } },
    '600 dpi and a small tablet': { dpi: 600, pitchMm: 2.5, widthMm: 5, bedMm: { ends: 4, sides: 4 } },
    'steps wider than long': { pitchMm: 3, widthMm: 16 },
    'no open light in view': { bedMm: { ends: -0.2, sides: -0.5 } },
  }
  for (const [name, change] of Object.entries(scenes))
    it(`with ${name}`, () => {
      const scene = { ...SCENE, ...change }
      const calibration = calibrate(tabletRaster(scene), TWENTY_ONE)
      if (change.shading === undefined) expectStepsRight(calibration, scene)
      expect(calibration.openLight === null).toBe(name === 'no open light in view')
      expect(calibration.dark !== null).toBe(name.includes('holder'))
      const trusted = calibration.steps.filter(step => step.trusted).length
      if (name.includes('noise')) expect(trusted).toBeLessThan(20)
      else expect(trusted).toBe(21)
    })

  it('reads 31 steps of 0.10 and says the tablet is nominal', () => {
    const scene = { ...SCENE, densities: densitiesOf(THIRTY_ONE), pitchMm: 3, scanner: BENT }
    const calibration = calibrate(tabletRaster(scene), THIRTY_ONE)
    expectStepsRight(calibration, scene)
    expect(calibration.tablet).toEqual({ name: 'nominal-31', nominal: true, sha256: 'a'.repeat(64) })
    expect(calibration.warnings.join()).toMatch(/Nominal tablet/)
    expect(calibration.calibratedAt).toBe('2026-01-02T03:04:05.000Z')
  })

  it('uses an opaque holder as black, and sees deeper for it', () => {
    const without = calibrate(tabletRaster(SCENE), TWENTY_ONE)
    const withHolder = calibrate(
      tabletRaster({ ...SCENE, opaque: [{ x: -20, y: -5, width: 300, height: 9 }] }),
      TWENTY_ONE,
    )
    expectWithin(withHolder.response.black, 300, { abs: 1, unit: 'codes', because: 'k = 2 of the holder’s mean' })
    expect(withHolder.response.blackError).toBeLessThan(without.response.blackError)
    expect(withHolder.deepest).toBeGreaterThan(without.deepest + 0.2)
    expect(without.deepest).toBeLessThanOrEqual(3.35)
  })
})

describe('calibrateScanner refuses, each with its own reason, and nothing is saved', () => {
  const swapped = densitiesOf(TWENTY_ONE).map((d, i, all) => (i === 8 ? all[9]! : i === 9 ? all[8]! : d))
  const scan = (change: Partial<TabletScene>) => () => tabletRaster({ ...SCENE, ...change })
  const cases: [string, () => OpenScan, Certificate, ProblemCode, RegExp][] = [
    ['a 31-step file on a 21-step tablet', scan({}), THIRTY_ONE, 'TABLET_STEP_COUNT', /31 in the file/],
    [
      'a 21-step file on a 31-step tablet',
      scan({ densities: densitiesOf(THIRTY_ONE), pitchMm: 3, scanner: BENT }),
      TWENTY_ONE,
      'TABLET_STEP_COUNT',
      /more to be seen/,
    ],
    [
      'a tablet whose clear end is off the glass',
      scan({ shiftMm: -9 }),
      TWENTY_ONE,
      'TABLET_STEP_COUNT',
      /off the scan/,
    ],
    ['a tablet whose deep end is off the glass', scan({ shiftMm: 9 }), TWENTY_ONE, 'TABLET_STEP_COUNT', /off the scan/],
    ['a clipped scan', scan({ scanner: { ...LINEAR, gain: 75_000 } }), TWENTY_ONE, 'CALIBRATION_CLIPPED', /top code/],
    ['two steps in the wrong order', scan({ densities: swapped }), TWENTY_ONE, 'CALIBRATION_NOT_MONOTONE', /step 10/],
    [
      'a sharpened scan',
      scan({ scanner: BENT, sharpen: { amount: 1, radius: 2 } }),
      TWENTY_ONE,
      'CALIBRATION_SHARPENED',
      /beyond the brighter step/,
    ],
    ['an 8-bit file', scan({ header: { bits: 8 } }), TWENTY_ONE, 'CALIBRATION_EIGHT_BIT', /8 bits/],
    [
      '8-bit data in a 16-bit file',
      () => eightBit(tabletRaster(SCENE)),
      TWENTY_ONE,
      'CALIBRATION_EIGHT_BIT',
      /different codes/,
    ],
    ['a file without resolution', scan({ header: { dpi: null } }), TWENTY_ONE, 'RESOLUTION_MISSING', /resolution/],
    [
      'a resolution that differs both ways',
      scan({ header: { dpi: { across: 300, along: 600 } } }),
      TWENTY_ONE,
      'RESOLUTION_IMPLAUSIBLE',
      /same both ways/,
    ],
    ['an empty bed', () => emptyBed(), TWENTY_ONE, 'TABLET_NOT_FOUND', /strip/],
  ]
  for (const [name, make, certificate, code, words] of cases)
    it(name, async () => {
      const directory = mkdtempSync(join(tmpdir(), 'burngate-'))
      try {
        const tablet = make()
        const problem = await (async () => {
          await writeCalibration(join(directory, 'scanners'), calibrate(tablet, certificate))
        })().catch(error => (error as ProblemError).problem)
        expect(problem).toMatchObject({ code })
        expect(problem?.what).toMatch(words)
        expect(existsSync(join(directory, 'scanners'))).toBe(false)
      } finally {
        rmSync(directory, { recursive: true })
      }
    })

  it('a scanner name that is a path, before anything is read', () => {
    const tablet = { ...tabletRaster(SCENE), forEachBand: () => expect.fail('read the scan') }
    expect(refusal(() => calibrate(tablet, TWENTY_ONE, { scanner: '../x' })).code).toBe('SCANNER_NAME_INVALID')
  })

  it('partly clipped open light is a remark, and D 0 then rests on the certificate', () => {
    const scene = { ...SCENE, scanner: { ...LINEAR, gain: 65_235, noise: 40 } }
    const calibration = calibrate(tabletRaster(scene), TWENTY_ONE)
    expect(calibration.warnings.join()).toMatch(/partly clipped/)
    expect(calibration.response.knots[0]!.density).toBe(0.05)
  })

  it('takes a told resolution where the file has none, from 100 to 10000 dpi', () => {
    const tablet = tabletRaster({ ...SCENE, header: { dpi: null } })
    expect(calibrate(tablet, TWENTY_ONE, { dpi: 300 }).scan.dpi).toEqual({ across: 300, along: 300 })
    for (const dpi of [99, 10_001, Number.NaN])
      expect(refusal(() => calibrate(tablet, TWENTY_ONE, { dpi })).code).toBe('RESOLUTION_IMPLAUSIBLE')
  })
})

function eightBit(scan: OpenScan): OpenScan {
  const { width, height } = scan.header
  const { codes } = scan.readWindow({ column: 0, row: 0, width, height })
  return memoryScan(
    codes.map(code => Math.round(code / 257) * 257),
    width,
    height,
    300,
  )
}

/** Open light with a slow ramp, so that it holds more than 256 codes. */
function emptyBed(): OpenScan {
  return memoryScan(
    Uint16Array.from({ length: 800 * 600 }, (_, i) => 50_000 + ((i * 7) % 900)),
    800,
    600,
    300,
  )
}
