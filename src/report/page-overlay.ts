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
  readonly kinds: readonly { readonly kind: Outline['kind']; readonly words: string }[]
}

/** More names than this hide the picture: then only the worst places are named on it. */
const MOST_TAGS = 48

/** Radius of the ring about a worst place, share of the picture's longer side. */
const RING = 0.028

const WORDS: Readonly<Record<Outline['kind'], string>> = {
  solid: 'S solids',
  base: 'B film base',
  edge: 'E edges',
  film: 'the film',
  openLight: 'open light',
  holder: 'holder',
}

/** Outlines what was measured on the page, with the worst places ringed. Numbers and fixed words only. */
export function pageOverlay(measured: MeasuredScan, worst: readonly WorstPlace[]): PageOverlay {
  const { width, height } = measured.header
  const outlines = [...measured.outlines]
  for (const edge of measured.edges)
    if (!outlines.some(outline => outline.id === edge.id))
      outlines.push({ id: edge.id, kind: 'edge', corners: [edge.from, edge.to] })
  const order: Outline['kind'][] = ['openLight', 'holder', 'film', 'base', 'solid', 'edge']
  outlines.sort((a, b) => order.indexOf(a.kind) - order.indexOf(b.kind))
  const shapes = outlines.map(outline => {
    const corners = outline.corners.map(corner => `${corner.column.toFixed(1)},${corner.row.toFixed(1)}`).join(' ')
    const name = outline.corners.length > 2 ? 'polygon' : 'polyline'
    return `<${name} class="casing" points="${corners}"/><${name} class="${outline.kind}" points="${corners}"/>`
  })
  const radius = RING * Math.max(width, height)
  const rings = worst.map(place => {
    const at = `cx="${place.part.place.column.toFixed(1)}" cy="${place.part.place.row.toFixed(1)}" r="${radius.toFixed(1)}"`
    return `<circle class="casing" ${at}/><circle class="worst" ${at}/>`
  })
  const named = outlines.filter(outline => /^(solid|base|edge)$/.test(outline.kind))
  const isWorst = (id: string) => worst.some(place => place.part.id === id)
  const tagged = named.length > MOST_TAGS ? named.filter(outline => isWorst(outline.id)) : named
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
      .map(kind => ({ kind, words: WORDS[kind] })),
  }
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
