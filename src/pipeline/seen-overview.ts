import { statSync } from 'node:fs'
import type { SeenOverview } from '../model/block-overview.js'
import type { Calibration } from '../model/calibration.js'
import type { Channel } from '../model/scan.js'

/** What an overview is made of. */
export interface OverviewSource {
  readonly file: string
  readonly channel: Channel
  /** Null: codes are taken as linear. */
  readonly calibration: Calibration | null
}

/** Says what an overview made of this now would be of. */
export function overviewOf({ file, channel, calibration }: OverviewSource): string {
  const { size, mtimeMs, ino } = statSync(file)
  const scale = calibration === null ? null : [calibration.scanner, calibration.calibratedAt, calibration.scan.sha256]
  return JSON.stringify([file, size, mtimeMs, ino, channel, scale])
}

/** Says what a scan unpacked now would be of; null where there is no such file. */
export function unpackedOf(file: string, channel: Channel): string | null {
  try {
    return overviewOf({ file, channel, calibration: null })
  } catch {
    return null
  }
}

/** Where the very file was unpacked for the look at it. */
export function stillUnpacked(seen: SeenOverview | undefined, source: OverviewSource): string | undefined {
  return seen?.unpacked !== undefined && seen.of === overviewOf(source) ? seen.unpacked : undefined
}

/** The overview's blocks where it is of this very file, channel and calibration. */
export function stillSeen(seen: SeenOverview | undefined, source: OverviewSource): SeenOverview['blocks'] | undefined {
  return seen !== undefined && seen.of === overviewOf(source) ? seen.blocks : undefined
}
