import type { Verdict } from '../model/inspection.js'
import type { BoardRow } from '../model/store.js'
import type { BoardPageInput } from './board-page.js'
import { formatAge, formatTime } from './format-time.js'
import { prose } from './prose.js'
import { verdictShape } from './verdict-shape.js'

/** Rows of a group shown at once; the older ones are folded away. */
const SHOWN_AT_ONCE = 40

/** What a person does with a positive, most urgent to know first. */
const GROUPS: readonly { readonly verdict: Verdict; readonly title: string; readonly none: string }[] = [
  { verdict: 'pass', title: 'May be burned', none: 'No positive may be burned.' },
  { verdict: 'recheck', title: 'Needs another look', none: 'Nothing waits for another look.' },
  { verdict: 'fail', title: 'May not be burned', none: 'Nothing has failed.' },
]

/** Everything the board template places. */
export function boardView({ rows, site, now, hrefOf }: BoardPageInput) {
  const newestFirst = rows
    .map(row => ({ row, at: Date.parse(row.scannedAt) }))
    .sort((a, b) => (Number.isFinite(b.at) ? b.at : -Infinity) - (Number.isFinite(a.at) ? a.at : -Infinity) || 0)
    .map(({ row }) => row)
  return {
    title: `Board – ${site.shop}`,
    shop: site.shop,
    empty: rows.length === 0,
    total: rows.length,
    writtenIso: now.toISOString(),
    written: formatTime(now.toISOString()),
    groups: GROUPS.map(({ verdict, title, none }) => {
      const mine = newestFirst.filter(row => row.verdict === verdict).map(row => rowView(row, now, hrefOf))
      return {
        verdict,
        title,
        none,
        shape: verdictShape(verdict),
        count: mine.length,
        shown: mine.slice(0, SHOWN_AT_ONCE),
        folded: mine.slice(SHOWN_AT_ONCE),
        foldedCount: Math.max(0, mine.length - SHOWN_AT_ONCE),
      }
    }),
  }
}

function rowView(row: BoardRow, now: Date, hrefOf: BoardPageInput['hrefOf']) {
  return {
    href: hrefOf(row),
    positive: row.positive,
    jobType: row.jobType,
    why: prose(row.why),
    hasNext: row.verdict !== 'pass' && row.next !== '',
    next: prose(row.next),
    scannedIso: row.scannedAt,
    scanned: formatTime(row.scannedAt),
    age: formatAge(row.scannedAt, now),
    earlier: row.earlier === 0 ? '' : row.earlier === 1 ? '1 earlier scan' : `${row.earlier} earlier scans`,
  }
}
