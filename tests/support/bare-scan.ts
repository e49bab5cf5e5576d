import { unknownLightScale } from '../../src/calibrate/light-scale.js'
import type { DensityScan, LightScale } from '../../src/model/light.js'
import { memoryScan } from './memory-scan.js'

/** A linear light scale with an exact density, for tests that need no calibration: code = 60000 T. */
export function linearLight(deepest = 3.5): LightScale {
  return {
    ...unknownLightScale(60_000),
    calibrated: true,
    deepest,
    density(meanCode, codeError) {
      const guess = -Math.log10(Math.max(meanCode, 1e-3) / 60_000)
      const standard = (codeError / Math.max(meanCode, 1e-3)) * Math.LOG10E
      const budget = [{ name: 'noise', standard }]
      return guess > deepest
        ? { density: deepest, standard, budget, bound: 'atLeast', guess }
        : { density: guess, standard, budget, bound: null, guess }
    },
  }
}

/** A page painted by a rule of (column, row) to transmittance, at 600 dpi unless told, as a density scan. */
export function paintedScan(
  width: number,
  height: number,
  light: (column: number, row: number) => number,
  options: { dpi?: number; scale?: LightScale; noise?: number } = {},
): DensityScan {
  const dpi = options.dpi ?? 600
  let state = 12345
  const random = () => {
    state = (state * 1664525 + 1013904223) % 4294967296
    return state / 4294967296 - 0.5
  }
  const codes = new Uint16Array(width * height)
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++)
      codes[r * width + c] = Math.min(
        65535,
        Math.max(0, Math.round(60_000 * light(c, r) + (options.noise ?? 20) * 3.4 * random())),
      )
  const um = 25_400 / dpi
  return {
    scan: memoryScan(codes, width, height, dpi),
    light: options.scale ?? linearLight(),
    umPerPixel: { across: um, along: um },
  }
}
