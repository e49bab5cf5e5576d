import { mkdir, readdir, readFile, stat } from 'node:fs/promises'
import { join } from 'node:path'
import writeFileAtomic from 'write-file-atomic'
import * as z from 'zod'
import type { Calibration } from '../model/calibration.js'
import { ProblemError } from '../model/problem.js'
import { checkScannerName } from './scanner-name.js'

const finite = z.number()
const positive = z.number().positive()
const notNegative = z.number().min(0)
/** More reaches of flare than any version tries. */
const MOST_REACHES = 100
const code = z.number().min(0).max(65535)
const dpi = z.strictObject({ across: positive.max(20_000), along: positive.max(20_000) })

const lineSpread = z.strictObject({
  riseWidth: positive,
  riseWidthExpanded: notNegative,
  method: notNegative.optional(),
  stepUm: positive,
  weights: z
    .array(finite)
    .min(3)
    .refine(w => Math.abs(w.reduce((sum, x) => sum + x, 0) - 1) < 1e-3, 'must sum to 1'),
})

const expanded = z.strictObject({ value: finite, expanded: notNegative })
const pixelSize = z.strictObject({ value: z.number().min(0.9).max(1.1), expanded: notNegative })

const size = z.strictObject({
  sha256: z.string(),
  dpi,
  measuredAt: z.iso.datetime().optional(),
  pitchMm: positive,
  pitchExpandedMm: notNegative.optional(),
  nodes: z.number().int().min(25),
  across: pixelSize,
  along: pixelSize,
  squareness: expanded,
  turn: finite,
  residualMm: notNegative,
  residuals: z.array(
    z.strictObject({
      column: finite,
      row: finite,
      acrossMm: finite,
      alongMm: finite,
      expandedMm: notNegative,
      nodes: z.number().int().min(1),
    }),
  ),
})

const share = z.number().min(0).max(1)
const window = z.number().positive().max(2000)
const flat = z
  .strictObject({
    scans: z
      .array(z.strictObject({ sha256: z.string(), kind: z.enum(['open', 'film']), density: z.number().min(0).max(6) }))
      .min(1),
    widthMm: window,
    heightMm: window,
    terms: z
      .array(
        z.strictObject({
          across: z.number().int().min(0).max(4),
          along: z.number().int().min(0).max(4),
          density: z.number().min(-1).max(1),
        }),
      )
      .min(1)
      .max(25),
    standard: positive.max(0.1),
    tested: z.strictObject({ left: notNegative, top: notNegative, right: window, bottom: window }),
    uniformity: z.strictObject({
      least: z.number().min(-100).max(0),
      greatest: z.number().min(0).max(100),
      rms: notNegative.max(100),
    }),
    maskedShare: share,
    lateral: z.strictObject({ share: z.number().min(-0.5).max(0.5), standard: notNegative, measured: z.boolean() }),
    tablet: z.strictObject({ across: z.boolean(), along: z.boolean() }),
    areas: z.array(z.strictObject({ across: notNegative, along: notNegative, light: finite, residual: finite })).min(1),
  })
  .refine(
    ({ tested, widthMm, heightMm }) =>
      tested.left < tested.right &&
      tested.top < tested.bottom &&
      tested.right <= widthMm + 1e-6 &&
      tested.bottom <= heightMm + 1e-6,
    'tested must lie within the window',
  )

const schema = z
  .strictObject({
    schema: z.literal('burngate/calibration@1'),
    scanner: z.string(),
    calibratedAt: z.iso.datetime(),
    software: z.string(),
    tablet: z.strictObject({ name: z.string(), nominal: z.boolean(), sha256: z.string() }),
    scan: z.strictObject({
      file: z.string(),
      sha256: z.string(),
      dpi,
      bits: z.literal(16),
      channel: z.enum(['grey', 'red', 'green', 'blue']),
      maker: z.string().nullable(),
      model: z.string().nullable(),
    }),
    steps: z
      .array(
        z.strictObject({
          step: z.number().int().min(1),
          density: z.number().min(0).max(6),
          expanded: positive,
          code,
          codeError: notNegative,
          pixelNoise: notNegative,
          trusted: z.boolean(),
          residual: finite,
          column: finite,
          row: finite,
          surround: z.array(finite).max(MOST_REACHES).optional(),
        }),
      )
      .min(5)
      .max(60),
    response: z.strictObject({
      knots: z.array(z.strictObject({ code: finite, density: finite, standardError: notNegative })).min(5),
      black: finite,
      blackError: notNegative,
      gain: positive,
      gamma: positive,
      veil: z.number().min(0).max(1).optional(),
      covariance: z.array(z.array(finite).length(4)).length(4).optional(),
      fitResidual: notNegative,
    }),
    openLight: z.strictObject({ code, clippedShare: z.number().min(0).max(1), pixelNoise: notNegative }).nullable(),
    dark: z.strictObject({ code, codeError: notNegative, pixelNoise: notNegative }).nullable(),
    flare: z
      .strictObject({
        share: z.number().min(0).max(0.2),
        standard: notNegative,
        reaches: z
          .array(
            z.strictObject({
              shape: z.enum(['gaussian', 'tent', 'square']),
              sigmaUm: positive.nullable(),
              outside: z.enum(['rim', 'dark']),
            }),
          )
          .max(MOST_REACHES),
        shares: z.array(notNegative).max(MOST_REACHES),
        covariance: z.array(z.array(finite).max(MOST_REACHES)).max(MOST_REACHES),
        remainder: notNegative,
      })
      .nullable()
      .optional(),
    deepest: z.number().min(0).max(6),
    sharpness: z
      .strictObject({ sha256: z.string(), dpi, across: lineSpread.nullable(), along: lineSpread.nullable() })
      .nullable(),
    size: size.nullable().optional(),
    flat: flat.nullable().optional(),
    uneven: z.number().min(0).max(1).optional(),
    warnings: z.array(z.string()),
  })
  .superRefine((file, context) => {
    const refuse = (path: (string | number)[], message: string) => context.addIssue({ code: 'custom', path, message })
    const { knots, black } = file.response
    for (let i = 0; i < knots.length; i++) {
      if (!(knots[i]!.code > black)) refuse(['response', 'knots', i, 'code'], 'must lie above black')
      if (i > 0 && !(knots[i]!.code < knots[i - 1]!.code && knots[i]!.density > knots[i - 1]!.density))
        refuse(['response', 'knots', i], 'must be darker than the knot before, in code and in density')
    }
    for (let i = 0; i < file.steps.length; i++) {
      if (file.steps[i]!.step !== i + 1) refuse(['steps', i, 'step'], `must be ${i + 1}`)
      if (i > 0 && !(file.steps[i]!.density > file.steps[i - 1]!.density))
        refuse(['steps', i, 'density'], 'must be above the step before')
    }
    const reaches = file.flare?.reaches.length
    if (file.flare != null && reaches !== undefined) {
      if (file.flare.shares.length !== reaches) refuse(['flare', 'shares'], `must be ${reaches}, one for each reach`)
      if (file.flare.covariance.length !== reaches || file.flare.covariance.some(row => row.length !== reaches))
        refuse(['flare', 'covariance'], `must be ${reaches} x ${reaches}`)
      for (let i = 0; i < file.steps.length; i++)
        if (file.steps[i]!.surround?.length !== reaches)
          refuse(['steps', i, 'surround'], `must be ${reaches} numbers, one for each reach of the flare`)
    }
    if (!file.steps.some(step => step.trusted)) refuse(['steps'], 'must hold trusted steps')
  })

/** A calibration with the file it came from. */
export interface StoredCalibration {
  readonly file: string
  readonly calibration: Calibration
}

/** A file in the folder that could not be used, and why. */
export interface UnusableCalibration {
  readonly file: string
  readonly error: ProblemError
}

/**
 * File name of a calibration: `<scanner>__<dpi>dpi[-<channel>].json`. One file a scanner and setting, so that calibrating
 * a second resolution or channel leaves the first as it was; the same setting again replaces its file.
 */
export function calibrationFileName(calibration: Calibration): string {
  checkScannerName(calibration.scanner)
  const { dpi: at, channel } = calibration.scan
  return `${calibration.scanner}__${Math.round((at.across + at.along) / 2)}dpi${channel === 'grey' ? '' : `-${channel}`}.json`
}

/** Folder inside `scanners/` that holds what later calibrations replaced; never read for inspecting scans. */
const EARLIER = 'earlier'

/**
 * Writes a calibration into `scanners/`: whole or not at all (written beside, then renamed). What could not be read
 * again is refused before anything is written; what it replaces is kept as `earlier/<name>__<time>.json`.
 * @returns the path written
 * @throws ProblemError SCANNER_NAME_INVALID, CALIBRATION_FILE_INVALID
 */
export async function writeCalibration(directory: string, calibration: Calibration): Promise<string> {
  const name = calibrationFileName(calibration)
  const text = `${JSON.stringify(calibration, null, 2)}\n`
  parseCalibration(text, name)
  await mkdir(directory, { recursive: true })
  const path = join(directory, name)
  await keepEarlier(directory, name, text)
  await writeFileAtomic(path, text, 'utf8')
  return path
}

/**
 * Copies the file a calibration is about to replace, so that it stands whole in one place or the other at any moment. The
 * time in its name is when it was calibrated, of a file that cannot be read when it was written.
 */
async function keepEarlier(directory: string, name: string, replacement: string): Promise<void> {
  const path = join(directory, name)
  const old = await bytesOf(path)
  if (old === null || old.equals(Buffer.from(replacement, 'utf8'))) return
  const { mtime } = await stat(path)
  const time = calibratedAt(old.toString('utf8')) ?? mtime.toISOString()
  const stem = `${name.replace(/\.json$/, '')}__${time.replace(/\.\d+/, '').replace(/[-:]/g, '')}`
  await mkdir(join(directory, EARLIER), { recursive: true })
  for (let count = 1; ; count++) {
    const kept = join(directory, EARLIER, `${stem}${count === 1 ? '' : `-${count}`}.json`)
    const there = await bytesOf(kept)
    // The same bytes: a writing that was cut off after this step is done again.
    if (there?.equals(old)) return
    if (there !== null) continue
    await writeFileAtomic(kept, old)
    return
  }
}

async function bytesOf(file: string): Promise<Buffer | null> {
  return readFile(file).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return null
    throw error
  })
}

function calibratedAt(text: string): string | null {
  try {
    return parseCalibration(text, EARLIER).calibratedAt
  } catch (error) {
    if (error instanceof ProblemError) return null
    throw error
  }
}

/**
 * Checks the content of a calibration file strictly: no key missing, none too many, every number in range.
 * @throws ProblemError CALIBRATION_FILE_INVALID with file, key and rule
 */
export function parseCalibration(text: string, file: string): Calibration {
  let raw: unknown
  try {
    raw = JSON.parse(text)
  } catch {
    throw new ProblemError('CALIBRATION_FILE_INVALID', `${file}: not JSON`)
  }
  const parsed = schema.safeParse(raw)
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!
    throw new ProblemError(
      'CALIBRATION_FILE_INVALID',
      `${file}: ${issue.path.join('.') || 'the file'}: ${issue.message}`,
    )
  }
  checkScannerName(parsed.data.scanner)
  const { response, size: grid, ...others } = parsed.data
  const { veil, covariance, ...rest } = response
  // A key that is absent stays absent.
  const told = { ...(veil === undefined ? {} : { veil }), ...(covariance === undefined ? {} : { covariance }) }
  return { ...others, ...(grid === undefined ? {} : { size: grid }), response: { ...rest, ...told } }
}

/**
 * Reads one calibration file.
 * @throws ProblemError FILE_MISSING, FILE_NOT_READABLE, CALIBRATION_FILE_INVALID
 */
export async function readCalibration(path: string): Promise<Calibration> {
  let text: string
  try {
    text = await readFile(path, 'utf8')
  } catch (error) {
    const reason = (error as NodeJS.ErrnoException).code ?? 'unknown'
    throw reason === 'ENOENT'
      ? new ProblemError('FILE_MISSING', path)
      : new ProblemError('FILE_NOT_READABLE', `${path}: ${reason}`)
  }
  const before = read.get(path)
  if (before?.text === text) return before.calibration
  const calibration = parseCalibration(text, path)
  read.set(path, { text, calibration })
  return calibration
}

/** Calibrations are asked for several times in an inspection, and seldom change in between: parsed anew only when their text has. */
const read = new Map<string, { readonly text: string; readonly calibration: Calibration }>()

/**
 * All calibrations of a folder, by file name. A file that is not right is handed back beside the good ones, so that one bad
 * file stops its own scanner only. A folder that is not there holds none.
 */
export async function loadCalibrations(
  directory: string,
): Promise<{ readonly calibrations: readonly StoredCalibration[]; readonly unusable: readonly UnusableCalibration[] }> {
  let names: string[]
  try {
    names = await readdir(directory)
  } catch (error) {
    const reason = (error as NodeJS.ErrnoException).code ?? 'unknown'
    if (reason === 'ENOENT') return { calibrations: [], unusable: [] }
    throw new ProblemError('FILE_NOT_READABLE', `${directory}: ${reason}`)
  }
  const calibrations: StoredCalibration[] = []
  const unusable: UnusableCalibration[] = []
  for (const name of names.filter(n => n.endsWith('.json')).sort()) {
    const file = join(directory, name)
    try {
      calibrations.push({ file, calibration: await readCalibration(file) })
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error
      unusable.push({ file, error })
    }
  }
  return { calibrations, unusable }
}

/** Calibrations that later ones of the same scanner and setting replaced, as `loadCalibrations` hands them back. */
export async function loadEarlierCalibrations(directory: string): ReturnType<typeof loadCalibrations> {
  return loadCalibrations(join(directory, EARLIER))
}
