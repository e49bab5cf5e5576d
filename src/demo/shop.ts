import { mkdir, stat, truncate, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { stringify } from 'yaml'
import type { ArtworkBitmap } from '../model/artwork.js'
import type { Verdict } from '../model/inspection.js'
import type { Sidecar } from '../model/site.js'
import type { StripIdentity } from '../model/strip.js'
import { drawStrip } from '../strip/draw-strip.js'
import type { Film } from './film.js'
import { knifeEdge } from './knife-edge.js'
import type { FilmTruth } from './random-film.js'
import type { BedScan, DemoScanner, Placement } from './scanner.js'
import { type Artwork, pilotBadge, reefLabel, regattaFront, teamNumber, withFlaws } from './shop-artwork.js'
import { certificateCsv, stepTablet } from './tablet.js'
import { diffusedSpread, filmRise, fringeWidth, spreadForRise } from './truth.js'
import { writeScan } from './write-scan.js'

/** Film below the artwork for the control strip, and where it begins across, mm: centred on the sheet. */
const STRIP_MARGIN = 16
const STRIP_PLACE = 6

/** The invented shop of the demo. */
export const DEMO_SHOP = 'Tidewater Screenworks'
export const DEMO_SCANNER = 'flatbed-a'

/** One scan of the demo, not yet made. */
export interface DemoScan {
  /** Unique, kebab-case. */
  readonly id: string
  readonly kind: 'tablet' | 'knifeEdge' | 'positive' | 'broken'
  readonly fileName: string
  /** The scanner's own clock, ISO 8601 without zone. */
  readonly scannedAt: string
  readonly scan: BedScan
  /** Written beside the scan as `<fileName>.yaml`; null for none: then file name and tags must do. */
  readonly sidecar: Sidecar | null
  /** The tablet's certificate, written beside the scan as `tablet-a.csv`; null but for the tablet. */
  readonly certificate: string | null
  /** What happened in the shop: one or two sentences. */
  readonly story: string
  /** The verdict the story is meant to end in; null where no verdict is meant. */
  readonly expected: Verdict | null
  /** What is true of the film; null but for positives. */
  readonly truth: FilmTruth | null
}

export interface DemoFiles {
  readonly scan: string
  readonly sidecar: string | null
  readonly certificate: string | null
}

const FLATBED_A: DemoScanner = {
  maker: 'Tidewater',
  model: 'flatbed-a',
  dpi: 1200,
  scaleErrorAcross: 0.0004,
  scaleErrorAlong: -0.0007,
  blurAcrossUm: 11,
  blurAlongUm: 12,
  black: 420,
  gain: 59_000,
  gamma: 1.8,
  veil: 0.00008,
  readNoise: 9,
  shotNoise: 130,
  flare: 0,
  flareReachMm: 10,
  shading: 0,
  lamp: 1,
}

/** 31 steps to D 3.05 with the small unevenness of a real tablet; the certificate says exactly this. */
const TABLET_DENSITIES: readonly number[] = Array.from({ length: 31 }, (_, i) =>
  Number((0.05 + 0.1 * i + 0.006 * Math.sin(i * 2.1)).toFixed(3)),
)

/** Rise width that job type bold allows: the `pilot-badge` film is printed right at it, and clear of every other limit. */
const BOLD_RISE_UM = 120
const DAY_SECONDS = 86_400
/** Creep of the ink in the stored positive's poor film: from 18 um to 39 um in 35 days. */
const POOR_FILM_DIFFUSIVITY = (39 * 39 - 18 * 18) / (2 * 35 * DAY_SECONDS)
/** Density contours of the fringe width at the shipped job types' minimum solid density, 3.0: 10 and 90 %. */
const FRINGE = { low: 0.3, high: 2.7 }
/** As the job type halftone says. */
const HALFTONE_SCREEN = { ruling: 55, angle: 22.5 }
const PRINT = { baseDensity: 0.06, inkSpreadUm: 15 }
const RIPPLE = { banding: { amplitude: 0.004, pitchMm: 1.27 }, grain: { rms: 0.006, correlationUm: 90 } }

/**
 * The demo's scans, in the order they were made: tablet, knife edge, ten films, one broken file.
 * @param lastDay day of the newest scans, YYYY-MM-DD; the oldest are 35 days older
 * @throws RangeError when lastDay is not a date
 */
export function demoScans(lastDay = '2026-03-20'): readonly DemoScan[] {
  const last = Date.parse(`${lastDay}T00:00:00Z`)
  if (!Number.isFinite(last)) throw new RangeError(`lastDay must read YYYY-MM-DD; got ${lastDay}`)
  const at = (daysBefore: number, time: string) =>
    `${new Date(last - daysBefore * DAY_SECONDS * 1000).toISOString().slice(0, 10)}T${time}`

  const stored = (
    id: string,
    daysOld: number,
    time: string,
    seed: number,
    place: Placement,
    expected: Verdict,
    story: string,
  ) =>
    positive({
      id,
      name: 'regatta-front',
      scannedAt: at(35 - daysOld, time),
      art: regattaFront(),
      print: {
        baseDensity: 0.07,
        netDensity: 3.42,
        inkSpreadUm: diffusedSpread(18, POOR_FILM_DIFFUSIVITY, daysOld * DAY_SECONDS),
      },
      place,
      seed,
      sidecar: {
        jobType: 'fine-line',
        stock: 'stock-b',
        printer: 'printer-1',
        mode: 'fine',
        humidity: daysOld > 0 ? 71 : 52,
        temperature: 22,
      },
      story,
      expected,
      lamp: 1 - daysOld * 0.0002,
    })

  return [
    tabletScan(at(35, '08:05:10')),
    knifeEdgeScan(at(35, '08:11:42')),
    stored(
      'regatta-front-fresh',
      0,
      '09:20:15',
      11,
      { acrossMm: 44.6, alongMm: 32.7, turnDegrees: 0.9, mirrored: false },
      'pass',
      'Printed this morning on stock-b: black and sharp. It goes into the drawer for the next run.',
    ),
    positive({
      id: 'reef-label-good',
      name: 'reef-label',
      scannedAt: at(35, '10:02:44'),
      art: reefLabel(),
      print: { ...PRINT, netDensity: 3.38 },
      place: { acrossMm: 44.1, alongMm: 32.1, turnDegrees: -1.7, mirrored: false },
      seed: 12,
      sidecar: {
        jobType: 'halftone',
        stock: 'stock-a',
        printer: 'printer-1',
        mode: 'fine',
        setting: 'ink 8',
        humidity: 50,
        temperature: 22,
      },
      strip: { setting: 'ink 8' },
      story:
        'A halftone label on good film: tints, hair-lines and solids as they should be, and a control strip in the margin that says who it is.',
      expected: 'pass',
    }),
    positive({
      id: 'herons-07-mirrored',
      name: 'herons-07',
      scannedAt: at(30, '11:40:03'),
      art: teamNumber('07'),
      print: { ...PRINT, netDensity: 3.3, inkSpreadUm: 17 },
      place: { acrossMm: 44.9, alongMm: 32.3, turnDegrees: 182.4, mirrored: true },
      seed: 13,
      sidecar: { jobType: 'bold', stock: 'stock-a', printer: 'printer-1', mode: 'fast' },
      story: 'A team number, laid on the glass ink side up and upside down: no matter to the readings.',
      expected: 'pass',
    }),
    positive({
      id: 'herons-12-thin-ink',
      name: 'herons-12',
      scannedAt: at(30, '11:52:31'),
      art: teamNumber('12'),
      print: { ...PRINT, netDensity: 2.42, inkSpreadUm: 14 },
      place: { acrossMm: 44.4, alongMm: 32.6, turnDegrees: 1.3, mirrored: false },
      seed: 14,
      banding: { amplitude: 0.03, pitchMm: 2.1 },
      sidecar: { jobType: 'bold', stock: 'stock-a', printer: 'printer-1', mode: 'draft', setting: 'ink 4' },
      story:
        'Someone left the printer in draft: it looks black on the light table, yet lets through three times the light the limit allows.',
      expected: 'fail',
    }),
    stored(
      'regatta-front-after-17-days',
      17,
      '14:05:20',
      11,
      { acrossMm: 43.7, alongMm: 32, turnDegrees: -2.2, mirrored: false },
      'pass',
      'The same positive after 17 damp days in the drawer: the ink has begun to creep, but the film still holds.',
    ),
    positive({
      id: 'reef-label-soft',
      name: 'reef-label-2',
      scannedAt: at(12, '09:31:18'),
      art: reefLabel(),
      print: { ...PRINT, netDensity: 3.2, inkSpreadUm: 58 },
      place: { acrossMm: 44.7, alongMm: 32.4, turnDegrees: 2.1, mirrored: false },
      seed: 15,
      sidecar: { jobType: 'halftone', stock: 'stock-b', printer: 'printer-1', mode: 'fine', setting: 'ink 12' },
      strip: { setting: 'ink 12' },
      story:
        'Too much ink for this film: solids are black, but every edge has run. The control strip in its margin shows what that does to tints and lines.',
      expected: 'fail',
    }),
    positive({
      id: 'herons-21-pinholed',
      name: 'herons-21',
      scannedAt: at(9, '15:12:08'),
      art: withFlaws(
        teamNumber('21'),
        [
          { u: 21.3, v: 44.6, um: 180 },
          { u: 38.2, v: 47.9, um: 120 },
          { u: 52.7, v: 45.2, um: 90 },
          { u: 61.4, v: 46.8, um: 320 },
        ],
        [
          { u: 12.5, v: 22.4, um: 140 },
          // Lets half the light through, as lint does.
          { u: 70.1, v: 30.8, um: 260, ink: 0.1 },
        ],
      ),
      print: { ...PRINT, netDensity: 3.35, inkSpreadUm: 15 },
      place: { acrossMm: 44.3, alongMm: 32.9, turnDegrees: 0.6, mirrored: false },
      seed: 16,
      sidecar: { jobType: 'bold', stock: 'stock-a', printer: 'printer-1', mode: 'fast' },
      story:
        'Dust under the head left four pinholes in the name bar, one too large, and a speck; another speck lets light through and may be dust.',
      expected: 'fail',
    }),
    positive({
      id: 'pilot-badge-at-the-limit',
      name: 'pilot-badge',
      scannedAt: at(6, '10:47:55'),
      art: pilotBadge(),
      print: { ...PRINT, netDensity: 3.8, inkSpreadUm: spreadForRise(BOLD_RISE_UM, PRINT.baseDensity, 3.8) },
      place: { acrossMm: 44.5, alongMm: 32.2, turnDegrees: 2.3, mirrored: false },
      seed: 17,
      sidecar: { jobType: 'bold', stock: 'stock-b', printer: 'printer-1', mode: 'fine' },
      story: 'Its edges are as soft as the limit allows, so the reading cannot tell: look closer or print again.',
      expected: 'recheck',
    }),
    positive({
      id: 'pilot-badge-deep',
      name: 'pilot-badge-2',
      scannedAt: at(2, '16:20:37'),
      art: pilotBadge(),
      print: { ...PRINT, netDensity: 4.14, inkSpreadUm: 16 },
      place: { acrossMm: 44, alongMm: 32.5, turnDegrees: 91.1, mirrored: false },
      seed: 18,
      sidecar: { jobType: 'bold', stock: 'stock-a', printer: 'printer-1', mode: 'fine', setting: 'ink 10' },
      story:
        'Blacker (D 4.2) than this scanner can tell: the report says at least how black, and never a number beyond.',
      expected: 'pass',
    }),
    stored(
      'regatta-front-after-35-days',
      35,
      '08:40:50',
      11,
      { acrossMm: 45, alongMm: 32.4, turnDegrees: 1.6, mirrored: false },
      'fail',
      'Five weeks on, wanted for a re-run: the ink has crept too far. Print it again before the screen is burned.',
    ),
    {
      ...positive({
        id: 'cut-short',
        name: 'herons-33',
        scannedAt: at(0, '08:55:12'),
        art: teamNumber('33'),
        print: { ...PRINT, netDensity: 3.3 },
        place: { acrossMm: 44.5, alongMm: 32.5, turnDegrees: 0.7, mirrored: false },
        seed: 19,
        sidecar: null,
        story: 'The scanning computer was switched off while it saved: half a file, refused with what to do next.',
        expected: null,
      }),
      kind: 'broken',
      truth: null,
    },
  ]
}

/**
 * Makes one scan: the TIFF, and its sidecar and certificate where it has them. The same scan gives the same bytes.
 * @returns the paths written
 */
export async function writeDemoScan(scan: DemoScan, dir: string): Promise<DemoFiles> {
  await mkdir(dir, { recursive: true })
  const file = join(dir, scan.fileName)
  const sidecar = scan.sidecar === null ? null : `${file}.yaml`
  const certificate = scan.certificate === null ? null : join(dir, 'tablet-a.csv')
  // The sidecar goes first, so that whoever watches the folder never meets the scan without it.
  if (sidecar !== null) await writeFile(sidecar, stringify(scan.sidecar))
  if (certificate !== null) await writeFile(certificate, scan.certificate!)
  await writeScan(file, scan.scan, scan.scannedAt)
  if (scan.kind === 'broken') await truncate(file, Math.floor((await stat(file)).size * 0.55))
  return { scan: file, sidecar, certificate }
}

function tabletScan(scannedAt: string): DemoScan {
  const tablet = stepTablet({ densities: TABLET_DENSITIES, stepMm: 3, widthMm: 14, marginMm: 2, marginDensity: 0.04 })
  return {
    id: 'tablet',
    kind: 'tablet',
    fileName: `tablet-a__${scannedAt.slice(0, 10)}.tif`,
    scannedAt,
    scan: {
      scanner: FLATBED_A,
      bedWidthMm: 106,
      bedHeightMm: 32,
      film: tablet.film,
      placement: { acrossMm: 53.2, alongMm: 13.6, turnDegrees: 0.5, mirrored: false },
      holder: { side: 'bottom', widthMm: 5 },
      seed: 1,
    },
    sidecar: null,
    certificate: certificateCsv(tablet.densities, 0.02),
    story: 'The shop reads its step tablet to teach the tool its scanner.',
    expected: null,
    truth: null,
  }
}

function knifeEdgeScan(scannedAt: string): DemoScan {
  return {
    id: 'knife-edge',
    kind: 'knifeEdge',
    fileName: `knife-edge__${scannedAt.slice(0, 10)}.tif`,
    scannedAt,
    scan: {
      scanner: FLATBED_A,
      bedWidthMm: 34,
      bedHeightMm: 30,
      film: knifeEdge(20, 16),
      placement: { acrossMm: 17, alongMm: 15, turnDegrees: 3.2, mirrored: false },
      holder: null,
      seed: 2,
    },
    sidecar: null,
    certificate: null,
    story: 'A razor blade on open glass shows how sharp the scanner itself is.',
    expected: null,
    truth: null,
  }
}

/** The short strip as printer-1 prints it. */
function demoStrip(
  name: string,
  jobType: string,
  told: Pick<StripIdentity, 'setting' | 'mode' | 'stock' | 'printer'>,
): ArtworkBitmap {
  const identity: StripIdentity = {
    positive: name,
    jobType,
    dpi: { across: 1440, along: 720 },
    form: 'short',
    laid: 'head',
    tints: 'screened',
    ...told,
  }
  return drawStrip(identity, HALFTONE_SCREEN).bitmap
}

function positive(plan: {
  readonly id: string
  readonly name: string
  readonly scannedAt: string
  readonly art: Artwork
  readonly print: { readonly baseDensity: number; readonly netDensity: number; readonly inkSpreadUm: number }
  readonly place: Placement
  readonly seed: number
  readonly sidecar: Sidecar | null
  readonly story: string
  readonly expected: Verdict | null
  readonly banding?: NonNullable<Film['banding']>
  readonly lamp?: number
  /** What the control strip below the artwork says besides positive and job type; absent for a film without one. */
  readonly strip?: Pick<StripIdentity, 'setting' | 'mode' | 'stock' | 'printer'>
}): DemoScan {
  const { art, print } = plan
  const printed = plan.strip === undefined ? null : demoStrip(plan.name, plan.sidecar?.jobType ?? '', plan.strip)
  const heightMm = art.heightMm + (printed === null ? 0 : STRIP_MARGIN)
  const upright = Math.abs(Math.cos((plan.place.turnDegrees * Math.PI) / 180)) > 0.7
  // The film with a strip is longer: its bed too, and its middle moves.
  const longer = heightMm - art.heightMm
  const place = { ...plan.place, alongMm: plan.place.alongMm + longer / 2 }
  const bedWidthMm = upright ? 89 : 65 + longer
  const bedHeightMm = upright ? 65 + longer : 89
  return {
    id: plan.id,
    kind: 'positive',
    fileName: `${plan.name}__${plan.scannedAt.slice(0, 10)}.tif`,
    scannedAt: plan.scannedAt,
    scan: {
      scanner: { ...FLATBED_A, lamp: plan.lamp ?? 1 },
      bedWidthMm,
      bedHeightMm,
      film: {
        widthMm: art.widthMm,
        heightMm,
        ...print,
        shapes: art.shapes,
        ...(printed === null ? {} : { printed: [{ u: STRIP_PLACE, v: art.heightMm, raster: printed }] }),
        ...RIPPLE,
        ...(plan.banding === undefined ? {} : { banding: plan.banding }),
      },
      placement: upright ? place : { ...place, acrossMm: place.alongMm, alongMm: place.acrossMm },
      holder: null,
      seed: plan.seed,
    },
    sidecar: plan.sidecar === null ? null : { positive: plan.name, scanner: DEMO_SCANNER, ...plan.sidecar },
    certificate: null,
    story: plan.story,
    expected: plan.expected,
    truth: {
      baseDensity: print.baseDensity,
      solidDensity: print.baseDensity + print.netDensity,
      riseUm: filmRise(print),
      inkSpreadUm: print.inkSpreadUm,
      fringeUm: fringeWidth(print, FRINGE.low, FRINGE.high),
      edge: print,
    },
  }
}
