import { join, resolve } from 'node:path'

/** Where everything lies in a workspace. */
export interface WorkspacePaths {
  readonly root: string
  readonly settings: string
  readonly inbox: string
  /** Separations by the name of their positive; they stay. */
  readonly artwork: string
  /** Scans of ink ladders, and their plans, which stay. */
  readonly ladderInbox: string
  readonly jobTypes: string
  readonly scanners: string
  /** Tables of paired ultraviolet readings. */
  readonly actinic: string
  readonly reports: string
  readonly board: string
  /** The page of the process over time. */
  readonly process: string
  readonly archive: string
  /** Print settings that an ink ladder proved, by name. */
  readonly printSettings: string
  readonly rejected: string
  readonly database: string
  /** The program's own: journal, lock, temporary files. */
  readonly own: string
  readonly journal: string
  readonly lock: string
  /** Open signals of the process, for the board. */
  readonly signals: string
  /** What each scan of an ink ladder told, by plan: the page is worked out from all of them. */
  readonly ladders: string
  readonly temporary: string
}

/** The fixed names of a workspace (README, "The workspace"). */
export function workspacePaths(folder: string): WorkspacePaths {
  const root = resolve(folder)
  const own = join(root, '.burngate')
  return {
    root,
    settings: join(root, 'burngate.yaml'),
    inbox: join(root, 'inbox'),
    artwork: join(root, 'inbox', 'artwork'),
    ladderInbox: join(root, 'inbox', 'ladder'),
    jobTypes: join(root, 'job-types'),
    scanners: join(root, 'scanners'),
    actinic: join(root, 'scanners', 'actinic'),
    reports: join(root, 'reports'),
    board: join(root, 'reports', 'index.html'),
    process: join(root, 'reports', 'process.html'),
    archive: join(root, 'archive'),
    printSettings: join(root, 'settings'),
    rejected: join(root, 'rejected'),
    database: join(root, 'burngate.db'),
    own,
    journal: join(own, 'journal.jsonl'),
    lock: join(own, 'watch.lock'),
    signals: join(own, 'signals.json'),
    ladders: join(own, 'ladders'),
    temporary: join(own, 'tmp'),
  }
}
