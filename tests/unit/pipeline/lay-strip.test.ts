import { describe, expect, it } from 'vitest'
import { blockOverview } from '../../../src/imaging/block-overview.js'
import { clearLight, layStrip } from '../../../src/pipeline/lay-strip.js'
import { paintedScan } from '../../support/bare-scan.js'

describe('layStrip', () => {
  it('says that nothing was seen where no strip is in view', async () => {
    const scan = paintedScan(40, 40, () => 0.9)
    expect(await layStrip(scan, [], 0.9)).toEqual({
      read: null,
      look: { identity: null, found: 0, refused: null },
    })
  })

  it('says why a strip in view tells nothing: here there is ink where its codes should be', async () => {
    const scan = paintedScan(800, 300, () => 0.001)
    const map = { x0: 20, y0: 20, xx: 10, yx: 0, xy: 0, yy: 10 }
    const { read, look } = await layStrip(
      scan,
      [{ form: 'short', mirrored: false, likeness: 1, map, gainUm: { x: 0, y: 0 }, corners: [] }],
      0.9,
    )
    expect(read).toBeNull()
    expect(look).toEqual({ identity: null, found: 1, refused: 'neither of its two codes could be read' })
  })
})

describe('clearLight', () => {
  it('is the light of clear film, whatever part of the page is ink, and of dust in open light nothing', () => {
    const of = (light: (c: number, r: number) => number) => {
      const { scan, light: scale } = paintedScan(400, 400, light)
      return clearLight(blockOverview(scan, 4, scale.transmittance))
    }
    expect(of((_, r) => (r < 300 ? 0.001 : 0.85))).toBeCloseTo(0.85, 2)
    expect(of((c, r) => (c < 8 && r < 300 ? 1.05 : 0.85))).toBeCloseTo(0.85, 2)
  })
})
