import type { BlockOverview } from '../imaging/block-overview.js'
import { labelComponents } from '../imaging/label-components.js'
import { pageBytes } from '../imaging/page-room.js'
import type { ArtworkBitmap, ArtworkFit, InkAmount, InkDifference, InkPlace } from '../model/artwork.js'
import { MM_PER_INCH } from '../model/geometry.js'
import type { DensityScan } from '../model/light.js'
import { type CellGroup, gatherPlaces } from './gather-places.js'
import { type LocalShift, localShift } from './local-shift.js'
import { thinnedInk, widenedInk } from './widened-ink.js'

/** What of the scan is compared. */
export interface FilmForInk {
  readonly scan: DensityScan
  readonly overview: BlockOverview
  /** Blocks that are film of any kind: 1. */
  readonly onFilm: Uint8Array
  /** Light of clear film. */
  readonly clear: number
}

/** Edges scatter by the fit's own residual: so many of it lie inside (one in some hundred thousand edge places outside). */
const EDGE_SIGMAS = 4
/** Where the fit tells no residual or gain (tints, hair-lines alone) edges may lie off by this much, mm: the overview's map. */
const UNTOLD_MM = 0.06
/** Corners are rounded by spread and optics, which straight edges do not show: some 1.1 sigma of both, mm. */
const CORNER_MM = 0.04
/** A cell and half a pixel of the artwork: places are told by cells. */
const CELLS_ALLOWED = 1
/** Smaller places are pinholes and specks, which are counted as such, mm2. */
const LEAST_MM2 = 0.02
/** Light of clear film at which a cell counts as ink or as clear: the half. */
const HALF = 0.5
/** Windows in which tints and small type are compared by their mean, mm: two dots of the coarsest usual ruling. */
const TILE_MM = 1
/** A tile with more than this share of its cells near an edge is tint or small type. */
const MOSTLY_EDGE = 0.5
/** A tint of a tenth and more is missing with less than half of its ink; the mean of a window is known to some hundredths. */
const TINT = { least: 0.1, share: 0.5, slack: 0.05 }
const MOST_GROUPS = 100_000
const MOST_PLACES = 60
/** Film this near to what is no film is not compared, blocks: its own rim, and open light that shines in. */
const RIM_BLOCKS = 4
/** Samples of one place at most, when its area is taken. */
const MOST_SAMPLES = 400_000
const SUBSAMPLES = 3
/** An edge of a place is known to so much of a cell, and of the gain. */
const OF_CELL = 0.25
const OF_GAIN = 0.25

/**
 * Ink that the film lacks or has too much, cell by cell of the coarser of both resolutions, by bands of the scan. A cell counts where the artwork's ink lies
 * (or is absent) all round it by the edge allowance: gain of ink, scatter of the fit, rounded corners, a cell. Tints and small type are compared by the mean ink of 1 mm
 * windows. Areas are then taken with the allowance given back, from light: 1 less light over that of clear film. Only inside the artwork's frame.
 */
export function compareInk(artwork: ArtworkBitmap, fit: ArtworkFit, film: FilmForInk): InkDifference {
  const seen = comparison(artwork, fit, film)
  const { columns, rows } = seen
  const missing = gatherPlaces(MISSING, MOST_GROUPS)
  const extra = gatherPlaces(EXTRA, MOST_GROUPS)
  const tints = new Float32Array(seen.tileColumns * seen.tileRows)
  let compared = 0
  let crowded = false
  for (let tile = 0; tile < seen.tileRows; tile++) {
    const strip = seen.tileRow(tile)
    compared += strip.cells
    tints.set(strip.tints, tile * seen.tileColumns)
    for (let r = 0; r < strip.rows && !crowded; r++) {
      const index = tile * seen.cellsPerTile + r
      if (index >= rows) break
      const marks = strip.marks.subarray(r * columns, (r + 1) * columns)
      crowded = !missing.row(index, marks) || !extra.row(index, marks)
    }
    if (crowded) break
  }
  const amount = (kind: typeof MISSING | typeof EXTRA, groups: readonly CellGroup[]) =>
    amountOf(
      kind,
      [...groups.flatMap(group => solidPlace(seen, group)), ...tintPlaces(seen, tints, kind)],
      seen,
      kind === MISSING ? 'missing' : 'extra',
    )
  return {
    missing: amount(MISSING, missing.groups()),
    extra: amount(EXTRA, extra.groups()),
    comparedMm2: compared * seen.cellMm2,
    allowanceMm: seen.allowance,
    leastMm2: LEAST_MM2,
    crowded,
  }
}

const MISSING = 1
const EXTRA = 2

/** A place before it is measured: cells, and for a tint its area by mean ink. */
interface RoughPlace {
  readonly left: number
  readonly right: number
  readonly top: number
  readonly bottom: number
  readonly roughMm2: number
  /** Rim of what is plain of it, mm, and area of what is tint, mm2. */
  readonly rimMm: number
  readonly tintMm2: number
  readonly tint: boolean
}

type Seen = ReturnType<typeof comparison>

/** Everything that the walk over the page needs, worked out once. */
function comparison(artwork: ArtworkBitmap, fit: ArtworkFit, film: FilmForInk) {
  const { overview, scan } = film
  const { blockPx } = overview
  const pixelX = MM_PER_INCH / artwork.dpi.across
  const pixelY = MM_PER_INCH / artwork.dpi.along
  const scanMm = Math.sqrt(scan.umPerPixel.across * scan.umPerPixel.along) / 1000
  const cellPx = cellPixels(blockPx, Math.max(scanMm, Math.sqrt(pixelX * pixelY)) / scanMm)
  const cellMm = cellPx * scanMm
  const perBlock = blockPx / cellPx
  const blocksPerTile = Math.max(1, Math.round(TILE_MM / (blockPx * scanMm)))
  const columns = overview.columns * perBlock
  const rows = overview.rows * perBlock
  const residual = (fit.residualUm ?? 1000 * UNTOLD_MM) / 1000
  const gain = fit.gainUm === null ? null : (fit.gainUm.across + fit.gainUm.feed) / 2000
  const common = EDGE_SIGMAS * residual + CORNER_MM + CELLS_ALLOWED * cellMm + Math.max(pixelX, pixelY) / 2
  const allowance = {
    missing: common + Math.max(0, -(gain ?? -UNTOLD_MM)),
    extra: common + Math.max(0, gain ?? UNTOLD_MM),
  }
  const core = thinnedInk(artwork, Math.ceil(allowance.missing / pixelX), Math.ceil(allowance.missing / pixelY))
  const halo = widenedInk(artwork, Math.ceil(allowance.extra / pixelX), Math.ceil(allowance.extra / pixelY))
  const known = inward(film.onFilm, overview.columns, overview.rows)
  const map = fit.map
  const determinant = map.xx * map.yy - map.xy * map.yx
  const shift = localShift(fit.shift)
  const back = (column: number, row: number) => placeOnArtwork(map, determinant, shift, column, row)
  const table = scan.light.transmittance
  const half = HALF * film.clear
  const tileColumns = Math.ceil(overview.columns / blocksPerTile)
  const tileRows = Math.ceil(overview.rows / blocksPerTile)
  const cellsPerTile = blocksPerTile * perBlock
  const { rowBytes, width, height, bits } = artwork
  // One cell to the right and one down, in pixels of the artwork.
  const stepRightX = (cellPx * map.yy) / determinant / pixelX
  const stepRightY = (-cellPx * map.yx) / determinant / pixelY
  const stepDownX = (-cellPx * map.xy) / determinant / pixelX
  const stepDownY = (cellPx * map.xx) / determinant / pixelY

  const plain = plainAreas(artwork, core, halo)
  // What a block covers of the artwork to either side of its middle, pixels of the artwork.
  const reachX = (Math.abs(stepRightX) + Math.abs(stepDownX)) * (perBlock / 2)
  const reachY = (Math.abs(stepRightY) + Math.abs(stepDownY)) * (perBlock / 2)
  const cellsPerBlock = perBlock * perBlock
  const room = new Uint8Array(blocksPerTile * perBlock * columns)

  function tileRow(tile: number) {
    const firstBlock = tile * blocksPerTile
    const lastBlock = Math.min(overview.rows, firstBlock + blocksPerTile)
    const cellRows = (lastBlock - firstBlock) * perBlock
    const marks = room.subarray(0, cellRows * columns).fill(0)
    const count = new Float64Array(tileColumns)
    const ink = new Float64Array(tileColumns)
    const edge = new Float64Array(tileColumns)
    const halod = new Float64Array(tileColumns)
    const light = new Float64Array(tileColumns)
    let window: { codes: Uint16Array; width: number; height: number } | null = null
    const top = firstBlock * blockPx
    const readRows = () =>
      scan.scan.readWindow({
        column: 0,
        row: top,
        width: overview.scanWidth,
        height: Math.min(overview.scanHeight, lastBlock * blockPx) - top,
      })
    let cells = 0
    for (let br = firstBlock; br < lastBlock; br++)
      for (let bc = 0; bc < overview.columns; bc++) {
        const block = br * overview.columns + bc
        if (known[block] === 0) continue
        const place = back((bc + 0.5) * blockPx - 0.5, (br + 0.5) * blockPx - 0.5)
        const middleX = place.x / pixelX
        const middleY = place.y / pixelY
        const mayClear = table[overview.greatest[block]!]! >= half
        const mayDark = table[overview.least[block]!]! < half
        const tileColumn = Math.floor(bc / blocksPerTile)
        let used = 0
        const kind = plain.kind(middleX - reachX, middleY - reachY, middleX + reachX, middleY + reachY)
        if (kind === OUTSIDE) continue
        if (kind === ALL_INK ? !mayClear : kind === NO_INK && !mayDark) {
          // Nothing here can be missing or too much, so the cells need not be looked at one by one.
          used = cellsPerBlock
          if (kind === ALL_INK) {
            ink[tileColumn]! += used
            halod[tileColumn]! += used
          }
        } else
          for (let r = 0; r < perBlock; r++)
            for (let c = 0; c < perBlock; c++) {
              const right = c + 0.5 - perBlock / 2
              const down = r + 0.5 - perBlock / 2
              const x = Math.floor(middleX + right * stepRightX + down * stepDownX)
              const y = Math.floor(middleY + right * stepRightY + down * stepDownY)
              if (x < 0 || y < 0 || x >= width || y >= height) continue
              used++
              const byte = y * rowBytes + (x >> 3)
              const bit = 0x80 >> (x & 7)
              const inCore = (core[byte]! & bit) !== 0
              const inHalo = (halo[byte]! & bit) !== 0
              if ((bits[byte]! & bit) !== 0) ink[tileColumn]!++
              if (inHalo) halod[tileColumn]!++
              if (inHalo && !inCore) {
                edge[tileColumn]!++
                continue
              }
              if (inCore ? !mayClear : !mayDark) continue
              if (window === null) window = readRows()
              const column = bc * perBlock + c
              const cellRow = (br - firstBlock) * perBlock + r
              const value = cellLight(window, table, column * cellPx, cellRow * cellPx, cellPx)
              if (inCore ? value >= half : value < half) marks[cellRow * columns + column] = inCore ? MISSING : EXTRA
            }
        cells += used
        count[tileColumn]! += used
        light[tileColumn]! += used * Math.min(1, Math.max(0, 1 - overview.light[block]! / film.clear))
      }
    // Positive: missing; negative: too much. Share of the tile.
    const tints = new Float32Array(tileColumns)
    const whole = cellsPerTile * cellsPerTile
    for (let t = 0; t < tileColumns; t++) {
      if (!(count[t]! > whole / 2 && edge[t]! > MOSTLY_EDGE * count[t]!)) continue
      for (let r = 0; r < cellRows; r++)
        marks.fill(0, r * columns + t * cellsPerTile, Math.min((r + 1) * columns, r * columns + (t + 1) * cellsPerTile))
      const wanted = ink[t]! / count[t]!
      const shown = light[t]! / count[t]!
      const less = wanted >= TINT.least && shown < TINT.share * wanted - TINT.slack / 2
      // Dots gain up to the allowance: only ink where none could have come to is too much. A tint that has closed is a matter of tone value.
      const more = shown > halod[t]! / count[t]! + TINT.slack
      if (less || more) tints[t] = ((wanted - shown) * count[t]!) / whole
    }
    return { marks, rows: cellRows, cells, tints }
  }

  return {
    artwork,
    film,
    core,
    halo,
    back,
    tileRow,
    columns,
    rows,
    tileColumns,
    tileRows,
    cellsPerTile,
    cellPx,
    cellMm,
    cellMm2: (cellPx * cellPx * scan.umPerPixel.across * scan.umPerPixel.along) / 1e6,
    allowance,
    gain: gain ?? 0,
    edgeMm: Math.hypot(residual, OF_CELL * cellMm, OF_GAIN * (gain ?? UNTOLD_MM)),
    known,
  }
}

const OUTSIDE = 0
const NO_INK = 1
const ALL_INK = 2
const MIXED = 3

/** Where the artwork is plain for eight pixels by eight: ink with its allowance taken off, or none with it added. */
function plainAreas({ width, height, rowBytes }: ArtworkBitmap, core: Uint8Array, halo: Uint8Array) {
  const rows = Math.ceil(height / 8)
  const kinds = large(rows * rowBytes)
  for (let r = 0; r < rows; r++)
    for (let b = 0; b < rowBytes; b++) {
      let all = 0xff
      let any = 0
      const end = Math.min(height, 8 * r + 8) * rowBytes
      for (let i = 8 * r * rowBytes + b; i < end; i += rowBytes) {
        all &= core[i]!
        any |= halo[i]!
      }
      kinds[r * rowBytes + b] = any === 0 ? NO_INK : all === 0xff ? ALL_INK : MIXED
    }
  return {
    /** What a frame on the artwork holds, pixels of it: `OUTSIDE` when it lies beyond, `MIXED` when it reaches beyond or is not plain. */
    kind(left: number, top: number, right: number, bottom: number): number {
      if (right < 0 || bottom < 0 || left >= width || top >= height) return OUTSIDE
      if (left < 0 || top < 0 || right >= width || bottom >= height) return MIXED
      const last = right >> 3
      const lastRow = bottom >> 3
      const first = kinds[(top >> 3) * rowBytes + (left >> 3)]!
      for (let r = top >> 3; r <= lastRow; r++)
        for (let b = left >> 3; b <= last; b++) if (kinds[r * rowBytes + b] !== first) return MIXED
      return first
    },
  }
}

/** Pixels to a cell: the fewest that divide a block and are no finer than the coarser of both resolutions. */
function cellPixels(blockPx: number, wanted: number): number {
  for (let px = 1; px < blockPx; px++) if (blockPx % px === 0 && px >= 0.9 * wanted) return px
  return blockPx
}

function placeOnArtwork(
  map: ArtworkFit['map'],
  determinant: number,
  shift: LocalShift,
  column: number,
  row: number,
): { readonly x: number; readonly y: number } {
  const dx = column - map.x0
  const dy = row - map.y0
  const x = (map.yy * dx - map.xy * dy) / determinant
  const y = (map.xx * dy - map.yx * dx) / determinant
  const { across, feed } = shift(x, y)
  return { x: x - across, y: y - feed }
}

/** Blocks with nothing but film round them: what is no film, spread by the rim, is taken off. */
function inward(onFilm: Uint8Array, columns: number, rows: number): Uint8Array {
  const off = large(onFilm.length)
  for (let i = 0; i < off.length; i++) off[i] = onFilm[i] === 1 ? 0 : 1
  const near = spread(off, columns, rows, RIM_BLOCKS)
  for (let i = 0; i < near.length; i++) near[i] = 1 - near[i]!
  return near
}

function cellLight(
  window: { readonly codes: Uint16Array; readonly width: number; readonly height: number },
  table: Float32Array,
  column: number,
  row: number,
  cellPx: number,
): number {
  let sum = 0
  let n = 0
  const right = Math.min(window.width, column + cellPx)
  const bottom = Math.min(window.height, row + cellPx)
  for (let r = row; r < bottom; r++)
    for (let c = column; c < right; c++) {
      sum += table[window.codes[r * window.width + c]!]!
      n++
    }
  return n > 0 ? sum / n : 0
}

function solidPlace(seen: Seen, { cells, left, right, top, bottom }: CellGroup): RoughPlace[] {
  const roughMm2 = cells * seen.cellMm2
  // The allowance on all sides was not counted: what is left of a place may be small.
  const side = Math.sqrt(roughMm2) + 2 * Math.min(seen.allowance.missing, seen.allowance.extra)
  return side * side >= LEAST_MM2 && cells > 1
    ? [
        {
          left,
          right,
          top,
          bottom,
          roughMm2,
          rimMm: 2 * (right - left + bottom - top + 2) * seen.cellMm,
          tintMm2: 0,
          tint: false,
        },
      ]
    : []
}

/** Neighbouring tiles of tint are one place. */
function tintPlaces(seen: Seen, tints: Float32Array, kind: typeof MISSING | typeof EXTRA): RoughPlace[] {
  const sign = kind === MISSING ? 1 : -1
  const { labels, groups } = labelComponents(
    Uint8Array.from(tints, share => (sign * share > 0 ? 1 : 0)),
    seen.tileColumns,
    seen.tileRows,
  )
  const sums = new Float64Array(groups.length + 1)
  for (let i = 0; i < labels.length; i++) sums[labels[i]!]! += Math.abs(tints[i]!)
  const tileMm2 = seen.cellsPerTile ** 2 * seen.cellMm2
  return groups.map(({ label, left, right, top, bottom }) => ({
    left: left * seen.cellsPerTile,
    right: (right + 1) * seen.cellsPerTile - 1,
    top: top * seen.cellsPerTile,
    bottom: (bottom + 1) * seen.cellsPerTile - 1,
    roughMm2: sums[label]! * tileMm2,
    rimMm: 0,
    tintMm2: sums[label]! * tileMm2,
    tint: true,
  }))
}

function amountOf(
  kind: typeof MISSING | typeof EXTRA,
  rough: readonly RoughPlace[],
  seen: Seen,
  name: 'missing' | 'extra',
): InkAmount {
  const sorted = joined(rough, seen.cellsPerTile).sort((a, b) => b.roughMm2 - a.roughMm2)
  const kept = sorted
    .slice(0, MOST_PLACES)
    .map(place => ({ place, ...areaOf(kind, place, seen) }))
    .filter(one => one.areaMm2 >= LEAST_MM2)
    .sort((a, b) => b.areaMm2 - a.areaMm2)
  const rest = sorted.slice(MOST_PLACES)
  const restMm2 = rest.reduce((sum, one) => sum + one.roughMm2, 0)
  const { cellPx } = seen
  return {
    areaMm2: kept.reduce((sum, one) => sum + one.areaMm2, restMm2),
    // One fit, one gain: the rims of all places are off together.
    standardMm2: kept.reduce((sum, one) => sum + one.standardMm2, restMm2 / 2),
    count: kept.length + rest.length,
    places: kept.map(({ place, areaMm2, standardMm2 }, i): InkPlace => {
      const { left, right, top, bottom, tint } = place
      return {
        id: `${name}-${i + 1}`,
        place: { column: ((left + right + 1) / 2) * cellPx - 0.5, row: ((top + bottom + 1) / 2) * cellPx - 0.5 },
        rect: {
          column: left * cellPx,
          row: top * cellPx,
          width: (right - left + 1) * cellPx,
          height: (bottom - top + 1) * cellPx,
        },
        areaMm2,
        standardMm2,
        tint,
      }
    }),
  }
}

/** A tint or a row of small type that goes on where a plain place ends is one place with it. */
function joined(places: readonly RoughPlace[], reach: number): RoughPlace[] {
  const kept = places.filter(one => !one.tint)
  for (const one of places.filter(other => other.tint)) {
    let whole = one
    for (let k = kept.length - 1; k >= 0; k--) {
      const other = kept[k]!
      const apart =
        other.left > whole.right + reach ||
        other.right < whole.left - reach ||
        other.top > whole.bottom + reach ||
        other.bottom < whole.top - reach
      if (apart) continue
      kept.splice(k, 1)
      whole = {
        left: Math.min(whole.left, other.left),
        right: Math.max(whole.right, other.right),
        top: Math.min(whole.top, other.top),
        bottom: Math.max(whole.bottom, other.bottom),
        roughMm2: whole.roughMm2 + other.roughMm2,
        rimMm: whole.rimMm + other.rimMm,
        tintMm2: whole.tintMm2 + other.tintMm2,
        tint: true,
      }
    }
    kept.push(whole)
  }
  return kept
}

/** Of dots the rims are many times that of the place: their area is known to so much (from the truth tests). */
const TINT_STANDARD = 0.05

/** Area of one place with its rim: artwork's ink less the film's, or the other way, within the allowance of the cells that were marked. */
function areaOf(
  kind: typeof MISSING | typeof EXTRA,
  place: RoughPlace,
  seen: Seen,
): { areaMm2: number; standardMm2: number } {
  const { film, back, artwork, cellPx } = seen
  const { scan, overview, clear } = film
  const table = scan.light.transmittance
  const reach = Math.ceil((1.5 * (kind === MISSING ? seen.allowance.missing : seen.allowance.extra)) / seen.cellMm) + 1
  const left = Math.max(0, place.left - reach)
  const top = Math.max(0, place.top - reach)
  const wide = Math.min(Math.floor(overview.scanWidth / cellPx) - 1, place.right + reach) - left + 1
  const high = Math.min(Math.floor(overview.scanHeight / cellPx) - 1, place.bottom + reach) - top + 1
  const rim = place.rimMm
  const standardMm2 = rim * seen.edgeMm + TINT_STANDARD * place.tintMm2
  // Light dots that closed have no place of their own: their mean tells them.
  if (kind === EXTRA && place.tint)
    return { areaMm2: place.roughMm2, standardMm2: standardMm2 + TINT_STANDARD * place.roughMm2 }
  if (!(wide > 0 && high > 0 && wide * high <= MOST_SAMPLES))
    // A place as large as this is told well by its cells and the rim round them.
    return {
      areaMm2: place.roughMm2 + rim * seen.allowance.missing,
      standardMm2: standardMm2 + (rim * seen.allowance.missing) / 2,
    }
  const window = scan.scan.readWindow({
    column: left * cellPx,
    row: top * cellPx,
    width: wide * cellPx,
    height: high * cellPx,
  })
  const off = new Float32Array(wide * high)
  const marked = new Uint8Array(wide * high)
  for (let r = 0; r < high; r++)
    for (let c = 0; c < wide; c++) {
      const at = back((left + c + 0.5) * cellPx - 0.5, (top + r + 0.5) * cellPx - 0.5)
      const wanted = coverage(artwork, at.x, at.y, seen.cellMm)
      if (wanted === null) continue
      const shown = Math.min(1, Math.max(0, 1 - cellLight(window, table, c * cellPx, r * cellPx, cellPx) / clear))
      const less = kind === MISSING ? wanted - shown : shown - wanted
      off[r * wide + c] = Math.max(0, less)
      // The heart of the place, as it was found; its rim follows.
      // A tint that is missing has no heart as plain as that: every dot of it counts.
      const heart =
        kind === MISSING ? place.tint || inkAt(artwork, seen.core, at.x, at.y) : !inkAt(artwork, seen.halo, at.x, at.y)
      if (heart && less > HALF && inside(place, left + c, top + r)) marked[r * wide + c] = 1
    }
  const near = spread(marked, wide, high, reach)
  let sum = 0
  for (let i = 0; i < off.length; i++) if (near[i] === 1) sum += off[i]!
  // Ink that was added has gained at its own rim as all ink has.
  const gained = kind === EXTRA ? rim * Math.max(0, seen.gain) : 0
  return { areaMm2: Math.max(0, sum * seen.cellMm2 - gained), standardMm2 }
}

function inside({ left, right, top, bottom }: RoughPlace, column: number, row: number): boolean {
  return column >= left && column <= right && row >= top && row <= bottom
}

/** Whether a place, mm, is black on a bitmap of the artwork's size. */
function inkAt({ width, height, rowBytes, dpi }: ArtworkBitmap, bits: Uint8Array, x: number, y: number): boolean {
  const c = Math.floor((x * dpi.across) / MM_PER_INCH)
  const r = Math.floor((y * dpi.along) / MM_PER_INCH)
  return c >= 0 && r >= 0 && c < width && r < height && (bits[r * rowBytes + (c >> 3)]! & (0x80 >> (c & 7))) !== 0
}

/** Share of ink of the artwork in a cell about a place, mm; null outside its frame. */
function coverage(artwork: ArtworkBitmap, x: number, y: number, cellMm: number): number | null {
  const { width, height, rowBytes, bits, dpi } = artwork
  let ink = 0
  for (let j = 0; j < SUBSAMPLES; j++)
    for (let i = 0; i < SUBSAMPLES; i++) {
      const c = Math.floor(((x + ((i + 0.5) / SUBSAMPLES - 0.5) * cellMm) * dpi.across) / MM_PER_INCH)
      const r = Math.floor(((y + ((j + 0.5) / SUBSAMPLES - 0.5) * cellMm) * dpi.along) / MM_PER_INCH)
      if (c < 0 || r < 0 || c >= width || r >= height) return null
      if ((bits[r * rowBytes + (c >> 3)]! & (0x80 >> (c & 7))) !== 0) ink++
    }
  return ink / (SUBSAMPLES * SUBSAMPLES)
}

/** Bytes: of a whole page in room of their own, of a place not, for there are many. */
function large(length: number): Uint8Array {
  return length > LARGE ? pageBytes(length) : new Uint8Array(length)
}

const LARGE = 500_000

/** Marks and all cells within `reach` of one (a square). */
function spread(marks: Uint8Array, columns: number, rows: number, reach: number): Uint8Array {
  const wide = large(marks.length)
  for (let r = 0; r < rows; r++) {
    const row = r * columns
    let until = -1
    for (let c = 0; c < columns; c++) {
      if (marks[row + c] !== 1) continue
      const from = Math.max(until + 1, c - reach)
      until = Math.min(columns - 1, c + reach)
      wide.fill(1, row + from, row + until + 1)
    }
  }
  const out = large(marks.length)
  // How many of the rows about this one are marked, column by column.
  const held = new Uint16Array(columns)
  for (let r = -reach; r < rows; r++) {
    const enters = (r + reach) * columns
    const leaves = (r - reach - 1) * columns
    for (let c = 0; c < columns; c++) {
      if (r + reach < rows) held[c]! += wide[enters + c]!
      if (leaves >= 0) held[c]! -= wide[leaves + c]!
      if (r >= 0 && held[c]! > 0) out[r * columns + c] = 1
    }
  }
  return out
}
