import type { InboxEntry } from './list-inbox.js'

interface Seen {
  readonly size: number
  readonly mtimeMs: number
  readonly ino: number
  readonly firstSeenMs: number
  readonly unchangedSinceMs: number
}

/**
 * How long files have lain unchanged, by looking: size, time of change and identity the same each time. The clock of the
 * file's own time is not asked, because copies keep old times and shares have clocks of their own.
 */
export class RestTimer {
  readonly #seen = new Map<string, Seen>()

  /** @param nowMs a clock that only goes forward */
  look({ relative, size, mtimeMs, ino }: InboxEntry, nowMs: number): void {
    const before = this.#seen.get(relative)
    const same = before !== undefined && before.size === size && before.mtimeMs === mtimeMs && before.ino === ino
    if (same) return
    this.#seen.set(relative, {
      size,
      mtimeMs,
      ino,
      firstSeenMs: before !== undefined && before.ino === ino ? before.firstSeenMs : nowMs,
      unchangedSinceMs: nowMs,
    })
  }

  /** For how long it has not changed; 0 for a file never looked at. */
  restedMs({ relative }: Pick<InboxEntry, 'relative'>, nowMs: number): number {
    const seen = this.#seen.get(relative)
    return seen === undefined ? 0 : nowMs - seen.unchangedSinceMs
  }

  /** For how long it has been here. */
  presentMs({ relative }: Pick<InboxEntry, 'relative'>, nowMs: number): number {
    const seen = this.#seen.get(relative)
    return seen === undefined ? 0 : nowMs - seen.firstSeenMs
  }

  /** Forgets all that are no longer there. */
  keepOnly(relatives: ReadonlySet<string>): void {
    for (const relative of this.#seen.keys()) if (!relatives.has(relative)) this.#seen.delete(relative)
  }
}
