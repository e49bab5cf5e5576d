import { mkdtemp, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { openScan } from '../../src/decode/open-scan.js'
import { normalCdf } from '../../src/imaging/normal.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import { gatherEvidence } from '../../src/measure/film-evidence.js'
import { measureFilm } from '../../src/measure/measure-film.js'
import type { LineSpread } from '../../src/model/calibration.js'
import { linearLight } from '../support/bare-scan.js'
import { expectWithin } from '../support/expect-within.js'
import { FIXTURE_FOLDER, fixtureTruth, makeFixture } from '../support/make-fixtures.js'

describe('fixtures/film-600dpi', () => {
  it('is what its recipe makes', async () => {
    const folder = join(await mkdtemp(join(tmpdir(), 'burngate-fixture-')), '/')
    try {
      await makeFixture(folder)
      for (const file of ['scan.tif', 'truth.json'])
        expect(Buffer.compare(await readFile(join(folder, file)), await readFile(join(FIXTURE_FOLDER, file)))).toBe(0)
    } finally {
      await rm(folder, { recursive: true })
    }
  })

  it('reads as its truth, from the file on', async () => {
    const truth = fixtureTruth()
    const scan = await openScan(join(FIXTURE_FOLDER, 'scan.tif'), { channel: 'grey', tempDir: tmpdir() })
    try {
      const um = 25_400 / scan.header.dpi!.across
      // The scanner's own spread in closed form: Gaussian of 20 um and the pixel's box.
      const pixel = (x: number) => (normalCdf((x + um / 2) / 20) - normalCdf((x - um / 2) / 20)) / um
      const weights = Array.from({ length: 241 }, (_, i) => pixel(i - 120))
      const variance = 20 ** 2 + um ** 2 / 12
      const spread: LineSpread = { riseWidth: 2.5631 * Math.sqrt(variance), riseWidthExpanded: 0.6, stepUm: 1, weights }
      const light = {
        ...linearLight(),
        transmittance: Float32Array.from({ length: 65536 }, (_, code) => (code - 200) / 58_000),
        density: (code: number, error: number) => linearLight().density(((code - 200) / 58_000) * 60_000, error),
        lineSpread: { across: spread, along: spread },
      }
      const located = locateScan({ scan, light, umPerPixel: { across: um, along: um } })
      const { readings } = measureFilm(
        gatherEvidence(located.scan, { ...located.patches, edges: located.edges }, { low: 0.25, high: 2.25 }),
      )
      expectWithin(readings.baseDensity!.value, truth.baseDensity, { abs: 0.002, unit: 'D', because: 'noise' })
      expectWithin(readings.solidDensity!.value, truth.solidDensity, { abs: 0.01, unit: 'D', because: 'noise' })
      expectWithin(readings.riseWidth!.value, truth.riseWidth, { abs: 2, unit: 'um', because: 'accuracy wanted' })
      expectWithin(readings.inkSpread!.value, truth.inkSpread, { abs: 2, unit: 'um', because: 'accuracy wanted' })
    } finally {
      scan.close()
    }
  })
})
