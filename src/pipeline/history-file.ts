import { createHash } from 'node:crypto'
import { reportName } from './report-name.js'

/** Name of a positive's page in `reports/history/`: `<positive>__<hash of its name>.html`. */
export function historyFile(positive: string): string {
  const id = createHash('sha256').update(positive).digest('hex').slice(0, 8)
  return `${reportName({ positive, id })}.html`
}
