import type { Dirent } from 'node:fs'
import { readdir, stat } from 'node:fs/promises'
import { join } from 'node:path'
import { inboxFileKind, scanOfSidecar } from './inbox-file.js'

/** A file as it lay in the inbox when it was looked at. */
export interface InboxEntry {
  readonly path: string
  /** Path from the inbox, with `/`: its name in the journal and in messages. */
  readonly relative: string
  readonly name: string
  /** First folder below the inbox, or null. */
  readonly folder: string | null
  readonly size: number
  readonly mtimeMs: number
  readonly ino: number
}

export interface InboxScan extends InboxEntry {
  readonly sidecar: InboxEntry | null
}

export interface InboxListing {
  /** Which folder it was: another number under the same name is another folder. */
  readonly rootIno: number
  /** Oldest first. */
  readonly scans: readonly InboxScan[]
  /** Sidecars whose scan is not there. */
  readonly lone: readonly InboxEntry[]
  /** Things passed over that a person may wonder about, one sentence each. */
  readonly notes: readonly string[]
}

/** Holds separations, which are asked by name when their positive comes. */
const ARTWORK = 'artwork'
/** Holds scans of ink ladders beside their plans, which stay. */
const LADDER = 'ladder'
const PLAN = /\.ya?ml$/i

/** Whether a scan is of an ink ladder, by the folder it lies in. */
export function isLadderScan({ folder }: Pick<InboxEntry, 'folder'>): boolean {
  return folder?.toLowerCase() === LADDER
}

/** Deeper folders are a mistake or a loop. */
const DEEPEST = 6

/**
 * Everything that lies in the inbox now, or null when there is no inbox (a share that went away). A file that vanishes
 * while it is looked at is left out. Links are not followed.
 */
export async function listInbox(inbox: string): Promise<InboxListing | null> {
  const root = await stat(inbox).catch(() => null)
  if (root === null || !root.isDirectory()) return null
  const files: InboxEntry[] = []
  const notes: string[] = []
  const walk = async (at: string, trail: readonly string[]): Promise<void> => {
    const entries: Dirent[] = await readdir(at, { withFileTypes: true }).catch(() => [])
    for (const entry of entries) {
      const relative = [...trail, entry.name].join('/')
      if (entry.isDirectory()) {
        if (trail.length === 0 && entry.name.toLowerCase() === ARTWORK) continue
        if (!entry.name.startsWith('.') && trail.length < DEEPEST)
          await walk(join(at, entry.name), [...trail, entry.name])
      } else if (entry.isFile()) {
        const kind = inboxFileKind(entry.name)
        const folder = trail[0] ?? null
        if (kind === 'ignored' || (kind === 'scan' && isLadderScan({ folder }) && PLAN.test(entry.name))) continue
        const path = join(at, entry.name)
        const state = await stat(path).catch(() => null)
        if (state === null) continue
        const { size, mtimeMs, ino } = state
        files.push({ path, relative, name: entry.name, folder, size, mtimeMs, ino })
      } else if (inboxFileKind(entry.name) !== 'ignored')
        notes.push(`inbox/${relative} is a link or no file at all, and was passed over; copy the scan itself.`)
    }
  }
  await walk(inbox, [])
  const scans = files.filter(file => inboxFileKind(file.name) === 'scan')
  const sidecars = new Map<string, InboxEntry>()
  // `.yaml` before `.yml`, when both are there.
  for (const file of files.filter(f => inboxFileKind(f.name) === 'sidecar').sort((a, b) => (a.name < b.name ? 1 : -1)))
    sidecars.set(scanOfSidecar(file.relative), file)
  const paired = scans
    .map(scan => ({ ...scan, sidecar: sidecars.get(scan.relative) ?? null }))
    .sort((a, b) => a.mtimeMs - b.mtimeMs || (a.relative < b.relative ? -1 : 1))
  const known = new Set(scans.map(scan => scan.relative))
  const lone = [...sidecars].filter(([scan]) => !known.has(scan)).map(([, file]) => file)
  return { rootIno: root.ino, scans: paired, lone, notes }
}
