import { fullWindows } from '../imaging/full-windows.js'
import { median } from '../imaging/robust.js'
import type { ScannerScale } from '../model/artwork.js'
import type { LengthDoubts } from '../model/length-doubts.js'
import type { DensityScan } from '../model/light.js'
import type { LaidStrip, StripLayout, StripRect } from '../model/strip.js'
import type { ReadPatch } from './film-evidence.js'
import { type LeftOutEdge, type MeasuredEdge, measureEdge } from './measured-edge.js'
import { patchDensity } from './patch-density.js'
import { readPatch } from './read-patch.js'
import { scaleErrors } from './scale-errors.js'
import type { FilmRipple } from './solid-ripple.js'
import { stripEdges } from './strip-edges.js'
import { type LostLine, type MeasuredLine, stripLines } from './strip-lines.js'
import { type StripScreen, stripScreen } from './strip-screen.js'
import { type MeasuredTone, stripTones } from './strip-tones.js'

/** Everything the readings of a control strip are taken from: each field read once, where the layout has it. */
export interface StripEvidence {
  readonly laid: LaidStrip
  readonly solids: readonly ReadPatch[]
  readonly clears: readonly ReadPatch[]
  readonly edges: readonly MeasuredEdge[]
  readonly leftOut: readonly LeftOutEdge[]
  readonly screen: StripScreen | null
  /** Whether its tints were left as grey for the shop's own screening. */
  readonly tones: readonly MeasuredTone[]
  readonly lines: readonly MeasuredLine[]
  readonly lost: readonly LostLine[]
  /** Ripple of its rail and solids; absent where nobody looked for it. */
  readonly ripple?: FilmRipple
  /** What is known of the scanner's own scale. */
  readonly scale: ScannerScale
}

/** Side of a patch, its distance from the next and from the field's rim, um. */
const PATCH_UM = 1000
const MARGIN_UM = 300
const MOST_PATCHES = 6

/** Reads all fields of a strip. */
export function gatherStrip(
  scan: DensityScan,
  laid: LaidStrip,
  layout: StripLayout,
  scale: ScannerScale,
  doubts: LengthDoubts,
): StripEvidence {
  const errors = scaleErrors(doubts.steps)
  const patches = (kind: 'solid' | 'clear'): ReadPatch[] =>
    layout.fields
      .flatMap(field => (field.kind === kind ? squaresIn(field.rect, laid, scan) : []))
      .map(
        (rect, i): ReadPatch => ({
          id: `strip-${kind === 'solid' ? 'solid' : 'base'}-${i + 1}`,
          kind: kind === 'solid' ? 'solid' : 'base',
          area: 1,
          rect,
          codes: readPatch(scan.scan, rect),
        }),
      )
  const solids = patches('solid')
  const clears = patches('clear')
  const edges: MeasuredEdge[] = []
  const leftOut: LeftOutEdge[] = []
  for (const edge of stripEdges(layout, laid.map, scan.umPerPixel)) {
    const measured = measureEdge(scan, edge, `strip-edge-${edges.length + 1}`, errors)
    if ('because' in measured) leftOut.push(measured)
    else edges.push(measured)
  }
  const screen = stripScreen(scan, layout, laid.map, laid.stretch)
  const { lines, lost } =
    edges.length === 0
      ? { lines: [], lost: [] }
      : stripLines(
          scan,
          layout,
          laid.map,
          {
            clear: median(edges.map(edge => edge.spread.clear)),
            net: netDensity(scan, solids, clears, edges),
            seenRise: median(edges.map(edge => edge.seen.width)),
          },
          errors,
        )
  return {
    laid,
    solids,
    clears,
    edges,
    leftOut,
    screen,
    tones: stripTones(scan, layout, laid.map, screen, errors),
    lines,
    lost,
    scale,
  }
}

/** Density of the strip's ink above its base; beyond what the scanner tells, its best guess. */
function netDensity(
  scan: DensityScan,
  solids: readonly ReadPatch[],
  clears: readonly ReadPatch[],
  edges: readonly MeasuredEdge[],
): number {
  if (solids.length === 0 || clears.length === 0) return median(edges.map(edge => edge.fit.ink.net))
  const guess = (list: readonly ReadPatch[]) => median(list.map(patch => patchDensity(scan, patch).guess))
  return Math.min(MOST_NET, Math.max(LEAST_NET, guess(solids) - guess(clears)))
}

/** Light below 10^-4.5 moves no edge (edge-model.ts), and what is lighter than 0.3 is no ink. */
const MOST_NET = 4.5
const LEAST_NET = 0.3

/** Whole-pixel squares of 1.0 mm that lie in a field of the strip, clear of its rim, spread over it. */
function squaresIn(field: StripRect, { map }: LaidStrip, scan: DensityScan) {
  const { umPerPixel } = scan
  const width = Math.round(PATCH_UM / umPerPixel.across)
  const height = Math.round(PATCH_UM / umPerPixel.along)
  const margin = MARGIN_UM / 1000
  const corners = [
    [field.x, field.y],
    [field.x + field.width, field.y],
    [field.x, field.y + field.height],
    [field.x + field.width, field.y + field.height],
  ].map(([x, y]) => ({ x: map.x0 + map.xx * x! + map.xy * y!, y: map.y0 + map.yx * x! + map.yy * y! }))
  // A grid of eighths of a patch over the field's window: cells whose middles lie inside, then squares that fit.
  const stepX = width / 8
  const stepY = height / 8
  const left = Math.max(0, Math.ceil(Math.min(...corners.map(c => c.x))))
  const top = Math.max(0, Math.ceil(Math.min(...corners.map(c => c.y))))
  const right = Math.min(scan.scan.header.width, Math.floor(Math.max(...corners.map(c => c.x))))
  const bottom = Math.min(scan.scan.header.height, Math.floor(Math.max(...corners.map(c => c.y))))
  const columns = Math.floor((right - left) / stepX)
  const rows = Math.floor((bottom - top) / stepY)
  if (!(columns >= 9 && rows >= 9)) return []
  const determinant = map.xx * map.yy - map.xy * map.yx
  const inside = new Uint8Array(columns * rows)
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      const px = left + (c + 0.5) * stepX - 0.5 - map.x0
      const py = top + (r + 0.5) * stepY - 0.5 - map.y0
      const x = (map.yy * px - map.xy * py) / determinant
      const y = (map.xx * py - map.yx * px) / determinant
      if (
        x > field.x + margin &&
        y > field.y + margin &&
        x < field.x + field.width - margin &&
        y < field.y + field.height - margin
      )
        inside[r * columns + c] = 1
    }
  const fits = fullWindows(inside, columns, rows, 9, 9)
  const places: { r: number; c: number }[] = []
  for (let i = 0; i < fits.length; i++) if (fits[i] === 1) places.push({ r: Math.floor(i / columns), c: i % columns })
  const taken: { r: number; c: number }[] = []
  while (taken.length < MOST_PATCHES) {
    const distance = ({ r, c }: { r: number; c: number }) =>
      taken.length === 0 ? 1e6 - r - c : Math.min(...taken.map(t => Math.max(Math.abs(t.r - r), Math.abs(t.c - c))))
    const far = places.reduce<{ at: { r: number; c: number }; off: number } | null>((best, at) => {
      const off = distance(at)
      return best === null || off > best.off ? { at, off } : best
    }, null)
    if (far === null || far.off < 8) break
    taken.push(far.at)
  }
  return taken.map(({ r, c }) => ({
    column: Math.round(left + (c + 0.5) * stepX),
    row: Math.round(top + (r + 0.5) * stepY),
    width,
    height,
  }))
}
