import { mkdtempSync, readdirSync, readFileSync, rmSync, utimesSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import {
  calibrationFileName,
  loadCalibrations,
  loadEarlierCalibrations,
  parseCalibration,
  readCalibration,
  writeCalibration,
} from '../../../src/calibrate/calibration-file.js'
import { checkScannerName } from '../../../src/calibrate/scanner-name.js'
import type { Calibration } from '../../../src/model/calibration.js'
import { ProblemError } from '../../../src/model/problem.js'

const CALIBRATION: Calibration = {
  schema: 'burngate/calibration@1',
  scanner: 'flatbed-a',
  calibratedAt: '2026-01-02T03:04:05.000Z',
  software: 'burngate test',
  tablet: { name: 'tablet-a', nominal: false, sha256: 'a' },
  scan: {
    file: 'tablet.tif',
    sha256: 'a',
    dpi: { across: 1200, along: 1200 },
    bits: 16,
    channel: 'grey',
    maker: null,
    model: null,
  },
  steps: [0, 1, 2, 3, 4].map(i => ({
    step: i + 1,
    density: 0.1 + 0.5 * i,
    expanded: 0.02,
    code: 50_000 - 10_000 * i,
    codeError: 1,
    pixelNoise: 20,
    trusted: true,
    residual: 0,
    column: 10 * i,
    row: 5,
  })),
  response: {
    knots: [0, 1, 2, 3, 4].map(i => ({ code: 50_000 - 10_000 * i, density: 0.1 + 0.5 * i, standardError: 0 })),
    black: 300,
    blackError: 1,
    gain: 60_000,
    gamma: 1,
    fitResidual: 0.01,
  },
  openLight: null,
  dark: null,
  deepest: 2.3,
  sharpness: null,
  warnings: [],
}

const text = (change: object = {}) => JSON.stringify({ ...CALIBRATION, ...change })

function refusal(run: () => unknown): string {
  try {
    run()
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    expect(error.problem.code).toBe('CALIBRATION_FILE_INVALID')
    return error.problem.what
  }
  return expect.fail('was accepted')
}

describe('calibration files', () => {
  let directory: string
  beforeEach(() => {
    directory = mkdtempSync(join(tmpdir(), 'burngate-'))
  })
  afterEach(() => rmSync(directory, { recursive: true }))

  it('come back as they were written, one file a scanner and setting', async () => {
    const folder = join(directory, 'scanners')
    const blue: Calibration = { ...CALIBRATION, scan: { ...CALIBRATION.scan, channel: 'blue' } }
    const coarse: Calibration = { ...CALIBRATION, scan: { ...CALIBRATION.scan, dpi: { across: 600, along: 600 } } }
    const path = await writeCalibration(folder, CALIBRATION)
    await writeCalibration(folder, blue)
    await writeCalibration(folder, coarse)
    await writeCalibration(folder, CALIBRATION)
    expect(readdirSync(folder).sort()).toEqual([
      'flatbed-a__1200dpi-blue.json',
      'flatbed-a__1200dpi.json',
      'flatbed-a__600dpi.json',
    ])
    expect(await readCalibration(path)).toEqual(CALIBRATION)
    const { calibrations, unusable } = await loadCalibrations(folder)
    expect(calibrations.map(c => c.calibration.scan.dpi.across)).toEqual([1200, 1200, 600])
    expect(unusable).toEqual([])
  })

  it('one bad file is told and stops no other', async () => {
    await writeCalibration(directory, CALIBRATION)
    writeFileSync(join(directory, 'broken.json'), '{"schema":')
    writeFileSync(join(directory, 'notes.txt'), 'not a calibration')
    const { calibrations, unusable } = await loadCalibrations(directory)
    expect(calibrations).toHaveLength(1)
    expect(unusable.map(u => u.error.problem.code)).toEqual(['CALIBRATION_FILE_INVALID'])
    expect(unusable[0]!.error.problem.what).toMatch(/broken.json.*not JSON/)
  })

  it('a folder that is not there holds none; a file that is not there is missing', async () => {
    expect(await loadCalibrations(join(directory, 'none'))).toEqual({ calibrations: [], unusable: [] })
    await expect(readCalibration(join(directory, 'none.json'))).rejects.toMatchObject({
      problem: { code: 'FILE_MISSING' },
    })
  })

  it('what could not be read again is not written, and the old file stays', async () => {
    const path = await writeCalibration(directory, CALIBRATION)
    const before = readFileSync(path, 'utf8')
    const broken = { ...CALIBRATION, deepest: Number.NaN }
    await expect(writeCalibration(directory, broken)).rejects.toMatchObject({
      problem: { code: 'CALIBRATION_FILE_INVALID' },
    })
    expect(readFileSync(path, 'utf8')).toBe(before)
    expect(readdirSync(directory)).toHaveLength(1)
  })

  it('are kept when another replaces them, out of sight of inspections', async () => {
    const at = (calibratedAt: string, deepest: number): Calibration => ({ ...CALIBRATION, calibratedAt, deepest })
    const [first, second, third] = [
      at('2026-01-02T03:04:05.000Z', 2.3),
      at('2026-02-02T03:04:05.000Z', 2.2),
      at('2026-02-02T03:04:05.000Z', 2.1),
    ] as const
    for (const calibration of [first, first, second, third]) await writeCalibration(directory, calibration)
    const last = at('2026-03-02T03:04:05.000Z', 2.0)
    const path = await writeCalibration(directory, last)
    expect(readdirSync(directory).sort()).toEqual(['earlier', 'flatbed-a__1200dpi.json'])
    expect(readdirSync(join(directory, 'earlier')).sort()).toEqual([
      'flatbed-a__1200dpi__20260102T030405Z.json',
      'flatbed-a__1200dpi__20260202T030405Z-2.json',
      'flatbed-a__1200dpi__20260202T030405Z.json',
    ])
    const earlier = await loadEarlierCalibrations(directory)
    expect(earlier.unusable).toEqual([])
    expect(earlier.calibrations.map(c => c.calibration)).toEqual([first, third, second])
    expect((await loadCalibrations(directory)).calibrations).toEqual([{ file: path, calibration: last }])
  })

  it('are kept byte for byte when they cannot be read, and once when the writing was cut off', async () => {
    const path = await writeCalibration(directory, CALIBRATION)
    writeFileSync(path, '{"edited": "by hand"')
    utimesSync(path, new Date('2026-05-06T07:08:09.500Z'), new Date('2026-05-06T07:08:09.500Z'))
    await writeCalibration(directory, CALIBRATION)
    const kept = join(directory, 'earlier', 'flatbed-a__1200dpi__20260506T070809Z.json')
    expect(readFileSync(kept, 'utf8')).toBe('{"edited": "by hand"')
    // Cut off between keeping the old one and writing the new one: both places hold the old one.
    const old = readFileSync(path)
    writeFileSync(join(directory, 'earlier', 'flatbed-a__1200dpi__20260102T030405Z.json'), old)
    await writeCalibration(directory, { ...CALIBRATION, deepest: 2.2 })
    expect(readdirSync(join(directory, 'earlier'))).toHaveLength(2)
    expect((await loadEarlierCalibrations(directory)).unusable).toHaveLength(1)
    expect(await loadEarlierCalibrations(join(directory, 'none'))).toEqual({ calibrations: [], unusable: [] })
  })

  it('are checked strictly, naming file, key and rule', () => {
    expect(parseCalibration(text(), 'x')).toEqual(CALIBRATION)
    expect(refusal(() => parseCalibration(text({ extra: 1 }), 'x.json'))).toMatch(/x.json.*extra/)
    expect(refusal(() => parseCalibration(text({ deepest: undefined }), 'x'))).toMatch(/deepest/)
    expect(refusal(() => parseCalibration(text({ deepest: 6.01 }), 'x'))).toMatch(/deepest/)
    expect(parseCalibration(text({ deepest: 6 }), 'x').deepest).toBe(6)
    expect(refusal(() => parseCalibration(text({ schema: 'burngate/calibration@2' }), 'x'))).toMatch(/schema/)
    const knots = CALIBRATION.response.knots
    const swapped = { ...CALIBRATION.response, knots: [knots[1], knots[0], ...knots.slice(2)] }
    expect(refusal(() => parseCalibration(text({ response: swapped }), 'x'))).toMatch(/darker than the knot before/)
    const high = { ...CALIBRATION.response, black: 10_000 }
    expect(refusal(() => parseCalibration(text({ response: high }), 'x'))).toMatch(/above black/)
    const steps = CALIBRATION.steps.map(step => ({ ...step, trusted: false }))
    expect(refusal(() => parseCalibration(text({ steps }), 'x'))).toMatch(/trusted/)
    const spread = { riseWidth: 30, riseWidthExpanded: 1, stepUm: 1, weights: [0.2, 0.6, 0.3] }
    const sharpness = { sha256: 'b', dpi: { across: 1200, along: 1200 }, across: spread, along: null }
    expect(refusal(() => parseCalibration(text({ sharpness }), 'x'))).toMatch(/sum to 1/)
    const good = { ...sharpness, across: { ...spread, weights: [0.2, 0.6, 0.2] } }
    expect(parseCalibration(text({ sharpness: good }), 'x').sharpness).toEqual(good)
  })
})

describe('checkScannerName', () => {
  it('takes names that are file names everywhere, and no others', () => {
    for (const name of ['flatbed-a', 'A', '3rd.scanner_b', 'x'.repeat(64)])
      expect(() => checkScannerName(name)).not.toThrow()
    for (const name of [
      '',
      '../a',
      'a/b',
      'a\\b',
      '.a',
      'a.',
      'a__b',
      'a b',
      'x'.repeat(65),
      'CON',
      'nul.txt',
      'é',
      'a..b',
      'a\n',
    ])
      expect(() => checkScannerName(name), name).toThrow(/SCANNER_NAME_INVALID/)
    expect(() => calibrationFileName({ ...CALIBRATION, scanner: '../x' })).toThrow(/SCANNER_NAME_INVALID/)
  })
})
