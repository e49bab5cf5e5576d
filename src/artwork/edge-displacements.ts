import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { InkGrid } from '../imaging/ink-grid.js'
import { pageRoom } from '../imaging/page-room.js'
import type { ArtworkBitmap } from '../model/artwork.js'
import { MM_PER_INCH, type PixelRect } from '../model/geometry.js'
import type { DensityScan } from '../model/light.js'

/** How far one place of an edge on the film lies from where the artwork has it. */
export interface EdgeDisplacement {
  /** Place on the artwork, mm. */
  readonly x: number
  readonly y: number
  /** Normal on the artwork, from ink to clear, length 1. */
  readonly nx: number
  readonly ny: number
  /** Displacement along the normal, mm of the scan; positive: the film has more ink. */
  readonly off: number
  /** Which window of the artwork it was read in: places of one window share the window's errors. */
  readonly window: number
}

export interface EdgeSurvey {
  readonly found: readonly EdgeDisplacement[]
  /** Places where the scan should show an edge, and those where it showed none. */
  readonly tried: number
  readonly missing: number
}

/** Side of a window of the artwork, mm. */
const WINDOW_MM = 3
/** Windows are spread over the artwork in so many rows and columns at most; the one richest in edges is read in each. */
export const CELLS = 18
/** Edge places read in one window at most: neighbours say the same. */
const PLACES = 14
/** Smoothing of the artwork (one sigma), mm: the steps of a slanted edge go, its place stays. */
const SMOOTH_MM = 0.05
/** Ink on one side and clear film on the other must reach this far from an edge, mm: then no other edge pulls at it. */
const PLATEAU_MM = 0.3
/** The edge is looked for this far to either side, mm: bleed, and what the overview may be off. */
const REACH_MM = 0.55
/** Profiles are averaged over this much of the edge to either side, mm. */
const ASIDE_MM = 0.12
const ASIDE_LINES = 7
/** Lines along which the plateaus must be plain, mm: closer than any dot is wide. */
const PLAIN_ASIDE = [-1.5, -1, -0.5, 0, 0.5, 1, 1.5].map(share => share * ASIDE_MM)
const STEP_MM = 0.015
/** Between ink and clear film at least this share of the clearest light must lie. */
const LEAST_CONTRAST = 0.3

/**
 * Places on the artwork's edges, each with how far the film's edge (half light between its own plateaus) lies outside. Only edges with ink
 * on one side and clear film on the other are read, so strokes of 0.3 mm and more.
 * @param grid the artwork's share of ink in cells of about 0.17 or 0.34 mm
 * @param map artwork mm to scan mm, good to 0.3 mm
 * @param clearest light of clear film
 * @param cells windows to a side of the artwork at most
 */
export function edgeDisplacements(
  artwork: ArtworkBitmap,
  grid: InkGrid,
  scan: DensityScan,
  map: PlaneMap,
  clearest: number,
  cells: number = CELLS,
): EdgeSurvey {
  const found: EdgeDisplacement[] = []
  let tried = 0
  let missing = 0
  const draw = pen(artwork)
  const windows = busiestWindows(artwork, grid, cells).flatMap((part, window): PlacedWindow[] => {
    const places = edgePlaces(artwork, part, draw)
    const rect = rectAround(scan, map, places)
    return rect === null ? [] : [{ window, places, rect }]
  })
  forEachWindow(scan, windows, ({ window, places }, light) => {
    for (const at of places) {
      const off = displacementAt(light, map, at, clearest)
      if (off === 'outside') continue
      tried++
      if (off === null) missing++
      else found.push({ ...at, off, window })
    }
  })
  return { found, tried, missing }
}

/** Part of the artwork, pixels. */
interface ArtworkWindow {
  readonly column: number
  readonly row: number
  readonly columns: number
  readonly rows: number
}

/** Of each cell of the artwork the window that holds most edges between plain ink and plain clear film. */
function busiestWindows(artwork: ArtworkBitmap, grid: InkGrid, cells: number): ArtworkWindow[] {
  const side = Math.max(2, Math.round(WINDOW_MM / grid.pitchX))
  const across = Math.ceil(grid.columns / side)
  const down = Math.ceil(grid.rows / side)
  const counts = [new Float64Array(across * down), new Float64Array(across * down)] as const
  const off = Math.max(1, Math.round(PLATEAU_MM / grid.pitchX))
  const plain = (i: number): number => (grid.ink[i]! < 0.01 ? -1 : grid.ink[i]! > 0.99 ? 1 : 0)
  for (let r = 0; r < grid.rows; r++)
    for (let c = 0; c < grid.columns; c++) {
      const i = r * grid.columns + c
      const into = Math.floor(r / side) * across + Math.floor(c / side)
      // A plain cell either side of what may be mixed: the plateaus an edge is read between.
      if (c >= off && c + off < grid.columns && plain(i - off) * plain(i + off) < 0) counts[0][into]! += 1
      const far = off * grid.columns
      if (r >= off && r + off < grid.rows && plain(i - far) * plain(i + far) < 0) counts[1][into]! += 1
    }
  const best = new Map<number, { score: number; column: number; row: number }>()
  for (let r = 0; r < down; r++)
    for (let c = 0; c < across; c++) {
      const score = Math.sqrt(counts[0][r * across + c]!) + Math.sqrt(counts[1][r * across + c]!)
      const cell =
        Math.floor((r * Math.min(cells, down)) / down) * cells + Math.floor((c * Math.min(cells, across)) / across)
      const kept = best.get(cell)
      if (score > 0 && (kept === undefined || score > kept.score)) best.set(cell, { score, column: c, row: r })
    }
  const { width, height, dpi } = artwork
  const pixels = (windows: number, perInch: number, most: number) =>
    Math.min(most, Math.round((windows * side * grid.pitchX * perInch) / MM_PER_INCH))
  return [...best.values()].map(({ column, row }) => {
    const left = pixels(column, dpi.across, width)
    const top = pixels(row, dpi.along, height)
    return {
      column: left,
      row: top,
      columns: pixels(column + 1, dpi.across, width) - left,
      rows: pixels(row + 1, dpi.along, height) - top,
    }
  })
}

type Place = Pick<EdgeDisplacement, 'x' | 'y' | 'nx' | 'ny'>

/** Room to draw and smooth one window of the artwork after the other. */
function pen(artwork: ArtworkBitmap) {
  const pixelX = MM_PER_INCH / artwork.dpi.across
  const pixelY = MM_PER_INCH / artwork.dpi.along
  let size = 0
  let planes: readonly Float32Array[] = []
  return {
    pixelX,
    pixelY,
    roomX: Math.ceil((PLATEAU_MM + 4 * SMOOTH_MM) / pixelX) + 2,
    roomY: Math.ceil((PLATEAU_MM + 4 * SMOOTH_MM) / pixelY) + 2,
    across: gaussian(SMOOTH_MM / pixelX),
    along: gaussian(SMOOTH_MM / pixelY),
    /** Three planes of so many cells, with whatever was in them. */
    planes(cells: number): readonly Float32Array[] {
      if (cells > size) {
        size = cells
        planes = Array.from({ length: 3 }, () => new Float32Array(cells))
      }
      return planes
    },
  }
}

/** Places on edges inside a window of the artwork, evenly taken from all of them. */
function edgePlaces(artwork: ArtworkBitmap, window: ArtworkWindow, draw: ReturnType<typeof pen>): Place[] {
  const { pixelX, pixelY, roomX, roomY } = draw
  const width = window.columns + 2 * roomX
  const height = window.rows + 2 * roomY
  const [ink, half, smooth] = draw.planes(width * height) as [Float32Array, Float32Array, Float32Array]
  const { bits, rowBytes } = artwork
  ink.fill(0, 0, width * height)
  for (let r = 0; r < height; r++) {
    const row = window.row + r - roomY
    if (row < 0 || row >= artwork.height) continue
    for (let c = 0; c < width; c++) {
      const column = window.column + c - roomX
      if (column < 0 || column >= artwork.width) continue
      if ((bits[row * rowBytes + (column >> 3)]! & (0x80 >> (column & 7))) !== 0) ink[r * width + c] = 1
    }
  }
  blur(ink, width, height, draw, half, smooth)
  const isInk = (x: number, y: number): boolean | null => {
    const c = Math.floor(x / pixelX) - window.column + roomX
    const r = Math.floor(y / pixelY) - window.row + roomY
    if (c < 0 || r < 0 || c >= width || r >= height) return null
    return ink[r * width + c] === 1
  }
  const found: Place[] = []
  const look = (c: number, r: number, step: number): void => {
    const i = r * width + c
    const a = smooth[i]!
    const b = smooth[i + step]!
    if (a > 0.5 === b > 0.5) return
    const share = (0.5 - a) / (b - a)
    const gx = (at: number) => (smooth[at + 1]! - smooth[at - 1]!) / (2 * pixelX)
    const gy = (at: number) => (smooth[at + width]! - smooth[at - width]!) / (2 * pixelY)
    const dx = gx(i) + share * (gx(i + step) - gx(i))
    const dy = gy(i) + share * (gy(i + step) - gy(i))
    const steep = Math.hypot(dx, dy)
    if (!(steep > 0)) return
    const nx = -dx / steep
    const ny = -dy / steep
    // Each edge once: on the lines that cross it most squarely.
    if (step === 1 ? Math.abs(nx) < Math.abs(ny) : Math.abs(ny) <= Math.abs(nx)) return
    const x = (window.column + c - roomX + 0.5 + (step === 1 ? share : 0)) * pixelX
    const y = (window.row + r - roomY + 0.5 + (step === 1 ? 0 : share)) * pixelY
    for (let t = 0.08; t <= PLATEAU_MM + 1e-9; t += 0.044)
      for (const aside of PLAIN_ASIDE) {
        if (isInk(x + t * nx - aside * ny, y + t * ny + aside * nx) !== false) return
        if (isInk(x - t * nx - aside * ny, y - t * ny + aside * nx) !== true) return
      }
    found.push({ x, y, nx, ny })
  }
  const strideX = Math.max(1, Math.round((2 * ASIDE_MM) / pixelX))
  const strideY = Math.max(1, Math.round((2 * ASIDE_MM) / pixelY))
  for (let r = roomY; r < roomY + window.rows; r += strideY)
    for (let c = roomX; c < roomX + window.columns; c++) look(c, r, 1)
  for (let r = roomY; r < roomY + window.rows; r++)
    for (let c = roomX; c < roomX + window.columns; c += strideX) look(c, r, width)
  if (found.length <= PLACES) return found
  return Array.from({ length: PLACES }, (_, k) => found[Math.floor(((k + 0.5) * found.length) / PLACES)]!)
}

/** Gaussian blur both ways, `half` in between; the rim is repeated. */
function blur(
  values: Float32Array,
  width: number,
  height: number,
  { across, along }: { readonly across: Float64Array; readonly along: Float64Array },
  half: Float32Array,
  whole: Float32Array,
): void {
  const reachX = across.length >> 1
  const reachY = along.length >> 1
  const line = new Float64Array(width + 2 * reachX)
  for (let r = 0; r < height; r++) {
    const row = r * width
    for (let c = 0; c < line.length; c++) line[c] = values[row + Math.min(width - 1, Math.max(0, c - reachX))]!
    for (let c = 0; c < width; c++) {
      let sum = 0
      for (let k = 0; k < across.length; k++) sum += across[k]! * line[c + k]!
      half[row + c] = sum
    }
  }
  whole.fill(0, 0, width * height)
  for (let r = 0; r < height; r++)
    for (let k = -reachY; k <= reachY; k++) {
      const weight = along[k + reachY]!
      const from = Math.min(height - 1, Math.max(0, r + k)) * width
      for (let c = 0; c < width; c++) whole[r * width + c]! += weight * half[from + c]!
    }
}

function gaussian(sigma: number): Float64Array {
  const reach = Math.max(1, Math.ceil(3.5 * sigma))
  const weights = Float64Array.from({ length: 2 * reach + 1 }, (_, k) =>
    Math.exp(-((k - reach) ** 2) / (2 * sigma ** 2)),
  )
  const sum = weights.reduce((a, b) => a + b, 0)
  return weights.map(weight => weight / sum)
}

interface LightWindow {
  readonly codes: Uint16Array
  /** Light of every code. */
  readonly table: Float32Array
  readonly column: number
  readonly row: number
  readonly width: number
  readonly height: number
  readonly mmX: number
  readonly mmY: number
}

/** A window of the artwork that lies on the scan. */
interface PlacedWindow {
  readonly window: number
  readonly places: readonly Place[]
  readonly rect: PixelRect
}

/** What of the scan lies round some places of the artwork, with room for the profiles; null when there are none on it. */
function rectAround(scan: DensityScan, map: PlaneMap, places: readonly Place[]): PixelRect | null {
  const mmX = scan.umPerPixel.across / 1000
  const mmY = scan.umPerPixel.along / 1000
  const { width, height } = scan.scan.header
  let left = Number.POSITIVE_INFINITY
  let top = Number.POSITIVE_INFINITY
  let right = Number.NEGATIVE_INFINITY
  let bottom = Number.NEGATIVE_INFINITY
  for (const place of places) {
    const { x, y } = mapped(map, place.x, place.y)
    left = Math.min(left, x)
    right = Math.max(right, x)
    top = Math.min(top, y)
    bottom = Math.max(bottom, y)
  }
  const room = REACH_MM + ASIDE_MM
  const column = Math.max(0, Math.floor((left - room) / mmX) - 2)
  const row = Math.max(0, Math.floor((top - room) / mmY) - 2)
  const columns = Math.min(width, Math.ceil((right + room) / mmX) + 3) - column
  const rows = Math.min(height, Math.ceil((bottom + room) / mmY) + 3) - row
  return columns >= 2 && rows >= 2 ? { column, row, width: columns, height: rows } : null
}

/**
 * Light of each window, all in one pass over the page: row by row for hundreds of windows, reading would take several times as long.
 * What is handed over is valid until `visit` returns.
 */
function forEachWindow(
  { scan, umPerPixel, light: { transmittance } }: DensityScan,
  windows: readonly PlacedWindow[],
  visit: (window: PlacedWindow, light: LightWindow) => void,
): void {
  const waiting = [...windows].sort((a, b) => a.rect.row - b.rect.row)
  const spare: Uint16Array[] = []
  let open: { readonly window: PlacedWindow; readonly held: Uint16Array }[] = []
  const roomFor = (cells: number): Uint16Array => {
    const fits = spare.findIndex(one => one.length >= cells)
    return fits < 0 ? new Uint16Array(pageRoom(2 * cells), 0, cells) : spare.splice(fits, 1)[0]!
  }
  let next = 0
  scan.forEachBand(({ row, width, height, codes }) => {
    while (next < waiting.length && waiting[next]!.rect.row < row + height) {
      const window = waiting[next++]!
      open.push({ window, held: roomFor(window.rect.width * window.rect.height) })
    }
    open = open.filter(({ window, held }) => {
      const { rect } = window
      const end = Math.min(row + height, rect.row + rect.height)
      for (let r = Math.max(row, rect.row); r < end; r++) {
        const from = (r - row) * width + rect.column
        held.set(codes.subarray(from, from + rect.width), (r - rect.row) * rect.width)
      }
      if (end < rect.row + rect.height) return true
      visit(window, {
        codes: held,
        table: transmittance,
        ...rect,
        mmX: umPerPixel.across / 1000,
        mmY: umPerPixel.along / 1000,
      })
      spare.push(held)
      return false
    })
  })
}

const SAMPLES = 2 * Math.round(REACH_MM / STEP_MM) + 1

/** Where the film's edge lies along a normal, mm of the scan; null when there is none, `outside` when the scan ends before. */
function displacementAt(window: LightWindow, map: PlaneMap, place: Place, clearest: number): number | 'outside' | null {
  const { codes, table, width, mmX, mmY } = window
  // The normal as it lies on the scan: edges turn with the map's inverse, transposed.
  const determinant = map.xx * map.yy - map.xy * map.yx
  let nx = (map.yy * place.nx - map.yx * place.ny) / determinant
  let ny = (map.xx * place.ny - map.xy * place.nx) / determinant
  const length = Math.hypot(nx, ny)
  nx /= length
  ny /= length
  const centre = mapped(map, place.x, place.y)
  const profile = new Float64Array(SAMPLES)
  for (let k = 0; k < SAMPLES; k++) {
    const t = (k - (SAMPLES - 1) / 2) * STEP_MM
    let sum = 0
    for (let j = 0; j < ASIDE_LINES; j++) {
      const aside = ((2 * j) / (ASIDE_LINES - 1) - 1) * ASIDE_MM
      const u = (centre.x + t * nx - aside * ny) / mmX - window.column
      const v = (centre.y + t * ny + aside * nx) / mmY - window.row
      const c = Math.floor(u)
      const r = Math.floor(v)
      if (!(c >= 0 && r >= 0 && c + 1 < width && r + 1 < window.height)) return 'outside'
      const i = r * width + c
      const fu = u - c
      const fv = v - r
      sum +=
        (table[codes[i]!]! * (1 - fu) + table[codes[i + 1]!]! * fu) * (1 - fv) +
        (table[codes[i + width]!]! * (1 - fu) + table[codes[i + width + 1]!]! * fu) * fv
    }
    profile[k] = sum / ASIDE_LINES
  }
  return halfLight(profile, clearest)
}

/** Where a profile from ink to clear film crosses half its change, nearest the middle; null when it does not. */
function halfLight(profile: Float64Array, clearest: number): number | null {
  const middle = (SAMPLES - 1) / 2
  let at = middle
  let crossing: number | null = null
  // The plateaus are those of this crossing: of the reach of the plateau to either side, found in two rounds.
  for (let round = 0; round < 2; round++) {
    const reach = Math.round(PLATEAU_MM / STEP_MM) + (round === 0 ? middle >> 1 : 0)
    let dark = Number.POSITIVE_INFINITY
    let clear = Number.NEGATIVE_INFINITY
    for (let k = Math.max(1, Math.round(at) - reach); k <= Math.min(SAMPLES - 2, Math.round(at) + reach); k++) {
      const value = (profile[k - 1]! + profile[k]! + profile[k + 1]!) / 3
      if (k <= at && value < dark) dark = value
      if (k >= at && value > clear) clear = value
    }
    if (!(clear - dark > LEAST_CONTRAST * clearest)) return null
    const half = (clear + dark) / 2
    crossing = null
    for (let k = 0; k + 1 < SAMPLES; k++) {
      if (!(profile[k]! <= half && profile[k + 1]! > half)) continue
      const place = k + (half - profile[k]!) / (profile[k + 1]! - profile[k]!)
      if (crossing === null || Math.abs(place - middle) < Math.abs(crossing - middle)) crossing = place
    }
    if (crossing === null) return null
    at = crossing
  }
  return crossing === null ? null : (crossing - middle) * STEP_MM
}
