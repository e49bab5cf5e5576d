import type { Inspection } from '../../src/model/inspection.js'

/** A small inspection record of an invented positive, for the history's tests. */
export function inspectionRecord(change: Partial<Omit<Inspection, 'scan'>> & { sha256?: string } = {}): Inspection {
  const { sha256 = 'a'.repeat(64), ...rest } = change
  return {
    schema: 'burngate/inspection@1',
    id: '20260301T102200-0123456789ab',
    positive: 'HARBOR-17 front',
    positiveFrom: 'fileName',
    jobType: 'fine-line',
    jobTypeFrom: 'site',
    scannedAt: '2026-03-01T10:22:00Z',
    scannedAtFrom: 'tag',
    inspectedAt: '2026-03-01T10:23:00.000Z',
    verdict: 'pass',
    findings: [
      {
        reading: 'solidDensity',
        verdict: 'pass',
        limit: { min: 3 },
        why: 'Solid density is 3.42 ± 0.03 D, above 3.00 D.',
        next: '',
      },
    ],
    readings: {
      solidDensity: {
        value: 3.42,
        unit: 'D',
        expanded: 0.03,
        bound: null,
        n: 1,
        parts: [{ id: 'solid-1', place: { column: 10, row: 20 }, value: 3.42, expanded: 0.03, bound: null }],
        budget: [{ name: 'tablet', standard: 0.015 }],
        method: 'solid-density@1',
      },
    },
    notes: [],
    growth: null,
    scan: {
      file: 'HARBOR-17 front.tif',
      sha256,
      width: 4000,
      height: 6000,
      dpi: [1200, 1200],
      bits: 16,
      channels: 1,
      channel: 'grey',
    },
    scanner: {
      name: 'flatbed-a',
      calibratedAt: '2026-02-01T08:00:00.000Z',
      deepest: 3.6,
      riseWidth: 32,
      tablet: 'nominal-21',
    },
    told: { printer: 'printer-1' },
    software: 'burngate 0.1.0',
    tookMs: 1200,
    ...rest,
  }
}
