import { blockCentre } from '../imaging/block-overview.js'
import { labelComponents } from '../imaging/label-components.js'
import { median } from '../imaging/robust.js'
import type { PixelPoint } from '../model/geometry.js'
import { SOLID } from './find-light.js'
import type { LocatedScan } from './locate-scan.js'

/** A patch of the row that was found. */
export interface RowPatch {
  /** From 0, the lightest first. */
  readonly index: number
  /** Its middle on the scan. */
  readonly centre: PixelPoint
}

export type FoundRow =
  | { readonly kind: 'found'; readonly patches: readonly RowPatch[]; readonly notes: readonly string[] }
  | { readonly kind: 'notFound'; readonly because: string }

/** A patch lies within this share of the pitch of its place. Printers feed within a percent; hands cut and tape worse. */
const PLACED_WITHIN = 0.15
/** The pitch itself is right within this share: printers feed within a percent. */
const PITCH_WITHIN = 0.05
/** At least so much of the row must be seen, or it may be any two patches. */
const FEWEST_SHARE = 0.5
/** A patch is at least 1.6 mm wide: a measured square with its margins. */
const LEAST_PATCH_MM = 1.6
/** Between the lighter and the darker half of the row, D: less does not tell which end is which. */
const LEAST_RISE = 0.05

/**
 * Finds a row or column of plain patches by itself, at any turn and either way round: the straight line of `count` places, a pitch
 * apart, on which most inked areas lie. The darker end is the last. Patches lighter than D 0.4 above base are not seen; where
 * the row is short they are taken to be missing at the light end, and a note says so.
 */
export function findPatchRow(located: LocatedScan, count: number, pitchMm: number): FoundRow {
  const areas = inkedAreas(located, pitchMm)
  if (areas.length < 2)
    return { kind: 'notFound', because: `${areas.length} inked areas of the size of a patch were seen` }
  let best: { members: Map<number, Area>; score: number } | null = null
  for (const a of areas)
    for (const b of areas) {
      const distance = Math.hypot(b.x - a.x, b.y - a.y)
      const steps = Math.round(distance / pitchMm)
      if (
        a === b ||
        steps < 1 ||
        steps >= count ||
        Math.abs(distance - steps * pitchMm) > PITCH_WITHIN * steps * pitchMm
      )
        continue
      const dx = (b.x - a.x) / steps
      const dy = (b.y - a.y) / steps
      const { members, score } = membersOf(areas, a, dx, dy, pitchMm)
      const indices = [...members.keys()]
      if (Math.max(...indices) - Math.min(...indices) >= count) continue
      if (best === null || score > best.score) best = { members, score }
    }
  if (best === null || best.members.size < Math.max(2, FEWEST_SHARE * count))
    return {
      kind: 'notFound',
      because: `no straight row of ${count} patches ${pitchMm} mm apart was seen; ${best?.members.size ?? 0} patches lie in a row`,
    }
  const seen = [...best.members].sort(([a], [b]) => a - b)
  const half = Math.floor(seen.length / 2)
  const densities = seen.map(([, area]) => area.density)
  const rise = median(densities.slice(-half)) - median(densities.slice(0, half))
  if (!(Math.abs(rise) > LEAST_RISE))
    return {
      kind: 'notFound',
      because: 'both ends of the row are as dark, so it is not known which is the first patch',
    }
  const forwards = rise > 0
  const dark = forwards ? seen.at(-1)![0] : seen[0]![0]
  const patches = seen
    .map(([step, area]) => ({
      index: count - 1 - Math.abs(dark - step),
      centre: { column: area.column, row: area.row },
    }))
    .sort((a, b) => a.index - b.index)
  const missing = patches[0]!.index
  return {
    kind: 'found',
    patches,
    notes:
      missing === 0
        ? []
        : [
            `Only ${patches.length} of ${count} patches were seen: the ${missing === 1 ? 'lightest is' : `${missing} lightest are`} taken to be too light to tell from clear film.`,
          ],
  }
}

interface Area {
  /** Middle, mm on the scan and pixels. */
  readonly x: number
  readonly y: number
  readonly column: number
  readonly row: number
  readonly density: number
}

/** Connected inked areas no larger than a patch of this pitch may be. */
function inkedAreas({ overview, regions, scan }: LocatedScan, pitchMm: number): readonly Area[] {
  const { columns, rows, blockPx } = overview
  const marks = regions.labels.map(label => (label === SOLID ? 1 : 0))
  const { labels, groups } = labelComponents(marks, columns, rows)
  const mm = { across: (blockPx * scan.umPerPixel.across) / 1000, along: (blockPx * scan.umPerPixel.along) / 1000 }
  return groups.flatMap(group => {
    const size = group.cells * mm.across * mm.along
    // Turned by 45 degrees a square reaches half as far again.
    const reach = Math.max((group.right - group.left + 1) * mm.across, (group.bottom - group.top + 1) * mm.along)
    if (size < (LEAST_PATCH_MM / 2) ** 2 || reach > 1.5 * pitchMm || reach < LEAST_PATCH_MM) return []
    let column = 0
    let row = 0
    let light = 0
    for (let r = group.top; r <= group.bottom; r++)
      for (let c = group.left; c <= group.right; c++) {
        const i = r * columns + c
        if (labels[i] !== group.label) continue
        column += c
        row += r
        light += overview.light[i]!
      }
    const at = {
      column: blockCentre(overview, column / group.cells),
      row: blockCentre(overview, row / group.cells),
    }
    return [
      {
        ...at,
        x: (at.column * scan.umPerPixel.across) / 1000,
        y: (at.row * scan.umPerPixel.along) / 1000,
        density: -Math.log10(Math.max(light / group.cells, 1e-6)),
      },
    ]
  })
}

/** The areas on a line of places, by their step from the first; of two at one place the nearer. The score counts each by how well it lies. */
function membersOf(areas: readonly Area[], a: Area, dx: number, dy: number, pitchMm: number) {
  const members = new Map<number, Area>()
  const offs = new Map<number, number>()
  for (const area of areas) {
    const step = Math.round(((area.x - a.x) * dx + (area.y - a.y) * dy) / (dx * dx + dy * dy))
    const off = Math.hypot(area.x - a.x - step * dx, area.y - a.y - step * dy)
    if (off > PLACED_WITHIN * pitchMm || off >= (offs.get(step) ?? Number.POSITIVE_INFINITY)) continue
    members.set(step, area)
    offs.set(step, off)
  }
  const score = [...offs.values()].reduce((sum, off) => sum + 1 - (off / (PLACED_WITHIN * pitchMm)) ** 2, 0)
  return { members, score }
}
