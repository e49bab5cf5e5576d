import type { InboxScan } from './list-inbox.js'

/** What is inspected as one: a scan by itself, or the scans of a bracket. */
export interface InboxTask {
  /** Stands for the task: its first scan by name. */
  readonly lead: InboxScan
  /** All scans, the lead first; one, unless it is a bracket. */
  readonly scans: readonly InboxScan[]
  /** Name of the bracket; null for a scan by itself. */
  readonly bracket: string | null
  /** How many scans the bracket has, when a name says so. */
  readonly of: number | null
}

/** What a scan says of its bracket, by its sidecar or its name. */
export type BracketOf = (scan: InboxScan) => { readonly bracket: string; readonly of: number | null } | null

/**
 * Puts scans of one bracket together: those of one folder that name the same bracket.
 * @param scans oldest first; tasks come in the order of their oldest scan
 */
export function inboxTasks(scans: readonly InboxScan[], bracketOf: BracketOf): InboxTask[] {
  const tasks: { scans: InboxScan[]; bracket: string | null; of: number | null }[] = []
  const brackets = new Map<string, (typeof tasks)[number]>()
  for (const scan of scans) {
    const said = bracketOf(scan)
    if (said === null) {
      tasks.push({ scans: [scan], bracket: null, of: null })
      continue
    }
    const folder = scan.relative.slice(0, scan.relative.length - scan.name.length)
    const key = `${folder}\n${said.bracket.toLowerCase()}`
    const task = brackets.get(key)
    if (task === undefined) {
      const made = { scans: [scan], bracket: said.bracket, of: said.of }
      brackets.set(key, made)
      tasks.push(made)
    } else {
      task.scans.push(scan)
      task.of = Math.max(task.of ?? 0, said.of ?? 0) || null
    }
  }
  return tasks.map(({ scans, bracket, of }) => {
    const sorted = scans.sort((a, b) => a.name.localeCompare(b.name, 'en', { numeric: true }))
    return { lead: sorted[0]!, scans: sorted, bracket, of }
  })
}
