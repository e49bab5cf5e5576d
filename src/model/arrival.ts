import type { SeenOverview } from './block-overview.js'
import type { Inspection } from './inspection.js'
import type { Sidecar } from './site.js'
import type { StripLook } from './strip.js'

/** A packed scan's pixels as a plain picture. */
export interface UnpackedScan {
  readonly path: string
  /** Says of which state of which file it is (`pipeline/seen-overview.ts`). */
  readonly of: string
}

/** A scan that has come and rests: what is known of it before it is opened. */
export interface ScanArrival {
  /** Path to read it from. */
  readonly file: string
  /** File name as it came, with its extension. */
  readonly name: string
  /** Inbox sub-folder it lay in, which may name a job type; null for none. */
  readonly folder: string | null
  /** When the file was last written, ISO 8601 in UTC. */
  readonly fileTime: string
  /** Further scans of the same unmoved film at other exposures; absent for a single scan. */
  readonly bracket?: readonly {
    readonly file: string
    readonly name: string
    readonly fileTime: string
    /** What came with this one; put together with the others' by `pipeline/bracket-arrival.ts`. */
    readonly sidecar?: ScanArrival['sidecar']
  }[]
  /** The separation it was printed from, as the command line names it; absent: the inbox is asked. */
  readonly artwork?: string
  readonly sidecar: { readonly text: string; readonly facts: Sidecar } | null
  /** What the check that it is whole has unpacked it to; whoever asked for the check deletes that. */
  readonly unpacked?: UnpackedScan
  /** What its control strip says; absent before it was looked for. */
  readonly strip?: StripLook
  /** The page as it was seen when its strip was looked for. */
  readonly overview?: SeenOverview
  /** What the command line said; it goes before everything else. */
  readonly told: {
    readonly positive?: string
    readonly jobType?: string
    readonly scanner?: string
    /** The positive was printed anew: growth is counted from this scan. */
    readonly reprint?: true
  }
}

/** What became of a scan that could be inspected. */
export interface InspectionOutcome {
  readonly inspection: Inspection
  /** The same question (scan, positive, job type, calibration, version) had been answered before. */
  readonly known: boolean
  /** Path of the HTML report; null when none was kept. */
  readonly report: string | null
}
