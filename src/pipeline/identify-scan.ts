import type { ScanArrival } from '../model/arrival.js'
import type { Calibration } from '../model/calibration.js'
import type { Inspection } from '../model/inspection.js'
import type { Doubt, MeasureRequest } from '../model/measured.js'
import { ProblemError } from '../model/problem.js'
import type { ScanHeader } from '../model/scan.js'
import type { SiteSettings } from '../model/site.js'
import { withoutBracketMark } from '../settings/bracket-name.js'
import { checkPositiveName, positiveFromFileName } from '../settings/file-identity.js'
import { nearestName } from '../settings/nearest-name.js'
import { matchScanner, type ScannerMatch } from './match-scanner.js'

/** All that is known of a scan when it is asked what it is. */
export interface ScanFacts {
  readonly arrival: ScanArrival
  readonly header: ScanHeader
  readonly site: SiteSettings
  /** Names of the job types there are. */
  readonly jobTypes: readonly string[]
  readonly calibrations: readonly Calibration[]
  /** What the history answered about the positive (`identifyPositive`) and this scan as it. */
  readonly history: {
    readonly lastJobType: string | null
    readonly sameScan: Pick<Inspection, 'scannedAt' | 'scannedAtFrom'> | null
  }
  readonly now: Date
}

/** Which positive, job type, scanner and time; each with who answered. */
export interface Identity
  extends Pick<Inspection, 'positive' | 'positiveFrom' | 'jobType' | 'jobTypeFrom' | 'scannedAt' | 'scannedAtFrom'> {
  readonly scanner: ScannerMatch
  /** Resolution that goes before the file's; null to use the file's. */
  readonly dpi: MeasureRequest['dpi']
  readonly notes: readonly string[]
  readonly doubts: readonly Doubt[]
}

/**
 * Which positive a scan is of. First that answers: the command line, the control strip, the sidecar, the file-name pattern, the whole stem.
 * @throws ProblemError POSITIVE_NAME_INVALID
 */
export function identifyPositive(
  arrival: ScanArrival,
  site: SiteSettings,
): Pick<Inspection, 'positive' | 'positiveFrom'> {
  const { told, strip, sidecar, name } = arrival
  if (told.positive !== undefined) return { positive: checkPositiveName(told.positive), positiveFrom: 'commandLine' }
  const identity = strip?.identity ?? null
  if (identity !== null) return { positive: checkPositiveName(identity.positive), positiveFrom: 'strip' }
  if (sidecar?.facts.positive !== undefined)
    return { positive: checkPositiveName(sidecar.facts.positive), positiveFrom: 'sidecar' }
  const joined = (arrival.bracket ?? []).length > 0
  const { positive, from } = positiveFromFileName(site.fileName, joined ? withoutBracketMark(name) : name)
  return { positive, positiveFrom: from }
}

/** Which scanner made a scan and with which calibration it is measured, and the resolution that goes before the file's: known before the page is looked at. */
export function identifyScanner({
  arrival,
  header,
  site,
  calibrations,
  now,
}: Pick<ScanFacts, 'arrival' | 'header' | 'site' | 'calibrations' | 'now'>): Pick<Identity, 'scanner' | 'dpi'> {
  const sidecar = arrival.sidecar?.facts ?? {}
  const given = sidecar.dpi === undefined ? null : { across: sidecar.dpi, along: sidecar.dpi, from: 'sidecar' as const }
  const scanner = matchScanner({
    told:
      arrival.told.scanner !== undefined
        ? { name: arrival.told.scanner, from: 'commandLine' }
        : sidecar.scanner !== undefined
          ? { name: sidecar.scanner, from: 'sidecar' }
          : null,
    header,
    dpi: given ?? header.dpi,
    site,
    calibrations,
    now,
  })
  const siteDpi = scanner.name === null ? undefined : site.scanners[scanner.name]?.dpi
  const fallback =
    header.dpi === null && siteDpi !== undefined ? { across: siteDpi, along: siteDpi, from: 'site' as const } : null
  return { scanner, dpi: given ?? fallback }
}

/**
 * What a scan is, from what came with it, what it says itself and what the history knows; reads nothing.
 * Job type: command line, sidecar, inbox sub-folder, control strip, the positive's last job type, the site's default. Time: sidecar,
 * date tag, the file's own time; a scan known already keeps the time it had, because a copied file gets a new one.
 * @throws ProblemError POSITIVE_NAME_INVALID, JOB_TYPE_UNKNOWN (named by command line or sidecar), SETTINGS_INVALID (by the site)
 */
export function identifyScan(facts: ScanFacts): Identity {
  const { arrival, site } = facts
  const notes: string[] = []
  const sidecar = arrival.sidecar?.facts ?? {}
  const { scanner, dpi } = identifyScanner(facts)
  if (sidecar.bracket !== undefined && (arrival.bracket ?? []).length === 0)
    notes.push(
      `The sidecar names the bracket "${sidecar.bracket}", but this scan was given alone; \`burngate inspect SCAN... --bracket\` joins it with the others, and so does the inbox.`,
    )
  const { positive, positiveFrom } = identifyPositive(arrival, site)
  const refused = stripRefused(arrival, notes)
  const named = sidecar.positive
  if (positiveFrom === 'strip' && named !== undefined && named.normalize('NFC') !== positive)
    notes.push(`The sidecar names the positive "${named}", the control strip "${positive}": the strip was believed.`)
  return {
    positive,
    positiveFrom,
    ...jobTypeOf(facts, notes),
    ...timeOf(facts),
    scanner,
    dpi,
    notes: [...notes, ...scanner.notes],
    doubts: [...scanner.doubts, ...refused],
  }
}

/** A strip that was not believed forbids a pass, unless somebody said which positive this is. */
function stripRefused({ strip, told, sidecar }: ScanArrival, notes: string[]): Doubt[] {
  const because = strip?.refused ?? null
  if (because === null) return []
  const why = `The code of the control strip was not taken: ${because}. The scan is read as one without a strip.`
  if (told.positive !== undefined || sidecar?.facts.positive !== undefined) {
    notes.push(why)
    return []
  }
  return [
    {
      code: 'stripRefused',
      why,
      next: 'scan one film at a time, clean, with the whole strip in view; or say which positive it is with --positive or in a sidecar',
    },
  ]
}

function jobTypeOf(
  { arrival, site, jobTypes, history }: ScanFacts,
  notes: string[],
): Pick<Identity, 'jobType' | 'jobTypeFrom'> {
  const { told, sidecar, folder } = arrival
  if (told.jobType !== undefined)
    return { jobType: existing(told.jobType, jobTypes, 'asked for by --job-type'), jobTypeFrom: 'commandLine' }
  if (sidecar?.facts.jobType !== undefined)
    return { jobType: existing(sidecar.facts.jobType, jobTypes, 'named by the sidecar'), jobTypeFrom: 'sidecar' }
  if (folder !== null) {
    if (jobTypes.includes(folder)) return { jobType: folder, jobTypeFrom: 'folder' }
    const near = nearestName(folder, jobTypes)
    notes.push(
      `The inbox folder "${folder}" names no job type${near === null ? '' : ` (the nearest is ${near})`}, so it was passed over.`,
    )
  }
  const fromStrip = arrival.strip?.identity?.jobType ?? ''
  if (fromStrip !== '') {
    if (jobTypes.includes(fromStrip)) return { jobType: fromStrip, jobTypeFrom: 'strip' }
    notes.push(`The control strip names the job type "${fromStrip}", which is not among the job types.`)
  }
  if (history.lastJobType !== null) {
    if (jobTypes.includes(history.lastJobType)) return { jobType: history.lastJobType, jobTypeFrom: 'history' }
    notes.push(`This positive was last judged as ${history.lastJobType}, which is no longer among the job types.`)
  }
  if (!jobTypes.includes(site.defaultJobType))
    throw new ProblemError(
      'SETTINGS_INVALID',
      `burngate.yaml defaultJobType is "${site.defaultJobType}", and there is no job type of that name`,
    )
  return { jobType: site.defaultJobType, jobTypeFrom: 'site' }
}

function existing(name: string, jobTypes: readonly string[], who: string): string {
  if (jobTypes.includes(name)) return name
  const near = nearestName(name, jobTypes)
  throw new ProblemError('JOB_TYPE_UNKNOWN', `"${name}" (${who}${near === null ? '' : `; did you mean ${near}?`})`)
}

function timeOf({ arrival, header, history }: ScanFacts): Pick<Identity, 'scannedAt' | 'scannedAtFrom'> {
  const told = arrival.sidecar?.facts.scannedAt
  if (told !== undefined) return { scannedAt: told, scannedAtFrom: 'sidecar' }
  if (header.taggedAt !== null) return { scannedAt: header.taggedAt, scannedAtFrom: 'tag' }
  if (history.sameScan !== null)
    return { scannedAt: history.sameScan.scannedAt, scannedAtFrom: history.sameScan.scannedAtFrom }
  return { scannedAt: arrival.fileTime, scannedAtFrom: 'fileTime' }
}
