import { usualCode } from '../imaging/usual-code.js'
import type { PixelRect } from '../model/geometry.js'
import type { OpenScan } from '../model/scan.js'

export interface PatchCodes {
  readonly mean: number
  /** Standard error of the mean from block means, so that correlated neighbours are not counted as independent. */
  readonly error: number
  /** Degrees of freedom of that error: blocks less one. */
  readonly degreesOfFreedom: number
  readonly pixelNoise: number
}

const BLOCKS_A_SIDE = 6
/** Pixels further from the median than this many robust deviations are dust, not film. */
const DUST = 6

/**
 * Mean code of one patch, dust left out. The mean *code* is what a density is taken from, mapped once.
 * @param rect whole pixels, inside the scan
 */
export function readPatch(scan: OpenScan, rect: PixelRect): PatchCodes {
  const { codes, width, height } = scan.readWindow(rect)
  const { median: centre, deviation } = usualCode(codes)
  const noise = Math.max(deviation, 0.5)
  const sums: number[] = []
  let total = 0
  let used = 0
  let squares = 0
  const stepX = Math.max(1, Math.floor(width / BLOCKS_A_SIDE))
  const stepY = Math.max(1, Math.floor(height / BLOCKS_A_SIDE))
  for (let top = 0; top < height; top += stepY)
    for (let left = 0; left < width; left += stepX) {
      let sum = 0
      let n = 0
      for (let r = top; r < Math.min(height, top + stepY); r++)
        for (let c = left; c < Math.min(width, left + stepX); c++) {
          const code = codes[r * width + c]!
          if (!(Math.abs(code - centre) <= DUST * noise)) continue
          sum += code
          squares += (code - centre) ** 2
          n++
        }
      if (n === 0) continue
      total += sum
      used += n
      if (n >= (stepX * stepY) / 2) sums.push(sum / n)
    }
  const mean = used > 0 ? total / used : centre
  let variance = 0
  for (const s of sums) variance += (s - mean) ** 2
  const error = sums.length > 1 ? Math.sqrt(variance / (sums.length - 1) / sums.length) : noise
  return {
    mean,
    error,
    degreesOfFreedom: Math.max(1, sums.length - 1),
    pixelNoise: Math.sqrt(squares / Math.max(1, used)),
  }
}
