import type Handlebars from 'handlebars'
import type { Calibration, Expanded } from '../model/calibration.js'
import { type Dpi, MM_PER_INCH, UM_PER_INCH } from '../model/geometry.js'
import type { Finding, Inspection, Verdict } from '../model/inspection.js'
import type { Limit } from '../model/job-type.js'
import type { EdgeProfile, MeasuredScan, Picture } from '../model/measured.js'
import { type LimitName, type Part, READINGS, type Reading, type ReadingName } from '../model/reading.js'
import { budgetView } from './budget-view.js'
import { edgeChart } from './edge-chart.js'
import { flawsView } from './flaws-view.js'
import { formatLength, formatPlace } from './format-place.js'
import { formatLimit, formatReading, isReadingName, type Manner, readingKind, shownUnit } from './format-reading.js'
import { formatDay, formatTime } from './format-time.js'
import { growthView } from './growth-view.js'
import { type HistoryPoint, historyChart } from './history-chart.js'
import type { InspectionPageInput } from './inspection-page.js'
import { lightHeldBack } from './light-held-back.js'
import { meshView } from './mesh-view.js'
import { pageOverlay } from './page-overlay.js'
import { placeTag } from './place-tag.js'
import { prose } from './prose.js'
import { responseChart } from './response-chart.js'
import { scaleChart } from './scale-chart.js'
import { spectrumChart } from './spectrum-chart.js'
import { stripView } from './strip-view.js'
import { toneView } from './tone-view.js'
import { verdictShape } from './verdict-shape.js'
import { type WorstPlace, worstPlaces } from './worst-places.js'

type Markup = Handlebars.SafeString

const WORDS: Readonly<Record<Verdict, string>> = { pass: 'Pass', fail: 'Fail', recheck: 'Recheck' }

/** What the verdict means for the person holding the film. */
const MEANINGS: Readonly<Record<Verdict, string>> = {
  pass: 'This positive may be burned.',
  fail: 'Do not burn this positive.',
  recheck: 'Do not burn this positive yet: the scan cannot decide.',
}

const ANSWERED: Readonly<Record<string, string>> = {
  strip: 'the control strip',
  sidecar: 'the sidecar file',
  fileName: 'the file name',
  stem: 'the whole file name',
  commandLine: 'the command line',
  folder: 'the inbox folder',
  history: 'this positive’s last inspection',
  site: 'the site’s default',
  tag: 'the date in the scan file',
  fileTime: 'the file’s time of change',
}

const TOLD: Readonly<Record<string, string>> = {
  printer: 'Printer',
  mode: 'Print mode',
  stock: 'Film stock',
  setting: 'Setting',
  temperature: 'Temperature, °C',
  humidity: 'Humidity, % RH',
  replaces: 'In place of',
  note: 'Note',
}

/** Places shown of a film that passed: the ones nearest to failing. */
const MOST_NEAR_PLACES = 3

/** Earlier inspections listed in the table; the charts show all. */
const MOST_HISTORY_ROWS = 12

/** Readings charted over time: the ones with a limit, most telling first. */
const MOST_HISTORY_CHARTS = 4

/** Everything the inspection template places: words, formatted numbers, pictures and charts. */
export function inspectionView(input: InspectionPageInput) {
  const { inspection, measured, jobType, site } = input
  const manner: Manner = { rulingUnit: site.rulingUnit, calibrated: measured.response === 'calibrated' }
  const worst = worstPlaces(inspection)
  const first = inspection.findings[0]
  return {
    title: `${WORDS[inspection.verdict].toUpperCase()} – ${inspection.positive}`,
    shop: site.shop,
    verdict: inspection.verdict,
    verdictWord: WORDS[inspection.verdict].toUpperCase(),
    verdictShape: verdictShape(inspection.verdict),
    verdictMeaning: MEANINGS[inspection.verdict],
    positive: inspection.positive,
    jobType: inspection.jobType,
    jobDescription: jobType.description,
    scannedAt: formatTime(inspection.scannedAt),
    allMet: inspection.verdict === 'pass' ? allMetWords(inspection, jobType) : '',
    reason: prose(first?.why ?? 'Nothing was judged: this job type sets no limit.'),
    next: prose(nextStep(inspection, input)),
    findings: inspection.findings.map(finding => findingView(finding, inspection, manner)),
    doubts: inspection.findings.some(finding => finding.reading === 'scan')
      ? []
      : measured.doubts.map(doubt => ({ why: prose(doubt.why), next: prose(doubt.next) })),
    unjudged: unjudged(inspection, manner),
    notMeasured: measured.notMeasured
      .filter(missing => missing.notAsked !== true)
      .filter(missing => !inspection.findings.some(finding => finding.reading === missing.reading))
      .map(missing => ({
        label: readingKind(missing.reading).label,
        because: prose(missing.because),
        next: prose(missing.next),
      })),
    ruleWords:
      jobType.rule === 'guarded'
        ? 'A reading passes when all of its uncertainty interval lies within the limit, fails when all of it lies outside, and is a recheck in between.'
        : 'A reading passes when its value lies within the limit; this job type leaves the uncertainty aside.',
    uncalibrated: !manner.calibrated,
    picture: pictureView(
      measured,
      inspection.verdict === 'pass' ? worst.slice(0, MOST_NEAR_PLACES) : worst,
      manner,
      site.lengthUnit,
    ),
    placesTitle: inspection.verdict === 'pass' ? 'Places nearest to failing' : 'Places to look at',
    flaws: flawsView(measured, site.lengthUnit),
    artwork: artworkView(input, manner),
    ripple: rippleView(measured, inspection, manner),
    strip: stripView(measured, manner),
    edges: edgesView(measured, inspection),
    tints: toneView(inspection, jobType, input.toneFile ?? ''),
    mesh: meshView(inspection, jobType, site),
    growth: growthView(inspection, measured, manner),
    history: historyView(input, manner),
    light: lightView(inspection, manner),
    scanner: scannerView(input),
    actinic: actinicView(inspection),
    budgets: budgetsView(inspection, measured, manner, site.lengthUnit),
    origin: originView(input),
    remarks: [...new Set([...inspection.notes, ...measured.notes, ...measured.header.warnings])],
    software: inspection.software,
  }
}

/** Before the reason of a pass: what follows is only the reading that came nearest to failing. */
function allMetWords({ findings }: Inspection, jobType: InspectionPageInput['jobType']): string {
  const limits = Object.values(jobType.limits).filter(({ min, max }) => min !== undefined || max !== undefined).length
  if (limits > findings.length) return `All ${findings.length} limits that could be asked are met. Nearest to failing:`
  return findings.length === 1 ? 'The one limit is met.' : `All ${findings.length} limits are met. Nearest to failing:`
}

/** What to do next: the worst finding's word; after a pass, when this positive is due again. */
function nextStep(inspection: Inspection, { jobType }: InspectionPageInput): string {
  if (inspection.verdict !== 'pass') return inspection.findings[0]?.next ?? ''
  const scanned = Date.parse(inspection.scannedAt)
  if (jobType.rescanEveryDays === null || !Number.isFinite(scanned)) return 'Hand it to the burn room.'
  const due = new Date(scanned + jobType.rescanEveryDays * 86_400_000).toISOString()
  return `Hand it to the burn room. Kept for another run, it is due for a new scan from ${formatDay(due)}.`
}

function findingView(finding: Finding, inspection: Inspection, manner: Manner) {
  const kind = finding.reading === 'scan' ? null : readingKind(finding.reading)
  const reading = isReadingName(finding.reading) ? inspection.readings[finding.reading] : undefined
  const unit = reading?.unit ?? kind?.unit ?? 'count'
  return {
    verdict: finding.verdict,
    verdictWord: WORDS[finding.verdict],
    shape: verdictShape(finding.verdict),
    label: kind?.label ?? 'The scan as a whole',
    meaning: prose(kind?.meaning ?? ''),
    hasMeaning: kind !== null && kind.meaning !== '',
    reading: reading === undefined ? null : readingView(finding.reading, reading, manner),
    missing: reading === undefined && kind !== null,
    bare: kind === null,
    limit: finding.limit === null ? '' : limitWords(finding.limit, unit, manner),
    aim: finding.limit === null ? '' : aimWords(finding.limit, reading, unit, manner),
    limitWhy: prose(finding.limit?.why ?? ''),
    hasLimitWhy: (finding.limit?.why ?? '') !== '',
    chart:
      reading === undefined || !comparable(reading, manner)
        ? null
        : chartOf(finding.reading, reading, finding.limit, manner),
    why: prose(finding.why),
    hasNext: finding.verdict !== 'pass' && finding.next !== '',
    next: prose(finding.next),
  }
}

function readingView(name: LimitName | 'scan', reading: Reading, manner: Manner) {
  const written = formatReading(reading, name === 'scan' ? 2 : readingKind(name).decimals, manner)
  const responseUnknown = !manner.calibrated && reading.unit === 'um'
  return {
    ...written,
    plusMinus: written.boundWord === '' ? `±\u00a0${written.expanded}` : '',
    count: takenFrom(reading),
    remark: responseUnknown ? 'response unknown' : '',
  }
}

/** Flaws are counted on the whole film, so a count has no places it was taken from, and nothing found is no reading of nothing. */
function takenFrom({ unit, n }: Reading): string {
  if (unit === 'count') return 'on the whole film'
  if (n === 0) return 'none found'
  return n === 1 ? 'from one place' : `from ${n} places`
}

/** Code density and a limit on density share no scale. */
function comparable(reading: Reading, manner: Manner): boolean {
  return manner.calibrated || reading.unit !== 'D'
}

/** The aim and whether the value is there: advice, never a verdict. */
function aimWords(limit: Limit, reading: Reading | undefined, unit: Reading['unit'], manner: Manner): string {
  if (limit.aim === undefined) return ''
  const aim = formatLimit(limit.aim, unit, manner)
  if (reading === undefined || !comparable(reading, manner)) return aim
  const wantsMore = limit.min !== undefined && limit.max === undefined
  const wantsLess = limit.max !== undefined && limit.min === undefined
  if (!wantsMore && !wantsLess) return aim
  const reached = wantsMore ? reading.value >= limit.aim : reading.value <= limit.aim
  if (reached) return `${aim}, reached`
  const open = wantsMore ? reading.bound === 'atLeast' : reading.bound === 'atMost'
  return open ? `${aim}, perhaps reached` : `${aim}, not reached`
}

function limitWords(limit: Limit, unit: Reading['unit'], manner: Manner): string {
  if (limit.min !== undefined && limit.max !== undefined)
    return `${formatLimit(limit.min, unit, manner)} to ${formatLimit(limit.max, unit, manner)}`
  if (limit.min !== undefined) return `at least ${formatLimit(limit.min, unit, manner)}`
  if (limit.max !== undefined) return `at most ${formatLimit(limit.max, unit, manner)}`
  return ''
}

function chartOf(name: LimitName | 'scan', reading: Reading, limit: Limit | null, manner: Manner): Markup {
  const kind = name === 'scan' ? null : readingKind(name)
  const { factor } = shownUnit(reading.unit, manner)
  const scaled = (value: number | undefined) => (value === undefined ? undefined : value * factor)
  const min = scaled(limit?.min)
  const max = scaled(limit?.max)
  const aim = scaled(limit?.aim)
  const written = formatReading(reading, kind?.decimals ?? 2, manner)
  const words = limit === null ? 'no limit' : `limit ${limitWords(limit, reading.unit, manner)}`
  return scaleChart({
    told: `${kind?.label ?? 'Reading'} ${written.text}; ${words}`,
    value: reading.value * factor,
    expanded: reading.expanded * factor,
    bound: reading.bound,
    limit: {
      ...(min === undefined ? {} : { min }),
      ...(max === undefined ? {} : { max }),
      ...(aim === undefined ? {} : { aim }),
    },
    minText: limit?.min === undefined ? '' : `at least ${formatLimit(limit.min, reading.unit, manner)}`,
    maxText: limit?.max === undefined ? '' : `at most ${formatLimit(limit.max, reading.unit, manner)}`,
    aimText: limit?.aim === undefined ? '' : `aim ${formatLimit(limit.aim, reading.unit, manner)}`,
  })
}

/** Readings made but not judged. */
function unjudged(inspection: Inspection, manner: Manner) {
  return readingEntries(inspection)
    .filter(([name]) => !inspection.findings.some(finding => finding.reading === name))
    .map(([name, reading]) => ({
      label: READINGS[name].label,
      meaning: prose(READINGS[name].meaning),
      reading: readingView(name, reading, manner),
    }))
}

function readingEntries(inspection: Inspection): [ReadingName, Reading][] {
  return (Object.keys(READINGS) as ReadingName[]).flatMap(name => {
    const reading = inspection.readings[name]
    return reading === undefined ? [] : [[name, reading] as [ReadingName, Reading]]
  })
}

function pictureView(measured: MeasuredScan, worst: readonly WorstPlace[], manner: Manner, lengthUnit: 'mm' | 'inch') {
  const { page } = measured
  const dpi = trueDpi(measured)
  return {
    ...imageView(page, measured),
    alt: `The scanned page with ${measured.outlines.length} measured places outlined`,
    overlay: pageOverlay(measured, worst),
    size: `${formatLength((measured.header.width / dpi.across) * MM_PER_INCH, lengthUnit)} × ${formatLength((measured.header.height / dpi.along) * MM_PER_INCH, lengthUnit)}`,
    worst: worst.map(place => ({
      tag: placeTag(place.part.id),
      shape: verdictShape(place.verdict),
      verdictWord: WORDS[place.verdict],
      label: READINGS[place.reading].label,
      value: formatReading({ ...place.part, unit: place.unit }, READINGS[place.reading].decimals, manner).text,
      place: formatPlace(place.part.place, dpi, lengthUnit),
    })),
    crops: measured.crops
      .filter(crop => !crop.id.startsWith('flaw-'))
      .map(crop => ({
        ...imageView(crop, measured),
        tag: placeTag(crop.id),
        caption: crop.caption,
        scale: scaleBar(crop, measured, lengthUnit),
      })),
  }
}

/** Pixels an inch as measured on a grid, where the scanner has one; else as the file says. */
function trueDpi({ umPerPixel, dpi }: MeasuredScan): Dpi {
  if (umPerPixel === undefined) return dpi
  return { across: UM_PER_INCH / umPerPixel.across, along: UM_PER_INCH / umPerPixel.along }
}

function imageView(picture: Picture, measured: MeasuredScan) {
  const dpi = trueDpi(measured)
  const wide = picture.rect.width / dpi.across
  const high = picture.rect.height / dpi.along
  return {
    source: `data:image/png;base64,${picture.pngBase64}`,
    width: picture.width,
    height: picture.height,
    aspect: (wide / high).toFixed(4),
    tall: high > wide,
  }
}

/** A round length of a fifth to a half of the crop's width, and how much of the width it takes. */
function scaleBar(crop: Picture, measured: MeasuredScan, unit: 'mm' | 'inch') {
  const dpi = trueDpi(measured)
  const wide = (crop.rect.width / dpi.across) * (unit === 'inch' ? 1 : MM_PER_INCH)
  const decade = 10 ** Math.floor(Math.log10(wide / 2))
  const length = [5, 2, 1].map(step => step * decade).find(candidate => candidate <= wide / 2) ?? decade
  const share = ((100 * length) / wide).toFixed(2)
  return { share, text: `${Number(length.toPrecision(2))}\u00a0${unit === 'inch' ? 'in' : 'mm'}` }
}

/** The artwork beside the film: one line, and its outlines over the film. Null when none was given. */
function artworkView({ inspection, measured, site }: InspectionPageInput, manner: Manner) {
  const { artwork } = inspection
  const seen = measured.artwork
  if (artwork === undefined || seen === undefined) return null
  const size = (name: 'sizeErrorAcross' | 'sizeErrorFeed') => {
    const reading = inspection.readings[name]
    return reading === undefined ? 'not measured' : formatReading(reading, READINGS[name].decimals, manner).text
  }
  const facts =
    artwork.turned === null
      ? []
      : [
          `turned by ${artwork.turned.toFixed(1)}° on the scan${artwork.mirrored === true ? ' and mirrored' : ', not mirrored'}`,
          `size across the head ${size('sizeErrorAcross')}, along the feed ${size('sizeErrorFeed')}`,
          ...(artwork.gainUm === null
            ? []
            : [
                `edges outside the artwork’s by ${artwork.gainUm.across.toFixed(0)}\u00a0µm across and ${artwork.gainUm.feed.toFixed(0)}\u00a0µm along the feed (half light)`,
              ]),
        ]
  const about =
    artwork.dpi === null || artwork.widthMm === null || artwork.heightMm === null
      ? ''
      : `${formatLength(artwork.widthMm, site.lengthUnit)} × ${formatLength(artwork.heightMm, site.lengthUnit)} at ${artwork.dpi.map(value => Number(value.toFixed(1))).join(' × ')} dpi`
  return {
    file: artwork.file,
    about,
    facts,
    matches: artwork.turned !== null,
    difference: differenceView(seen, inspection, manner),
    picture:
      seen.picture === null
        ? null
        : { ...imageView(seen.picture, measured), alt: 'The film in grey with the outlines of its artwork in black' },
  }
}

/** Places listed in the report; the record has more. */
const MOST_INK_PLACES = 12

function differenceView(
  { difference }: NonNullable<MeasuredScan['artwork']>,
  { readings }: Inspection,
  manner: Manner,
) {
  if (difference === undefined || difference === null) return null
  const side = (name: 'missingInk' | 'extraInk', words: string) => {
    const reading = readings[name]
    const { count, places } = name === 'missingInk' ? difference.missing : difference.extra
    return {
      words,
      text: reading === undefined ? 'not measured' : formatReading(reading, READINGS[name].decimals, manner).text,
      count: count === 0 ? 'no place' : count === 1 ? '1 place' : `${count} places`,
      places: places.slice(0, MOST_INK_PLACES).map(place => ({
        tag: placeTag(place.id),
        area: `${place.areaMm2.toFixed(2)}\u00a0mm²`,
        tint: place.tint,
      })),
    }
  }
  return {
    sides: [side('missingInk', 'Missing'), side('extraInk', 'Too much')],
    allowance: `${(1000 * difference.allowanceMm.missing).toFixed(0)}\u00a0µm inwards and ${(1000 * difference.allowanceMm.extra).toFixed(0)}\u00a0µm outwards`,
    compared: `${(difference.comparedMm2 / 100).toFixed(1)}\u00a0cm²`,
  }
}

/** The spectrum of the solids' ripple; null when no solid was large enough. */
function rippleView({ ripple }: MeasuredScan, { readings }: Inspection, manner: Manner) {
  if (ripple === undefined) return null
  const text = (name: 'bandingAmplitude' | 'bandingPitch' | 'mottle') => {
    const reading = readings[name]
    return reading === undefined ? 'not measured' : formatReading(reading, READINGS[name].decimals, manner).text
  }
  const tag = placeTag(ripple.id)
  const pitch = ripple.pitchMm === null ? 'no band stands out' : `the strongest bands every ${text('bandingPitch')}`
  return {
    chart: spectrumChart(ripple, `Spectrum of the ink of ${tag} ${ripple.direction}: ${pitch}.`),
    tag,
    direction: ripple.direction,
    fed: ripple.direction === 'along the feed' || ripple.direction === 'across the head',
    banding: text('bandingAmplitude'),
    pitch,
    mottle: text('mottle'),
    slow: `${ripple.longestMm.toFixed(1)}\u00a0mm`,
  }
}

/** The softest edge and the middle one. */
function edgesView(measured: MeasuredScan, { readings }: Inspection) {
  const known = measured.response === 'calibrated'
  const parts = [...(readings.riseWidthWorst?.parts ?? []), ...(readings.riseWidth?.parts ?? [])]
  const softness = (edge: EdgeProfile) =>
    parts.find(part => part.id === edge.id)?.value ?? edge.filmRise ?? edge.seenRise
  const sorted = [...measured.edges].sort((a, b) => softness(a) - softness(b))
  const worst = sorted.at(-1)
  const median = sorted[Math.floor((sorted.length - 1) / 2)]
  const chosen: [EdgeProfile | undefined, string][] =
    worst === median
      ? [[worst, 'The edge']]
      : [
          [worst, 'Softest edge'],
          [median, 'Middle edge'],
        ]
  return {
    count: measured.edges.length,
    shown: chosen.flatMap(([edge, words]) => {
      if (edge === undefined) return []
      const tag = placeTag(edge.id)
      const seen = `${edge.seenRise.toFixed(1)}\u00a0µm`
      return [
        {
          heading: `${words}, ${tag}`,
          chart: edgeChart(
            edge,
            `${words} ${tag}: light across the edge, rising from 10 to 90 % in ${seen} as scanned.`,
          ),
          seen,
          film: filmWords(edge, parts),
          spread: edge.inkSpread === null ? 'not fitted' : `${edge.inkSpread.toFixed(1)}\u00a0µm`,
          hasModel: edge.model !== null,
          tilt: `${Math.abs(edge.tilt).toFixed(2)}°`,
          length: `${edge.lengthMm.toFixed(1)}\u00a0mm`,
          direction: edge.direction === 'across' ? 'across the page' : 'down the page',
        },
      ]
    }),
    responseUnknown: !known,
  }
}

/** The film's own rise width, as the readings have it: a bound is called one. */
function filmWords(edge: EdgeProfile, parts: readonly Part[]): string {
  if (edge.filmRise === null) return 'not told apart from the scanner'
  const bound = parts.find(part => part.id === edge.id)?.bound ?? null
  return `${bound === 'atMost' ? 'at most ' : ''}${edge.filmRise.toFixed(1)}\u00a0µm`
}

function historyView({ inspection, history, site }: InspectionPageInput, manner: Manner) {
  const earlier = history.filter(other => other.id !== inspection.id)
  const all = [...earlier, inspection]
  const order = inspection.findings.map(finding => finding.reading)
  const names = readingEntries(inspection)
    .map(([name]) => name)
    .filter(name => earlier.some(other => other.readings[name] !== undefined))
    .sort((a, b) => order.indexOf(a) - order.indexOf(b))
  const limited = (name: ReadingName) => inspection.findings.find(finding => finding.reading === name)?.limit ?? null
  const charted = [
    ...names.filter(name => limited(name) !== null),
    ...names.filter(name => limited(name) === null),
  ].slice(0, MOST_HISTORY_CHARTS)
  const calibrationsDiffer = earlier.some(
    other =>
      other.scanner?.calibratedAt !== inspection.scanner?.calibratedAt ||
      other.scanner?.name !== inspection.scanner?.name,
  )
  const methodsDiffer = earlier.some(other =>
    names.some(
      name => other.readings[name] !== undefined && other.readings[name].method !== inspection.readings[name]?.method,
    ),
  )
  const rows = all.slice(-1 - MOST_HISTORY_ROWS).reverse()
  return {
    count: earlier.length,
    any: earlier.length > 0,
    left: Math.max(0, earlier.length - MOST_HISTORY_ROWS),
    charts: charted.flatMap(name => {
      const points = historyPoints(all, name, inspection, site)
      const limit = manner.calibrated || READINGS[name].unit !== 'D' ? limited(name) : null
      if (points.length < 2) return []
      const unit = shownUnit(READINGS[name].unit, manner)
      const scaledLimit = {
        ...(limit?.min === undefined ? {} : { min: limit.min * unit.factor }),
        ...(limit?.max === undefined ? {} : { max: limit.max * unit.factor }),
      }
      return [
        {
          label: READINGS[name].label,
          chart: historyChart(
            points,
            scaledLimit,
            unit.label,
            `${READINGS[name].label} over ${points.length} inspections`,
          ),
        },
      ]
    }),
    columns: charted.map(name => READINGS[name].label),
    rows: rows.map(row => ({
      today: row.id === inspection.id,
      scannedAt: formatTime(row.scannedAt),
      verdictWord: WORDS[row.verdict],
      shape: verdictShape(row.verdict),
      cells: charted.map(name => {
        const reading = row.readings[name]
        const known = { ...manner, calibrated: row.scanner !== null }
        return reading === undefined ? 'not measured' : formatReading(reading, READINGS[name].decimals, known).text
      }),
    })),
    caution: [
      calibrationsDiffer ? 'Not all of these were taken under the same scanner calibration.' : '',
      methodsDiffer ? 'Not all of these were read by the same version of the method.' : '',
    ].filter(text => text !== ''),
  }
}

/** One point an inspection that made the reading with the response known, or unknown, as today's was. */
function historyPoints(
  all: readonly Inspection[],
  name: ReadingName,
  today: Inspection,
  site: InspectionPageInput['site'],
): HistoryPoint[] {
  const { factor } = shownUnit(READINGS[name].unit, { rulingUnit: site.rulingUnit, calibrated: true })
  return all.flatMap(one => {
    const reading = one.readings[name]
    const at = new Date(one.scannedAt)
    if (reading === undefined || !Number.isFinite(at.getTime())) return []
    if ((one.scanner === null) !== (today.scanner === null)) return []
    const { bound } = reading
    return [
      { at, value: reading.value * factor, expanded: reading.expanded * factor, bound, today: one.id === today.id },
    ]
  })
}

/** What the solids do to light. Absent without a calibration: code density says nothing of light. */
function lightView({ readings }: Inspection, manner: Manner) {
  const base = readings.baseDensity
  if (!manner.calibrated || base === undefined || base.bound !== null) return null
  const rows = (['solidDensity', 'solidDensityLowest'] as const).flatMap(name => {
    const solid = readings[name]
    if (solid === undefined || solid.bound === 'atMost') return []
    const net = solid.value - base.value
    const expanded = Math.hypot(solid.expanded, base.expanded)
    const atLeast = solid.bound === 'atLeast'
    const held = lightHeldBack(net)
    const least = lightHeldBack(net - expanded)
    const most = lightHeldBack(net + expanded)
    const written = formatReading({ value: net, expanded, bound: solid.bound, unit: 'D' }, 2, manner)
    return [
      {
        label: READINGS[name].label,
        net: written.text,
        partsIn: atLeast ? `less than 1 part in ${grouped(least.onePartIn)}` : `1 part in ${grouped(held.onePartIn)}`,
        between: atLeast ? '' : `between ${grouped(least.onePartIn)} and ${grouped(most.onePartIn)}`,
        leak: `${atLeast ? 'less than ' : ''}${twoDigits(atLeast ? least.leakPercent : held.leakPercent)}\u00a0%`,
        halvings: `${atLeast ? 'more than ' : ''}${(atLeast ? least : held).halvings.toFixed(1)}`,
      },
    ]
  })
  return rows.length === 0 ? null : { rows }
}

/** Two significant digits, thousands parted by thin spaces. */
function grouped(value: number): string {
  return Number(value.toPrecision(2))
    .toFixed(0)
    .replace(/\B(?=(\d{3})+$)/g, '\u202f')
}

function twoDigits(value: number): string {
  const rounded = Number(value.toPrecision(2))
  return rounded.toFixed(Math.max(0, 1 - Math.floor(Math.log10(rounded))))
}

function scannerView({ measured, calibration }: InspectionPageInput) {
  const channel = measured.header.channel
  if (calibration === null || measured.response === 'unknown') return { calibrated: false as const, channel }
  const spread = (side: 'across' | 'along') => {
    const found = calibration.sharpness?.[side] ?? null
    return found === null
      ? 'not measured'
      : `${formatReading({ value: found.riseWidth, expanded: found.riseWidthExpanded, bound: null, unit: 'um' }, 1, { rulingUnit: 'lines/in', calibrated: true }).text}`
  }
  const tabletEnds = Math.max(...calibration.steps.filter(step => step.trusted).map(step => step.density))
  return {
    calibrated: true as const,
    channel,
    name: calibration.scanner,
    calibratedAt: formatTime(calibration.calibratedAt),
    tablet: calibration.tablet.name,
    nominal: calibration.tablet.nominal,
    steps: calibration.steps.length,
    deepest: downwards(calibration.deepest),
    tabletEnds: tabletEnds < calibration.deepest - 0.005 ? downwards(tabletEnds) : '',
    across: spread('across'),
    along: spread('along'),
    size: sizeWords(calibration),
    sharpnessKnown: calibration.sharpness !== null,
    chart: responseChart(calibration),
    warnings: calibration.warnings,
  }
}

/** The second density: an estimate, labelled as one. */
function actinicView({ actinic }: Inspection) {
  if (actinic === undefined || actinic === null) return null
  const { value, expanded } = actinic.solidDensity
  const manner: Manner = { rulingUnit: 'lines/in', calibrated: true }
  return {
    table: actinic.table,
    pairs: actinic.pairs,
    text: formatReading({ value, expanded, bound: null, unit: 'D' }, 2, manner).text,
  }
}

/** Whether lengths come from a grid or from the resolution alone. */
function sizeWords({ size }: Calibration): string {
  if (size === undefined || size === null) return 'as the resolution says; never checked with a grid (--grid)'
  const off = ({ value, expanded }: Expanded) =>
    `${value < 1 ? '−' : '+'}${Math.abs(100 * (value - 1)).toFixed(3)} ± ${(100 * expanded).toFixed(3)}\u00a0%`
  return `measured on a grid: ${off(size.across)} across, ${off(size.along)} down, against the resolution`
}

/** Two decimals of density, never rounded up: a depth is a promise. */
function downwards(density: number): string {
  return (Math.floor(density * 100 + 1e-9) / 100).toFixed(2)
}

/** For each reading: what its uncertainty is made of, and the places behind it. */
function budgetsView(inspection: Inspection, measured: MeasuredScan, manner: Manner, lengthUnit: 'mm' | 'inch') {
  return readingEntries(inspection).map(([name, reading]) => {
    const kind = READINGS[name]
    const { label: unit } = shownUnit(reading.unit, manner)
    return {
      label: kind.label,
      text: formatReading(reading, kind.decimals, manner).text,
      unit,
      method: reading.method,
      ...budgetView(reading, manner),
      parts: reading.parts.map(part => ({
        tag: placeTag(part.id),
        text: formatReading({ ...part, unit: reading.unit }, kind.decimals, manner).text,
        place: formatPlace(part.place, trueDpi(measured), lengthUnit),
        note: part.note ?? '',
      })),
    }
  })
}

function originView({ inspection, measured, jobType }: InspectionPageInput) {
  const { scan } = inspection
  const from = { file: 'the scan file', sidecar: 'the sidecar file', site: 'the site’s settings' }[measured.dpi.from]
  const methods = [...new Set(readingEntries(inspection).map(([, reading]) => reading.method))]
  const tolds = Object.entries(inspection.told).map(([name, value]) => ({
    name: TOLD[name] ?? name,
    value: `${value}`,
  }))
  return {
    facts: [
      { name: 'Positive', value: inspection.positive, remark: `named by ${ANSWERED[inspection.positiveFrom]}` },
      { name: 'Job type', value: inspection.jobType, remark: `named by ${ANSWERED[inspection.jobTypeFrom]}` },
      {
        name: 'Judging rule',
        value: jobType.rule === 'guarded' ? 'guarded: the whole interval counts' : 'simple: value against limit',
        remark: '',
      },
      {
        name: 'Scanned',
        value: formatTime(inspection.scannedAt),
        remark: `from ${ANSWERED[inspection.scannedAtFrom]}`,
      },
      {
        name: 'Inspected',
        value: formatTime(inspection.inspectedAt),
        remark: `took ${(inspection.tookMs / 1000).toFixed(1)}\u00a0s`,
      },
      ...tolds.map(told => ({ ...told, remark: 'told with the scan' })),
      { name: 'Scan file', value: scan.file, remark: '' },
      { name: 'SHA-256', value: scan.sha256, remark: '' },
      { name: 'Size', value: `${scan.width} × ${scan.height}\u00a0px`, remark: '' },
      { name: 'Resolution', value: `${scan.dpi[0]} × ${scan.dpi[1]}\u00a0dpi`, remark: `from ${from}` },
      {
        name: 'Samples',
        value: `${scan.bits}\u00a0bit, ${scan.channels === 1 ? 'grey' : 'colour'}`,
        remark: `${scan.channel} measured`,
      },
      { name: 'Methods', value: methods.join(', '), remark: '' },
      { name: 'Inspection', value: inspection.id, remark: '' },
      { name: 'Software', value: inspection.software, remark: '' },
    ],
  }
}
