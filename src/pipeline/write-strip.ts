import { MM_PER_INCH } from '../model/geometry.js'
import { ProblemError } from '../model/problem.js'
import type { StripForm, StripIdentity, StripLaid, StripTints } from '../model/strip.js'
import { checkPositiveName } from '../settings/file-identity.js'
import { nearestName } from '../settings/nearest-name.js'
import { drawStrip, USUAL_SCREEN } from '../strip/draw-strip.js'
import type { Screen } from '../strip/halftone-cell.js'
import { printFile, printFileKind } from '../strip/print-file.js'
import { type ShorterNames, shorterNames } from '../strip/shorter-names.js'
import { codeFieldFault, dpiOf } from '../strip/strip-code.js'
import type { JobTypeShelf } from './inspect-scan.js'
import { writeWhole } from './write-whole.js'

/** What the strip is to say, as a person asks for it. */
export interface StripTask {
  readonly positive: string
  readonly jobType: string
  /** `720` or `1440x720`: across the head, along the feed. */
  readonly dpi: string
  readonly form: StripForm
  readonly laid: StripLaid
  readonly tints: StripTints
  readonly setting?: string
  readonly stock?: string
  readonly mode?: string
  readonly level?: string
  readonly printer?: string
}

export interface StripOutcome {
  readonly file: string
  readonly identity: StripIdentity
  /** Size on the print, mm. */
  readonly across: number
  readonly feed: number
  /** Side of a module of the code, mm; the smaller one where printer pixels are not square. */
  readonly module: number
  /** What to take off the names for a code that is read more surely; null where it is coarse enough. */
  readonly shorter: ShorterNames | null
  /** The screen of the tints as printed; null for grey ones. */
  readonly screen: Screen | null
  /** Whether the job type says the screen; else it is the usual one. */
  readonly screenFrom: 'jobType' | 'usual'
  /** What lines of the thinnest kind come out as, um: whole printer pixels. */
  readonly thinnest: { readonly across: number; readonly feed: number }
}

/**
 * Draws a control strip and writes it to a file.
 * @param file where to; its ending says the kind
 * @throws ProblemError POSITIVE_NAME_INVALID, JOB_TYPE_UNKNOWN, SETTINGS_INVALID, STRIP_*, FILE_NOT_WRITABLE
 */
export async function writeStrip(task: StripTask, file: string, jobTypes: JobTypeShelf): Promise<StripOutcome> {
  const kind = printFileKind(file)
  const positive = checkPositiveName(task.positive)
  const jobType = jobTypes.types.get(task.jobType)
  if (jobType === undefined) {
    const near = nearestName(task.jobType, [...jobTypes.types.keys()])
    throw (
      jobTypes.unusable.get(task.jobType) ??
      new ProblemError('JOB_TYPE_UNKNOWN', `"${task.jobType}"${near === null ? '' : ` (did you mean ${near}?)`}`)
    )
  }
  const dpi = dpiOf(task.dpi.trim())
  if (dpi === null) throw new ProblemError('STRIP_DPI_INVALID', `"${task.dpi}"`)
  const facts: Partial<Record<(typeof FACTS)[number], string>> = {}
  for (const name of FACTS) {
    const value = task[name]?.normalize('NFC').trim()
    if (value === undefined || value === '') continue
    const fault = codeFieldFault(value)
    if (fault !== null) throw new ProblemError('STRIP_NAME_INVALID', `the ${name} "${value}" (it ${fault})`)
    facts[name] = value
  }
  const { form, laid, tints } = task
  const identity: StripIdentity = { positive, jobType: jobType.name, dpi, form, laid, tints, ...facts }
  const { ruling, angle } = jobType.printed
  const asked = { ruling: ruling ?? USUAL_SCREEN.ruling, angle: angle ?? USUAL_SCREEN.angle }
  const drawing = drawStrip(identity, asked)
  const { bitmap, greys, module, screen } = drawing
  await writeWhole(file, await printFile({ bitmap, greys, title: `Control strip ${positive}` }, kind))
  const thinnest = (runs: 'head' | 'feed') =>
    Math.min(...drawing.layout.fields.flatMap(f => (f.kind === 'line' && f.runs === runs ? [f.widthUm] : [])))
  return {
    file,
    identity,
    across: (bitmap.width / dpi.across) * MM_PER_INCH,
    feed: (bitmap.height / dpi.along) * MM_PER_INCH,
    module: Math.min(module.across, module.feed),
    shorter: shorterNames(identity, asked),
    screen,
    screenFrom: ruling === undefined ? 'usual' : 'jobType',
    // A line that runs along the feed has its width across the head.
    thinnest: { across: thinnest('feed'), feed: thinnest('head') },
  }
}

const FACTS = ['setting', 'stock', 'mode', 'level', 'printer'] as const
