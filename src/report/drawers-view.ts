import type { DrawerEntry, Drawers } from '../model/drawer.js'
import { READINGS, type ReadingName } from '../model/reading.js'
import type { BoardPageInput } from './board-page.js'
import { formatAge, formatDay, formatTime } from './format-time.js'

/** Rows of a list on the page; the rest is counted. */
const MOST_ROWS = 20

const DAY_MS = 86_400_000

/** What the board says of stored positives: what asks for something, most pressing first. */
export function drawersView(drawers: Drawers, now: Date, hrefOf: BoardPageInput['hrefOf']) {
  const { due, failing, overtaken, retired, unknown } = drawers
  const row = (entry: DrawerEntry) => ({
    href: hrefOf(entry.stored),
    positive: entry.stored.positive,
    jobType: entry.stored.jobType,
    scannedIso: entry.stored.scannedAt,
    scanned: formatTime(entry.stored.scannedAt),
    age: formatAge(entry.stored.scannedAt, now),
    why: `${whyOf(entry, now)}${usedText(entry)}`,
  })
  const list = (title: string, meaning: string, entries: readonly DrawerEntry[]) => ({
    title,
    meaning,
    count: entries.length,
    shown: entries.slice(0, MOST_ROWS).map(row),
    more: Math.max(0, entries.length - MOST_ROWS),
  })
  const asking = [
    list(
      `Predicted to reach a limit before ${formatDay(drawers.before)}`,
      'Print them anew in time; the soonest first. Earliest to latest holds 80 times in 100.',
      failing,
    ),
    list('Due for another scan', 'Scan them before the next re-run; the longest overdue first.', due),
    list('Overtaken', 'Something newer is in their place: take the old film out of the drawer.', overtaken),
  ].filter(({ count }) => count > 0)
  const out = list('Taken out', 'Not in their drawers any more; a new scan brings one back.', retired)
  const lists = [...asking, ...(out.count > 0 ? [out] : [])]
  return {
    count: due.length + failing.length + overtaken.length,
    lists,
    none:
      asking.length === 0
        ? `No stored positive is due for another scan, predicted to reach a limit before ${formatDay(drawers.before)}, or overtaken.`
        : '',
    unknown:
      unknown.count === 0
        ? ''
        : `When ${unknown.count} more are due is not known: there is no usable job type ${unknown.jobTypes.join(', ')}.`,
  }
}

function usedText({ kind, stored: { uses, reprintedAt, replacedBy } }: DrawerEntry): string {
  // What is overtaken by a reprint is not the print whose uses are known.
  if (uses === 0 || (kind === 'overtaken' && reprintedAt !== null && replacedBy === null)) return ''
  return ` Used ${uses === 1 ? 'once' : `${uses} times`}.`
}

function whyOf(entry: DrawerEntry, now: Date): string {
  if (entry.kind === 'due') {
    const late = Math.floor((now.getTime() - Date.parse(entry.dueOn)) / DAY_MS)
    return `Due since ${formatDay(entry.dueOn)}${late < 1 ? '' : `, ${late} ${late === 1 ? 'day' : 'days'} ago`}: every ${entry.everyDays} days.`
  }
  if (entry.kind === 'failing') {
    const { reaches, on, earliest, latest } = entry.forecast
    const label = READINGS[reaches as ReadingName]?.label ?? reaches
    const span = `earliest ${formatDay(earliest)}, latest ${latest === null ? 'perhaps never' : formatDay(latest)}`
    if (Date.parse(on) < now.getTime())
      return `${label} was to reach its limit about ${formatDay(on)} (${span}): scan it before it is used.`
    return entry.odds === 'expected'
      ? `${label} reaches its limit about ${formatDay(on)} (${span}).`
      : `${label} may reach its limit by then: about ${formatDay(on)} (${span}).`
  }
  if (entry.kind === 'retired') {
    const { by } = entry.stored.retired ?? {}
    return `Taken out on ${formatDay(entry.since)}${by == null ? '' : ` by ${by}`}: ${entry.because}`
  }
  return entry.by === null
    ? `Printed anew; first scanned on ${formatDay(entry.since)}. Prints from before are overtaken.`
    : `Replaced by ${entry.by} since ${formatDay(entry.since)}.`
}
