import type { Calibration } from '../model/calibration.js'
import type { HealthMove, HealthName, HealthPoint, HealthSeries, ScannerHealth } from '../model/workspace-health.js'
import { individualsChart } from './individuals-chart.js'
import { studentT } from './student-t.js'

/** A move of more than this since the first calibration is told (common practice, no source). */
const MOST_SHARE = 0.05

/**
 * Fewer earlier values than this do not tell their own scatter. Limits of the next value from `n` before it are
 * mean -+ t(n - 1) s sqrt(1 + 1/n) (prediction interval of a normal series; e.g. ISO 16269-8, from memory), so that a steady property
 * is called moved as seldom with 5 values before as with 50. Limits of 3 scatters would call it moved 5 to 7 times in 100 with 5.
 */
const FEWEST_FOR_LIMITS = 5
/** Chance that a steady property is called moved: that of 3 standard deviations. */
const FALSE_ALARM = 0.0027

/** A move within this many standard uncertainties of the difference (95 in 100) is none. */
const COVERAGE = 2

interface Property {
  readonly label: string
  readonly unit: HealthSeries['unit']
  readonly decimals: number
  readonly of: (calibration: Calibration) => { readonly value: number; readonly standard: number | null } | null
  /** What to see to when it moved. */
  readonly next: string
}

const rise = (spread: { riseWidth: number; riseWidthExpanded: number } | null | undefined) =>
  spread == null ? null : { value: spread.riseWidth, standard: spread.riseWidthExpanded / 2 }
const plain = (value: number | undefined) => (value === undefined ? null : { value, standard: null })

const PROPERTIES: Readonly<Record<HealthName, Property>> = {
  openLightNoise: {
    label: 'Noise of open light',
    unit: 'codes',
    decimals: 1,
    of: c => plain(c.openLight?.pixelNoise),
    next: 'let the lamp warm up, clean the glass, calibrate again; if it stays, the lamp or the sensor ages',
  },
  darkNoise: {
    label: 'Noise of dark',
    unit: 'codes',
    decimals: 1,
    of: c => plain(c.dark?.pixelNoise),
    next: 'let the scanner warm up and calibrate again; if it stays, the sensor ages',
  },
  openLight: {
    label: 'Code of open light',
    unit: 'codes',
    decimals: 0,
    of: c => plain(c.openLight?.code),
    next: 'check that the exposure is the one films are scanned at; if it is, the lamp ages or the glass is dirty',
  },
  black: {
    label: 'Code of no light',
    unit: 'codes',
    decimals: 1,
    of: c => ({ value: c.response.black, standard: c.response.blackError }),
    next: 'keep daylight off the glass and the lid shut, calibrate again; if it stays, the sensor ages',
  },
  flare: {
    label: 'Flare',
    unit: '%',
    decimals: 2,
    of: ({ flare }) => (flare == null ? null : { value: 100 * flare.share, standard: 100 * flare.standard }),
    next: 'clean both sides of the glass and the lid, calibrate again; if it stays, the optics are hazy',
  },
  deepest: {
    label: 'Deepest density',
    unit: 'D',
    decimals: 2,
    of: c => plain(c.deepest),
    next: 'see what moved with it: noise, the code of no light, or another tablet',
  },
  riseWidthAcross: {
    label: 'Rise width across',
    unit: 'um',
    decimals: 1,
    of: c => rise(c.sharpness?.across),
    next: 'clean both sides of the glass, lay the edge flat, calibrate again; if it stays, the optics are out of focus',
  },
  riseWidthAlong: {
    label: 'Rise width along',
    unit: 'um',
    decimals: 1,
    of: c => rise(c.sharpness?.along),
    next: 'clean both sides of the glass, lay the edge flat, calibrate again; if it stays, the carriage runs unevenly',
  },
}

/**
 * How one scanner at one setting has aged over its calibrations. A property has moved when its newest value is more than
 * 5 % from the first one (and by more than both values' uncertainty and their scatter, where the calibrations tell these), or,
 * once there are 5 values before it, further from their mean than chance takes a steady one 3 times in 1000.
 * @param calibrations of one scanner and setting, in any order, at least one; of several from one tablet scan only the newest counts
 */
export function scannerHealth(calibrations: readonly Calibration[]): ScannerHealth {
  // The same scan worked out again is no new look at the scanner: it would hide its scatter.
  const distinct = new Map<string, Calibration>()
  for (const calibration of [...calibrations].sort((a, b) => Date.parse(a.calibratedAt) - Date.parse(b.calibratedAt))) {
    distinct.delete(calibration.scan.sha256)
    distinct.set(calibration.scan.sha256, calibration)
  }
  const ordered = [...distinct.values()]
  const newest = ordered.at(-1)
  if (newest === undefined) throw new RangeError('calibrations must hold at least one')
  const { dpi, channel } = newest.scan
  const [across, along] = [Math.round(dpi.across), Math.round(dpi.along)]
  return {
    scanner: newest.scanner,
    setting: `${across === along ? across : `${across} x ${along}`} dpi${channel === 'grey' ? '' : `, ${channel}`}`,
    calibrations: ordered.map(c => ({ at: c.calibratedAt, tablet: c.tablet.name, scan: c.scan.file })),
    series: (Object.entries(PROPERTIES) as [HealthName, Property][]).flatMap(([name, property]) => {
      const points = ordered.flatMap((c): HealthPoint[] => {
        const told = property.of(c)
        return told === null ? [] : [{ at: c.calibratedAt, ...told }]
      })
      if (points.length === 0) return []
      const { label, unit, decimals, next } = property
      const limits = limitsOf(points)
      // What the newest calibration does not tell has not moved with it.
      const told = points.at(-1)!.at === newest.calibratedAt
      const moves = told ? movesOf({ label, unit, decimals, points, limits, next }) : []
      return [{ name, label, unit, decimals, points, limits, moves }]
    }),
  }
}

function limitsOf(points: readonly HealthPoint[]): HealthSeries['limits'] {
  if (points.length <= FEWEST_FOR_LIMITS) return null
  const before = points.slice(0, -1).map(point => point.value)
  const n = before.length
  const mean = before.reduce((sum, value) => sum + value, 0) / n
  const deviation = Math.sqrt(before.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (n - 1))
  const reach = studentT(FALSE_ALARM, n - 1) * deviation * Math.sqrt(1 + 1 / n)
  return { mean, lower: mean - reach, upper: mean + reach }
}

/** Three standard deviations of the difference of two values; 0 while their scatter is not known. From neighbours, so that a slow drift does not hide itself. */
function scatterOfDifference(points: readonly HealthPoint[]): number {
  if (points.length <= FEWEST_FOR_LIMITS) return 0
  const before = points.slice(0, -1).map(point => point.value)
  const { upper, mean } = individualsChart(before)
  return Math.SQRT2 * (upper - mean)
}

function movesOf({
  label,
  unit,
  decimals,
  points,
  limits,
  next,
}: Pick<HealthSeries, 'label' | 'unit' | 'decimals' | 'points' | 'limits'> & { readonly next: string }): HealthMove[] {
  const [first, last] = [points[0]!, points.at(-1)!]
  const text = (value: number) => value.toFixed(decimals).replace('-', '\u2212')
  const moves: HealthMove[] = []
  const by = last.value - first.value
  const doubt =
    first.standard === null || last.standard === null ? 0 : COVERAGE * Math.hypot(first.standard, last.standard)
  const least = Math.max(doubt, scatterOfDifference(points))
  if (points.length > 1 && first.value !== 0 && Math.abs(by) > least && !(Math.abs(by / first.value) <= MOST_SHARE))
    moves.push({
      rule: 'share',
      why: `${label} ${by > 0 ? 'rose' : 'fell'} by ${Math.abs((100 * by) / first.value).toFixed(1)} % since the first calibration (${first.at.slice(0, 10)}), from ${text(first.value)} to ${text(last.value)} ${unit}: more than 5 %.`,
      next,
    })
  if (limits !== null && !(last.value >= limits.lower && last.value <= limits.upper))
    moves.push({
      rule: 'scatter',
      why: `${label} is ${text(last.value)} ${unit}, further from the mean of the ${points.length - 1} calibrations before (${text(limits.mean)}) than their scatter explains (${text(limits.lower)} to ${text(limits.upper)}).`,
      next,
    })
  return moves
}
