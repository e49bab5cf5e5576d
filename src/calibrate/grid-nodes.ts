import { fitAffine, mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { LightField } from '../imaging/light-field.js'

/** A node of the grid: its number each way from the first one found, and where it lies on the scan, pixels. */
export interface GridNode {
  readonly i: number
  readonly j: number
  readonly column: number
  readonly row: number
}

/** Crossing lines, or marks that stand alone (dots, squares, crosses). */
export type GridKind = 'lines' | 'marks'

/** Clear corners of a cell begin here, of a pitch from the node. */
const CORNER_FROM = 0.36
/** The four clear corners are of one light and on one plane within this share, or something else lies there. */
const CLEAR_WITHIN = 0.06
const PLANE_WITHIN = 0.02
/** Lines are read this far from the crossing, of a pitch: clear of it and of the next. */
const STRIP_FROM = 0.18
const STRIP_TO = 0.42
/** A node has this share of the first one's darkness, and at most its inverse. */
const LEAST_MASS = 0.6
/** A node lies this near to where its neighbours say, of a pitch. */
const NEAR = 0.15
/** Lines darken the middle between two nodes at least by this share of what the node does. */
const LINES_SHARE = 0.25
/** Rounds of moving the window onto the node; each leaves less than a fifth of what was off. */
const ROUNDS = 6
const SETTLED = 1e-5

interface Cell {
  /** Pixels of the cell: offset from the predicted node in pitches along the grid's axes, darkness 0..1. */
  readonly a: Float32Array
  readonly b: Float32Array
  readonly dark: Float32Array
}

/**
 * Finds the nodes of a grid from one of them outwards. `start` maps node numbers to pixels near the first node.
 * A node's place is the centroid of darkness (1 - light over the light of the cell's clear corners), in a window that tapers off
 * and is moved until it is centred on what it sees; of lines, where they are free between two crossings.
 * Assumes the marks are symmetric and nothing but grid lies in a cell.
 * @returns null when no node lies at the start
 */
export function gridNodes(field: LightField, start: PlaneMap): { readonly kind: GridKind; nodes: GridNode[] } | null {
  const first = readCell(field, start, 0, 0)
  if (first === null) return null
  const kind = kindOf(first)
  const seed = locate(first, kind)
  if (seed === null) return null
  const nodes: GridNode[] = [onScan(start, 0, 0, seed)]
  const known = new Set(['0,0'])
  let map = start
  let refitAt = 8
  for (let at = 0; at < nodes.length; at++) {
    const from = nodes[at]!
    if (nodes.length >= refitAt) {
      map = fitted(nodes)
      refitAt = 2 * nodes.length
    }
    for (const [di, dj] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ] as const) {
      const i = from.i + di
      const j = from.j + dj
      const key = `${i},${j}`
      if (known.has(key)) continue
      // Predicted from its neighbour, so that a slow bend of the whole is followed.
      const here = mapped(map, from.i, from.j)
      const local = { ...map, x0: map.x0 + from.column - here.x, y0: map.y0 + from.row - here.y }
      const node = readNode(field, local, i, j, kind, seed)
      if (node === null) continue
      known.add(key)
      nodes.push(node)
    }
  }
  return { kind, nodes }
}

/** The nodes read again with windows along the grid's true axes, laid where `map` says. Nodes that no longer hold are dropped. */
export function readAgain(
  field: LightField,
  map: PlaneMap,
  found: { readonly kind: GridKind; readonly nodes: readonly GridNode[] },
): GridNode[] {
  const first = readCell(field, map, found.nodes[0]!.i, found.nodes[0]!.j)
  const seed = first === null ? null : locate(first, found.kind)
  if (seed === null) return []
  return found.nodes.flatMap(({ i, j }) => readNode(field, map, i, j, found.kind, seed) ?? [])
}

/** Affine map from node numbers to pixels. */
function fitted(nodes: readonly GridNode[]): PlaneMap {
  return fitAffine(nodes.map(({ i, j, column, row }) => ({ fromX: i, fromY: j, toX: column, toY: row })))
}

interface Located {
  readonly a: number
  readonly b: number
  readonly mass: number
}

function readNode(
  field: LightField,
  map: PlaneMap,
  i: number,
  j: number,
  kind: GridKind,
  seed: Located,
): GridNode | null {
  const cell = readCell(field, map, i, j)
  if (cell === null) return null
  const at = locate(cell, kind)
  if (at === null) return null
  if (!(at.mass > LEAST_MASS * seed.mass && at.mass < seed.mass / LEAST_MASS)) return null
  return onScan(map, i, j, at)
}

function onScan(map: PlaneMap, i: number, j: number, off: { readonly a: number; readonly b: number }): GridNode {
  const { x, y } = mapped(map, i + off.a, j + off.b)
  return { i, j, column: x, row: y }
}

/** A cell of half a pitch each way and a little more, its darkness over its clear corners; null when it leaves the page or they are not clear. */
function readCell(field: LightField, map: PlaneMap, i: number, j: number): Cell | null {
  const { x, y } = mapped(map, i, j)
  const half = 0.5 + NEAR / 2
  const reachX = half * (Math.abs(map.xx) + Math.abs(map.xy))
  const reachY = half * (Math.abs(map.yx) + Math.abs(map.yy))
  const left = Math.floor(x - reachX)
  const top = Math.floor(y - reachY)
  const width = Math.ceil(x + reachX) - left + 1
  const height = Math.ceil(y + reachY) - top + 1
  if (!(left >= 0 && top >= 0 && left + width <= field.width && top + height <= field.height)) return null
  const light = field.read({ column: left, row: top, width, height })
  const determinant = map.xx * map.yy - map.xy * map.yx
  const a = new Float32Array(light.length)
  const b = new Float32Array(light.length)
  const sums = [0, 0, 0, 0]
  const counts = [0, 0, 0, 0]
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const at = r * width + c
      const dx = left + c - x
      const dy = top + r - y
      const u = (map.yy * dx - map.xy * dy) / determinant
      const v = (map.xx * dy - map.yx * dx) / determinant
      a[at] = u
      b[at] = v
      if (Math.abs(u) > CORNER_FROM && Math.abs(v) > CORNER_FROM && Math.abs(u) < 0.5 && Math.abs(v) < 0.5) {
        const corner = (u > 0 ? 1 : 0) + (v > 0 ? 2 : 0)
        sums[corner]! += light[at]!
        counts[corner]! += 1
      }
    }
  if (counts.some(count => count === 0)) return null
  const [p, q, s, t] = sums.map((sum, k) => sum / counts[k]!) as [number, number, number, number]
  const clear = (p + q + s + t) / 4
  const across = (q + t - p - s) / 4
  const down = (s + t - p - q) / 4
  const twist = (p + t - q - s) / 4
  if (!(clear > 0)) return null
  if (!(Math.abs(twist) <= PLANE_WITHIN * clear)) return null
  if (!(Math.max(Math.abs(across), Math.abs(down)) <= CLEAR_WITHIN * clear)) return null
  const middle = (CORNER_FROM + 0.5) / 2
  const dark = new Float32Array(light.length)
  for (let at = 0; at < light.length; at++)
    dark[at] = 1 - light[at]! / (clear + (across * a[at]! + down * b[at]!) / middle)
  return { a, b, dark }
}

function kindOf({ a, b, dark }: Cell): GridKind {
  const sums = [0, 0]
  const counts = [0, 0]
  for (let at = 0; at < dark.length; at++) {
    const u = Math.abs(a[at]!)
    const v = Math.abs(b[at]!)
    if (u < 0.12 && v < 0.12) {
      sums[0]! += dark[at]!
      counts[0]! += 1
    } else if ((u < 0.12 && v > 0.38 && v < 0.5) || (v < 0.12 && u > 0.38 && u < 0.5)) {
      sums[1]! += dark[at]!
      counts[1]! += 1
    }
  }
  const node = sums[0]! / Math.max(1, counts[0]!)
  const between = sums[1]! / Math.max(1, counts[1]!)
  return between > LINES_SHARE * node ? 'lines' : 'marks'
}

/** Offset of the node from the cell's centre, pitches; null when the window does not settle near it. */
function locate(cell: Cell, kind: GridKind): Located | null {
  let a = 0
  let b = 0
  let mass = 0
  for (let round = 0; round < ROUNDS; round++) {
    const seen = kind === 'marks' ? markOffset(cell, a, b) : lineOffset(cell, a, b)
    if (seen === null) return null
    a += seen.a
    b += seen.b
    mass = seen.mass
    if (!(Math.abs(a) < NEAR && Math.abs(b) < NEAR)) return null
    if (Math.hypot(seen.a, seen.b) < SETTLED) break
  }
  return { a, b, mass }
}

/** cos^2 over half a pitch: no edge that pixels could alias with. */
function taper(x: number): number {
  if (!(Math.abs(x) < 0.5)) return 0
  const c = Math.cos(Math.PI * x)
  return c * c
}

/** Least darkness of a cell's node, of all dark: less is dirt or nothing. */
const LEAST_DARK = 1e-3

function markOffset({ a, b, dark }: Cell, a0: number, b0: number): Located | null {
  let sum = 0
  let sumA = 0
  let sumB = 0
  let weights = 0
  for (let at = 0; at < dark.length; at++) {
    const u = a[at]! - a0
    const v = b[at]! - b0
    const w = taper(u) * taper(v)
    if (w === 0) continue
    const d = w * dark[at]!
    weights += w
    sum += d
    sumA += d * u
    sumB += d * v
  }
  const mass = sum / weights
  return mass > LEAST_DARK ? { a: sumA / sum, b: sumB / sum, mass } : null
}

/** Each line's offset from the strips on either side of the crossing; at the rim of the grid one strip has to do. */
function lineOffset({ a, b, dark }: Cell, a0: number, b0: number): Located | null {
  // Strips: line of a beyond b < 0 and b > 0, then line of b beyond a < 0 and a > 0.
  const sum = [0, 0, 0, 0]
  const off = [0, 0, 0, 0]
  const weights = [0, 0, 0, 0]
  const add = (strip: number, distance: number, aside: number, darkness: number) => {
    const w = taper(distance) * taper((aside - (STRIP_FROM + STRIP_TO) / 2) / (STRIP_TO - STRIP_FROM))
    weights[strip]! += w
    sum[strip]! += w * darkness
    off[strip]! += w * darkness * distance
  }
  for (let at = 0; at < dark.length; at++) {
    const u = a[at]! - a0
    const v = b[at]! - b0
    if (Math.abs(v) > STRIP_FROM && Math.abs(v) < STRIP_TO && Math.abs(u) < 0.5)
      add(v < 0 ? 0 : 1, u, Math.abs(v), dark[at]!)
    if (Math.abs(u) > STRIP_FROM && Math.abs(u) < STRIP_TO && Math.abs(v) < 0.5)
      add(u < 0 ? 2 : 3, v, Math.abs(u), dark[at]!)
  }
  const masses = sum.map((s, k) => s / Math.max(weights[k]!, 1e-9))
  const most = Math.max(...masses)
  if (!(most > LEAST_DARK)) return null
  const side = (one: number, other: number) => {
    const used = [one, other].filter(k => masses[k]! > LEAST_MASS * most)
    return used.length === 0 ? null : used.reduce((total, k) => total + off[k]! / sum[k]!, 0) / used.length
  }
  const aOff = side(0, 1)
  const bOff = side(2, 3)
  return aOff === null || bOff === null ? null : { a: aOff, b: bOff, mass: most }
}
