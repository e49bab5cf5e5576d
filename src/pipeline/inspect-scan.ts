import { createHash } from 'node:crypto'
import { basename } from 'node:path'
import type { ActinicTable } from '../calibrate/actinic-table.js'
import { type BaselineChoice, chooseBaseline } from '../compare/choose-baseline.js'
import { forecastGrowth } from '../compare/forecast-growth.js'
import {
  type RecordedComparison,
  recordChanged,
  recordComparison,
  recordLost,
  recordOlder,
  recordUncompared,
} from '../compare/record-comparison.js'
import { removeUnpacked } from '../decode/unpacked-picture.js'
import { judgeScan, limitsNotAsked } from '../judge/judge-scan.js'
import { wayRound } from '../judge/way-round.js'
import type { ScanArrival } from '../model/arrival.js'
import type { ArtworkRecord } from '../model/artwork.js'
import type { Calibration } from '../model/calibration.js'
import { GROWTH_READINGS, type Growth } from '../model/growth.js'
import type { Inspection } from '../model/inspection.js'
import type { JobType } from '../model/job-type.js'
import type { JoinedScans, MeasuredArtwork, MeasuredScan, MeasureRequest } from '../model/measured.js'
import { ProblemError } from '../model/problem.js'
import { type LimitName, type NotMeasured, READINGS, type ReadingName } from '../model/reading.js'
import type { Channel, ScanHeader } from '../model/scan.js'
import type { SiteSettings } from '../model/site.js'
import type { Store } from '../model/store.js'
import { applyPrintSetting } from './apply-print-setting.js'
import { believeStrip } from './believe-strip.js'
import { bracketArrival } from './bracket-arrival.js'
import { actinicTableOf, estimateActinic } from './estimate-actinic.js'
import { type FoundBaseline, findBaseline } from './find-baseline.js'
import { type FileState, fileState, type HashedFile, hashFile, sameState } from './hash-file.js'
import { type Identity, identifyPositive, identifyScan, identifyScanner } from './identify-scan.js'
import type { ActinicShelf } from './load-actinic-tables.js'
import type { PrintSettingShelf } from './load-print-settings.js'
import type { LookRequest, ScanLook } from './look-for-strip.js'

/** The steps of one inspection, in their order; each is announced before it is begun. */
export type InspectionStep = 'hash' | 'open' | 'measure' | 'judge' | 'archive' | 'report' | 'record' | 'done'

/** The job types of a workspace: the good ones, and why others cannot be used. */
export interface JobTypeShelf {
  readonly types: ReadonlyMap<string, JobType>
  readonly unusable: ReadonlyMap<string, ProblemError>
}

/** Everything an inspection needs besides the scan. */
export interface InspectContext {
  readonly site: SiteSettings
  readonly jobTypes: JobTypeShelf
  readonly calibrations: readonly Calibration[]
  /** Tables of paired ultraviolet readings, by name. */
  readonly actinicTables?: ActinicShelf
  /** Settings an ink ladder proved, by name; absent where there are none. */
  readonly printSettings?: PrintSettingShelf
  /** The history; null when there is no workspace. */
  readonly store: Pick<Store, 'lastJobType' | 'byScan' | 'byId' | 'byPositive'> | null
  /** Path of an archived scan by its content, null when it is not there; absent where nothing is archived. */
  readonly archived?: (sha256: string) => Promise<string | null>
  /** Calibrations that later ones replaced: what an old scan was measured with. */
  readonly earlierCalibrations?: () => Promise<readonly Calibration[]>
  /** The artwork the workspace holds of a positive, by path; null for none. */
  readonly artworkOf?: (positive: string) => Promise<string | null>
  /** Opens a scan, reads what it says of itself, closes it. */
  readonly readHeader: (file: string, channel: Channel) => Promise<ScanHeader>
  /** Who a scan says it is by its control strip, in a worker thread; absent where nobody looks. */
  readonly lookForStrip?: (request: LookRequest) => Promise<ScanLook>
  /** The pixel half, in a worker thread. */
  readonly measure: (request: MeasureRequest) => Promise<MeasuredScan>
  readonly now: () => Date
  readonly software: string
  /** Told before each step; what it throws ends the inspection there. */
  readonly onStep?: (step: InspectionStep, arrival: ScanArrival) => void
}

/** A scan inspected, with all its report needs; nothing is kept yet. */
export interface InspectedScan {
  readonly arrival: ScanArrival
  readonly inspection: Inspection
  readonly measured: MeasuredScan
  readonly jobType: JobType
  readonly calibration: Calibration | null
  /** The file as it was hashed. */
  readonly state: FileState
  /** The further scans of a bracket. */
  readonly further: readonly FurtherScan[]
}

/** One of the further scans of a bracket, as it was hashed. */
export interface FurtherScan extends HashedFile {
  readonly file: string
  readonly name: string
  readonly fileTime: string
  readonly format: ScanHeader['format']
}

/** The same question was answered before: the answer, and the file as it was hashed. */
export interface KnownScan {
  readonly arrival: ScanArrival
  readonly known: Inspection
  readonly format: ScanHeader['format']
  readonly state: FileState
  readonly further: readonly FurtherScan[]
}

/**
 * One scan from path to verdict: hash, open, identify, measure, judge. Reads only.
 *
 * The id comes from what was asked: content, positive, time, job type with its limits, calibration, resolution, channel
 * and version. The same question twice is one record; a scan dropped again after a calibration is a new one.
 * @param skipKnown answer with the record of the history instead of measuring again
 * @param hashed the file's hash, when it was taken before
 * @throws ProblemError whatever keeps the scan from being inspected
 */
export async function inspectScan(
  asked: ScanArrival,
  context: InspectContext,
  skipKnown: boolean,
  hashed?: HashedFile,
): Promise<InspectedScan | KnownScan> {
  const begun = context.now()
  const given = bracketArrival(asked)
  // The file is hashed while another thread looks at the page; what is wrong with it is heard of below.
  const hashing = hashed === undefined ? hashFile(given.file) : Promise.resolve(hashed)
  hashing.catch(() => {})
  const arrival = await lookedAt(given, { ...context, jobTypes: async () => context.jobTypes })
  try {
    return await inspectLooked(arrival, context, skipKnown, hashing, begun)
  } finally {
    // Who looked before it came here looks after what that left.
    if (arrival !== given) forgetLook(arrival)
  }
}

async function inspectLooked(
  arrival: ScanArrival,
  context: InspectContext,
  skipKnown: boolean,
  hashing: Promise<HashedFile>,
  begun: Date,
): Promise<InspectedScan | KnownScan> {
  const { site, store } = context
  context.onStep?.('hash', arrival)
  const { sha256, state } = await hashing
  context.onStep?.('open', arrival)
  const header = await context.readHeader(arrival.file, site.channel)
  const further: FurtherScan[] = []
  for (const scan of arrival.bracket ?? []) {
    const { format } = await context.readHeader(scan.file, site.channel)
    further.push({ ...scan, ...(await hashFile(scan.file)), format })
  }
  refuseTwice([{ name: arrival.name, sha256 }, ...further])
  const { positive } = identifyPositive(arrival, site)
  const same = await sameScan([sha256, ...further.map(scan => scan.sha256)], positive, store)
  const identity = identifyScan({
    arrival,
    header,
    site,
    jobTypes: [...context.jobTypes.types.keys(), ...context.jobTypes.unusable.keys()],
    calibrations: context.calibrations,
    history: {
      lastJobType: (await store?.lastJobType(positive)) ?? null,
      sameScan: same,
    },
    now: begun,
  })
  const jobType = usable(identity.jobType, context.jobTypes)
  const { calibration } = identity.scanner
  const actinicTable = actinicTableOf(context.actinicTables, toldBy(arrival).stock)
  const artwork = await artworkFile(arrival, positive, context)
  const history = (await store?.byPositive(positive)) ?? []
  const choice = chooseBaseline({
    // A bracket goes by the scan it was recorded under, whichever is named first.
    sha256: same?.scan.sha256 ?? sha256,
    scannedAt: identity.scannedAt,
    reprint: arrival.told.reprint ?? arrival.sidecar?.facts.reprint ?? false,
    history,
    now: begun,
  })
  const baseline = choice.kind === 'compare' ? await baselineOf(choice.baseline, calibration, context, begun) : null
  const id = inspectionId({
    sha256,
    further,
    artwork,
    choice,
    lost: baseline === null || 'request' in baseline ? false : 'missing' in baseline ? true : 'changed',
    identity,
    jobType,
    header,
    software: context.software,
    actinicTable,
    inkSideUp: site.inkSideUp,
  })
  if (skipKnown) {
    const known = (await store?.byId(id)) ?? null
    if (known !== null) {
      const scans = asReference({ arrival, sha256, state, format: header.format, further }, known.scan.sha256)
      return { ...scans, known }
    }
  }

  context.onStep?.('measure', arrival)
  const seen = await context.measure({
    file: arrival.file,
    ...(arrival.overview === undefined ? {} : { overview: arrival.overview }),
    ...(further.length === 0 ? {} : { bracket: further.map(scan => scan.file) }),
    dpi: identity.dpi,
    channel: site.channel,
    calibration,
    fringeContours: fringeContours(jobType),
    ...((arrival.strip?.refused ?? null) === null ? {} : { stripRefused: true as const }),
    ...(artwork === null ? {} : { artwork: { file: artwork.file, chosen: artwork.chosen } }),
    ...(baseline !== null && 'request' in baseline ? { baseline: baseline.request } : {}),
  })
  for (const one of [{ file: arrival.file, state }, ...further, ...(artwork === null ? [] : [artwork])])
    if (!sameState(one.state, await fileState(one.file)))
      throw new ProblemError('SCAN_STILL_GROWING', 'its measurement had begun')
  const recorded = recordedComparison(choice, baseline, seen, identity.scannedAt)
  const measured: MeasuredScan = {
    ...seen,
    readings: { ...seen.readings, ...recorded.readings },
    // On a first scan growth is missing by its nature: said only where a limit asks for it.
    notMeasured: [
      // A film without a strip is none the worse for it, unless a limit asks.
      ...seen.notMeasured.filter(
        n => seen.strip !== undefined || !STRIP_READINGS.includes(n.reading) || jobType.limits[n.reading] !== undefined,
      ),
      ...recorded.notMeasured.filter(n => n.notAsked !== true || jobType.limits[n.reading] !== undefined),
      ...(jobType.limits.registerError === undefined ? [] : [REGISTER_OF_ONE]),
    ],
    doubts: [
      ...seen.doubts,
      ...recorded.doubts,
      ...identity.doubts,
      ...stripDoubts(seen, jobType),
      ...wayDoubts(seen, site),
    ],
    notes: [...seen.notes, ...recorded.notes],
  }

  context.onStep?.('judge', arrival)
  const { verdict, findings } = judgeScan(measured, jobType)
  const { actinic, notes: actinicNotes } = estimateActinic(actinicTable, measured)
  const ended = context.now()
  const exposures = measured.joined?.exposures ?? []
  const reference = further.find(scan => scan.file === exposures[0]?.file)?.sha256 ?? sha256
  const scans = asReference({ arrival, sha256, state, format: header.format, further }, reference)
  const applied = applyPrintSetting(toldBy(arrival), context.printSettings ?? new Map())
  const inspection: Inspection = {
    schema: 'burngate/inspection@1',
    id,
    positive: identity.positive,
    positiveFrom: identity.positiveFrom,
    jobType: identity.jobType,
    jobTypeFrom: identity.jobTypeFrom,
    scannedAt: identity.scannedAt,
    scannedAtFrom: identity.scannedAtFrom,
    inspectedAt: ended.toISOString(),
    verdict,
    findings,
    readings: measured.readings,
    ...(actinic === null ? {} : { actinic }),
    ...(artwork === null ? {} : { artwork: artworkRecord(artwork, measured) }),
    ...(measured.strip === undefined ? {} : { strip: measured.strip }),
    notes: [
      ...identity.notes,
      ...applied.notes,
      ...measured.notes,
      ...notAskedNotes(measured, jobType),
      ...actinicNotes,
    ],
    growth: withForecast(recorded, {
      readings: measured.readings,
      scannedAt: identity.scannedAt,
      sha256: reference,
      history,
      jobType,
    }),
    standing: recorded.standing,
    scan: {
      file: scans.arrival.name,
      sha256: reference,
      width: measured.header.width,
      height: measured.header.height,
      dpi: [measured.dpi.across, measured.dpi.along],
      bits: header.bits,
      channels: header.channels,
      channel: header.channel,
      ...(further.length === 0 ? {} : { bracket: scans.further.map(scan => bracketScan(scan, exposures)) }),
      ...(measured.joined === undefined ? {} : { deepest: measured.joined.deepest }),
    },
    scanner: calibration === null ? null : scannerOf(calibration),
    told: applied.told,
    software: context.software,
    tookMs: ended.getTime() - begun.getTime(),
  }
  return { ...scans, inspection, measured, jobType, calibration }
}

function bracketScan(
  { file, name, sha256 }: FurtherScan,
  exposures: JoinedScans['exposures'],
): NonNullable<Inspection['scan']['bracket']>[number] {
  const found = exposures.find(exposure => exposure.file === file)
  if (found === undefined) return { file: name, sha256 }
  return { file: name, sha256, exposure: found.exposure, expanded: found.expanded }
}

/** One scan twice is no bracket, whatever it is called. */
function refuseTwice(scans: readonly { readonly name: string; readonly sha256: string }[]): void {
  const seen = new Map<string, string>()
  for (const { name, sha256 } of scans) {
    const before = seen.get(sha256)
    if (before !== undefined)
      throw new ProblemError('BRACKET_SAME_EXPOSURE', `${before} and ${name} are one and the same scan`)
    seen.set(sha256, name)
  }
}

/** Readings that only a control strip gives. */
const STRIP_READINGS: readonly LimitName[] = ['toneValueError', 'ruling', 'screenAngle', 'lineGain']

/**
 * The scan with what its control strip says, believed or not: which positive and which job type it is decides what is measured, so it is asked first.
 * Of a bracket the first scan is asked. The page is seen with the calibration it will be measured with, so that it is gone over once.
 */
export async function lookedAt(arrival: ScanArrival, context: LookContext): Promise<ScanArrival> {
  const { lookForStrip, readHeader, site, calibrations, now } = context
  if (arrival.strip !== undefined || lookForStrip === undefined) return arrival
  // What keeps a file from being read is said when it is inspected.
  const header = await readHeader(arrival.file, site.channel).catch(notRead)
  const known = header === null ? null : identifyScanner({ arrival, header, site, calibrations, now: now() })
  const looking = lookForStrip({
    file: arrival.file,
    channel: site.channel,
    dpi: known?.dpi ?? null,
    calibration: known?.scanner.calibration ?? null,
    ...(arrival.unpacked === undefined ? {} : { unpacked: arrival.unpacked }),
  })
  const [{ look, overview }, { types, unusable }] = await Promise.all([looking, context.jobTypes()]).catch(error => {
    looking.then(({ overview: seen }) => forgetOverview(seen)).catch(() => {})
    throw error
  })
  return {
    ...arrival,
    strip: believeStrip(look, [...types.keys(), ...unusable.keys()]),
    ...(overview === null ? {} : { overview }),
  }
}

/** Job types are not needed before the look is over: they may be read meanwhile. */
type LookContext = Pick<InspectContext, 'lookForStrip' | 'readHeader' | 'site' | 'calibrations' | 'now'> & {
  readonly jobTypes: () => Promise<JobTypeShelf>
}

/** Deletes what a packed scan was unpacked to for the look at it. */
export function forgetLook({ overview }: ScanArrival): void {
  forgetOverview(overview ?? null)
}

function forgetOverview(overview: ScanLook['overview']): void {
  if (overview?.unpacked !== undefined) removeUnpacked(overview.unpacked)
}

function notRead(error: unknown): null {
  if (error instanceof ProblemError) return null
  throw error
}

/** The record a scan had before; of a bracket it may be known by any of its scans. */
async function sameScan(
  hashes: readonly string[],
  positive: string,
  store: InspectContext['store'],
): Promise<Inspection | null> {
  for (const sha256 of hashes) {
    const known = (await store?.byScan(sha256, positive)) ?? null
    if (known !== null) return known
  }
  return null
}

interface AskedScans {
  readonly arrival: ScanArrival
  readonly sha256: string
  readonly state: FileState
  readonly format: ScanHeader['format']
  readonly further: readonly FurtherScan[]
}

/** The scans with the one of this hash first: the record is of the reference exposure, whichever came first. */
function asReference(asked: AskedScans, reference: string): Omit<AskedScans, 'sha256'> {
  const { arrival, sha256, state, format, further } = asked
  const found = further.find(scan => scan.sha256 === reference)
  if (found === undefined) return { arrival, state, format, further }
  const lead: FurtherScan = {
    file: arrival.file,
    name: arrival.name,
    fileTime: arrival.fileTime,
    sha256,
    state,
    format,
  }
  const others = [lead, ...further.filter(scan => scan !== found)]
  return {
    arrival: {
      ...arrival,
      file: found.file,
      name: found.name,
      fileTime: found.fileTime,
      bracket: others.map(({ file, name, fileTime }) => ({ file, name, fileTime })),
    },
    state: found.state,
    format: found.format,
    further: others,
  }
}

async function baselineOf(
  baseline: Inspection,
  calibration: Calibration | null,
  context: InspectContext,
  now: Date,
): Promise<FoundBaseline> {
  const { archived, earlierCalibrations, calibrations, readHeader, site } = context
  if (archived === undefined) return { missing: baseline.scan.sha256 }
  return findBaseline(baseline, calibration, {
    archived,
    calibrations,
    earlier: earlierCalibrations ?? (async () => []),
    readHeader,
    contentOf: async file => (await hashFile(file)).sha256,
    site,
    now,
  })
}

function recordedComparison(
  choice: BaselineChoice,
  found: FoundBaseline | null,
  { comparison }: MeasuredScan,
  scannedAt: string,
): RecordedComparison {
  if (choice.kind !== 'compare') return recordUncompared(choice)
  const { baseline } = choice
  if (found === null || 'missing' in found) return recordLost(baseline, found?.missing ?? baseline.scan.sha256)
  if ('changed' in found) return recordChanged(baseline, found.changed)
  if (comparison === undefined) throw new Error('a measurement with a baseline must answer with a comparison')
  return choice.older === true
    ? recordOlder(comparison, baseline, scannedAt)
    : recordComparison(comparison, baseline, scannedAt, found.request.notes)
}

/** Growth with the date that a limit is reached if it goes on like this, or a note of why nobody can say. */
function withForecast(
  { growth, standing }: RecordedComparison,
  asked: {
    readonly readings: Inspection['readings']
    readonly scannedAt: string
    readonly sha256: string
    readonly history: readonly Inspection[]
    readonly jobType: JobType
  },
): Growth | null {
  if (growth === null) return null
  const { readings, scannedAt, sha256, history, jobType } = asked
  // Of two records of one scan the one made now counts.
  const newest = { scannedAt, inspectedAt: scannedAt, growth, standing, readings, scan: { sha256 } }
  const answer = forecastGrowth({ newest, history, limits: jobType.limits })
  if (answer.forecast !== null) return { ...growth, forecast: answer.forecast }
  return { ...growth, notes: [...growth.notes, `No forecast: ${answer.because}.`] }
}

/** The film against the side that the site says is up. */
function wayDoubts({ artwork, strip }: MeasuredScan, { inkSideUp }: SiteSettings): MeasuredScan['doubts'] {
  const alignment = artwork?.alignment ?? null
  const shows = strip?.mirrored ?? (alignment?.kind === 'fitted' ? alignment.mirrored : null)
  const doubt = wayRound(shows, inkSideUp)
  return doubt === null ? [] : [doubt]
}

/** A job type may want the strip: without it the film is not told, whatever else it shows. */
function stripDoubts({ strip }: MeasuredScan, { name, strip: wanted }: JobType): MeasuredScan['doubts'] {
  if (strip !== undefined || wanted !== 'required') return []
  return [
    {
      code: 'stripMissing',
      why: `The job type ${name} wants a control strip on every film, and none was read on this scan.`,
      next: `scan the film with its whole strip in view; if it has none, print it with one (\`burngate strip\`), or take \`strip: required\` out of job-types/${name}.yaml`,
    },
  ]
}

interface ArtworkFile extends HashedFile {
  readonly file: string
  /** Named on the command line, not found in the inbox. */
  readonly chosen: boolean
}

async function artworkFile(
  arrival: ScanArrival,
  positive: string,
  context: InspectContext,
): Promise<ArtworkFile | null> {
  const file = arrival.artwork ?? (await context.artworkOf?.(positive)) ?? null
  return file === null ? null : { file, chosen: arrival.artwork !== undefined, ...(await hashFile(file)) }
}

/** Register is between films: a film by itself neither meets nor misses a limit on it. */
const REGISTER_OF_ONE: NotMeasured = {
  reading: 'registerError',
  notAsked: true,
  because: 'one film by itself has no register',
  next: 'inspect every film of the job with its artwork, then hold them against each other with `burngate set JOB`',
}

/** A limit that could not be asked is neither met nor missed, and the record says so. */
function notAskedNotes(measured: MeasuredScan, jobType: JobType): string[] {
  const reasons = new Map<string, { names: LimitName[]; next: string }>()
  for (const name of limitsNotAsked(measured, jobType).filter(one => !isGrowth(one))) {
    const { because, next } = measured.notMeasured.find(missing => missing.reading === name)!
    const same = reasons.get(because)
    if (same === undefined) reasons.set(because, { names: [name], next })
    else same.names.push(name)
  }
  return [...reasons].map(
    ([because, { names, next }]) =>
      `Not asked, because ${because}: ${names.map(name => readingLabel(name)).join(', ')}. To have it, ${next}.`,
  )
}

function isGrowth(name: LimitName): boolean {
  return (GROWTH_READINGS as readonly string[]).includes(name)
}

function readingLabel(name: LimitName): string {
  return name in READINGS
    ? READINGS[name as ReadingName].label.toLowerCase()
    : name === 'registerError'
      ? 'register error'
      : name
}

function artworkRecord(artwork: ArtworkFile, { artwork: seen, readings }: MeasuredScan): ArtworkRecord {
  const { dpi, widthMm, heightMm, alignment }: Omit<MeasuredArtwork, 'picture'> = seen ?? {
    dpi: null,
    widthMm: null,
    heightMm: null,
    alignment: null,
  }
  const fit = alignment?.kind === 'fitted' ? alignment : null
  const size = (name: 'sizeErrorAcross' | 'sizeErrorFeed') => {
    const reading = readings[name]
    return reading === undefined ? null : { value: reading.value, expanded: reading.expanded }
  }
  return {
    file: basename(artwork.file),
    sha256: artwork.sha256,
    dpi: dpi === null ? null : [dpi.across, dpi.along],
    widthMm,
    heightMm,
    matches: alignment === null || alignment.kind === 'blank' || alignment.kind === 'solid' ? null : fit !== null,
    likeness: alignment?.likeness ?? null,
    turned: fit?.turned ?? null,
    mirrored: fit?.mirrored ?? null,
    scale: fit === null ? null : { across: size('sizeErrorAcross'), feed: size('sizeErrorFeed') },
    gainUm: fit?.gainUm ?? null,
    residualUm: fit?.residualUm ?? null,
    onFilm: fit?.onFilm ?? null,
    map: fit?.map ?? null,
    ...(fit === null || seen?.umPerPixel === undefined ? {} : { umPerPixel: seen.umPerPixel }),
  }
}

function usable(name: string, { types, unusable }: JobTypeShelf): JobType {
  const jobType = types.get(name)
  if (jobType !== undefined) return jobType
  throw unusable.get(name) ?? new ProblemError('JOB_TYPE_UNKNOWN', `"${name}"`)
}

/**
 * Least density a solid must have where the job type asks none, D: below it light comes through (trade figure, 2002,
 * as in the shipped job types).
 */
const LEAST_SOLID_DENSITY = 3.0

/**
 * Densities above base between which the fringe is read: 10 and 90 % of the minimum core density the process asks,
 * a process parameter of ISO 12647-1, not this film's own maximum.
 */
function fringeContours(jobType: JobType): MeasureRequest['fringeContours'] {
  const least = jobType.limits.solidDensity?.min ?? LEAST_SOLID_DENSITY
  return { low: 0.1 * least, high: 0.9 * least }
}

function scannerOf(calibration: Calibration): NonNullable<Inspection['scanner']> {
  const { sharpness } = calibration
  const widths = [sharpness?.across, sharpness?.along].flatMap(spread => (spread ? [spread.riseWidth] : []))
  return {
    name: calibration.scanner,
    calibratedAt: calibration.calibratedAt,
    deepest: calibration.deepest,
    riseWidth: widths.length === 0 ? null : Math.max(...widths),
    tablet: calibration.tablet.name,
  }
}

/** What came with the scan; what the sidecar leaves out, the control strip may say. */
function toldBy({ sidecar, strip }: ScanArrival): Omit<Inspection['told'], 'stock'> & { readonly stock?: string } {
  const { temperature, humidity, replaces, note, ...facts } = sidecar?.facts ?? {}
  const printed = strip?.identity ?? {}
  const { printer, mode, stock, setting } = { ...printed, ...facts }
  return Object.fromEntries(
    Object.entries({ printer, mode, stock, setting, temperature, humidity, replaces, note }).filter(
      ([, v]) => v !== undefined,
    ),
  )
}

function inspectionId(asked: {
  readonly sha256: string
  readonly further: readonly FurtherScan[]
  readonly artwork: ArtworkFile | null
  readonly choice: BaselineChoice
  /** The baseline's scan is not in the archive, or not as it was. */
  readonly lost: boolean | 'changed'
  readonly identity: Identity
  readonly jobType: JobType
  readonly header: ScanHeader
  readonly software: string
  readonly actinicTable: ActinicTable | ProblemError | null
  readonly inkSideUp: boolean | null
}): string {
  const { sha256, further, artwork, choice, lost, identity, jobType, header, software, actinicTable, inkSideUp } = asked
  const { calibration } = identity.scanner
  const question = [
    sha256,
    identity.positive,
    identity.scannedAt,
    jobType,
    calibration === null ? null : [calibration.scanner, calibration.calibratedAt, calibration.scan.sha256],
    identity.dpi,
    identity.doubts.map(doubt => doubt.code),
    header.channel,
    software,
    // Another table, another answer; without one the question is as it always was.
    ...(actinicTable === null ? [] : [actinicTable instanceof ProblemError ? actinicTable.message : actinicTable]),
    // A single scan's id stays what it was.
    ...(further.length === 0 ? [] : [further.map(scan => scan.sha256)]),
    ...(artwork === null ? [] : [{ artwork: artwork.sha256 }]),
    // Growth is an answer to two scans. The first scan of a positive asks what it always asked.
    ...(choice.kind === 'compare' ? [{ baseline: choice.baseline.id, lost }] : []),
    ...(choice.kind === 'compare' && choice.older === true ? [{ older: true }] : []),
    ...(choice.kind === 'apart' ? [{ apart: choice.because }] : []),
    ...(choice.kind === 'baseline' && choice.reprint ? [{ reprint: true }] : []),
    ...(inkSideUp === null ? [] : [{ inkSideUp }]),
  ]
  const digest = createHash('sha256').update(JSON.stringify(question)).digest('hex').slice(0, 16)
  const stamp = identity.scannedAt.replace(/(\.\d+)?(Z|[+-]\d{2}:?\d{2})?$/, '').replace(/[-:]/g, '')
  return `${stamp}-${digest}`
}
