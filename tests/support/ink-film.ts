import { normalCdf } from '../../src/imaging/normal.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import { gatherEvidence } from '../../src/measure/film-evidence.js'
import type { LineSpread } from '../../src/model/calibration.js'
import type { LightScale } from '../../src/model/light.js'
import { linearLight, paintedScan } from './bare-scan.js'

export const CONTOURS = { low: 0.3, high: 2.7 }
/** A film that is seen as it is: the line spread is a spike, the picture unblurred. */
export const SPIKE: LineSpread = { riseWidth: 0.5, riseWidthExpanded: 0.1, stepUm: 1, weights: [0, 1, 0] }
export const scaleWith = (spread: LineSpread | null, deepest = 3.5): LightScale => ({
  ...linearLight(deepest),
  lineSpread: { across: spread, along: spread },
})

/** One solid on clear film in open light, turned by `tan`, 1200 dpi; sigma of the ink in um. */
export function inkFilm(
  ink: { sigma: number; net: number; base?: number },
  scale: LightScale,
  wander: (v: number) => number = () => 0,
) {
  const tan = 0.03
  const um = 25_400 / 1200
  const base = ink.base ?? 0.05
  const scan = paintedScan(
    520,
    520,
    (c, r) => {
      const u = c - 260 - (r - 260) * tan
      const v = r - 260 + (c - 260) * tan
      const norm = Math.hypot(1, tan)
      if (Math.max(Math.abs(u), Math.abs(v)) > 240) return 1
      const inside =
        normalCdf(((110 - Math.abs(u / norm + wander(v))) * um) / ink.sigma) *
        normalCdf(((120 - Math.abs(v / norm)) * um) / ink.sigma)
      return 10 ** -(base + ink.net * inside)
    },
    { dpi: 1200, scale, noise: 15 },
  )
  const located = locateScan(scan)
  return gatherEvidence(scan, { ...located.patches, edges: located.edges }, CONTOURS)
}
