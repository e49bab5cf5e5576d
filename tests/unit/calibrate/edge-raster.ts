import { boxedEdge } from '../../../src/calibrate/line-spread.js'
import type { OpenScan } from '../../../src/model/scan.js'
import { memoryScan } from '../../support/memory-scan.js'
import { normals, seeded, type TestScanner } from './tablet-raster.js'

export interface EdgeScene {
  readonly dpi: number
  readonly scanner: TestScanner
  readonly seed: number
  /** Optical blur, one sigma, um, across a row and along the columns. */
  readonly blurUm: { readonly across: number; readonly along: number }
  readonly tiltDegrees: number
  /** An opaque plate of this size in the middle of the page; `stripe` runs over the page's whole height. */
  readonly plateMm: { readonly width: number; readonly height: number }
  readonly pageMm: { readonly width: number; readonly height: number }
  /** Glare: share of light spread by a wide Gaussian of this sigma. */
  readonly glare?: { readonly share: number; readonly sigmaUm: number }
}

/**
 * An opaque plate in open light, seen through a Gaussian and a pixel as wide as the pitch, both taken along each side's normal: for
 * small tilts the pixel's projection differs from that by less than a thousandth of the width.
 */
export function edgeRaster(scene: EdgeScene): OpenScan {
  const { dpi, scanner, plateMm, pageMm } = scene
  const normal = normals(seeded(scene.seed))
  const mm = 25.4 / dpi
  const width = Math.round(pageMm.width / mm)
  const height = Math.round(pageMm.height / mm)
  const tilt = (scene.tiltDegrees * Math.PI) / 180
  const [cos, sin] = [Math.cos(tilt), Math.sin(tilt)]
  const box = mm * 1000
  const side = (distanceUm: number, sigmaUm: number): number => {
    if (distanceUm > 1500) return 1
    if (distanceUm < -1500) return 0
    const glare = scene.glare ?? { share: 0, sigmaUm: 1 }
    const near = boxedEdge(distanceUm, sigmaUm, box)
    return glare.share === 0 ? near : (1 - glare.share) * near + glare.share * boxedEdge(distanceUm, glare.sigmaUm, box)
  }
  const codes = new Uint16Array(width * height)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const x = (c - (width - 1) / 2) * mm
      const y = (r - (height - 1) / 2) * mm
      const u = x * cos + y * sin
      const v = -x * sin + y * cos
      const inside =
        side((plateMm.width / 2 - Math.abs(u)) * 1000, scene.blurUm.across) *
        side((plateMm.height / 2 - Math.abs(v)) * 1000, scene.blurUm.along)
      const light = 1 - inside
      const code = scanner.black + scanner.gain * light ** (1 / scanner.gamma) + scanner.noise * normal()
      codes[r * width + c] = Math.min(65535, Math.max(0, Math.round(code)))
    }
  return memoryScan(codes, width, height, dpi)
}
