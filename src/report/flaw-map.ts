import type Handlebars from 'handlebars'
import type { FlawKind } from '../model/flaw.js'
import type { MeasuredScan } from '../model/measured.js'
import { safe } from './render-template.js'

/** Half the side of a mark, share of the page's longer side: seen at arm's length, small beside a letter. */
const MARK = 0.011
/** Flaws numbered on the map: those of the crops and a few more. */
const MOST_NUMBERS = 12

/** The page with every listed flaw marked by the shape of its kind, the largest numbered. */
export function flawMap(measured: MeasuredScan) {
  const { page, flaws, header } = measured
  const list = flaws?.list ?? []
  const half = MARK * Math.max(header.width, header.height)
  const marks = list.map(flaw => {
    const path = shape(flaw.kind, flaw.place.column, flaw.place.row, half)
    return `<path class="casing" d="${path}"/><path class="flaw" d="${path}"/>`
  })
  // The most severe lies on top.
  const lines = safe(
    `<svg class="overlay" viewBox="0 0 ${header.width} ${header.height}" preserveAspectRatio="none" aria-hidden="true">${marks.reverse().join('')}</svg>`,
  )
  return {
    source: `data:image/png;base64,${page.pngBase64}`,
    width: page.width,
    height: page.height,
    aspect: (page.width / page.height).toFixed(4),
    tall: page.height > page.width,
    alt: `The page with ${list.length} flaws marked`,
    lines,
    tags: list.slice(0, MOST_NUMBERS).map((flaw, k) => ({
      text: String(k + 1),
      left: percent((flaw.place.column + 2 * half) / header.width),
      top: percent((flaw.place.row - half) / header.height),
    })),
  }
}

/** The mark of a kind, for legend and table. */
export function flawMark(kind: FlawKind): Handlebars.SafeString {
  return safe(
    `<svg class="flaw-mark" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true"><path class="flaw" d="${shape(kind, 8, 8, 6)}"/></svg>`,
  )
}

/** Each kind its own shape, so that grey print tells them apart: ring, slash, bar, dashed square, cross, wave. */
function shape(kind: FlawKind, x: number, y: number, h: number): string {
  const at = (dx: number, dy: number) => `${(x + dx * h).toFixed(1)} ${(y + dy * h).toFixed(1)}`
  const r = h.toFixed(1)
  if (kind === 'pinhole') return `M${at(-1, 0)}A${r} ${r} 0 1 0 ${at(1, 0)}A${r} ${r} 0 1 0 ${at(-1, 0)}Z`
  if (kind === 'scratch') return `M${at(-1, 1)}L${at(1, -1)}M${at(-1, 0.3)}L${at(0.3, -1)}`
  if (kind === 'missingNozzle') return `M${at(-0.4, -1)}L${at(-0.4, 1)}M${at(0.4, -1)}L${at(0.4, 1)}`
  if (kind === 'thinSpot') return `M${at(-1, -1)}L${at(1, -1)}L${at(1, 1)}L${at(-1, 1)}Z`
  if (kind === 'speck') return `M${at(-1, -1)}L${at(1, 1)}M${at(1, -1)}L${at(-1, 1)}`
  return `M${at(-1, 0)}Q${at(-0.5, -1.4)} ${at(0, 0)}T${at(1, 0)}`
}

function percent(share: number): string {
  return (100 * Math.min(0.97, Math.max(0.02, share))).toFixed(2)
}
