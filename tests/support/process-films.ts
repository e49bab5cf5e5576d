import type { ProcessFilm } from '../../src/model/process.js'

const DAY_MS = 86_400_000

/** A fresh film, slim as the store tells it; `day` counts from 1 January 2026. */
export function freshFilm(id: string, day: number, value: number, change: Partial<ProcessFilm> = {}): ProcessFilm {
  return {
    id,
    positive: id,
    scannedAt: new Date(Date.UTC(2026, 0, 1) + day * DAY_MS).toISOString(),
    sha256: id,
    printer: 'printer-1',
    mode: 'fine',
    stock: 'stock-a',
    scanner: 'flatbed-a',
    artwork: null,
    standing: 'baseline',
    baseline: null,
    days: null,
    readings: { solidDensity: { value, expanded: 0.03, bound: null, method: 'solid-density@1' } },
    ...change,
  }
}

/** A later scan of a film, with what it grew. */
export function laterScan(
  first: ProcessFilm,
  days: number,
  edgeGrowth: number,
  change: Partial<ProcessFilm> = {},
): ProcessFilm {
  return {
    ...first,
    id: `${first.id}+${days}`,
    sha256: `${first.sha256}+${days}`,
    scannedAt: new Date(Date.parse(first.scannedAt) + days * DAY_MS).toISOString(),
    standing: 'compared',
    baseline: first.id,
    days,
    readings: { edgeGrowth: { value: edgeGrowth, expanded: 1, bound: null, method: 'edge-growth@1' } },
    ...change,
  }
}
