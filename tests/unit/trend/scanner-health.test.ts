import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/demo/random.js'
import type { Calibration } from '../../../src/model/calibration.js'
import { scannerHealth } from '../../../src/trend/scanner-health.js'
import { sampleCalibration } from '../../support/sample-inspection.js'

const SAMPLE = sampleCalibration()
const light = SAMPLE.openLight!

/** Calibrations a month apart, the nth changed as told. */
const series = (changes: readonly Partial<Calibration>[]): Calibration[] =>
  changes.map((change, i) => ({
    ...SAMPLE,
    calibratedAt: `2025-${String(i + 1).padStart(2, '0')}-10T08:00:00Z`,
    scan: { ...SAMPLE.scan, sha256: `${i}` },
    ...change,
  }))
const openLight = (codes: readonly number[]) => series(codes.map(code => ({ openLight: { ...light, code } })))
const movesOf = (calibrations: readonly Calibration[], name: string) =>
  scannerHealth(calibrations).series.find(s => s.name === name)?.moves ?? null

describe('scannerHealth', () => {
  it('lists every property over the calibrations, oldest first, copies once', () => {
    const three = openLight([60_000, 59_000, 58_500])
    const health = scannerHealth([three[2]!, three[0]!, three[1]!, three[0]!])
    expect(health).toMatchObject({ scanner: 'flatbed-a', setting: '600 dpi' })
    expect(health.calibrations.map(c => c.at.slice(0, 7))).toEqual(['2025-01', '2025-02', '2025-03'])
    expect(health.series.map(s => s.name)).toEqual([
      'openLightNoise',
      'darkNoise',
      'openLight',
      'black',
      'deepest',
      'riseWidthAcross',
      'riseWidthAlong',
    ])
    expect(health.series[2]!.points.map(p => p.value)).toEqual([60_000, 59_000, 58_500])
    expect(health.series[5]!.points[0]).toEqual({ at: three[0]!.calibratedAt, value: 36.1, standard: 0.6 })
    expect(health.series.flatMap(s => s.moves)).toEqual([])
    expect(() => scannerHealth([])).toThrow(/at least one/)
  })

  it('counts a tablet scan that was worked out again once, at its newest', () => {
    const [first, second] = openLight([60_000, 59_000])
    const again = { ...first!, calibratedAt: '2025-03-10T08:00:00Z', deepest: 3.2 }
    const { calibrations, series } = scannerHealth([first!, second!, again])
    expect(calibrations.map(c => c.at.slice(0, 7))).toEqual(['2025-02', '2025-03'])
    expect(series.find(s => s.name === 'deepest')!.points.at(-1)!.value).toBe(3.2)
  })

  it('leaves out what no calibration tells, and warns of nothing the newest does not tell', () => {
    const bare = { openLight: null, dark: null, sharpness: null }
    expect(scannerHealth(series([bare])).series.map(s => s.name)).toEqual(['black', 'deepest'])
    const faded = series([{}, { openLight: { ...light, code: 40_000 } }, { openLight: null }])
    expect(movesOf(faded, 'openLight')).toEqual([])
    expect(movesOf(faded.slice(0, 2), 'openLight')).toHaveLength(1)
  })

  it('tells flare once calibrations measure it, in percent', () => {
    const flare = (share: number) => ({
      flare: { share, standard: 0.0002, reaches: [], shares: [], covariance: [], remainder: 0 },
    })
    const [first, second] = [flare(0.003), flare(0.0036)]
    expect(scannerHealth(series([{}, { flare: null }])).series.map(s => s.name)).not.toContain('flare')
    const found = scannerHealth(series([{}, first, second])).series.find(s => s.name === 'flare')!
    expect(found.points.map(p => [p.value, p.standard])).toEqual([
      [0.3, 0.02],
      [0.36, 0.02],
    ])
    expect(found.moves.map(move => move.rule)).toEqual(['share'])
    expect(movesOf(series([first, flare(0.0035)]), 'flare')).toEqual([])
  })

  it('names setting and channel', () => {
    const blue = { scan: { ...SAMPLE.scan, channel: 'blue' as const, dpi: { across: 1200.2, along: 2400 } } }
    expect(scannerHealth(series([blue])).setting).toBe('1200 x 2400 dpi, blue')
  })
})

describe('the share rule', () => {
  it('tells a move of more than 5 % since the first, and not one of 5 %', () => {
    expect(movesOf(openLight([60_000, 57_000]), 'openLight')).toEqual([])
    expect(movesOf(openLight([60_000, 63_000]), 'openLight')).toEqual([])
    const [move] = movesOf(openLight([60_000, 56_940]), 'openLight')!
    expect(move).toMatchObject({
      rule: 'share',
      why: 'Code of open light fell by 5.1 % since the first calibration (2025-01-10), from 60000 to 56940 codes: more than 5 %.',
    })
    expect(move!.next).toContain('exposure')
    expect(movesOf(openLight([60_000, 63_060]), 'openLight')![0]!.why).toContain('rose by 5.1 %')
  })

  it('does not take uncertainty for a move: 2 standard uncertainties of the difference', () => {
    const black = (value: number, blackError: number) => ({
      response: { ...SAMPLE.response, black: value, blackError },
    })
    expect(movesOf(series([black(210, 6), black(226, 6)]), 'black')).toEqual([])
    expect(movesOf(series([black(210, 6), black(228, 6)]), 'black')).toHaveLength(1)
  })

  it('has no share of a first value of 0', () => {
    const dark = (pixelNoise: number) => ({ dark: { ...SAMPLE.dark!, pixelNoise } })
    expect(movesOf(series([dark(0), dark(3)]), 'darkNoise')).toEqual([])
  })
})

describe('the scatter rule', () => {
  const steady = [60_000, 60_060, 59_990, 60_050, 60_000]
  it('tells a value that the scatter of 5 or more before it does not explain, however small the move', () => {
    const moves = movesOf(openLight([...steady, 59_500]), 'openLight')!
    expect(moves.map(move => move.rule)).toEqual(['scatter'])
    expect(moves[0]!.why).toMatch(
      /^Code of open light is 59500 codes, further from the mean of the 5 calibrations before \(60020\) than their scatter explains \(59785 to 60255\)\.$/,
    )
    // Mean 60020, s = sqrt(1050), t(4 degrees, 0.99865) = 6.6202: 60020 -+ 6.6202 x 32.404 x sqrt(1.2) = 59785.0 and 60255.0.
    expect(movesOf(openLight([...steady, 59_787]), 'openLight')).toEqual([])
    expect(movesOf(openLight([...steady, 59_783]), 'openLight')).toHaveLength(1)
  })

  it('calls a steady property moved 3 times in 1000, whether 5 calibrations stand before it or 20', () => {
    const random = seededRandom(4)
    for (const count of [6, 21]) {
      const tries = 2000
      let alarms = 0
      for (let i = 0; i < tries; i++) {
        const codes = Array.from({ length: count }, () => 60_000 * (1 + 0.004 * random.normal()))
        if (movesOf(openLight(codes), 'openLight')!.length > 0) alarms++
      }
      // 5.4 expected; a Poisson number of that mean is 1 to 14 in 99 of 100 seeds. Limits of 3 scatters alarm over 100 times at 6.
      expect(alarms).toBeGreaterThanOrEqual(1)
      expect(alarms).toBeLessThanOrEqual(14)
    }
  })

  it('does not take scatter for a move of 5 %, nor hides one that passes it', () => {
    const noisy = [60_000, 57_500, 61_500, 58_000, 61_000, 56_500]
    expect(movesOf(openLight(noisy), 'openLight')).toEqual([])
    const random = seededRandom(9)
    let alarms = 0
    for (let i = 0; i < 1000; i++) {
      const codes = Array.from({ length: 6 }, () => 50_000 * (1 + 0.025 * random.normal()))
      if (movesOf(openLight(codes), 'openLight')!.some(move => move.rule === 'share')) alarms++
    }
    // Without regard to its scatter 16 in 100: a difference of two such values passes 5 % at 1.41 of its standard deviations.
    expect(alarms / 1000).toBeLessThan(0.04)
    const drift = [60_000, 59_300, 58_700, 58_000, 57_400, 56_500]
    expect(movesOf(openLight(drift), 'openLight')!.map(move => move.rule)).toEqual(['share'])
  })

  it('knows no scatter of 4 before it', () => {
    const four = scannerHealth(openLight([...steady.slice(1), 59_500])).series.find(s => s.name === 'openLight')!
    expect([four.limits, four.moves]).toEqual([null, []])
  })
})
