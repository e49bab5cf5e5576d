import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openScan } from '../../src/decode/open-scan.js'
import type { Channel, OpenScan } from '../../src/model/scan.js'
import { expectWithin } from '../support/expect-within.js'
import { scanFolder } from '../support/scan-folder.js'
import { haveSharedData, SHARED_DATA } from '../support/shared-data.js'

const folder = scanFolder()
afterAll(() => folder.remove())
const open = (name: string, channel: Channel): Promise<OpenScan> =>
  openScan(join(SHARED_DATA, 'flatbed-film', name), { channel, tempDir: folder.path })

const STRIP_ROWS = [
  [80, 110],
  [175, 205],
  [270, 300],
  [362, 392],
  [455, 482],
  [560, 585],
] as const

/** Mean code of whole rows and columns, both ends included. */
function meanCode(scan: OpenScan, rows: readonly [number, number], columns: readonly [number, number]): number {
  const rect = { column: columns[0], row: rows[0], width: columns[1] - columns[0] + 1, height: rows[1] - rows[0] + 1 }
  const { codes } = scan.readWindow(rect)
  let sum = 0
  for (const code of codes) sum += code
  return sum / codes.length
}

/** Code densities of the six strips against the clear carrier below them. */
function stripDensities(scan: OpenScan): number[] {
  const clear = scan.readWindow({ column: 200, row: 620, width: 501, height: 41 }).codes.toSorted()
  const median = clear[clear.length >> 1]!
  return STRIP_ROWS.map(rows => -Math.log10(meanCode(scan, rows, [250, 650]) / median))
}

describe.skipIf(!haveSharedData)('real flatbed scans of film (skipped without the shared data)', () => {
  const densities: Record<string, number[][]> = { red: [], blue: [] }
  beforeAll(async () => {
    for (const channel of ['red', 'blue'] as const)
      for (const n of [1, 2, 3]) {
        const scan = await open(`strips-${n}.tif`, channel)
        densities[channel]!.push(stripDensities(scan))
        scan.close()
      }
  })

  it('the headers are as the scanner wrote them', async () => {
    for (const name of ['strips-1.tif', 'filters.tif', 'sheet-with-holder.tif']) {
      const scan = await open(name, 'grey')
      scan.close()
      expect(scan.header).toMatchObject({
        bits: 16,
        channels: 3,
        channel: 'blue',
        compression: 'none',
        dpi: { across: 75, along: 75 },
      })
    }
  })

  it('code densities of the strips in the first scan', () => {
    const wanted = { red: [0.165, 0.249, 0.314, 0.42, 0.521, 0.613], blue: [0.286, 0.304, 0.321, 0.354, 0.389, 0.427] }
    for (const channel of ['red', 'blue'] as const)
      for (const [strip, density] of densities[channel]![0]!.entries())
        expectWithin(density, wanted[channel][strip]!, {
          abs: 0.0006,
          unit: 'D',
          because: 'the published values are rounded to 0.001',
        })
  })

  it('each strip repeats over the three scans', () => {
    for (let strip = 0; strip < 6; strip++) {
      const three = densities.red!.map(scan => scan[strip]!)
      expectWithin(Math.max(...three) - Math.min(...three), 0, {
        abs: 0.0007,
        unit: 'D',
        because: 'repeatability of the scanner as found independently',
      })
    }
  })

  it('code densities of the three filters, red', async () => {
    const scan = await open('filters.tif', 'red')
    for (const [column, row, wanted] of [
      [311, 408, '0.847'],
      [458, 407, '0.693'],
      [604, 406, '0.500'],
    ] as const) {
      const code = meanCode(scan, [row - 12, row + 12], [column - 12, column + 12])
      expectWithin(-Math.log10(code / 65535), Number(wanted), {
        abs: 0.002,
        unit: 'D',
        because: 'a square within the disc of radius 18 that the published mean was taken over',
      })
    }
    scan.close()
  })
})
