import { createWriteStream } from 'node:fs'
import { mkdir, rename, rm } from 'node:fs/promises'
import { dirname } from 'node:path'
import { Readable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import type { Acceptance } from '../model/acceptance.js'
import type { DrawerEntry, Drawers } from '../model/drawer.js'
import type { Inspection } from '../model/inspection.js'
import { READINGS, type ReadingName } from '../model/reading.js'
import type { Store } from '../model/store.js'
import type { FilmUse } from '../model/use.js'
import { usesBetween } from '../trend/uses-between.js'
import { type DrawerContext, workspaceDrawers } from './workspace-drawers.js'
import { writing } from './write-whole.js'

/** What an export adds to an inspection: what people let through, and, on the newest look of a positive, what its drawer asks for. */
export interface ExportedInspection {
  readonly inspection: Inspection
  readonly acceptances: readonly Acceptance[]
  readonly drawer: readonly DrawerEntry[]
  /** How often the film had been used when it was scanned. */
  readonly usesBefore: number
  /** On the newest look of a positive: how often it has been used by now; else null. */
  readonly usesNow: number | null
}

/**
 * Writes the whole history to one file, without ever holding it: CSV with a line an inspection, or a JSON array. What the drawers ask for
 * stands with the newest look of each positive.
 * @returns how many inspections were written
 * @throws ProblemError FILE_NOT_WRITABLE, DATABASE_*
 */
export async function exportHistory(context: ExportContext, file: string, form: 'csv' | 'json'): Promise<number> {
  const { store } = context
  const drawer = entriesById(await workspaceDrawers(context))
  const accepted = new Map<string, Acceptance[]>()
  for (const acceptance of await store.acceptances())
    accepted.set(acceptance.inspection, [...(accepted.get(acceptance.inspection) ?? []), acceptance])
  const uses = new Map<string, FilmUse[]>()
  for (const use of await store.uses()) uses.set(use.positive, [...(uses.get(use.positive) ?? []), use])
  const films = new Map((await store.stored()).map(film => [film.positive, film]))
  let count = 0
  async function* text() {
    yield form === 'csv' ? csvLine(CSV_COLUMNS) : '['
    for await (const inspection of store.all()) {
      const { id, positive, scannedAt } = inspection
      const film = films.get(positive)
      const reprint = film?.reprintedAt ?? null
      const since = reprint !== null && Date.parse(scannedAt) >= Date.parse(reprint) ? reprint : null
      const exported = {
        inspection,
        acceptances: accepted.get(id) ?? [],
        drawer: drawer.get(id) ?? [],
        usesBefore: usesBetween(uses.get(positive) ?? [], since, scannedAt),
        usesNow: film?.id === id ? film.uses : null,
      }
      yield form === 'csv'
        ? csvLine(csvCells(exported))
        : `${count === 0 ? '\n' : ',\n'}${JSON.stringify(jsonRecord(exported))}`
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

export interface ExportContext extends DrawerContext {
  readonly store: Pick<Store, 'all' | 'acceptances' | 'stored' | 'uses'>
}

function entriesById({ due, failing, overtaken, retired }: Drawers): ReadonlyMap<string, readonly DrawerEntry[]> {
  const found = new Map<string, DrawerEntry[]>()
  for (const entry of [...due, ...failing, ...overtaken, ...retired])
    found.set(entry.stored.id, [...(found.get(entry.stored.id) ?? []), entry])
  return found
}

/** The record as it was written; `acceptances`, `drawer` and uses beside it only where there are any. */
function jsonRecord({ inspection, acceptances, drawer, usesBefore, usesNow }: ExportedInspection): object {
  return {
    ...inspection,
    ...(acceptances.length === 0 ? {} : { acceptances }),
    ...(drawer.length === 0 ? {} : { drawer: drawer.map(jsonEntry) }),
    ...(usesBefore > 0 || (usesNow ?? 0) > 0 ? { usesBefore, ...(usesNow === null ? {} : { usesNow }) } : {}),
  }
}

function jsonEntry(entry: DrawerEntry): object {
  const { stored, ...rest } = entry
  return rest
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
  'replaces',
  'note',
  ...NAMES.flatMap(name => [`${name} (${READINGS[name].unit})`, `${name} U`, `${name} bound`]),
  'acceptedBy',
  'acceptedAt',
  'acceptedBecause',
  'drawer',
  'dueOn',
  'reaches',
  'reachesOn',
  'reachesEarliest',
  'reachesLatest',
  'overtakenBy',
  'overtakenSince',
  'retiredSince',
  'retiredBecause',
  'usesBefore',
  'usesNow',
  'software',
]

/** The cells of one inspection, in the order of `CSV_COLUMNS`; what was not measured is empty. */
export function csvCells({
  inspection,
  acceptances,
  drawer,
  usesBefore,
  usesNow,
}: ExportedInspection): readonly (string | number)[] {
  const { findings, scan, scanner, told, readings, growth } = inspection
  const accepted = acceptances.at(-1)
  const due = drawer.find(entry => entry.kind === 'due')
  const overtaken = drawer.find(entry => entry.kind === 'overtaken')
  const retired = drawer.find(entry => entry.kind === 'retired')
  const forecast = growth?.forecast ?? null
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
    told.replaces ?? '',
    told.note ?? '',
    ...NAMES.flatMap(name => {
      const reading = readings[name]
      return reading === undefined ? ['', '', ''] : [reading.value, reading.expanded, reading.bound ?? '']
    }),
    accepted?.by ?? '',
    accepted?.at ?? '',
    accepted?.because ?? '',
    drawer.map(drawerWord).join(' '),
    due?.dueOn ?? '',
    forecast?.reaches ?? '',
    forecast?.on ?? '',
    forecast?.earliest ?? '',
    forecast?.latest ?? '',
    overtaken === undefined ? '' : (overtaken.by ?? inspection.positive),
    overtaken?.since ?? '',
    retired?.since ?? '',
    retired?.because ?? '',
    usesBefore,
    usesNow ?? '',
    inspection.software,
  ]
}

/** `due`, `fails` (before the date asked for), `mayFail`, `overtaken` (by a newer positive), `reprinted`, `retired`. */
function drawerWord(entry: DrawerEntry): string {
  if (entry.kind === 'failing') return entry.odds === 'expected' ? 'fails' : 'mayFail'
  if (entry.kind === 'overtaken') return entry.by === null ? 'reprinted' : 'overtaken'
  return entry.kind
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
