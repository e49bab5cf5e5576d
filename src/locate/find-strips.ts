import type { BlockOverview } from '../imaging/block-overview.js'
import { fitSimilarity, mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { StripField, StripForm, StripLayout } from '../model/strip.js'
import { stripLayout } from '../strip/strip-layout.js'
import { type Bar, findBars } from './find-bars.js'

/** A strip as the overview shows it: which form, and roughly where. */
export interface FoundStrip {
  readonly form: StripForm
  /** Strip, mm, to scan, mm (column and row times the pixel's length); good to a tenth of a millimetre. */
  readonly map: PlaneMap
  /** Whether its y axis is turned against its x axis the other way round than in print: the film lies on its other side. */
  readonly mirrored: boolean
  /** Marks that were found of those it has. */
  readonly marks: number
  /** Share of places that are as the strip has them: ink where it has ink, clear film where it is clear. */
  readonly likeness: number
}

const FORMS: readonly StripForm[] = ['standard', 'short', 'ladder']
/** Two bars are of one strip when they lie alike to this, radians and mm, and their distance is right to this, mm and share. */
const PARALLEL = 0.03
const LEVEL_MM = 0.5
const DISTANCE_MM = 0.3
const DISTANCE_SHARE = 0.004
/** A bar found this near to where the strip has one is that one, mm. */
const SAME_BAR_MM = 0.7
/** Places of the layout that are looked at lie this far apart and off every edge, mm. */
const GRID_MM = 0.5
const CLEAR_OF_EDGES_MM = 0.35
/** Blocks darker than this share of clear film count as ink, lighter than that as clear. */
const INK_BELOW = 0.4
const CLEAR_ABOVE = 0.7
/** A strip has at least so much of its ink and its clear film where they belong, as far as it is in view; scratches and a lost mark take a tenth. */
const LEAST_LIKENESS = 0.8
/** At least so much of it is in view: less has too few fields to be told by. */
const LEAST_IN_VIEW = 0.35
/** Strips in one view: a ladder's sheet has some dozens. */
const MOST_STRIPS = 100

/** What the overview must show of a layout, mm on the strip. */
interface Template {
  readonly form: StripForm
  readonly marks: readonly { readonly x: number; readonly y: number }[]
  /** Worked out when first asked for: most pages have no strip, and none has all forms. */
  readonly places: () => TemplatePlaces
}

interface TemplatePlaces {
  readonly ink: readonly (readonly [number, number])[]
  readonly clear: readonly (readonly [number, number])[]
}

let templates: readonly Template[] | null = null

/**
 * Control strips on the overview, anywhere, at any turn, mirrored or not, likeliest first. Two locating bars at a distance that only one pair of
 * one form has tell form and place; the long solid on one side tells mirrored from not, the marks' uneven distances tell which end is which. What the
 * marks promise is then held against all that is in view.
 * @param clear light of clear film (or of what is brightest, when that is not known), above 0
 */
export function findStrips(
  overview: BlockOverview,
  umPerPixel: { readonly across: number; readonly along: number },
  clear: number,
): FoundStrip[] {
  if (!(clear > 0)) return []
  templates ??= FORMS.map(form => template(stripLayout(form, 'head', null)))
  const size = markSize()
  const bars = findBars(overview, umPerPixel, clear, size)
  const seen = lookUp(overview, umPerPixel)
  const candidates: (FoundStrip & { bars: readonly Bar[] })[] = []
  for (let i = 0; i < bars.length; i++)
    for (let j = i + 1; j < bars.length; j++) {
      const one = bars[i]!
      const two = bars[j]!
      if (!(Math.abs(one.dx * two.dy - one.dy * two.dx) < PARALLEL)) continue
      const ox = two.x - one.x
      const oy = two.y - one.y
      if (!(Math.abs(ox * one.dx + oy * one.dy) < LEVEL_MM + PARALLEL * Math.hypot(ox, oy))) continue
      const distance = Math.hypot(ox, oy)
      for (const form of templates)
        for (const [a, b] of pairsAt(form, distance))
          for (const [first, second] of [
            [one, two],
            [two, one],
          ] as const)
            for (const mirrored of [false, true]) {
              const rough = mapOf(form.marks[a]!, form.marks[b]!, first, second, mirrored)
              if (likeness(form, rough, seen, clear, 4) === null) continue
              const { map, used } = refined(form, rough, bars, mirrored)
              const alike = likeness(form, map, seen, clear, 1)
              if (alike !== null)
                candidates.push({ form: form.form, map, mirrored, marks: used.length, likeness: alike, bars: used })
            }
    }
  // Each bar belongs to one strip: the one that explains most, then the likeliest.
  candidates.sort((a, b) => b.marks - a.marks || b.likeness - a.likeness)
  const taken = new Set<Bar>()
  const found: FoundStrip[] = []
  for (const { bars: used, ...strip } of candidates) {
    if (found.length >= MOST_STRIPS) break
    if (used.some(bar => taken.has(bar))) continue
    for (const bar of used) taken.add(bar)
    found.push(strip)
  }
  return found.sort((a, b) => b.likeness - a.likeness)
}

function markSize(): { readonly length: number; readonly width: number } {
  const { rect } = stripLayout('standard', 'head', null).fields.find(field => field.kind === 'mark')!
  return { length: Math.max(rect.width, rect.height), width: Math.min(rect.width, rect.height) }
}

function template(layout: StripLayout): Template {
  const marks = layout.fields
    .filter(field => field.kind === 'mark')
    .map(({ rect }) => ({ x: rect.x + rect.width / 2, y: rect.y + rect.height / 2 }))
  let places: TemplatePlaces | null = null
  return { form: layout.form, marks, places: () => (places ??= placesOf(layout)) }
}

function placesOf(layout: StripLayout): TemplatePlaces {
  const inked = layout.fields.filter(({ kind }) => kind === 'mark' || kind === 'rail' || kind === 'solid')
  const printed = layout.fields.filter(({ kind }) => kind !== 'clear').map(extent)
  const within = (r: StripField['rect'], x: number, y: number, by: number) =>
    x > r.x + by && y > r.y + by && x < r.x + r.width - by && y < r.y + r.height - by
  const ink: [number, number][] = []
  const clear: [number, number][] = []
  for (let y = GRID_MM / 2; y < layout.height; y += GRID_MM)
    for (let x = GRID_MM / 2; x < layout.width; x += GRID_MM) {
      if (inked.some(field => within(field.rect, x, y, CLEAR_OF_EDGES_MM))) ink.push([x, y])
      else if (
        within({ x: 0, y: 0, width: layout.width, height: layout.height }, x, y, CLEAR_OF_EDGES_MM) &&
        !printed.some(rect => within(rect, x, y, -CLEAR_OF_EDGES_MM))
      )
        clear.push([x, y])
    }
  return { ink, clear }
}

/** A field with all that is printed of it. */
function extent(field: StripField): StripField['rect'] {
  return field.kind === 'line' ? field.plate : field.rect
}

function pairsAt({ marks }: Template, distance: number): [number, number][] {
  const pairs: [number, number][] = []
  for (let a = 0; a < marks.length; a++)
    for (let b = a + 1; b < marks.length; b++) {
      const own = marks[b]!.x - marks[a]!.x
      if (Math.abs(own - distance) < DISTANCE_MM + DISTANCE_SHARE * own) pairs.push([a, b])
    }
  return pairs
}

/** The strip laid by two of its marks, at its own size. */
function mapOf(
  a: { readonly x: number; readonly y: number },
  b: { readonly x: number; readonly y: number },
  first: Bar,
  second: Bar,
  mirrored: boolean,
): PlaneMap {
  const length = Math.hypot(second.x - first.x, second.y - first.y)
  const ux = (second.x - first.x) / length
  const uy = (second.y - first.y) / length
  const side = mirrored ? -1 : 1
  const axes = { xx: ux, yx: uy, xy: -uy * side, yy: ux * side }
  const mx = (a.x + b.x) / 2
  const my = (a.y + b.y) / 2
  return {
    ...axes,
    x0: (first.x + second.x) / 2 - axes.xx * mx - axes.xy * my,
    y0: (first.y + second.y) / 2 - axes.yx * mx - axes.yy * my,
  }
}

/** The strip laid by all of its marks that were found. */
function refined(
  form: Template,
  rough: PlaneMap,
  bars: readonly Bar[],
  mirrored: boolean,
): { map: PlaneMap; used: Bar[] } {
  const side = mirrored ? -1 : 1
  const used: Bar[] = []
  const pairs = form.marks.flatMap(mark => {
    const at = mapped(rough, mark.x, mark.y)
    const bar = bars.find(one => Math.hypot(one.x - at.x, one.y - at.y) < SAME_BAR_MM)
    if (bar === undefined) return []
    used.push(bar)
    return [{ fromX: mark.x, fromY: side * mark.y, toX: bar.x, toY: bar.y }]
  })
  if (pairs.length < 2) return { map: rough, used }
  const { scale, turn, shiftX, shiftY } = fitSimilarity(pairs)
  const cos = scale * Math.cos((turn * Math.PI) / 180)
  const sin = scale * Math.sin((turn * Math.PI) / 180)
  return { map: { xx: cos, yx: sin, xy: -sin * side, yy: cos * side, x0: shiftX, y0: shiftY }, used }
}

/** Light of the overview at a place of the scan, mm; null outside. */
function lookUp(
  { columns, rows, light, blockPx }: BlockOverview,
  umPerPixel: { readonly across: number; readonly along: number },
): (x: number, y: number) => number | null {
  const perX = 1000 / umPerPixel.across / blockPx
  const perY = 1000 / umPerPixel.along / blockPx
  const half = 0.5 / blockPx
  return (x, y) => {
    const c = Math.floor(x * perX + half)
    const r = Math.floor(y * perY + half)
    return c < 0 || r < 0 || c >= columns || r >= rows ? null : light[r * columns + c]!
  }
}

/** Share of the layout's places that are as they should be, the worse of ink and clear; null when it is not this strip. Looks at every `stride`-th place. */
function likeness(
  form: Template,
  map: PlaneMap,
  seen: (x: number, y: number) => number | null,
  clear: number,
  stride: number,
): number | null {
  let share = 1
  const expected = form.places()
  for (const [places, right] of [
    [expected.ink, (light: number) => light < INK_BELOW * clear],
    [expected.clear, (light: number) => light > CLEAR_ABOVE * clear],
  ] as const) {
    let inView = 0
    let good = 0
    let looked = 0
    for (let i = 0; i < places.length; i += stride) {
      const [x, y] = places[i]!
      const light = seen(map.x0 + map.xx * x + map.xy * y, map.y0 + map.yx * x + map.yy * y)
      looked++
      if (light === null) continue
      inView++
      if (right(light)) good++
    }
    if (!(inView >= LEAST_IN_VIEW * looked)) return null
    share = Math.min(share, good / inView)
  }
  return share >= LEAST_LIKENESS ? share : null
}
