import { seededRandom } from '../../src/demo/random.js'
import type { Calibration } from '../../src/model/calibration.js'
import { sampleCalibration } from './sample-inspection.js'

/**
 * Calibrations of one scanner four weeks apart that wears out: its light fades, its noise grows, its optics cloud, from the
 * given calibration on. Before that it only scatters.
 */
export function agedScanner(count: number, from: number, change: Partial<Calibration> = {}): Calibration[] {
  const random = seededRandom(11)
  const sample = sampleCalibration()
  return Array.from({ length: count }, (_, i) => {
    const worn = Math.max(0, i - from + 1)
    const about = (value: number, share: number) => value * (1 + share * random.normal())
    const rise = (value: number) => ({
      ...sample.sharpness!.across!,
      riseWidth: about(value, 0.008) * (1 + 0.06 * worn),
    })
    return {
      ...sample,
      calibratedAt: new Date(Date.UTC(2024, 7, 5, 7, 40) + i * 28 * 86_400_000).toISOString(),
      scan: { ...sample.scan, sha256: `${i}`.padStart(64, 'c') },
      openLight: {
        code: Math.min(65_000, about(60_210, 0.002) * (1 - 0.03 * worn)),
        clippedShare: 0,
        pixelNoise: about(120, 0.01) * (1 + 0.08 * worn),
      },
      dark: { code: about(212, 0.004), codeError: 3, pixelNoise: about(22, 0.01) },
      response: { ...sample.response, black: 210 + 2 * random.normal() },
      deepest: about(3.318, 0.004) - 0.05 * worn,
      sharpness: { ...sample.sharpness!, across: rise(36.1), along: rise(33.4) },
      ...change,
    }
  })
}
