import type { Acceptance } from '../model/acceptance.js'
import type { Verdict } from '../model/inspection.js'
import type { BoardRow } from '../model/store.js'
import type { BoardPageInput } from './board-page.js'
import { drawersView } from './drawers-view.js'
import { formatAge, formatDay, formatTime } from './format-time.js'
import { prose } from './prose.js'
import { acceptedShape, verdictShape } from './verdict-shape.js'

/** Rows of a group shown at once; the older ones are folded away. */
const SHOWN_AT_ONCE = 40

/** Rows of a group on the page at all: a page of thousands is slow to open and nobody reads it to the end. */
const MOST_ROWS = 200

/** What a person does with a positive, most urgent to know first. */
const GROUPS: readonly { readonly verdict: Verdict; readonly title: string; readonly none: string }[] = [
  { verdict: 'pass', title: 'May be burned', none: 'No positive may be burned.' },
  { verdict: 'recheck', title: 'Needs another look', none: 'Nothing waits for another look.' },
  { verdict: 'fail', title: 'May not be burned', none: 'Nothing has failed.' },
]

/** Everything the board template places. */
export function boardView({ rows, drawers, process, site, now, hrefOf, historyOf = () => null }: BoardPageInput) {
  const newestFirst = rows
    .map(row => ({ row, at: Date.parse(row.scannedAt) }))
    .sort((a, b) => (Number.isFinite(b.at) ? b.at : -Infinity) - (Number.isFinite(a.at) ? a.at : -Infinity) || 0)
    .map(({ row }) => row)
  const accepted = groupOf(
    newestFirst.filter(row => row.accepted !== undefined),
    row => rowView(row, now, hrefOf, historyOf),
  )
  return {
    title: `Board – ${site.shop}`,
    shop: site.shop,
    empty: rows.length === 0,
    total: rows.length,
    writtenIso: now.toISOString(),
    written: formatTime(now.toISOString()),
    groups: GROUPS.map(({ verdict, title, none }) => ({
      verdict,
      title,
      none,
      shape: verdictShape(verdict),
      ...groupOf(
        newestFirst.filter(row => row.verdict === verdict && row.accepted === undefined),
        row => rowView(row, now, hrefOf, historyOf),
      ),
    })),
    accepted: { ...accepted, any: accepted.count > 0, shape: acceptedShape() },
    drawers: drawers === undefined ? null : drawersView(drawers, now, hrefOf),
    process: process == null ? null : processView(process),
  }
}

/** The newest rows of a group: some at once, some folded away, the rest only counted. */
function groupOf<Row>(mine: readonly BoardRow[], view: (row: BoardRow) => Row) {
  const shown = mine.slice(0, SHOWN_AT_ONCE).map(view)
  const folded = mine.slice(SHOWN_AT_ONCE, MOST_ROWS).map(view)
  return {
    count: mine.length,
    shown,
    folded,
    foldedCount: folded.length,
    more: Math.max(0, mine.length - MOST_ROWS),
  }
}

function rowView(
  row: BoardRow,
  now: Date,
  hrefOf: BoardPageInput['hrefOf'],
  historyOf: NonNullable<BoardPageInput['historyOf']>,
) {
  return {
    href: hrefOf(row),
    positive: row.positive,
    jobType: row.jobType,
    why: prose(row.why),
    hasNext: row.verdict !== 'pass' && row.next !== '' && row.accepted === undefined,
    next: prose(row.next),
    accepted: row.accepted === undefined ? null : acceptedView(row.accepted),
    scannedIso: row.scannedAt,
    scanned: formatTime(row.scannedAt),
    age: formatAge(row.scannedAt, now),
    history: row.earlier === 0 ? null : historyOf(row),
    earlier: row.earlier === 0 ? '' : row.earlier === 1 ? '1 earlier scan' : `${row.earlier} earlier scans`,
  }
}

function acceptedView({ verdict, by, because, at }: Acceptance) {
  return { shape: verdictShape(verdict), word: verdict.toUpperCase(), by, because: prose(because), on: formatDay(at) }
}

/** Signals named on the board; the page has all. */
const MOST_SIGNALS = 5

function processView({ signals, writtenAt }: NonNullable<BoardPageInput['process']>) {
  return {
    calm: signals.length === 0,
    signals: signals.slice(0, MOST_SIGNALS),
    more: Math.max(0, signals.length - MOST_SIGNALS),
    written: formatTime(writtenAt),
  }
}
