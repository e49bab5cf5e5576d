import { expect, it } from 'vitest'
import { knifeEdge } from '../../../src/demo/knife-edge.js'
import { scanFilm, scanSize } from '../../../src/demo/scanner.js'
import { demoScans } from '../../../src/demo/shop.js'

it('a knife edge is black inside, open light outside, and as large as asked', () => {
  const shop = demoScans().find(scan => scan.kind === 'knifeEdge')!.scan
  const scan = { ...shop, film: knifeEdge(6, 4), bedWidthMm: 10, bedHeightMm: 8 }
  const { codes, width, height } = scanFilm({
    ...scan,
    placement: { acrossMm: 5, alongMm: 4, turnDegrees: 3, mirrored: false },
    scanner: { ...shop.scanner, veil: 0, readNoise: 0, shotNoise: 0 },
  })
  expect(codes[Math.floor(height / 2) * width + Math.floor(width / 2)]).toBeLessThanOrEqual(shop.scanner.black + 3)
  const half = shop.scanner.black + shop.scanner.gain / 2 ** (1 / shop.scanner.gamma)
  let dark = 0
  for (const code of codes) if (code < half) dark++
  const { pitchUm } = scanSize(scan)
  const square = (dark * pitchUm.across * pitchUm.along) / 1e6
  expect(Math.abs(square - 24)).toBeLessThan(0.02)
})
