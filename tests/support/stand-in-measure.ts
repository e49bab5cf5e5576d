import { openScan } from '../../src/decode/open-scan.js'
import type { Comparison } from '../../src/model/growth.js'
import type { MeasuredScan, MeasureRequest } from '../../src/model/measured.js'
import { ProblemError } from '../../src/model/problem.js'
import type { Reading, Unit } from '../../src/model/reading.js'
import { ascii, rational, writeTiff } from './tiff-writer.js'

/**
 * In place of the pixel half, where a test is about files and records: the scan is really opened and its header handed
 * on; the only reading is a solid density of first code / 10000, so that a test decides the verdict by what it writes.
 */
export async function standInMeasure(request: MeasureRequest, tempDir: string): Promise<MeasuredScan> {
  const scan = await openScan(request.file, { channel: request.channel, tempDir })
  try {
    const dpi = request.dpi ?? (scan.header.dpi === null ? null : { ...scan.header.dpi, from: 'file' as const })
    if (dpi === null) throw new ProblemError('RESOLUTION_MISSING')
    const first = scan.readWindow({ column: 0, row: 0, width: 1, height: 1 }).codes[0]!
    return {
      header: scan.header,
      dpi,
      response: request.calibration === null ? 'unknown' : 'calibrated',
      readings: { solidDensity: reading(first / 10_000, 'D') },
      notMeasured: [],
      notes: scan.header.warnings,
      doubts: [],
      edges: [],
      outlines: [],
      page: {
        id: 'page',
        caption: 'The page',
        pngBase64: 'iVBORw0KGgo=',
        width: 8,
        height: 8,
        rect: { column: 0, row: 0, width: scan.header.width, height: scan.header.height },
      },
      crops: [],
      ...(request.baseline === undefined ? {} : { comparison: unchanged() }),
    }
  } finally {
    scan.close()
  }
}

/** The same film, nothing measured of it. */
function unchanged(): Comparison {
  return {
    outcome: 'compared',
    readings: {},
    notMeasured: [],
    placement: { turnDegrees: 0, mirrored: false, scale: { across: 1, along: 1 }, matched: 1, inView: 1 },
    strokes: [],
    profiles: null,
    crops: null,
    looksReprinted: false,
    notes: [],
  }
}

function reading(value: number, unit: Unit): Reading {
  return { value, unit, expanded: 0.01, bound: null, n: 1, parts: [], budget: [], method: 'stand-in@1' }
}

/** A small scan for the stand-in: `density` decides the verdict, `seed` makes its content its own. */
export function standInScan(density: number, seed: number, change: { dateTime?: string; model?: string } = {}): Buffer {
  const width = 16
  const height = 16
  const data = Array.from({ length: width * height }, (_, i) => 1000 + ((seed * 7919 + i * 104_729) % 50_000))
  data[0] = Math.round(density * 10_000)
  return writeTiff({
    width,
    height,
    data,
    tags: {
      282: rational(1200, 1),
      283: rational(1200, 1),
      ...(change.model === undefined ? {} : { 272: ascii(change.model) }),
      ...(change.dateTime === undefined ? {} : { 306: ascii(change.dateTime) }),
    },
  })
}
