import type { Calibration } from '../model/calibration.js'
import type { Dpi } from '../model/geometry.js'
import type { Doubt } from '../model/measured.js'
import type { ScanHeader } from '../model/scan.js'
import type { SiteSettings } from '../model/site.js'

/** What is known when a scan's scanner is looked for. */
export interface ScannerQuestion {
  /** A scanner named outright, and by whom; null when nobody did. */
  readonly told: { readonly name: string; readonly from: 'commandLine' | 'sidecar' } | null
  readonly header: Pick<ScanHeader, 'maker' | 'model' | 'bits' | 'channel'>
  /** Resolution of the scan as far as it is known. */
  readonly dpi: Dpi | null
  readonly site: Pick<SiteSettings, 'scanners' | 'calibrationMaxAgeDays'>
  readonly calibrations: readonly Calibration[]
  readonly now: Date
}

export interface ScannerMatch {
  readonly name: string | null
  readonly from: 'commandLine' | 'sidecar' | 'file' | 'site' | null
  readonly calibration: Calibration | null
  /** Sentences for the report. */
  readonly notes: readonly string[]
  /** Doubts that forbid a pass: another setting than the calibration's, or one too old. */
  readonly doubts: readonly Doubt[]
}

/** Two resolutions are the same setting within this share: drivers write 1199.98 for 1200. */
const SAME_DPI = 0.01

const DAY_MS = 86_400_000

/**
 * Which scanner made a scan, and which of its calibrations fits: the one named outright; else the only one whose maker
 * and model are those in the file (several of one make: the one calibrated at this dpi and these bits); else the site's
 * only scanner, unless the file names another make; else none, and the scan is uncalibrated.
 *
 * Of several calibrations the one of the same channel, bits and dpi is taken, else the nearest dpi with a doubt that says so.
 * A calibration older than the site allows is used with a doubt.
 */
export function matchScanner(question: ScannerQuestion): ScannerMatch {
  const { told } = question
  if (told !== null) return calibrated(told.name, told.from, question, [])
  const { header } = question
  const known = knownScanners(question)
  const notes: string[] = []
  if (header.maker !== null || header.model !== null) {
    const ofMake = [...known].filter(([, makes]) => makes.some(make => sameMake(make, header))).map(([name]) => name)
    if (ofMake.length === 1) return calibrated(ofMake[0]!, 'file', question, notes)
    if (ofMake.length > 1) {
      const fitting = ofMake.filter(name =>
        question.calibrations.some(
          c => c.scanner === name && sameDpi(c.scan.dpi, question.dpi) && c.scan.bits === header.bits,
        ),
      )
      if (fitting.length === 1) return calibrated(fitting[0]!, 'file', question, notes)
      notes.push(
        `${ofMake.join(' and ')} are of the make the file names, so the file does not say which of them made it; say \`scanner:\` in a sidecar.`,
      )
      return { name: null, from: null, calibration: null, notes, doubts: [] }
    }
  }
  const only = known.size === 1 ? [...known][0]! : null
  if (only === null) return { name: null, from: null, calibration: null, notes, doubts: [] }
  const [name, makes] = only
  if (makes.some(make => otherMake(make, header))) {
    notes.push(
      `The file names another make of scanner (${makeOf(header)}) than ${name}, so its calibration was not used.`,
    )
    return { name: null, from: null, calibration: null, notes, doubts: [] }
  }
  return calibrated(name, 'site', question, notes)
}

interface Make {
  readonly maker: string | null
  readonly model: string | null
}

/** Every scanner the site or a calibration knows, with the makes it is known by. */
function knownScanners({ site, calibrations }: ScannerQuestion): Map<string, Make[]> {
  const known = new Map<string, Make[]>()
  for (const [name, { maker, model }] of Object.entries(site.scanners))
    known.set(name, [{ maker: maker ?? null, model: model ?? null }])
  for (const { scanner, scan } of calibrations)
    known.set(scanner, [...(known.get(scanner) ?? []), { maker: scan.maker, model: scan.model }])
  return known
}

const plain = (text: string) => text.trim().toLowerCase()

/** The model is the same, or there is only a maker to go by; what one side does not say does not count. */
function sameMake(make: Make, header: Make): boolean {
  if (otherMake(make, header)) return false
  if (make.model !== null && header.model !== null) return true
  return make.maker !== null && header.maker !== null && make.model === null && header.model === null
}

function otherMake(make: Make, header: Make): boolean {
  const other = (a: string | null, b: string | null) => a !== null && b !== null && plain(a) !== plain(b)
  return other(make.maker, header.maker) || other(make.model, header.model)
}

function makeOf({ maker, model }: Make): string {
  return [maker, model].filter(part => part !== null).join(' ')
}

function sameDpi(a: Dpi, b: Dpi | null): boolean {
  if (b === null) return false
  const near = (x: number, y: number) => Math.abs(x / y - 1) <= SAME_DPI
  return near(a.across, b.across) && near(a.along, b.along)
}

function calibrated(
  name: string,
  from: Exclude<ScannerMatch['from'], null>,
  question: ScannerQuestion,
  notes: readonly string[],
): ScannerMatch {
  const { header, dpi, calibrations, site, now } = question
  const own = calibrations.filter(c => c.scanner === name)
  if (own.length === 0) {
    const others = [...new Set(calibrations.map(c => c.scanner))]
    const has = others.length === 0 ? 'none is calibrated yet' : `calibrated are ${others.join(', ')}`
    return {
      name,
      from,
      calibration: null,
      notes: [...notes, `The scanner ${name} has no calibration; ${has}.`],
      doubts: [],
    }
  }
  const ofChannel = own.filter(c => c.scan.channel === header.channel)
  const nearest = [...(ofChannel.length > 0 ? ofChannel : own)].sort(
    (a, b) =>
      dpiDistance(a, dpi) - dpiDistance(b, dpi) ||
      Number(a.scan.bits !== header.bits) - Number(b.scan.bits !== header.bits) ||
      (a.calibratedAt < b.calibratedAt ? 1 : -1),
  )[0]!
  const doubts: Doubt[] = []
  const differences: string[] = []
  if (dpi !== null && !sameDpi(nearest.scan.dpi, dpi))
    differences.push(`it was made at ${dpiText(nearest.scan.dpi)} and this scan has ${dpiText(dpi)}`)
  if (ofChannel.length === 0)
    differences.push(`it was made on the ${nearest.scan.channel} channel and this scan is read on ${header.channel}`)
  if (nearest.scan.bits !== header.bits)
    differences.push(`it was made with ${nearest.scan.bits} bits a sample and this scan has ${header.bits}`)
  if (differences.length > 0)
    doubts.push({
      code: 'calibrationMismatch',
      why: `The nearest calibration of ${name} does not fit this scan: ${differences.join('; ')}.`,
      next: `scan a step tablet at the setting of this scan and run \`burngate calibrate SCAN --scanner ${name} --tablet nominal-21\`, or scan the film at the calibrated setting`,
    })
  const ageDays = (now.getTime() - Date.parse(nearest.calibratedAt)) / DAY_MS
  if (!(ageDays >= -1))
    doubts.push({
      code: 'calibrationOld',
      why: `The calibration of ${name} is dated in the future (${nearest.calibratedAt.slice(0, 10)}).`,
      next: "set the computer's clock right, then calibrate the scanner again",
    })
  else if (!(ageDays <= site.calibrationMaxAgeDays))
    doubts.push({
      code: 'calibrationOld',
      why: `The calibration of ${name} is ${Math.floor(ageDays)} days old; the site allows ${site.calibrationMaxAgeDays}.`,
      next: 'calibrate the scanner again (`burngate calibrate`), then inspect this scan again',
    })
  return { name, from, calibration: nearest, notes, doubts }
}

/** How far two settings are apart, in octaves of resolution. */
function dpiDistance(calibration: Calibration, dpi: Dpi | null): number {
  if (dpi === null) return 0
  const { across, along } = calibration.scan.dpi
  return Math.abs(Math.log2(across / dpi.across)) + Math.abs(Math.log2(along / dpi.along))
}

function dpiText({ across, along }: Dpi): string {
  const [a, b] = [Math.round(across), Math.round(along)]
  return a === b ? `${a} dpi` : `${a} x ${b} dpi`
}
