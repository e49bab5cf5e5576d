import type { DensityScan } from '../model/light.js'
import type { SpreadNodes } from './edge-model.js'
import { scannerSpread } from './measured-edge.js'

/** The scanner's line spread across a stroke whose normal is (nx, ny), between the two directions that were measured. */
export function scannerNodes(
  scan: Pick<DensityScan, 'light' | 'umPerPixel'>,
  nx: number,
  ny: number,
): { readonly nodes: SpreadNodes; readonly known: boolean } {
  const byRow = Math.abs(nx) >= Math.abs(ny)
  return scannerSpread(scan, {
    direction: byRow ? 'across' : 'along',
    tilt: (Math.asin(Math.min(1, Math.abs(byRow ? ny : nx))) * 180) / Math.PI,
    pitchUm: byRow ? scan.umPerPixel.across : scan.umPerPixel.along,
  })
}
