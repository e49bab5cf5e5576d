import type { Channel } from './scan.js'

/** `burngate.yaml`, checked and frozen. Defaults and ranges live in settings/site-settings.ts. */
export interface SiteSettings {
  readonly shop: string
  readonly defaultJobType: string
  /** Pattern of file names, e.g. `<positive>[__<anything>].<ext>`. */
  readonly fileName: string
  readonly lengthUnit: 'mm' | 'inch'
  readonly rulingUnit: 'lines/in' | 'lines/cm'
  readonly channel: Channel
  /** Mesh counts the shop prints on, threads per inch: the report says which suits a film's screen. */
  readonly meshes: readonly number[]
  readonly calibrationMaxAgeDays: number
  readonly settleSeconds: number
  readonly sidecarWaitSeconds: number
  readonly bracketWaitSeconds: number
  readonly usePolling: boolean
  /**
   * Which side of a film is up on the glass, away from the sensor. Down: the scan shows the film as seen from its ink side, reading as its
   * artwork; up: mirrored. Null: nobody said, and nothing is concluded from it.
   */
  readonly inkSideUp: boolean | null
  readonly workers: number
  /** Where the history lives; only SQLite for now. */
  readonly storage: 'sqlite'
  /** Days after which archived scans are deleted; null: nothing is ever deleted (the only choice for now). */
  readonly retentionDays: null
  readonly scanners: Readonly<
    Record<string, { readonly dpi?: number; readonly maker?: string; readonly model?: string }>
  >
}

/** A sidecar `<scan>.<ext>.yaml`; all optional. */
export interface Sidecar {
  readonly positive?: string
  readonly jobType?: string
  readonly scanner?: string
  readonly scannedAt?: string
  readonly bracket?: string
  readonly printer?: string
  readonly mode?: string
  readonly stock?: string
  readonly setting?: string
  readonly temperature?: number
  readonly humidity?: number
  readonly note?: string
  /** The positive was printed anew before this scan: growth is counted from it. */
  readonly reprint?: boolean
  /** An older positive that this one stands in place of. */
  readonly replaces?: string
  readonly dpi?: number
}
