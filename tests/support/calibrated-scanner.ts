import { calibrateScanner } from '../../src/calibrate/calibrate-scanner.js'
import { parseCertificate } from '../../src/calibrate/certificate.js'
import { knifeEdge } from '../../src/demo/knife-edge.js'
import { type BedScan, type DemoScanner, scanFilm } from '../../src/demo/scanner.js'
import { certificateCsv, evenSteps, stepTablet } from '../../src/demo/tablet.js'
import type { Calibration } from '../../src/model/calibration.js'
import type { OpenScan } from '../../src/model/scan.js'
import { memoryScan } from './memory-scan.js'

/** A make-believe scan in memory, opened. */
export function openBedScan(scan: BedScan): OpenScan {
  const { codes, width, height } = scanFilm(scan)
  return memoryScan(codes, width, height, scan.scanner.dpi, { maker: scan.scanner.maker, model: scan.scanner.model })
}

/** Calibrates a make-believe scanner the way a shop would: one scan of a tablet, one of a knife edge, at the scanner's own setting. */
export function calibratedScanner(
  scanner: DemoScanner,
  seed: number,
  plan: {
    steps?: 21 | 31
    holder?: BedScan['holder']
    stepMm?: number
    expanded?: number
    edgeMm?: readonly [number, number]
  } = {},
): Calibration {
  const steps = plan.steps ?? 21
  const densities = evenSteps(steps, steps === 21 ? 0.15 : 0.1)
  const tablet = stepTablet({ densities, stepMm: plan.stepMm ?? 3, widthMm: 7 })
  const lay = (film: BedScan['film'], turnDegrees: number, holder: BedScan['holder']): OpenScan => {
    const bedWidthMm = film.widthMm + 12
    const bedHeightMm = film.heightMm + 10
    return openBedScan({
      scanner,
      bedWidthMm,
      bedHeightMm,
      film,
      placement: { acrossMm: bedWidthMm / 2 + 1, alongMm: bedHeightMm / 2, turnDegrees, mirrored: false },
      holder,
      seed: seed + Math.round(turnDegrees * 10),
    })
  }
  return calibrateScanner({
    tablet: lay(tablet.film, 0.4, plan.holder ?? null),
    tabletSha256: '0'.repeat(64),
    certificate: parseCertificate(certificateCsv(densities, plan.expanded ?? 0.01), 'tablet-1'),
    edge: { scan: lay(knifeEdge(...(plan.edgeMm ?? [14, 12])), 3, null), sha256: '1'.repeat(64) },
    scanner: 'flatbed-r',
    now: new Date('2026-03-02T09:00:00Z'),
    software: 'burngate test',
  })
}
