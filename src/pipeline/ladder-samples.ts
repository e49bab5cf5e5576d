import type { ScanArrival } from '../model/arrival.js'
import type { LadderPlan, LadderSample } from '../model/ladder.js'
import type { LadderPart, LadderStrip, MeasuredScan } from '../model/measured.js'
import { type Problem, type ProblemCode, ProblemError } from '../model/problem.js'
import type { StripIdentity } from '../model/strip.js'
import { type LadderSaying, ladderPlace, ladderScanName } from '../settings/ladder-scan-name.js'

/** A scan, or a part of one, that took no part, and why. */
export interface UnreadScan {
  readonly file: string
  readonly problem: Problem
}

/** One scan of a ladder, measured. */
export interface ReadScan {
  readonly measured: MeasuredScan
  /** ISO 8601. */
  readonly scannedAt: string
}

/** What one scan of a ladder gave. */
export interface ScanSamples {
  readonly samples: readonly LadderSample[]
  readonly unread: readonly UnreadScan[]
  /** Remarks on how it was read: sentences. */
  readonly notes: readonly string[]
}

/**
 * The steps of a ladder on one scan. A strip's own code says which combination it is; a scan that no strip tells goes by its sidecar, then
 * its name. Where code and name disagree the code counts, and that is said. Strips of other ladders and such as cannot be read are listed.
 * @param name of the scan's file, used in messages
 */
export function ladderSamples(name: string, scan: ReadScan, arrival: ScanArrival, plan: LadderPlan): ScanSamples {
  const { measured } = scan
  const parts = measured.ladder ?? []
  const coded = parts.flatMap(part => (hasCode(part) ? [part] : []))
  if (coded.length === 0) return named(name, parts, scan, arrival, plan)
  const many = (coded[0]?.strip.of ?? 1) > 1
  const samples: LadderSample[] = []
  const unread: UnreadScan[] = []
  const others = new Map<string, string[]>()
  for (const part of coded) {
    const { identity } = part.strip
    const called = many ? `${name}, strip ${part.index + 1}` : name
    if (identity.positive !== plan.name) {
      others.set(identity.positive, [...(others.get(identity.positive) ?? []), String(part.index + 1)])
      continue
    }
    const place = ladderPlace(saidBy(identity), plan)
    if (place.ok) samples.push(sampleOf(called, part, scan, { ...place, level: place.level! }))
    else
      unread.push(
        refusal(
          'LADDER_SCAN_NOT_OF_PLAN',
          name,
          `${called}: its code is not of the plan as it is now, ${place.because}`,
        ),
      )
  }
  for (const [plan_, strips] of others)
    unread.push(
      refusal(
        'LADDER_STRIP_NOT_OF_PLAN',
        name,
        `${name}: ${strips.length === 1 ? `strip ${strips[0]} names` : `strips ${strips.join(', ')} name`} "${shown(plan_)}", and the plan is ${plan.name}`,
      ),
    )
  for (const { index, strip } of parts)
    if (strip !== undefined && strip.identity === null)
      unread.push(
        refusal(
          'LADDER_STRIP_UNREADABLE',
          name,
          `${name}: strip ${index + 1} of ${strip.of}, ${strip.atMm.across} mm across and ${strip.atMm.down} mm down; ${strip.refused}`,
        ),
      )
  return {
    samples,
    unread,
    notes: [...disagreements(name, samples, arrival, plan), ...outdated(name, coded, plan)],
  }
}

type CodedPart = LadderPart & { readonly strip: LadderStrip & { readonly identity: StripIdentity } }

function hasCode(part: LadderPart): part is CodedPart {
  return part.strip !== undefined && part.strip.identity !== null
}

/** A scan without a code: a sidecar says what it is before the file's name does. */
function named(
  name: string,
  parts: readonly LadderPart[],
  scan: ReadScan,
  arrival: ScanArrival,
  plan: LadderPlan,
): ScanSamples {
  const byName = ladderScanName(arrival.name, plan)
  const { stock, mode, setting } = arrival.sidecar?.facts ?? {}
  const place = ladderPlace(
    { stock: stock ?? byName.stock, mode: mode ?? byName.mode, level: setting ?? byName.level },
    plan,
  )
  const strip = parts[0]?.strip
  // Strips of several levels on one sheet cannot be told by one name.
  if (strip !== undefined && strip.of > 1 && plan.ramp)
    return {
      samples: [],
      unread: [
        refusal(
          'LADDER_STRIP_UNREADABLE',
          name,
          `${name}: none of its ${strip.of} strips could be read, and they may be of several levels; ${strip.refused}`,
        ),
      ],
      notes: [],
    }
  const codeless =
    strip === undefined
      ? 'no ladder strip was found on it'
      : `${strip.of === 1 ? 'the code of its strip' : `none of the codes of its ${strip.of} strips`} could ${strip.of === 1 ? 'not ' : ''}be read (${strip.refused})`
  if (!place.ok) {
    const because = plan.patches === null ? `${codeless}, and by its name ${place.because}` : place.because
    const code = strip === undefined ? 'LADDER_SCAN_NOT_OF_PLAN' : 'LADDER_STRIP_UNREADABLE'
    return { samples: [], unread: [refusal(code, name, `${name}: ${because}`)], notes: [] }
  }
  return {
    samples: parts.map(part =>
      sampleOf(name, part, scan, { ...place, level: place.level ?? plan.levels[part.index]! }),
    ),
    unread: [],
    notes:
      strip === undefined
        ? []
        : [
            `Scan ${name}: ${codeless}; what it shows was taken from its ${arrival.sidecar?.facts.setting === undefined ? 'name' : 'sidecar'}, and what only a strip tells (lines, tints) was not read.`,
          ],
  }
}

function saidBy({ stock, mode, level }: StripIdentity): LadderSaying {
  return { stock: stock ?? null, mode: mode ?? null, level: level ?? null }
}

/** What file name or sidecar say otherwise than the codes. A name that names nothing of the plan says nothing. */
function disagreements(
  name: string,
  samples: readonly LadderSample[],
  arrival: ScanArrival,
  plan: LadderPlan,
): string[] {
  const byName = ladderScanName(arrival.name, plan)
  const { stock, mode, setting } = arrival.sidecar?.facts ?? {}
  const modes = plan.modes.map(m => m.name)
  const said = [
    ...(stock === undefined ? known('stock', byName.stock, plan.stocks, 'name') : [told('stock', stock, 'sidecar')]),
    ...(mode === undefined ? known('mode', byName.mode, modes, 'name') : [told('mode', mode, 'sidecar')]),
    ...(setting === undefined
      ? known('level', byName.level, plan.levels.map(String), 'name')
      : [told('level', setting, 'sidecar')]),
  ]
  return said.flatMap(({ kind, value, from }) => {
    const coded = [...new Set(samples.map(sample => String(sample[kind])))]
    const same = coded.every(one => one.toLowerCase() === (kind === 'level' ? bare(value) : value.toLowerCase()))
    return same || coded.length === 0
      ? []
      : [
          `Scan ${name}: its ${from} says ${kind} ${shown(value)}, its ${samples.length === 1 ? 'strip says' : 'strips say'} ${coded.join(', ')}; the ${samples.length === 1 ? 'strip counts' : 'strips count'}.`,
        ]
  })
}

interface Said {
  readonly kind: 'stock' | 'mode' | 'level'
  readonly value: string
  readonly from: 'name' | 'sidecar'
}

function told(kind: Said['kind'], value: string, from: Said['from']): Said {
  return { kind, value, from }
}

function known(kind: Said['kind'], value: string | null, names: readonly string[], from: Said['from']): Said[] {
  if (value === null) return []
  const plain = kind === 'level' ? bare(value) : value.toLowerCase()
  return names.some(one => one.toLowerCase() === plain) ? [told(kind, value, from)] : []
}

/** A level without its percent sign, as a number is written. */
function bare(level: string): string {
  return String(Number.parseFloat(level))
}

/** The plan may have been changed after the strips were printed. */
function outdated(name: string, parts: readonly CodedPart[], plan: LadderPlan): string[] {
  const notes = new Set<string>()
  for (const { strip } of parts) {
    const { positive, jobType, mode: modeName, dpi } = strip.identity
    if (positive !== plan.name) continue
    if (jobType !== '' && jobType !== plan.jobType)
      notes.add(
        `Scan ${name}: its strips were printed for ${shown(jobType)}; they are judged by ${plan.jobType}, as the plan says now.`,
      )
    const mode = plan.modes.find(one => one.name.toLowerCase() === modeName?.toLowerCase())
    if (mode !== undefined && (mode.dpi.across !== dpi.across || mode.dpi.along !== dpi.along))
      notes.add(
        `Scan ${name}: its strips of mode ${mode.name} were drawn at ${dpi.across} x ${dpi.along} dpi, and the plan says ${mode.dpi.across} x ${mode.dpi.along} now.`,
      )
  }
  return [...notes]
}

function refusal(code: ProblemCode, file: string, detail: string): UnreadScan {
  return { file, problem: new ProblemError(code, detail).problem }
}

function shown(text: string): string {
  return text.replace(/\p{C}+/gu, ' ').slice(0, 60)
}

function sampleOf(
  file: string,
  { readings, notMeasured, crop }: LadderPart,
  { measured: { response, doubts }, scannedAt }: ReadScan,
  { stock, mode, level }: { readonly stock: string; readonly mode: string; readonly level: number },
): LadderSample {
  return { stock, mode, level, file, scannedAt, readings, notMeasured, response, doubts, crop }
}
