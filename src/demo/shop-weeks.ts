import { frame, hairLines, solid } from './artwork.js'
import type { Film, Shape } from './film.js'
import type { Placement } from './scanner.js'
import { DEMO_SCANNER, type DemoScan, demoScans } from './shop.js'
import { diffusedSpread, filmRise, fringeWidth } from './truth.js'

const WIDTH = 34
const HEIGHT = 22
const DAY_SECONDS = 86_400
/** As in the rest of the shop: 10 and 90 % of the shipped minimum of density, 3.0. */
const FRINGE = { low: 0.3, high: 2.7 }

/** Two blocks, a bar, a frame and three strokes: small, so that a week costs a second. */
const ART: readonly Shape[] = [
  solid(3, 3, 9, 9),
  solid(14, 3, 9, 9),
  ...hairLines(25, 3, 9, [0.2, 0.4, 0.6], 1.6),
  ...frame(3, 14, 20, 5, 0.8),
  solid(25, 14, 6, 5),
]

/** The check print of printer-2, days before the last one and density above base: steady, then thinner by a tenth since its head was changed. */
const CHECKS: readonly (readonly [daysBefore: number, netDensity: number])[] = [
  [34, 3.34],
  [32, 3.352],
  [30, 3.332],
  [27, 3.344],
  [25, 3.326],
  [23, 3.349],
  [20, 3.337],
  [18, 3.346],
  [9, 3.21],
  [6, 3.222],
  [3, 3.206],
]
/** Days before the last one on which printer-2 got a new head. */
export const NEW_HEAD_DAYS_BEFORE = 13
export const CHECKED_PRINTER = 'printer-2'

/** A tag that creeps slowly in its drawer: from 16 um by 6.9 um2 a day. */
const TAG = { spreadUm: 16, diffusivity: 6.9 / 2 / DAY_SECONDS, everyDays: 11, scans: 4 }

/**
 * Five weeks of small films: a check print of printer-2 twice a week, whose density falls after a head was changed, and a tag in its drawer, scanned
 * four times, whose ink creeps slowly enough to be forecast. Each positive's scans in the order they were made.
 * @param lastDay as for `demoScans`
 */
export function demoWeeks(lastDay: string): readonly DemoScan[] {
  const last = Date.parse(`${lastDay}T00:00:00Z`)
  const day = (before: number) => new Date(last - before * DAY_SECONDS * 1000).toISOString().slice(0, 10)
  const checks = CHECKS.map(([before, netDensity], i) =>
    small({
      id: `check-${i + 1}`,
      name: 'printer-2-check',
      scannedAt: `${day(before)}T07:50:00`,
      print: { baseDensity: 0.06, netDensity, inkSpreadUm: 15 },
      seed: 101 + i,
      sidecar: { jobType: 'bold', stock: 'stock-a', printer: CHECKED_PRINTER, mode: 'fine', reprint: true },
      story: 'Printed and scanned before the day begins: the same small film, to see how the printer prints.',
    }),
  )
  const tags = Array.from({ length: TAG.scans }, (_, i) => {
    const days = i * TAG.everyDays
    return small({
      id: `tag-${i + 1}`,
      name: 'quay-tag',
      scannedAt: `${day(34 - days)}T16:10:00`,
      print: {
        baseDensity: 0.07,
        netDensity: 3.4,
        inkSpreadUm: diffusedSpread(TAG.spreadUm, TAG.diffusivity, days * DAY_SECONDS),
      },
      seed: 131 + i,
      sidecar: {
        jobType: 'fine-line',
        stock: 'stock-b',
        printer: 'printer-1',
        mode: 'fine',
        humidity: 63,
        temperature: 22,
      },
      story: 'A small tag in its drawer: its edges creep, slowly enough to say when they will have gone too far.',
    })
  })
  return [...checks, ...tags]
}

function small(plan: {
  readonly id: string
  readonly name: string
  readonly scannedAt: string
  readonly print: Pick<Film, 'baseDensity' | 'netDensity' | 'inkSpreadUm'>
  readonly seed: number
  readonly sidecar: DemoScan['sidecar']
  readonly story: string
}): DemoScan {
  const { print, seed, sidecar, ...told } = plan
  const placement: Placement = {
    acrossMm: WIDTH / 2 + 2.6,
    alongMm: HEIGHT / 2 + 2.6,
    turnDegrees: 0.8 + 0.25 * (seed % 5),
    mirrored: false,
  }
  return {
    ...told,
    kind: 'positive',
    fileName: `${plan.name}__${plan.scannedAt.slice(0, 10)}.tif`,
    scan: {
      scanner: demoScans()[0]!.scan.scanner,
      bedWidthMm: WIDTH + 5.2,
      bedHeightMm: HEIGHT + 5.2,
      film: { widthMm: WIDTH, heightMm: HEIGHT, ...print, shapes: ART, grain: { rms: 0.006, correlationUm: 90 } },
      placement,
      holder: null,
      seed,
    },
    sidecar: { positive: plan.name, scanner: DEMO_SCANNER, ...sidecar },
    certificate: null,
    expected: 'pass',
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
