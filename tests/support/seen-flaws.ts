import { type BedScan, type DemoScanner, meanCode } from '../../src/demo/scanner.js'
import { findFlaws } from '../../src/locate/find-flaws.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import { measureFlaws } from '../../src/measure/measure-flaws.js'
import type { Flaw, MeasuredFlaws, NotLooked } from '../../src/model/flaw.js'
import type { LightScale } from '../../src/model/light.js'
import type { OpenScan } from '../../src/model/scan.js'
import { linearLight } from './bare-scan.js'
import { openBedScan } from './calibrated-scanner.js'

/** The scanner's own response, as a good calibration knows it. */
export function knownLight(scanner: DemoScanner): LightScale {
  const { black, gain, gamma, veil } = scanner
  const transmittance = Float32Array.from({ length: 65536 }, (_, code) => {
    const x = (code - black) / gain
    return Math.sign(x) * Math.abs(x) ** gamma - veil
  })
  return { ...linearLight(3.5), transmittance, code: (t: number) => meanCode(scanner, t) }
}

/** Flaws of one scan, looked for and measured with the scanner's own response. */
export function seenFlaws(scan: OpenScan, scanner: DemoScanner): MeasuredFlaws | NotLooked {
  const um = 25_400 / scanner.dpi
  const light = knownLight(scanner)
  const located = locateScan({ scan, light, umPerPixel: { across: um, along: um } })
  const places = findFlaws(located)
  if ('because' in places) return places
  return measureFlaws(scan, located.scan.umPerPixel, light.lineSpread, places)
}

/** The same of a make-believe film, which shows both clear film and ink. */
export function flawsOf(bed: BedScan): readonly Flaw[] {
  const seen = seenFlaws(openBedScan(bed), bed.scanner)
  if ('because' in seen) throw new Error(seen.because)
  return seen.list
}
