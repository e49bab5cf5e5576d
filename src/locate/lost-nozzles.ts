import { mappedArea } from '../imaging/mapped-area.js'
import { median, robustDeviation } from '../imaging/robust.js'
import { readSolidField, type SeenLight, type StripLight } from '../imaging/solid-field.js'
import type { PixelPoint } from '../model/geometry.js'
import type { DensityScan } from '../model/light.js'
import type { SolidArea } from '../model/located.js'
import { stripLayout } from '../strip/strip-layout.js'
import type { LocatedScan } from './locate-scan.js'

/** A light line right through a solid of the control strip, on the print's axes. */
export interface NozzleLine {
  readonly from: PixelPoint
  readonly to: PixelPoint
  readonly openMm2: number
}

/** Clear of a solid's edges by this much, mm: three sigma of bleed and optics, and half a printer pixel that the layout is not known to here. */
const MARGIN_MM = 0.35
const LEAST_LENGTH_MM = 4
/** Light beside a line is the middle of what lies within this, mm. */
const BESIDE_MM = 0.5
/** A line stands out of its solid's scatter by so many times, and of each strip's alone by so many. */
const LEAST_SIGMAS = 8
const LEAST_SIGMAS_EACH = 2.5
/** It lets through this share of clear light where it is lightest, and twice what the solid beside it does: bands do not. */
const LEAST_SHARE = 0.002
const LEAST_TIMES = 1
/** It is seen no wider than this where half its light is left, mm: an open nozzle line and the blur of a coarse scan. */
const WIDEST_MM = 0.3
/** It runs through all strips of the solid but one, and in each it is this even: a scratch as square as that is rare. */
const MOST_MISSED = 1
const MOST_UNEVEN = 4

/**
 * Lines that lost nozzles leave in the rail and the solids of the control strips in view: there both directions of the print are known, and the light
 * of a whole line can be summed, so that one is found that ink has all but closed. Needs no code to have been read.
 * @param span light of clear film less that of solids
 */
export function lostNozzles(
  { scan, strips }: Pick<LocatedScan, 'strips'> & { readonly scan: SeenLight },
  span: number,
): NozzleLine[] {
  return strips.flatMap(({ form, map }) =>
    stripLayout(form, 'head', null).fields.flatMap((field): NozzleLine[] => {
      if (field.kind !== 'rail' && field.kind !== 'solid') return []
      const place = mappedArea(field.rect, map, scan, MARGIN_MM, LEAST_LENGTH_MM)
      if (place === null) return []
      const area: SolidArea = { id: field.kind, ...place }
      const { first, second } = readSolidField(scan, area)
      return [
        ...linesIn(first, span).map(line => laid(line, area, 'first', scan)),
        ...linesIn(second, span).map(line => laid(line, area, 'second', scan)),
      ]
    }),
  )
}

/** Where a line crosses a profile, mm from its middle, and how wide it is open. */
interface Crossing {
  readonly at: number
  readonly openMm: number
}

function linesIn({ strips, stepMm }: StripLight, span: number): Crossing[] {
  const n = strips[0]!.length
  const reach = Math.max(3, Math.round(BESIDE_MM / stepMm))
  const most = Math.ceil(WIDEST_MM / stepMm)
  if (n < 2 * reach) return []
  const mean = Float64Array.from({ length: n }, (_, i) => strips.reduce((sum, s) => sum + s[i]!, 0) / strips.length)
  const level = beside(mean, reach)
  const over = mean.map((value, i) => value - level[i]!)
  const least = Math.max(LEAST_SIGMAS * robustDeviation(over), LEAST_SHARE * span)
  const each = strips.map(strip => {
    const own = beside(strip, reach)
    const above = strip.map((value, i) => value - own[i]!)
    return { above, least: LEAST_SIGMAS_EACH * robustDeviation(above) }
  })
  const found: Crossing[] = []
  for (let i = 1; i < n - 1; i++) {
    const top = over[i]!
    if (!(top > least && top > LEAST_TIMES * level[i]! && top >= over[i - 1]! && top > over[i + 1]!)) continue
    let from = i
    let to = i
    while (from > 0 && over[from - 1]! > top / 2) from--
    while (to < n - 1 && over[to + 1]! > top / 2) to++
    // Both flanks are in view, and near.
    if (from === 0 || to === n - 1 || to - from + 1 > most) continue
    const heights = each.map(({ above }) => Math.max(above[i - 1]!, above[i]!, above[i + 1]!))
    const through = heights.filter((height, k) => height > each[k]!.least)
    if (through.length < strips.length - MOST_MISSED || Math.max(...through) > MOST_UNEVEN * Math.min(...through))
      continue
    let open = 0
    for (let k = Math.max(0, i - most); k <= Math.min(n - 1, i + most); k++)
      open += (Math.max(0, over[k]!) / span) * stepMm
    found.push({ at: (i + 0.5 - n / 2) * stepMm, openMm: open })
    i = to
  }
  return found
}

/** The middle value within a reach of each sample. */
function beside(values: Float64Array, reach: number): Float64Array {
  return values.map((_, i) => median(values.subarray(Math.max(0, i - reach), i + reach + 1)))
}

function laid(
  { at, openMm }: Crossing,
  area: SolidArea,
  axis: 'first' | 'second',
  { umPerPixel }: Pick<DensityScan, 'umPerPixel'>,
): NozzleLine {
  const angle = (area.turn * Math.PI) / 180
  const half = (axis === 'first' ? area.second : area.first) / 2
  const place = (along: number, across: number): PixelPoint => {
    const [s, t] = axis === 'first' ? [along, across] : [across, along]
    return {
      column: (1000 * (area.x + s * Math.cos(angle) - t * Math.sin(angle))) / umPerPixel.across,
      row: (1000 * (area.y + s * Math.sin(angle) + t * Math.cos(angle))) / umPerPixel.along,
    }
  }
  return { from: place(at, -half), to: place(at, half), openMm2: openMm * 2 * half }
}
