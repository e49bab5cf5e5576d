import type { Finding, Verdict } from './inspection.js'
import type { Limit } from './job-type.js'
import type { Doubt, MeasuredScan, Picture } from './measured.js'
import type { LimitName, NotMeasured, Reading } from './reading.js'

/** One way the printer can print: resolution across the head and along the feed, directions, time of a page. */
export interface LadderMode {
  readonly name: string
  readonly dpi: { readonly across: number; readonly along: number }
  readonly directions: 1 | 2
  /** Minutes a page, or any measure of time the shop goes by. */
  readonly minutes: number
  /** Ink of a page and level in this mode, ml; absent: as the plan says. */
  readonly inkPerLevel?: number
}

/** A row or column of plain patches, printed by other means: the level rises evenly from patch to patch. */
export interface PatchRow {
  readonly count: number
  /** From the middle of a patch to the next, mm. */
  readonly pitchMm: number
}

/** What a shop means to try: a plan file, checked and frozen. Ranges live in settings/ladder-plan.ts. */
export interface LadderPlan {
  readonly name: string
  readonly jobType: string
  readonly stocks: readonly string[]
  readonly modes: readonly LadderMode[]
  /** The driver's own numbers, from little ink to much. */
  readonly levels: readonly number[]
  /** Written after a level: `%` or nothing. */
  readonly levelUnit: '' | '%'
  /** Ink of a page and level, ml; null: ink is counted in levels. */
  readonly inkPerLevel: number | null
  /** Worth of a minute and of a millilitre (or level) against each other; null: time first, ink breaks ties. */
  readonly weigh: { readonly minutes: number; readonly ink: number } | null
  /** Prints of each combination. */
  readonly repeats: number
  /** Sheet of film the printer takes, mm. */
  readonly paper: { readonly widthMm: number; readonly heightMm: number }
  /** The driver can set several levels on one sheet. */
  readonly ramp: boolean
  /** Null for ladder strips; else each scan shows one row of plain patches. */
  readonly patches: PatchRow | null
}

/** One thing that can be set: a film stock, a print mode, an ink level. */
export interface Combination {
  readonly stock: string
  readonly mode: string
  readonly level: number
}

/** One feed of film through the printer. */
export interface LadderPrint {
  /** From 1, in the order of printing. */
  readonly number: number
  readonly stock: string
  readonly mode: string
  /** The steps on this sheet, one strip each: all of one level unless the driver can ramp. */
  readonly levels: readonly number[]
  /** What has to be changed since the print before. */
  readonly change: readonly ('stock' | 'mode' | 'level')[]
}

export type LadderReadings = Readonly<Partial<Record<LimitName, Reading>>>

/** What one strip, scan or patch read. */
export interface LadderSample extends Combination {
  /** File it was read from. */
  readonly file: string
  /** When, ISO 8601. */
  readonly scannedAt: string
  readonly readings: LadderReadings
  readonly notMeasured: readonly NotMeasured[]
  readonly response: MeasuredScan['response']
  /** Doubts about the scan it stands on. */
  readonly doubts: readonly Doubt[]
  readonly crop: Picture | null
}

/** One combination, its repeats averaged and judged. */
export interface LadderStep extends Combination {
  readonly verdict: Verdict
  /** Worst first. */
  readonly findings: readonly Finding[]
  readonly readings: LadderReadings
  /** One sentence: why not, or how clear it passes. */
  readonly why: string
  readonly samples: readonly { readonly file: string; readonly verdict: Verdict }[]
  /** Standard deviation between repeats, by reading; empty for one print. */
  readonly spread: Readonly<Partial<Record<LimitName, number>>>
  readonly crop: Picture | null
  /** Against an earlier reading of the same strips: since when, and the days between; null when there was none a week before. */
  readonly age: { readonly since: string; readonly days: number } | null
}

/** What was read of one combination some time ago: as much as the record of a ladder keeps. */
export interface EarlierStep extends Combination {
  readonly scannedAt: string
  readonly readings: LadderReadings
}

/** What a film stock did between two readings of its strips. */
export interface StockAge {
  readonly stock: string
  readonly days: number
  /** Settings that were read twice, and those of them whose growth is beyond what the job type allows. */
  readonly settings: number
  readonly beyond: number
  /** Mean over the settings, with U. */
  readonly growth: Readonly<
    Partial<
      Record<'edgeGrowth' | 'fringeGrowth' | 'densityLoss', { readonly value: number; readonly expanded: number }>
    >
  >
  /** The most edge growth the job type allows, um; null when it sets no limit. */
  readonly limit: number | null
  readonly verdict: 'holds' | 'bleeds' | 'unsure' | 'notAsked'
}

/** What a combination costs; ink in ml, or in levels where the plan tells no ml. */
export interface LadderCost {
  readonly minutes: number
  readonly ink: number
}

/** A setting that may be used, with what speaks for it. */
export interface LadderChoice extends Combination, LadderCost {
  /** Distance of its tightest reading inside its limit, in units of U; null when every limit is satisfied by bounds. */
  readonly margin: number | null
  /** The reading that is tightest; null as above. */
  readonly tightest: LimitName | null
}

/** A cheaper setting, and the one reason it was not taken. */
export interface LadderRefusal extends Combination, LadderCost {
  readonly verdict: 'fail' | 'recheck'
  readonly reading: LimitName | 'scan'
  readonly why: string
}

/** What the recommended setting spares against the dearest passing one, over a hundred films. */
export interface LadderSaving {
  readonly against: Combination
  readonly minutes: number
  readonly ink: number
}

/** No setting passes: the one that comes closest and what it points to. */
export interface LadderClosest extends Combination {
  readonly reading: LimitName | 'scan'
  readonly why: string
  readonly lever: 'moreInk' | 'lessInk' | 'slowerMode' | 'otherFilm' | 'look'
  /** One sentence. */
  readonly advice: string
}

/** Where to print next: between tested levels, told by interpolation. Never a recommendation. */
export interface LadderNext extends Combination {
  readonly why: string
}

/** What is told of one stock, or of all together. */
export interface LadderAnswer {
  readonly recommended: LadderChoice | null
  /** The next dearer passing setting of the same stock with more room. */
  readonly safer: LadderChoice | null
  /** Cheaper settings than the recommended one, cheapest first. */
  readonly cheaper: readonly LadderRefusal[]
  readonly saves: LadderSaving | null
  /** Only where nothing passes. */
  readonly closest: LadderClosest | null
  readonly lookNext: LadderNext | null
}

/**
 * Where more ink no longer darkens: the level at which 95 % of the darkening that ink can give is reached, by the fit
 * D = base + gain (1 - exp(-level / scale)); the level is 3.0 scale.
 */
export type LadderKnee =
  | {
      readonly kind: 'found'
      readonly level: number
      /** 95 % interval; null at an end that the levels do not tell. */
      readonly lower: number
      readonly upper: number | null
      /** Density the fit levels off at, and its U. */
      readonly ceiling: { readonly value: number; readonly expanded: number }
      /** What still grows beyond the knee, per level; null when nothing does by more than its U. */
      readonly grows: { readonly reading: LimitName; readonly perLevel: number; readonly expanded: number } | null
      readonly curve: LadderCurve
    }
  | { readonly kind: 'beyond'; readonly why: string; readonly curve: LadderCurve | null }
  | { readonly kind: 'untold'; readonly why: string }

/** The fitted curve: D = base + gain (1 - exp(-level / scale)). */
export interface LadderCurve {
  readonly base: number
  readonly gain: number
  readonly scale: number
}

/** One line of the ladder: a stock in a mode, over the levels. */
export interface LadderLine {
  readonly stock: string
  readonly mode: string
  readonly knee: LadderKnee
}

/** A whole ladder, worked out. */
export interface LadderResult extends LadderAnswer {
  readonly steps: readonly (LadderStep & LadderCost)[]
  readonly perStock: Readonly<Record<string, LadderAnswer>>
  /** The stock whose recommended setting is cheapest; null when none passes. */
  readonly bestStock: string | null
  readonly lines: readonly LadderLine[]
  /** Planned and not read. */
  readonly missing: readonly Combination[]
  /** The limits it was judged by. */
  readonly limits: Readonly<Partial<Record<LimitName, Limit>>>
}
