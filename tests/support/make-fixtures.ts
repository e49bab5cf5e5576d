import { writeFile } from 'node:fs/promises'
import { fileURLToPath } from 'node:url'
import type { BedScan } from '../../src/demo/scanner.js'
import { filmRise } from '../../src/demo/truth.js'
import { writeScan } from '../../src/demo/write-scan.js'

/**
 * The recipe of `fixtures/film-600dpi`: a small positive with one solid, a bar and a few hair-lines, 600 dpi, linear codes
 * `200 + 58000 T`. Run `npx tsx tests/support/make-fixtures.ts` to make the files again; a test holds them to this recipe.
 */
export const FIXTURE_FOLDER = fileURLToPath(new URL('../../fixtures/film-600dpi/', import.meta.url))

export const FIXTURE_SCAN: BedScan = {
  scanner: {
    maker: 'Tidewater',
    model: 'flatbed-a',
    dpi: 600,
    scaleErrorAcross: 0,
    scaleErrorAlong: 0,
    blurAcrossUm: 20,
    blurAlongUm: 20,
    black: 200,
    gain: 58_000,
    gamma: 1,
    veil: 0,
    readNoise: 8,
    shotNoise: 80,
    flare: 0,
    flareReachMm: 10,
    shading: 0,
    lamp: 1,
  },
  bedWidthMm: 24,
  bedHeightMm: 20,
  film: {
    widthMm: 20,
    heightMm: 16,
    baseDensity: 0.05,
    netDensity: 2.8,
    inkSpreadUm: 30,
    shapes: [
      { kind: 'rectangle', u: 2, v: 2, width: 8, height: 7 },
      { kind: 'rectangle', u: 13, v: 2, width: 3, height: 12 },
      { kind: 'rectangle', u: 2, v: 11, width: 8, height: 0.2 },
      { kind: 'rectangle', u: 2, v: 12.5, width: 8, height: 0.4 },
    ],
  },
  placement: { acrossMm: 12, alongMm: 10, turnDegrees: 2.5, mirrored: false },
  holder: null,
  seed: 2026,
}

export function fixtureTruth() {
  const { baseDensity, netDensity, inkSpreadUm } = FIXTURE_SCAN.film
  return {
    response: 'code = 200 + 58000 T',
    baseDensity,
    solidDensity: baseDensity + netDensity,
    inkSpread: inkSpreadUm,
    riseWidth: filmRise({ baseDensity, netDensity, inkSpreadUm }),
    scannerBlurSigmaUm: 20,
    turnDegrees: FIXTURE_SCAN.placement.turnDegrees,
  }
}

export async function makeFixture(folder: string): Promise<void> {
  await writeScan(`${folder}scan.tif`, FIXTURE_SCAN, '2026-03-02T09:00:00')
  await writeFile(`${folder}truth.json`, `${JSON.stringify(fixtureTruth(), null, 2)}\n`)
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await makeFixture(FIXTURE_FOLDER)
