import type { Acceptance } from '../model/acceptance.js'
import { formatTime } from './format-time.js'
import { prose } from './prose.js'
import { renderTemplate } from './render-template.js'

const BEGIN = '<!--acceptances-->'
const END = '<!--/acceptances-->'

/**
 * A report with what people let through said below its verdict, which stays as it was. A report that has such words already gets them anew.
 * Everything foreign in a report is escaped, so the marks can only be our own.
 * @param page the report's HTML
 * @returns the page as it came when there is nothing to say
 * @throws RangeError when the page is no report of ours
 */
export function withAcceptances(page: string, acceptances: readonly Acceptance[]): string {
  const from = page.indexOf(BEGIN)
  const to = page.indexOf(END)
  const bare = from < 0 || to < from ? page : page.slice(0, from) + page.slice(to + END.length)
  if (acceptances.length === 0) return bare
  const place = bare.indexOf('</header>')
  if (place < 0) throw new RangeError('a report must have a header; this page has none')
  const after = place + '</header>'.length
  const block = renderTemplate('acceptances', {
    word: acceptances[0]!.verdict.toUpperCase(),
    acceptances: acceptances.map(({ by, because, at }) => ({ by, because: prose(because), at: formatTime(at) })),
  })
  return `${bare.slice(0, after)}${BEGIN}${block}${END}${bare.slice(after)}`
}
