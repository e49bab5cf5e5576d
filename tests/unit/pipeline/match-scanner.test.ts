import { describe, expect, it } from 'vitest'
import type { Calibration } from '../../../src/model/calibration.js'
import { matchScanner, type ScannerQuestion } from '../../../src/pipeline/match-scanner.js'
import { sampleCalibration } from '../../support/sample-inspection.js'

const sample = sampleCalibration()
function calibration(scanner: string, dpi: number, change: Partial<Calibration['scan']> = {}): Calibration {
  return { ...sample, scanner, scan: { ...sample.scan, dpi: { across: dpi, along: dpi }, ...change } }
}
const at = (dpi: number) => ({ across: dpi, along: dpi })
const ask = (change: Partial<ScannerQuestion>) =>
  matchScanner({
    told: null,
    header: { maker: null, model: null, bits: 16, channel: 'grey' },
    dpi: at(1200),
    site: { scanners: {}, calibrationMaxAgeDays: 90 },
    calibrations: [],
    now: new Date('2025-03-04T12:00:00Z'),
    ...change,
  })
const header = (maker: string | null, model: string | null) => ({ maker, model, bits: 16, channel: 'grey' }) as const

const a = calibration('flatbed-a', 1200, { maker: 'Maker', model: 'One' })
const b = calibration('flatbed-b', 1200, { maker: 'Maker', model: 'Two' })

describe('matchScanner', () => {
  it('takes the scanner it is told before anything else', () => {
    const found = ask({
      told: { name: 'flatbed-b', from: 'sidecar' },
      header: header('Maker', 'One'),
      calibrations: [a, b],
    })
    expect(found).toMatchObject({ name: 'flatbed-b', from: 'sidecar', calibration: b, doubts: [] })
  })

  it('says which scanners are calibrated when the one told is not', () => {
    const found = ask({ told: { name: 'flatbed-z', from: 'commandLine' }, calibrations: [a, b] })
    expect(found).toMatchObject({ name: 'flatbed-z', calibration: null })
    expect(found.notes).toEqual(['The scanner flatbed-z has no calibration; calibrated are flatbed-a, flatbed-b.'])
  })

  it('knows a scanner by the make in the file, whatever the case', () => {
    expect(ask({ header: header('MAKER ', 'two'), calibrations: [a, b] })).toMatchObject({
      name: 'flatbed-b',
      from: 'file',
      calibration: b,
    })
  })

  it('tells two scanners of one make apart by the dpi they are calibrated for, or leaves it open and says so', () => {
    const twin = calibration('flatbed-c', 600, { maker: 'Maker', model: 'One' })
    expect(ask({ header: header('Maker', 'One'), dpi: at(600), calibrations: [a, twin] }).name).toBe('flatbed-c')
    const open = ask({ header: header('Maker', 'One'), dpi: at(2400), calibrations: [a, twin] })
    expect(open).toMatchObject({ name: null, calibration: null })
    expect(open.notes[0]).toContain('flatbed-a and flatbed-c are of the make the file names')
  })

  it("falls back to the site's only scanner, but not when the file names another make", () => {
    expect(ask({ calibrations: [a] })).toMatchObject({ name: 'flatbed-a', from: 'site', calibration: a })
    expect(ask({ site: { scanners: { solo: {} }, calibrationMaxAgeDays: 90 } })).toMatchObject({
      name: 'solo',
      calibration: null,
    })
    const other = ask({ header: header('Other', 'Nine'), calibrations: [a] })
    expect(other).toMatchObject({ name: null, calibration: null })
    expect(other.notes).toEqual([
      'The file names another make of scanner (Other Nine) than flatbed-a, so its calibration was not used.',
    ])
    expect(ask({ calibrations: [a, b] })).toMatchObject({ name: null, from: null })
  })

  it('takes the calibration of the same dpi, else the nearest with a doubt that says so', () => {
    const fine = calibration('flatbed-a', 2400)
    expect(ask({ calibrations: [a, fine], dpi: at(2400) })).toMatchObject({ calibration: fine, doubts: [] })
    expect(ask({ calibrations: [fine, a], dpi: at(1199.5) })).toMatchObject({ calibration: a, doubts: [] })
    const near = ask({ calibrations: [fine, a], dpi: at(600) })
    expect(near.calibration).toBe(a)
    expect(near.doubts).toMatchObject([
      {
        code: 'calibrationMismatch',
        why: 'The nearest calibration of flatbed-a does not fit this scan: it was made at 1200 dpi and this scan has 600 dpi.',
      },
    ])
  })

  it('takes the calibration of the channel that is read, else doubts', () => {
    const blue = calibration('flatbed-a', 1200, { channel: 'blue' })
    const read = { maker: null, model: null, bits: 16, channel: 'blue' } as const
    expect(ask({ header: read, calibrations: [a, blue] })).toMatchObject({ calibration: blue, doubts: [] })
    expect(ask({ header: read, calibrations: [a] }).doubts[0]!.why).toContain('made on the grey channel')
  })

  it('doubts a calibration made with other bits', () => {
    const eight = { maker: null, model: null, bits: 8, channel: 'grey' } as const
    expect(ask({ header: eight, calibrations: [a] }).doubts).toMatchObject([
      { code: 'calibrationMismatch', why: expect.stringContaining('made with 16 bits a sample and this scan has 8') },
    ])
    expect(ask({ calibrations: [a] }).doubts).toEqual([])
  })

  it('doubts a calibration older than the site allows, one from the future, and one without a date', () => {
    const of = (calibratedAt: string) => ask({ calibrations: [{ ...a, calibratedAt }] }).doubts
    expect(of('2024-12-04T12:00:00Z')).toEqual([])
    expect(of('2024-12-04T11:59:59Z')).toMatchObject([
      { code: 'calibrationOld', why: 'The calibration of flatbed-a is 90 days old; the site allows 90.' },
    ])
    expect(of('2025-03-05T11:00:00Z')).toEqual([])
    expect(of('2025-03-05T13:00:00Z')).toMatchObject([{ code: 'calibrationOld' }])
    expect(of('never')).toMatchObject([{ code: 'calibrationOld' }])
  })
})
