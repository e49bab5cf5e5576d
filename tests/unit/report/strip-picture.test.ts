import sharp from 'sharp'
import { describe, expect, it } from 'vitest'
import type { LaidStrip } from '../../../src/model/strip.js'
import { stripPicture } from '../../../src/report/strip-picture.js'
import { paintedScan } from '../../support/bare-scan.js'
import { stripEvidence } from '../../support/strip-evidence.js'

/** 70 x 15 mm at 4 pixels a millimetre, its left third dark, laid by a map. */
function laid(map: LaidStrip['map']): LaidStrip {
  const at = (x: number, y: number) => ({
    column: map.x0 + map.xx * x + map.xy * y,
    row: map.y0 + map.yx * x + map.yy * y,
  })
  return { ...stripEvidence().strip.laid, map, corners: [at(0, 0), at(70, 0), at(70, 15), at(0, 15)] }
}
const back = ({ x0, y0, xx, yx, xy, yy }: LaidStrip['map'], column: number, row: number) => {
  const det = xx * yy - xy * yx
  return {
    x: (yy * (column - x0) - xy * (row - y0)) / det,
    y: (xx * (row - y0) - yx * (column - x0)) / det,
  }
}
async function pixels(map: LaidStrip['map'], width: number, height: number) {
  const scan = paintedScan(width, height, (c, r) => {
    const { x, y } = back(map, c, r)
    return x < 70 / 3 || y < 3 ? 0.001 : 0.9
  })
  const picture = await stripPicture(scan, laid(map))
  const { data, info } = await sharp(Buffer.from(picture.pngBase64, 'base64'))
    .raw()
    .toBuffer({ resolveWithObject: true })
  return {
    picture,
    grey: (x: number, y: number) =>
      data[(Math.floor(y * info.height) * info.width + Math.floor(x * info.width)) * info.channels]!,
  }
}

describe('stripPicture', () => {
  it.each([
    ['upright', { x0: 10, y0: 10, xx: 4, yx: 0, xy: 0, yy: 4 }, 310, 90],
    ['a quarter turned', { x0: 80, y0: 10, xx: 0, yx: 4, xy: -4, yy: 0 }, 90, 310],
    ['mirrored', { x0: 300, y0: 10, xx: -4, yx: 0, xy: 0, yy: 4 }, 310, 90],
  ] as const)('turns the strip upright when it lies %s', async (_, map, width, height) => {
    const { picture, grey } = await pixels(map, width, height)
    expect([picture.width, picture.height]).toEqual([1000, 214])
    // Its dark third to the left, its dark edge above, clear film to the right.
    expect(grey(0.1, 0.6)).toBeLessThan(60)
    expect(grey(0.7, 0.1)).toBeLessThan(60)
    expect(grey(0.7, 0.6)).toBeGreaterThan(180)
  })

  it('shows what lies outside the scan as clear', async () => {
    const { grey } = await pixels({ x0: 10, y0: 10, xx: 4, yx: 0, xy: 0, yy: 4 }, 150, 90)
    expect(grey(0.1, 0.6)).toBeLessThan(60)
    expect(grey(0.9, 0.1)).toBeGreaterThan(180)
  })
})
