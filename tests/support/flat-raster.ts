import { seededRandom } from '../../src/demo/random.js'
import type { OpenScan, ScanHeader } from '../../src/model/scan.js'
import { memoryScan } from './memory-scan.js'

/** A glass as a linear scanner sees it: code = 300 + 50000 light. */
export interface FlatScene {
  readonly widthMm: number
  readonly heightMm: number
  readonly dpi: number
  /** Light at a place, u and v from -1 to 1. */
  readonly light: (u: number, v: number) => number
  /** One sigma, codes. */
  readonly noise?: number
  readonly seed?: number
  /** Light of what lies at a place of the glass, mm; 1 is nothing. */
  readonly over?: (xMm: number, yMm: number) => number
  readonly header?: Partial<ScanHeader>
}

export const FLAT_BLACK = 300
export const FLAT_GAIN = 50_000
/** Light of a code of such a scan. */
export const flatLight = (code: number) => (code - FLAT_BLACK) / FLAT_GAIN

export function flatRaster(scene: FlatScene): OpenScan {
  const width = Math.round((scene.widthMm / 25.4) * scene.dpi)
  const height = Math.round((scene.heightMm / 25.4) * scene.dpi)
  const random = seededRandom(scene.seed ?? 1)
  const codes = new Uint16Array(width * height)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const lamp = scene.light((2 * (c + 0.5)) / width - 1, (2 * (r + 0.5)) / height - 1)
      const over = scene.over?.(((c + 0.5) * scene.widthMm) / width, ((r + 0.5) * scene.heightMm) / height) ?? 1
      const code = FLAT_BLACK + FLAT_GAIN * lamp * over + (scene.noise ?? 100) * random.normal()
      codes[r * width + c] = Math.min(65535, Math.max(0, Math.round(code)))
    }
  return memoryScan(codes, width, height, scene.dpi, scene.header)
}
