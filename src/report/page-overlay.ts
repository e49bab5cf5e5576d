import type Handlebars from 'handlebars'
import type { MeasuredScan, Outline } from '../model/measured.js'
import { placeTag } from './place-tag.js'
import { safe } from './render-template.js'
import type { WorstPlace } from './worst-places.js'

/** What lies over the page picture: lines as SVG, names as text that keeps its size at any width. */
export interface PageOverlay {
  readonly lines: Handlebars.SafeString
  readonly tags: readonly {
    readonly text: string
    /** Per cent of the picture. */
    readonly left: string
    readonly top: string
    readonly worst: boolean
  }[]
  /** Kinds present, for the legend. */
  readonly kinds: readonly { readonly kind: Outline['kind']; readonly words: string; readonly path: string }[]
}

/** More names than this hide the picture: then only edges and the worst places are named on it. */
const MOST_TAGS = 48

/** Radius of the ring about a worst place, share of the picture's longer side. */
const RING = 0.028

const WORDS: Readonly<Record<Outline['kind'], string>> = {
  solid: 'S solids, T the thinnest',
  base: 'B film base',
  edge: 'E edges',
  film: 'the film',
  openLight: 'open light',
  holder: 'holder',
  artwork: 'the artwork’s page',
  strip: 'the control strip, C its places',
}

/** How a kind looks in the legend: patches as their marks, all else as its line. */
const KEYS: Readonly<Partial<Record<Outline['kind'], string>>> = {
  solid: 'M9 2H17V10H9Z',
  base: 'M8 6A5 5 0 1 0 18 6A5 5 0 1 0 8 6Z',
}

/** Outlines what was measured on the page, with the worst places ringed. Numbers and fixed words only. */
export function pageOverlay(measured: MeasuredScan, worst: readonly WorstPlace[]): PageOverlay {
  const { width, height } = measured.header
  const outlines = [...measured.outlines]
  for (const edge of measured.edges)
    if (!outlines.some(outline => outline.id === edge.id))
      outlines.push({ id: edge.id, kind: 'edge', corners: [edge.from, edge.to] })
  const order: Outline['kind'][] = ['openLight', 'holder', 'film', 'artwork', 'strip', 'base', 'solid', 'edge']
  outlines.sort((a, b) => order.indexOf(a.kind) - order.indexOf(b.kind))
  const longer = Math.max(width, height)
  const shapes = outlines.map(outline => {
    const mark = markOf(outline, longer)
    if (mark !== null) return mark
    const corners = outline.corners.map(corner => `${corner.column.toFixed(1)},${corner.row.toFixed(1)}`).join(' ')
    const name = outline.corners.length > 2 ? 'polygon' : 'polyline'
    return `<${name} class="casing" points="${corners}"/><${name} class="${outline.kind}" points="${corners}"/>`
  })
  const radius = RING * longer
  const rings = worst.map(place => {
    const at = `cx="${place.part.place.column.toFixed(1)}" cy="${place.part.place.row.toFixed(1)}" r="${radius.toFixed(1)}"`
    return `<circle class="casing" ${at}/><circle class="worst" ${at}/>`
  })
  const named = outlines.filter(outline => /^(solid|base|edge)$/.test(outline.kind))
  const isWorst = (id: string) => worst.some(place => place.part.id === id)
  const edges = named.filter(outline => outline.kind === 'edge')
  const crowded = named.length > MOST_TAGS
  const tagged = crowded
    ? named.filter(outline => isWorst(outline.id) || (outline.kind === 'edge' && edges.length <= MOST_TAGS))
    : named
  return {
    lines: safe(
      `<svg class="overlay" viewBox="0 0 ${width} ${height}" preserveAspectRatio="none" aria-hidden="true">${shapes.join('')}${rings.join('')}</svg>`,
    ),
    tags: tagged.map(outline => {
      const middle = middleOf(outline)
      return {
        text: placeTag(outline.id),
        left: percent(middle.column / width),
        top: percent(middle.row / height),
        worst: isWorst(outline.id),
      }
    }),
    kinds: order
      .filter(kind => outlines.some(outline => outline.kind === kind))
      .map(kind => ({ kind, words: WORDS[kind], path: KEYS[kind] ?? 'M1 6H25' })),
  }
}

/** A patch smaller than this share of the page is shown as a mark of a size that can be seen. */
const SMALL = 0.03
const MARK = 0.0065

/** A small patch as a square (solid) or a ring (base) at its place; null for what is large enough to be outlined. */
function markOf(outline: Outline, longer: number): string | null {
  if (outline.kind !== 'solid' && outline.kind !== 'base') return null
  const columns = outline.corners.map(corner => corner.column)
  const rows = outline.corners.map(corner => corner.row)
  const size = Math.max(Math.max(...columns) - Math.min(...columns), Math.max(...rows) - Math.min(...rows))
  if (!(size < SMALL * longer)) return null
  const { column, row } = middleOf(outline)
  const half = Math.max(size / 2, MARK * longer)
  const drawn = (name: string) =>
    outline.kind === 'base'
      ? `<circle class="${name}" cx="${column.toFixed(1)}" cy="${row.toFixed(1)}" r="${half.toFixed(1)}"/>`
      : `<rect class="${name}" x="${(column - half).toFixed(1)}" y="${(row - half).toFixed(1)}" width="${(2 * half).toFixed(1)}" height="${(2 * half).toFixed(1)}"/>`
  return `${drawn('casing')}${drawn(`${outline.kind} mark`)}`
}

function middleOf(outline: Outline): { column: number; row: number } {
  let column = 0
  let row = 0
  for (const corner of outline.corners) {
    column += corner.column / outline.corners.length
    row += corner.row / outline.corners.length
  }
  return { column, row }
}

/** Kept a little inside so that a name at the rim is not cut. */
function percent(share: number): string {
  return (100 * Math.min(0.98, Math.max(0.02, share))).toFixed(2)
}
