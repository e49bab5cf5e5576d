import { tmpdir } from 'node:os'
import { describe, expect, it } from 'vitest'
import type { MeasuredScan, MeasureRequest } from '../../src/model/measured.js'
import { measureScan } from '../../src/pipeline/measure-scan.js'
import { expectWithin } from '../support/expect-within.js'
import { haveSharedData, SHARED_DATA } from '../support/shared-data.js'

/** Real 48-bit transmissive scans, 75 dpi, from the MIT-licensed test data of LuisOlivaresJ/Dosepy (film dosimetry). */
const measure = (name: string, channel: MeasureRequest['channel']): Promise<MeasuredScan> =>
  measureScan(
    {
      file: `${SHARED_DATA}flatbed-film/${name}.tif`,
      dpi: null,
      channel,
      calibration: null,
      fringeContours: { low: 0.3, high: 2.7 },
    },
    { tempDir: tmpdir() },
  )

describe.skipIf(!haveSharedData)(
  'real flatbed scans of film (need the shared data; no step tablet came with them)',
  () => {
    it('tells the opaque holder at the left from the film and the open light', async () => {
      const scan = await measure('sheet-with-holder', 'red')
      const holder = scan.outlines.find(outline => outline.kind === 'holder')!
      expect(holder.corners.map(c => c.row).sort((a, b) => a - b)).toEqual([0, 0, 447, 447])
      for (const corner of holder.corners) expect(corner.column).toBeLessThan(85)
      expectWithin(Math.max(...holder.corners.map(c => c.column)), 78, {
        abs: 4,
        unit: 'px',
        because: 'the lower right corner of the holder as seen on the scan',
      })
      const film = scan.outlines.find(outline => outline.kind === 'film')!
      for (const corner of film.corners) expect(corner.column).toBeGreaterThan(60)
    })

    it('never says density, pass or fail of a scanner nobody calibrated', async () => {
      const scan = await measure('strips-1', 'red')
      expect(scan.response).toBe('unknown')
      expect(scan.doubts.map(d => d.code)).toContain('uncalibrated')
    })

    it('repeats its readings over scans of strips that were not moved', async () => {
      const [a, b] = await Promise.all([measure('strips-1', 'red'), measure('strips-2', 'red')])
      expectWithin(a.readings.baseDensity!.value, b.readings.baseDensity!.value, {
        abs: 0.001,
        unit: 'D',
        because: 'the mean codes of these scans repeat within 0.0007 D (independent measurement with the data)',
      })
      expectWithin(a.readings.solidDensity!.value, b.readings.solidDensity!.value, {
        abs: 0.0025,
        unit: 'D',
        because: 'repeat of single patches; the strips are not flat, and patches may shift by a pixel',
      })
    })
  },
)
