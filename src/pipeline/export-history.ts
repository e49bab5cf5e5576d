import { createWriteStream } from 'node:fs'
import { mkdir, rename, rm } from 'node:fs/promises'
import { dirname } from 'node:path'
import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import type { Inspection } from '../model/inspection.js'
import { READINGS, type ReadingName } from '../model/reading.js'
import type { Store } from '../model/store.js'
import { writing } from './write-whole.js'

/**
 * Writes the whole history to one file, without ever holding it: CSV with a line an inspection, or a JSON array.
 * @returns how many inspections were written
 * @throws ProblemError FILE_NOT_WRITABLE, DATABASE_*
 */
export async function exportHistory(store: Pick<Store, 'all'>, file: string, form: 'csv' | 'json'): Promise<number> {
  let count = 0
  async function* text() {
    yield form === 'csv' ? csvLine(CSV_COLUMNS) : '['
    for await (const inspection of store.all()) {
      yield form === 'csv'
        ? csvLine(csvCells(inspection))
        : `${count === 0 ? '\n' : ',\n'}${JSON.stringify(inspection)}`
      count++
    }
    if (form === 'json') yield '\n]\n'
  }
  const beside = `${file}.part`
  await writing(file, async () => {
    await mkdir(dirname(file), { recursive: true })
    try {
      await pipeline(Readable.from(text()), createWriteStream(beside, { flush: true }))
      await rename(beside, file)
    } finally {
      await rm(beside, { force: true })
    }
  })
  return count
}

const NAMES = Object.keys(READINGS) as ReadingName[]

export const CSV_COLUMNS: readonly string[] = [
  'id',
  'positive',
  'jobType',
  'scannedAt',
  'inspectedAt',
  'verdict',
  'why',
  'next',
  'scanner',
  'calibratedAt',
  'file',
  'sha256',
  'dpiAcross',
  'dpiAlong',
  'channel',
  'printer',
  'mode',
  'stock',
  'setting',
  'temperature',
  'humidity',
  'note',
  ...NAMES.flatMap(name => [`${name} (${READINGS[name].unit})`, `${name} U`, `${name} bound`]),
  'software',
]

/** The cells of one inspection, in the order of `CSV_COLUMNS`; what was not measured is empty. */
export function csvCells(inspection: Inspection): readonly (string | number)[] {
  const { findings, scan, scanner, told, readings } = inspection
  return [
    inspection.id,
    inspection.positive,
    inspection.jobType,
    inspection.scannedAt,
    inspection.inspectedAt,
    inspection.verdict,
    findings[0]?.why ?? '',
    findings[0]?.next ?? '',
    scanner?.name ?? '',
    scanner?.calibratedAt ?? '',
    scan.file,
    scan.sha256,
    scan.dpi[0],
    scan.dpi[1],
    scan.channel,
    told.printer ?? '',
    told.mode ?? '',
    told.stock ?? '',
    told.setting ?? '',
    told.temperature ?? '',
    told.humidity ?? '',
    told.note ?? '',
    ...NAMES.flatMap(name => {
      const reading = readings[name]
      return reading === undefined ? ['', '', ''] : [reading.value, reading.expanded, reading.bound ?? '']
    }),
    inspection.software,
  ]
}

/**
 * One line of CSV (RFC 4180). A text that a spreadsheet would take for a formula gets an apostrophe before it; numbers
 * stay numbers.
 */
export function csvLine(cells: readonly (string | number)[]): string {
  return `${cells
    .map(cell => {
      if (typeof cell === 'number') return String(cell)
      const safe = /^[\s]*[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell
      return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe
    })
    .join(',')}\r\n`
}
