import { type GlassLight, glassLight, withEvenLight, withUnevenLight } from '../calibrate/even-light.js'
import { type FusedBracket, fuseBracket } from '../calibrate/fuse-bracket.js'
import { DOUBTED_DRIFT, type LightDrift, lightDrift, NOTED_DRIFT, withoutDrift } from '../calibrate/light-drift.js'
import { lightScale, unknownLightScale } from '../calibrate/light-scale.js'
import { pixelSize, scannerScale } from '../calibrate/pixel-size.js'
import { scaleSteps } from '../calibrate/scale-steps.js'
import { seenFall } from '../calibrate/seen-fall.js'
import { spreadAtPitch } from '../calibrate/spread-at-pitch.js'
import { EVEN_ENOUGH } from '../calibrate/tablet-light.js'
import type { FilmScan } from '../compare/compare-films.js'
import type { FlawScan } from '../compare/match-flaws.js'
import { openScan } from '../decode/open-scan.js'
import { blownUpCodes } from '../imaging/blown-up-codes.js'
import { surroundLight } from '../imaging/surround-light.js'
import { filmCorners, holderCorners } from '../locate/film-corners.js'
import { filmTurns } from '../locate/film-turns.js'
import { BASE, OPEN_LIGHT } from '../locate/find-light.js'
import { clearArea, largeSolids } from '../locate/large-solids.js'
import { type LocatedScan, locateScan } from '../locate/locate-scan.js'
import type { ReadStrip } from '../locate/locate-strips.js'
import { type FilmEvidence, gatherEvidence } from '../measure/film-evidence.js'
import { filmTurn } from '../measure/film-turn.js'
import { flawsWithin } from '../measure/flaws-within.js'
import { gatherRipple } from '../measure/gather-ripple.js'
import { type FilmReadings, measureFilm, stripFirst, withStrip } from '../measure/measure-film.js'
import { rippleNotes } from '../measure/ripple-notes.js'
import { rippleProfile } from '../measure/ripple-profile.js'
import { gatherStrip, type StripEvidence } from '../measure/strip-evidence.js'
import { stripSolids } from '../measure/strip-ripple.js'
import type { InkPlace } from '../model/artwork.js'
import type { Calibration, LineSpread } from '../model/calibration.js'
import type { MeasuredFlaws, NotLooked } from '../model/flaw.js'
import { UM_PER_INCH } from '../model/geometry.js'
import type { BaselineRequest, Comparison } from '../model/growth.js'
import type { LengthDoubts } from '../model/length-doubts.js'
import type { DensityScan, LightScale } from '../model/light.js'
import type { SolidArea } from '../model/located.js'
import type { Doubt, JoinedScans, MeasuredScan, MeasureRequest, Outline, Picture } from '../model/measured.js'
import { ProblemError } from '../model/problem.js'
import type { OpenScan } from '../model/scan.js'
import { cropPicture } from '../report/crop-picture.js'
import { pagePicture } from '../report/page-picture.js'
import { stripPicture } from '../report/strip-picture.js'
import { besideStrips, isBeside } from './beside-strips.js'
import { comparison } from './comparison.js'
import { ladderParts } from './ladder-parts.js'
import { type LaidArtwork, layArtwork } from './lay-artwork.js'
import { layStrip } from './lay-strip.js'
import { flawTask, lookForFlaws } from './look-for-flaws.js'
import { sameCalibration } from './same-calibration.js'
import { flawsFromSecondThread } from './second-thread.js'
import { stillSeen, stillUnpacked } from './seen-overview.js'

export interface MeasureOptions {
  readonly tempDir: string
  /** URL of the code of a thread beside this one (`beside-worker.ts`) that takes a share of the work; absent: this thread does it all. */
  readonly secondThread?: string
}

/** The pixel half of the road: a path in, plain data out. Runs in a worker thread. */
export async function measureScan(asked: MeasureRequest, options: MeasureOptions): Promise<MeasuredScan> {
  const request = { ...asked, calibration: sameCalibration(asked.calibration) }
  const looked = await lookOver(request, options)
  try {
    const { scan, dpi, fused, drift, located, glassNotes } = looked
    const laid = await layArtwork(request.artwork, located, options.tempDir)
    // Strips of a ladder are steps of it, each read by itself below.
    const strips = request.ladder === undefined ? await stripEvidence(request, located, dpi) : null
    // Of a strip that was not believed the places are as good as any.
    const apart = strips === null ? [] : located.strips
    const unlooked: FilmEvidence = {
      ...gatherEvidence(
        located.scan,
        besideStrips({ ...located.patches, edges: located.edges }, apart),
        request.fringeContours,
        lengthDoubts(request, dpi),
      ),
      ...artworkEvidence(laid, request, dpi),
      ...(strips === null ? {} : { strip: strips.strip }),
    }
    const areas = solidAreas(located, withStrip(unlooked), apart)
    const unflawed = withRipple(unlooked, areas, strips)
    // Asked for last: another thread may be looking for them.
    const flaws = await looked.flaws()
    const artwork: FilmEvidence = { ...unlooked, flaws }
    const rippled: FilmEvidence = { ...unflawed, flaws }
    const measured = measureFilm(rippled)
    const film = withStrip(rippled)
    const bands = stripFirst(rippled)
    const ripple = rippleProfile(bands)
    return {
      header: scan.header,
      dpi,
      umPerPixel: located.scan.umPerPixel,
      response: located.scan.light.calibrated ? 'calibrated' : 'unknown',
      readings: measured.readings,
      notMeasured: measured.notMeasured,
      notes: [
        ...scan.header.warnings,
        ...(fused?.notes ?? []),
        ...sizeNotes(request, dpi),
        ...driftNotes(drift, request.calibration !== null),
        ...glassNotes(measured),
        ...measured.notes,
        ...rippleNotes(bands),
        ...(laid?.notes ?? []),
      ],
      doubts: [...doubts(request, scan, located, film, drift), ...(laid?.doubts ?? [])],
      edges: measured.edges,
      outlines: [
        ...outlines(located, film),
        ...[...(strips?.areas ?? []), ...areas.solids].map(area => areaOutline(area, located.scan)),
        ...artworkOutline(laid),
        ...stripOutline(artwork),
      ],
      ...(ripple === null ? {} : { ripple }),
      page: pagePicture({ ...located.overview, transmittance: located.overview.light }),
      ...(fused === null ? {} : { joined: joinedScans(fused) }),
      crops: [...crops(located.scan, measured), ...flawCrops(located.scan, flaws), ...inkCrops(located.scan, laid)],
      ...(request.baseline === undefined
        ? {}
        : { comparison: await againstBaseline(request, request.baseline, looked, options) }),
      ...(laid === null ? {} : { artwork: laid.measured }),
      ...(request.ladder === undefined
        ? {}
        : {
            ladder: await ladderParts(request.ladder, located, measured, (part, inside, strip) =>
              readPart(part, request, dpi, areas.clear, flawsWithin(flaws, inside), strip),
            ),
          }),
      ...('because' in flaws ? {} : { flaws }),
      ...measuredStrip(artwork, measured),
      ...(artwork.strip === undefined ? {} : { stripPicture: stripPicture(located.scan, artwork.strip.laid) }),
    }
  } finally {
    looked.close()
  }
}

/** A scan opened, joined with its bracket, and looked over: everything is known but what it measures. */
async function lookOver(request: MeasureRequest, { tempDir, secondThread }: MeasureOptions) {
  const { first, further } = await openAll(request, tempDir)
  const close = () => {
    for (const scan of [first, ...further]) scan.close()
  }
  try {
    const dpi = resolution(request, first)
    const fused = joined(first, further, dpi, request)
    const scan = fused === null ? first : fused.scan
    const seen = { ...densityScan(scan, dpi, request), ...(fused === null ? {} : { light: fused.light }) }
    const glass = glassOf(request, seen, dpi, false)
    const lit = glass === null ? seen : { ...seen, lit: glass.lit }
    const found = locateScan(lit, fused === null ? stillSeen(request.overview, request) : undefined)
    // On the light scale of the overview: drift is taken out later, and a flaw's share of light knows nothing of it.
    const flaws = flawsOf(found, secondThread)
    const checked = checkedLight(overOpenLight(found), request)
    const { located, notes: glassNotes } = onGlass(checked.located, request, dpi)
    return { scan, dpi, fused, drift: checked.drift, located, glassNotes, flaws, close }
  } catch (error) {
    close()
    throw error
  }
}

/** Pages of more blocks (a little more than an A4) are looked at by one thread alone: two at once want 20 to 40 MiB more, which they have no room for in 300. */
const MOST_BLOCKS_BESIDE = 2_400_000

/** Flaws as they are asked for: by then a second thread may have found them. */
function flawsOf(located: LocatedScan, secondThread: string | undefined): () => Promise<MeasuredFlaws | NotLooked> {
  const small = located.overview.light.length <= MOST_BLOCKS_BESIDE
  const task = secondThread === undefined || !small ? null : flawTask(located)
  if (task === null) {
    let found: MeasuredFlaws | NotLooked | null = null
    return async () => (found ??= lookForFlaws(located))
  }
  // What goes wrong over there shows here, where it has a stack.
  const soon = flawsFromSecondThread(secondThread!, task).catch(() => lookForFlaws(located))
  soon.catch(() => {})
  return () => soon
}

/** The film against its archived baseline, which is opened anew and measured as any scan is today. */
async function againstBaseline(
  request: MeasureRequest,
  baseline: BaselineRequest,
  now: LookedOver,
  options: MeasureOptions,
): Promise<Comparison> {
  const { file, bracket, dpi, channel, calibration } = baseline
  const then = await lookOver(
    {
      file,
      ...(bracket === undefined ? {} : { bracket }),
      dpi,
      channel,
      calibration,
      fringeContours: request.fringeContours,
    },
    options,
  ).catch(notOpened)
  if ('outcome' in then) return then
  try {
    const flaws = { before: await flawScan(then), after: await flawScan(now) }
    return await comparison(
      filmScan(then.located),
      filmScan(now.located),
      {
        fringeContours: request.fringeContours,
        sameCalibration: baseline.sameCalibration,
        wear: baseline.wear === true,
        sameTablet: calibration !== null && calibration.tablet.sha256 === request.calibration?.tablet.sha256,
      },
      flaws.before === null || flaws.after === null ? null : { before: flaws.before, after: flaws.after },
    )
  } finally {
    then.close()
  }
}

type LookedOver = Awaited<ReturnType<typeof lookOver>>

async function flawScan({ flaws: found, located, scan }: LookedOver): Promise<FlawScan | null> {
  const flaws = await found()
  if ('because' in flaws) return null
  const { width, height } = scan.header
  return { flaws, umPerPixel: located.scan.umPerPixel, width, height }
}

/** A baseline that cannot be opened keeps nothing from being inspected but growth. */
function notOpened(error: unknown): Extract<Comparison, { outcome: 'notCompared' }> {
  if (!(error instanceof ProblemError)) throw error
  const { what, next } = error.problem
  return {
    outcome: 'notCompared',
    why: `The first scan of this positive cannot be measured again: ${what}.`,
    next: `${next}; or say \`reprint: true\` in a sidecar to count growth from this scan on`,
  }
}

function filmScan({ scan, overview, regions, patches }: LocatedScan): FilmScan {
  return { scan, overview, regions, solids: patches.solids }
}

/** A part of the scan read as a film of its own, a strip from its own fields alone; what shows the scanner's own ripple is the whole scan's. */
function readPart(
  part: LocatedScan,
  request: MeasureRequest,
  dpi: MeasuredScan['dpi'],
  clear: SolidArea | null,
  flaws: MeasuredFlaws | NotLooked,
  strip: ReadStrip | null,
): FilmReadings {
  const { scan, patches, edges } = part
  const doubts = lengthDoubts(request, dpi)
  const places = strip === null ? { ...patches, edges } : { solids: [], lightest: [], bases: [], edges: [] }
  const fields =
    strip === null
      ? null
      : {
          strip: gatherStrip(scan, strip.laid, strip.layout, scannerScale(request.calibration, dpi), doubts),
          areas: stripSolids(scan, strip.laid, strip.layout),
        }
  const film = {
    ...gatherEvidence(scan, places, request.fringeContours, doubts),
    ...(fields === null ? {} : { strip: fields.strip }),
    flaws,
  }
  const solids = fields === null ? solidAreas(part, film, []).solids : []
  return measureFilm(withRipple(film, { solids, clear }, fields))
}

/** Where ripple is looked for: large solids on the film's own axes outside its control strips, and a clear place for the scanner's own. */
function solidAreas(
  { overview, regions, scan, ...rest }: LocatedScan,
  film: FilmEvidence,
  apart: LocatedScan['strips'],
): { readonly solids: readonly SolidArea[]; readonly clear: SolidArea | null } {
  const { umPerPixel } = scan
  const turn = filmTurn(film.edges, umPerPixel, filmTurns({ overview, regions, scan, ...rest })[0] ?? null)
  return {
    solids: (turn === null ? [] : largeSolids(overview, regions, umPerPixel, turn)).filter(({ x, y }) =>
      isBeside(apart, (1000 * x) / umPerPixel.across, (1000 * y) / umPerPixel.along),
    ),
    clear: clearArea(overview, regions, umPerPixel),
  }
}

/** The evidence with the ripple of the artwork's solids and of the strip's own. */
function withRipple(
  film: FilmEvidence,
  { solids, clear }: ReturnType<typeof solidAreas>,
  strips: StripFields | null,
): FilmEvidence {
  const seen = withStrip(film)
  return {
    ...film,
    ripple: gatherRipple(seen, solids, clear),
    ...(strips === null ? {} : { strip: { ...strips.strip, ripple: gatherRipple(seen, strips.areas, clear) } }),
  }
}

function areaOutline({ id, x, y, turn, first, second }: SolidArea, { umPerPixel }: DensityScan): Outline {
  const cos = Math.cos((turn * Math.PI) / 180) / 2
  const sin = Math.sin((turn * Math.PI) / 180) / 2
  const corner = (a: number, b: number) => ({
    column: (1000 * (x + a * first * cos - b * second * sin)) / umPerPixel.across,
    row: (1000 * (y + a * first * sin + b * second * cos)) / umPerPixel.along,
  })
  return { id, kind: 'solid', corners: [corner(-1, -1), corner(1, -1), corner(1, 1), corner(-1, 1)] }
}

function artworkEvidence(
  laid: LaidArtwork | null,
  { calibration }: MeasureRequest,
  dpi: MeasuredScan['dpi'],
): Pick<FilmEvidence, 'artwork'> {
  if (laid === null) return {}
  return {
    artwork: {
      alignment: laid.measured.alignment,
      scale: scannerScale(calibration, dpi),
      difference: laid.measured.difference ?? null,
    },
  }
}

/** The control strip's fields, read, and where its solids lie. */
interface StripFields {
  readonly strip: StripEvidence
  readonly areas: readonly SolidArea[]
}

/** The control strip's fields; null where there is none, or none that is believed. */
async function stripEvidence(
  request: MeasureRequest,
  located: LocatedScan,
  dpi: MeasuredScan['dpi'],
): Promise<StripFields | null> {
  const { scan, strips, regions } = located
  if (strips.length === 0 || request.stripRefused === true) return null
  const { read } = await layStrip(scan, strips, regions.base ?? regions.openLight ?? 0)
  if (read === null) return null
  const scale = scannerScale(request.calibration, dpi)
  return {
    strip: gatherStrip(scan, read.laid, read.layout, scale, lengthDoubts(request, dpi)),
    areas: stripSolids(scan, read.laid, read.layout),
  }
}

function stripOutline({ strip }: FilmEvidence): Outline[] {
  return strip === undefined ? [] : [{ id: 'strip', kind: 'strip', corners: strip.laid.corners }]
}

function measuredStrip({ strip }: FilmEvidence, measured: FilmReadings): Pick<MeasuredScan, 'strip'> {
  if (strip === undefined) return {}
  return {
    strip: {
      ...strip.laid,
      tones: strip.tones.map(({ intended, measured: value, expanded }) => ({ intended, measured: value, expanded })),
      lines: strip.lines.map(({ polarity, direction, intendedUm, measuredUm, expanded }) => ({
        polarity,
        direction,
        intendedUm,
        measuredUm,
        expanded,
      })),
      lost: strip.lost,
      artwork: measured.artwork,
    },
  }
}

function artworkOutline(laid: LaidArtwork | null): Outline[] {
  const alignment = laid?.measured.alignment ?? null
  return alignment?.kind === 'fitted' ? [{ id: 'artwork', kind: 'artwork', corners: alignment.corners }] : []
}

/** The scan and the further ones of its bracket. */
async function openAll(request: MeasureRequest, tempDir: string): Promise<{ first: OpenScan; further: OpenScan[] }> {
  const open: OpenScan[] = []
  try {
    const unpackedBefore = stillUnpacked(request.overview, request)
    const how = { channel: request.channel, tempDir }
    open.push(await openScan(request.file, { ...how, ...(unpackedBefore === undefined ? {} : { unpackedBefore }) }))
    for (const file of request.bracket ?? []) open.push(await openScan(file, how))
  } catch (error) {
    for (const scan of open) scan.close()
    throw error
  }
  return { first: open[0]!, further: open.slice(1) }
}

/** The scans of a bracket joined to one; null for a single scan. */
function joined(
  first: OpenScan,
  further: readonly OpenScan[],
  dpi: MeasuredScan['dpi'],
  request: MeasureRequest,
): FusedBracket | null {
  if (further.length === 0) return null
  if (request.calibration === null) throw new ProblemError('BRACKET_UNCALIBRATED', `${further.length + 1} scans`)
  return fuseBracket([first, ...further], request.calibration, pixelSize(request.calibration, dpi).umPerPixel)
}

function joinedScans({ light, exposures }: FusedBracket): JoinedScans {
  return {
    deepest: light.deepest ?? 0,
    exposures: exposures.map(({ file, ratio, expanded, shift }) => ({ file, exposure: ratio, expanded, shift })),
  }
}

/** A scan coarser than this shows no edge worth measuring, and finer is no flatbed. */
const PLAUSIBLE_DPI = { least: 50, most: 20_000 }

function resolution(request: MeasureRequest, scan: OpenScan): MeasuredScan['dpi'] {
  const dpi = request.dpi ?? (scan.header.dpi === null ? null : { ...scan.header.dpi, from: 'file' as const })
  if (dpi === null) throw new ProblemError('RESOLUTION_MISSING')
  for (const value of [dpi.across, dpi.along])
    if (!(value >= PLAUSIBLE_DPI.least && value <= PLAUSIBLE_DPI.most))
      throw new ProblemError('RESOLUTION_IMPLAUSIBLE', `${dpi.across} x ${dpi.along} dpi`)
  return dpi
}

function sizeNotes({ calibration }: MeasureRequest, dpi: MeasuredScan['dpi']): string[] {
  const { note } = pixelSize(calibration, dpi)
  return note === null ? [] : [note]
}

function densityScan(scan: OpenScan, dpi: MeasuredScan['dpi'], request: MeasureRequest): DensityScan {
  return {
    scan,
    light: request.calibration === null ? unknownLightScale(null) : scaleAtDpi(request.calibration, dpi),
    umPerPixel: pixelSize(request.calibration, dpi).umPerPixel,
  }
}

/** What is not known of the scales on which edges are read. */
function lengthDoubts({ calibration }: MeasureRequest, dpi: MeasuredScan['dpi']): LengthDoubts {
  return {
    ...pixelSize(calibration, dpi).doubts,
    steps: calibration === null ? [] : scaleSteps(calibration),
  }
}

/** The calibration's scale with its line spread as it would be at this scan's dpi. */
function scaleAtDpi(calibration: Calibration, dpi: MeasuredScan['dpi']): LightScale {
  const scale = lightScale(calibration)
  const edge = calibration.sharpness?.dpi
  if (edge === undefined) return scale
  const moved = (spread: LineSpread | null, from: number, to: number) =>
    spread === null ? null : spreadAtPitch(spread, UM_PER_INCH / from, UM_PER_INCH / to)
  // The knife edge was read with pixels as long as the resolution says; its lengths are the film's.
  const sized = (spread: LineSpread | null, share: number) =>
    spread === null
      ? null
      : {
          ...spread,
          riseWidth: spread.riseWidth * share,
          riseWidthExpanded: spread.riseWidthExpanded * share,
          stepUm: spread.stepUm * share,
        }
  const { umPerPixel } = pixelSize(calibration, dpi)
  const across = sized(scale.lineSpread.across, (umPerPixel.across * dpi.across) / UM_PER_INCH)
  const along = sized(scale.lineSpread.along, (umPerPixel.along * dpi.along) / UM_PER_INCH)
  return {
    ...scale,
    lineSpread: { across: moved(across, edge.across, dpi.across), along: moved(along, edge.along, dpi.along) },
  }
}

/** Without a calibration codes are told against open light, when there is any: code density, not density. */
function overOpenLight(located: LocatedScan): LocatedScan {
  const { scan, regions } = located
  if (scan.light.calibrated || regions.openLight === null) return located
  return { ...located, scan: { ...scan, light: unknownLightScale(Math.min(65535, regions.openLight * 65535)) } }
}

/** Every scan checks its lamp against the calibration's by the open light in view, and takes the drift out. */
function checkedLight(
  located: LocatedScan,
  request: MeasureRequest,
): { located: LocatedScan; drift: LightDrift | null } {
  if (request.calibration === null) return { located, drift: null }
  // The calibration's open light is a code of a single scan, which joined scans do not have.
  const asCalibrated = (request.bracket ?? []).length === 0 ? located.scan.light : lightScale(request.calibration)
  const reaches = located.scan.light.flare?.reaches ?? request.calibration.flare?.reaches ?? []
  const around = surroundLight(located.overview, located.scan.umPerPixel, reaches)
  const surround = (column: number, row: number) => around.at(column, row).map(s => s / (drift?.factor ?? 1))
  const drift = lightDrift(request.calibration, asCalibrated, located.regions.openLight)
  const light = drift === null ? located.scan.light : withoutDrift(located.scan.light, drift)
  return { located: { ...located, scan: { ...located.scan, light, surround } }, drift }
}

/** The flat field as it applies to this scan; null when the calibration has none. */
function glassOf(
  { calibration }: MeasureRequest,
  { scan }: DensityScan,
  dpi: MeasuredScan['dpi'],
  openInView: boolean,
): GlassLight | null {
  const flat = calibration?.flat ?? null
  if (calibration === null || flat === null) return null
  const { width, height } = scan.header
  return glassLight(calibration, flat, { width, height, dpi }, openInView)
}

/** The located scan on a glass that is not evenly lit: corrected by the flat field, else with what is seen of it in the uncertainty. */
function onGlass(
  located: LocatedScan,
  request: MeasureRequest,
  dpi: MeasuredScan['dpi'],
): { located: LocatedScan; notes: (measured: FilmReadings) => string[] } {
  const { calibration } = request
  const { scan, overview, regions } = located
  if (calibration === null) return { located, notes: () => [] }
  const glass = glassOf(request, scan, dpi, regions.openLight !== null)
  const uneven = calibration.uneven ?? 0
  const withLight = (light: LightScale) => ({ ...located, scan: { ...scan, light } })
  if (glass !== null) {
    const even = withEvenLight(scan.light, glass)
    return {
      located: withLight(uneven > 0 ? withUnevenLight(even, uneven) : even),
      notes: measured => [...(glass.note === null ? [] : [glass.note]), ...untestedNotes(glass, measured)],
    }
  }
  const lit = [OPEN_LIGHT, BASE]
  const most = seenFall(overview.columns, overview.rows, overview.light, regions.labels, lit)?.most ?? 0
  const seen = most > EVEN_ENOUGH ? most / Math.sqrt(3) : 0
  if (!(Math.hypot(seen, uneven) > 0)) return { located, notes: () => [] }
  const note = `Light falls off by up to ${(100 * (1 - 10 ** -most)).toFixed(1)} % over this scan, and the scanner has no flat field: densities are not corrected, U holds it. Calibrate with --flat and a scan of the bare glass.`
  return {
    located: withLight(withUnevenLight(scan.light, Math.hypot(seen, uneven))),
    notes: () => (seen > 0 ? [note] : []),
  }
}

/** Density readings that rest on a part of the glass nobody tested. */
function untestedNotes(glass: GlassLight, { readings }: FilmReadings): string[] {
  const names = ['baseDensity', 'solidDensity', 'solidDensityLowest'] as const
  const outside = names.flatMap(name => {
    const parts = readings[name]?.parts ?? []
    const off = parts.filter(part => !glass.tested(part.place))
    return off.length === 0 ? [] : [`${off.length} of ${parts.length} places of ${name} (first ${off[0]!.id})`]
  })
  if (outside.length === 0) return []
  return [
    `Outside the part of the glass that the flat scan tested: ${outside.join('; ')}. Their U is larger; lay the film further in, or calibrate with a flat scan of the whole glass.`,
  ]
}

function driftNotes(drift: LightDrift | null, calibrated: boolean): string[] {
  if (!calibrated) return []
  if (drift === null)
    return ['No open light to compare with the calibration was in view, so drift of the lamp could not be checked.']
  const change = drift.factor - 1
  if (!(Math.abs(change) > NOTED_DRIFT)) return []
  return [`The lamp is ${driftPercent(change)} than at the calibration; densities were corrected for it.`]
}

function driftPercent(change: number): string {
  return `${(100 * Math.abs(change)).toFixed(1)} % ${change > 0 ? 'brighter' : 'dimmer'}`
}

/** A few clipped pixels are noise or dust; more than this share of the clear film's blocks is exposure. */
const MOST_CLIPPED = 0.2

function doubts(
  request: MeasureRequest,
  scan: OpenScan,
  located: LocatedScan,
  film: FilmEvidence,
  drift: LightDrift | null,
): Doubt[] {
  const found: Doubt[] = []
  if (drift !== null && Math.abs(drift.factor - 1) > DOUBTED_DRIFT)
    found.push({
      code: 'drift',
      why: `Open light is ${driftPercent(drift.factor - 1)} than when the scanner was calibrated, more than can be corrected with trust.`,
      next: 'let the scanner warm up, check that the exposure is that of the calibration, and scan again; if it stays, calibrate again',
    })
  if (request.calibration === null)
    found.push({
      code: 'uncalibrated',
      why: 'This scanner has no calibration for this setting, so its codes are not yet light: densities are code density and widths may be wrong.',
      next: 'calibrate the scanner in five minutes: scan a step tablet at the same setting and run `burngate calibrate SCAN --scanner NAME --tablet nominal-21`',
    })
  if (scan.header.bits === 8)
    found.push({
      code: 'eightBit',
      why: 'The scan has only 8 bits, too few to tell densities above 2 apart.',
      next: 'set the scanner to 16-bit grey or 48-bit colour and scan again',
    })
  else if (blownUpCodes(located.overview.least))
    found.push({
      code: 'eightBit',
      why: 'The file says 16 bits and holds only 8: all its codes are multiples of 256 or 257, too few to tell densities above 2 apart.',
      next: 'set the scanner itself to 16-bit grey or 48-bit colour (not the program that saves the file) and scan again',
    })
  if (located.regions.clippedShare > MOST_CLIPPED)
    found.push({
      code: 'clipped',
      why: 'The clear film is clipped: its light lies above the top of the scanner’s scale, so no density can be trusted.',
      next: 'switch off automatic exposure, scan at the exposure of the calibration, and drop the scan again',
    })
  if (film.flaws !== undefined && 'tooMany' in film.flaws && film.flaws.tooMany)
    found.push({
      code: 'tooManyFlaws',
      why: 'The scan shows more separate spots than any film has flaws: noise, coarse grain or a pattern, so flaws cannot be counted.',
      next: 'look at the page picture; clean the glass, set the scanner to transparency mode with grain reduction off, and scan again',
    })
  if (film.bases.length === 0 && film.solids.length === 0)
    found.push({
      code: 'noFilm',
      why: emptyBecause(located),
      next: 'lay the film on the glass, ink side as usual, use the transparency mode of the scanner and scan again',
    })
  return found
}

/** Clear film passes more light than this (as in `findLight`); a scan no block of which does is dark. */
const DARK_LIGHT = 0.25

function emptyBecause(located: LocatedScan): string {
  const { base, openLight } = located.regions
  if (base === null && openLight !== null) return 'No film was found on the scan: it shows open light only.'
  if (base === null)
    return located.overview.light.some(light => light > DARK_LIGHT)
      ? 'No film was found on the scan: its light varies everywhere, as noise does, and no place is even.'
      : 'No film was found on the scan: it is dark all over.'
  return 'Neither a solid nor clear film of 1.6 mm was found on the scan.'
}

function outlines(located: LocatedScan, film: FilmEvidence): Outline[] {
  const all: Outline[] = []
  const filmEdge = filmCorners(located.overview, located.regions)
  if (filmEdge !== null) all.push({ id: 'film', kind: 'film', corners: filmEdge })
  const holder = holderCorners(located.overview, located.regions)
  if (holder !== null) all.push({ id: 'holder', kind: 'holder', corners: holder })
  for (const patch of [...film.bases, ...film.solids, ...thinnest(film)]) {
    const { column, row, width, height } = patch.rect
    all.push({
      id: patch.id,
      kind: patch.kind,
      corners: [
        { column, row },
        { column: column + width, row },
        { column: column + width, row: row + height },
        { column, row: row + height },
      ],
    })
  }
  for (const edge of film.edges) all.push({ id: edge.id, kind: 'edge', corners: [edge.spread.from, edge.spread.to] })
  return all
}

/** The lightest square of all solids: the only one of the candidates that a reading names. */
function thinnest(film: FilmEvidence): FilmEvidence['lightest'] {
  if (film.lightest.length === 0) return []
  return [film.lightest.reduce((best, patch) => (patch.codes.mean > best.codes.mean ? patch : best))]
}

/** Flaws shown close up, most severe first; and how much of the film round each, um at least. */
const FLAW_CROPS = 12
const FLAW_CROP_UM = 1500

function flawCrops(scan: DensityScan, flaws: MeasuredFlaws | NotLooked): Picture[] {
  if ('because' in flaws) return []
  const { across, along } = scan.umPerPixel
  return flaws.list.slice(0, FLAW_CROPS).map(({ id, kind, place, lengthMm, diameterUm }) => {
    const um = Math.max(FLAW_CROP_UM, 3 * diameterUm, 1200 * (lengthMm ?? 0))
    const width = Math.round(um / across)
    const height = Math.round(um / along)
    const rect = {
      column: Math.round(place.column - width / 2),
      row: Math.round(place.row - height / 2),
      width,
      height,
    }
    return cropPicture(scan, rect, id, kind)
  })
}

/** Crops show this much of the film, um. */
const CROP_UM = { patch: 4000, edge: 2500 }

/** Places of ink missing or too much that are shown, of each kind. */
const INK_CROPS = 3

function inkCrops(scan: DensityScan, laid: LaidArtwork | null): Picture[] {
  const difference = laid?.measured.difference ?? null
  if (difference === null) return []
  const least = CROP_UM.edge
  const shown = (places: readonly InkPlace[], caption: string) =>
    places.slice(0, INK_CROPS).map(({ id, place, rect }) => {
      const width = Math.max(1.5 * rect.width, least / scan.umPerPixel.across)
      const height = Math.max(1.5 * rect.height, least / scan.umPerPixel.along)
      const window = {
        column: Math.round(place.column - width / 2),
        row: Math.round(place.row - height / 2),
        width: Math.round(width),
        height: Math.round(height),
      }
      return cropPicture(scan, window, id, caption)
    })
  return [
    ...shown(difference.missing.places, 'Ink is missing here'),
    ...shown(difference.extra.places, 'Ink too much here'),
  ]
}

function crops(scan: DensityScan, measured: FilmReadings): Picture[] {
  const around = (column: number, row: number, um: number) => {
    const width = um / scan.umPerPixel.across
    const height = um / scan.umPerPixel.along
    return {
      column: Math.round(column - width / 2),
      row: Math.round(row - height / 2),
      width: Math.round(width),
      height: Math.round(height),
    }
  }
  const wanted: Picture[] = []
  const lowest = measured.readings.solidDensityLowest?.parts[0]
  if (lowest !== undefined)
    wanted.push(
      cropPicture(scan, around(lowest.place.column, lowest.place.row, CROP_UM.patch), lowest.id, 'The lowest solid'),
    )
  const softest = measured.readings.riseWidthWorst?.parts[0]
  if (softest !== undefined)
    wanted.push(
      cropPicture(scan, around(softest.place.column, softest.place.row, CROP_UM.edge), softest.id, 'The softest edge'),
    )
  const ragged = measured.readings.raggedness?.parts.reduce((worst, part) => (part.value > worst.value ? part : worst))
  if (ragged !== undefined && ragged.id !== softest?.id)
    wanted.push(
      cropPicture(scan, around(ragged.place.column, ragged.place.row, CROP_UM.edge), ragged.id, 'The most ragged edge'),
    )
  return wanted
}
