import type { Forecast } from './growth.js'
import type { Verdict } from './inspection.js'
import type { Retirement } from './retirement.js'

/** What the history knows of one stored positive. */
export interface StoredPositive {
  readonly positive: string
  /** Its newest look: the newest inspection that shows this film. */
  readonly id: string
  readonly jobType: string
  readonly scannedAt: string
  readonly verdict: Verdict
  /** A person let it through. */
  readonly accepted: boolean
  /** As its newest look forecast it; null when it could not be said. */
  readonly forecast: Forecast | null
  /** When a reprint under the same name was first scanned: what was printed before is overtaken. Null: never printed anew. */
  readonly reprintedAt: string | null
  /** A newer positive that says it replaces this one; null for none. */
  readonly replacedBy: { readonly positive: string; readonly scannedAt: string } | null
  /** It was taken out of its drawer since its newest look; null: it is in there. */
  readonly retired: Pick<Retirement, 'at' | 'because' | 'by'> | null
  /** The prints from before it was printed anew were taken out. */
  readonly olderRetired: boolean
  /** How often it was used: since it was printed anew, if it was. */
  readonly uses: number
}

/** Why a stored positive is on the list. A positive may be on it for several reasons. */
export type DrawerEntry =
  /** Not looked at for as long as its job type's `rescanEvery`. */
  | { readonly kind: 'due'; readonly stored: StoredPositive; readonly dueOn: string; readonly everyDays: number }
  /** A limit is reached before the date asked for: `expected` by the forecast's middle, `possible` by its earliest. */
  | {
      readonly kind: 'failing'
      readonly stored: StoredPositive
      readonly forecast: Forecast
      readonly odds: 'expected' | 'possible'
    }
  /** Something newer is in its place; `by` null: a reprint under the same name. */
  | { readonly kind: 'overtaken'; readonly stored: StoredPositive; readonly by: string | null; readonly since: string }
  /** Taken out of its drawer: asks for nothing, and is told so that nobody looks for it. */
  | { readonly kind: 'retired'; readonly stored: StoredPositive; readonly since: string; readonly because: string }

/** What the drawers ask for, each list with the most pressing first. */
export interface Drawers {
  readonly due: readonly Extract<DrawerEntry, { kind: 'due' }>[]
  readonly failing: readonly Extract<DrawerEntry, { kind: 'failing' }>[]
  readonly overtaken: readonly Extract<DrawerEntry, { kind: 'overtaken' }>[]
  readonly retired: readonly Extract<DrawerEntry, { kind: 'retired' }>[]
  /** The date that `failing` looks ahead to, ISO 8601. */
  readonly before: string
  /** Positives whose job type is not there or not usable, so that nobody knows when they are due. */
  readonly unknown: { readonly count: number; readonly jobTypes: readonly string[] }
}
