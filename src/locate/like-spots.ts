import type { Spots } from '../imaging/find-spots.js'

/** Spots of one film that are like each other: a flaw is seldom one of several of a size, what an artist laid often is. */
export interface LikeSpots {
  /** Whether four like spots, this among them, stand in a row at equal distances of up to `reach` pixels: leader dots, dashes, a row of ornaments. */
  inRow(i: number, reach: number): boolean
  /** Whether it is one of five like spots that follow each other at equal distances along a curve. */
  onCurve(i: number, reach: number): boolean
  /** Whether dots within `reach` pixels, of whatever size, lie on one lattice with it: a coarse screen, running from light to dark. */
  onLattice(i: number, reach: number): boolean
  /** Whether two dots of such a lattice stand beside it: the rim of a screen cuts its dots, and a cut one lies off its place. */
  besideLattice(i: number, reach: number): boolean
  /** Whether it ends such a row as `inRow` tells, cut short by the row's end. */
  endOfRow(i: number, reach: number): boolean
  /** How many spots within `reach` pixels have its shape, whatever their size and turn; 0 for a disc, an ellipse or a bar, as flaws are by chance. */
  sameShape(i: number, reach: number): number
  /** Whether several of its shape lie within `reach` pixels, some with more than `largest` pixels, as no flaw has: an artist strewed them. */
  strewn(i: number, reach: number, largest: number): boolean
  /** How many spots within `reach` pixels are of one size with it, as things drawn once and laid many times are. */
  equals(i: number, reach: number): number
  /** How many like spots lie within `reach` pixels. */
  company(i: number, reach: number): number
  /** How many spots of any shape and of its size or more, but for the smallest, lie within `reach` pixels. */
  crowd(i: number, reach: number): number
}

/** Areas of like spots agree within this ratio and so many pixels besides, as small ones do by where they meet the pixels. */
const LIKE_AREA = 1.35
const LIKE_CELLS = 3
/** Axes of like spots agree within this ratio. */
const LIKE_AXIS = 1.35
/** A spot lies within this share of its distance, and so many pixels, of its place in the row: what the first step tells of the way. */
const OFF_ROW = 0.015
const OFF_ROW_PX = 1
/** Fewer in a row are chance. */
const ROW = 4
/** Three are enough where they stand within so many of their diameters and agree in area within this ratio. */
const SAME_SIZE = 1.2
const NEAR_ROW = 12
/** Areas of things laid many times agree within this ratio, where they have pixels enough. */
const EQUAL_AREA = 1.1
/** Distances tried for a row, nearest first. */
const TRIED = 16
/** Of a crowd are spots of at least this share of its area. */
const CROWD_AREA = 0.3
/** Along a curve, or round the corners of a frame, distances agree within this share, and the next lies so far off straight on, shares of the distance. */
const EVEN_STEPS = 0.05
const MOST_BEND = 1.05
/** Turns from step to step agree within this, radians. */
const EVEN_TURN = 0.3
const CURVE = 5
/** Dots looked at for a lattice, those its sides are tried from, and how far off its place a dot may lie, share of the dot distance. */
const LATTICE_DOTS = 20
const LATTICE_SIDES = 8
const OFF_LATTICE = 0.1
/** So many more dots must lie on it, off the line through the two that it was taken from, and such a share of all that lie there. */
const LATTICE_HITS = 4
/** Of them so many an even number of steps away: round what lies in the middle between dots there are none. */
const LATTICE_EVEN = 2
const LATTICE_SHARE = 0.75
/** A dot of a screen, or a thing of an ornament, is so compact; sizes of one screen within this ratio of area. */
const DOT_SHAPE = 1.4
const DOT_SIZES = 40
/** A disc, an ellipse has a compactness of 1, and of so much more by where it meets the pixels, over the root of its pixels; other shapes are told apart to the share below. */
const OWN_SHAPE = 1.03
const DISC_NOISE = 0.1
const SAME_SHAPE = 0.04
const SAME_ASPECT = 0.1
/** A larger one of its shape is told as less round by so much at most. */
const ROUNDED = 1.3
/** And what the meeting with the pixels adds, over the root of its pixels. */
const SHAPE_NOISE = 0.15
/** Pixels a shape takes to show. */
const SHAPE_CELLS = 24
/** A disc, as a flaw may be, is within these however it meets the pixels. */
const DISC_SHAPE = 1.035
const DISC_ASPECT = 1.12
/** Spots looked at beside one, and how far off its dots or its row it may lie, shares of their distance. */
const BESIDE = 6
const RIM_PITCHES = 1.2
const END_STEPS = 1.2
/** Of strewn things so many are larger than flaws, and so many of any size. */
const STREWN_BEYOND = 2
const STREWN = 4
const STREWN_SIZES = 8
/** Side of the squares that spots are sorted into, pixels. */
const SIDE = 64

/** @param regular 1 for dots of a screen: no company, but a crowd */
export function likeSpots(spots: Spots, regular: Uint8Array): LikeSpots {
  let sorted: Map<number, number[]> | null = null
  const key = (column: number, row: number) => row * 65536 + column
  /** Spots by squares, sorted when first asked for: most pages have no candidate. */
  const squares = (): Map<number, number[]> => {
    if (sorted !== null) return sorted
    sorted = new Map()
    for (let i = 0; i < spots.count; i++) {
      const at = key(Math.floor(spots.column[i]! / SIDE), Math.floor(spots.row[i]! / SIDE))
      const list = sorted.get(at)
      if (list === undefined) sorted.set(at, [i])
      else list.push(i)
    }
    return sorted
  }
  const alike = (a: number, b: number): boolean => {
    const [less, more] = spots.cells[a]! < spots.cells[b]! ? [a, b] : [b, a]
    return (
      spots.cells[more]! <= LIKE_AREA * spots.cells[less]! + LIKE_CELLS &&
      near(spots.long[a]!, spots.long[b]!) &&
      near(spots.short[a]!, spots.short[b]!)
    )
  }
  const within = (column: number, row: number, reach: number, visit: (k: number, far: number) => boolean): boolean => {
    const held = squares()
    for (let r = Math.max(0, Math.floor((row - reach) / SIDE)); r <= Math.floor((row + reach) / SIDE); r++)
      for (let c = Math.max(0, Math.floor((column - reach) / SIDE)); c <= Math.floor((column + reach) / SIDE); c++)
        for (const k of held.get(key(c, r)) ?? []) {
          const far = Math.hypot(spots.column[k]! - column, spots.row[k]! - row)
          if (far <= reach && visit(k, far)) return true
        }
    return false
  }
  /** 1 of a disc, an ellipse; more the more it is branched or bent. */
  const shape = (k: number) => (4 * Math.PI * spots.long[k]! * spots.short[k]!) / spots.cells[k]!
  const ofShape = (k: number, i: number, rounded = false) =>
    spots.cells[k]! >= SHAPE_CELLS &&
    (rounded ||
      ratio(shape(k), shape(i)) <=
        1 + SAME_SHAPE + SHAPE_NOISE / Math.sqrt(Math.min(spots.cells[k]!, spots.cells[i]!))) &&
    ratio(spots.long[k]! / spots.short[k]!, spots.long[i]! / spots.short[i]!) <=
      1 + SAME_ASPECT + SHAPE_NOISE / Math.sqrt(Math.min(spots.cells[k]!, spots.cells[i]!))
  const nearest = (i: number, reach: number, most: number, wanted: (k: number) => boolean): number[] => {
    const found: { k: number; far: number }[] = []
    within(spots.column[i]!, spots.row[i]!, reach, (k, far) => {
      if (k !== i && wanted(k)) found.push({ k, far })
      return false
    })
    return found
      .sort((a, b) => a.far - b.far)
      .slice(0, most)
      .map(({ k }) => k)
  }
  /** How many like spots follow `from`, each as far from the one before as it is from `before`. */
  const follow = (before: number, from: number, most: number): number => {
    const way = (a: number, b: number) => Math.atan2(spots.row[b]! - spots.row[a]!, spots.column[b]! - spots.column[a]!)
    let turn: number | null = null
    const long = Math.hypot(spots.column[from]! - spots.column[before]!, spots.row[from]! - spots.row[before]!)
    const passed = [before, from]
    while (passed.length - 2 < most) {
      const [last, at] = passed.slice(-2) as [number, number]
      const ax = spots.column[at]!
      const ay = spots.row[at]!
      let next = -1
      let least = Number.POSITIVE_INFINITY
      within(ax, ay, (1 + EVEN_STEPS) * long + OFF_ROW_PX, (k, far) => {
        if (Math.abs(far - long) > EVEN_STEPS * long + OFF_ROW_PX || passed.includes(k) || !alike(from, k)) return false
        // The one that lies most straight on, and none that lies back.
        const straight = Math.hypot(
          spots.column[k]! - (2 * ax - spots.column[last]!),
          spots.row[k]! - (2 * ay - spots.row[last]!),
        )
        if (straight < least && straight < MOST_BEND * long) {
          least = straight
          next = k
        }
        return false
      })
      if (next < 0) break
      // A curve goes on turning as it did.
      const now = Math.asin(Math.sin(way(at, next) - way(last, at)))
      if (turn !== null && Math.abs(now - turn) > EVEN_TURN) break
      turn = now
      passed.push(next)
    }
    return passed.length - 2
  }
  /** The distance of the dots of a lattice that a spot lies on; 0 when it lies on none. */
  const latticePitch = (i: number, reach: number): number => {
    const dots = nearest(
      i,
      reach,
      LATTICE_DOTS,
      k => shape(k) <= DOT_SHAPE && ratio(spots.cells[k]!, spots.cells[i]!) <= DOT_SIZES,
    )
    const x = (k: number) => spots.column[k]! - spots.column[i]!
    const y = (k: number) => spots.row[k]! - spots.row[i]!
    for (let a = 0; a < Math.min(LATTICE_SIDES, dots.length); a++)
      for (let b = 0; b < a; b++) {
        const [vx, vy, wx, wy] = [x(dots[a]!), y(dots[a]!), x(dots[b]!), y(dots[b]!)]
        const [v, w] = [Math.hypot(vx, vy), Math.hypot(wx, wy)]
        const area = vx * wy - vy * wx
        if (ratio(v, w) > 1.7 || Math.abs(area) < 0.5 * v * w) continue
        let seen = 0
        let hits = 0
        let even = 0
        for (const k of dots) {
          const s = (x(k) * wy - y(k) * wx) / area
          const t = (vx * y(k) - vy * x(k)) / area
          const [m, n] = [Math.round(s), Math.round(t)]
          // What lies on the line through both says nothing of this one.
          if (Math.abs(s) > 3 || Math.abs(t) > 3 || m + n === 1) continue
          seen++
          const off = Math.hypot((s - m) * vx + (t - n) * wx, (s - m) * vy + (t - n) * wy)
          if ((m !== 0 || n !== 0) && off <= OFF_LATTICE * Math.min(v, w) + OFF_ROW_PX) {
            hits++
            if ((m + n) % 2 === 0) even++
          }
        }
        if (hits >= LATTICE_HITS && even >= LATTICE_EVEN && hits >= LATTICE_SHARE * seen) return Math.min(v, w)
      }
    return 0
  }
  /** From a spot to the next of its row, pixels; null when it is in none. */
  const rowStep = (i: number, reach: number): { readonly x: number; readonly y: number } | null => {
    const x = spots.column[i]!
    const y = spots.row[i]!
    const found: { k: number; far: number }[] = []
    within(x, y, reach, (k, far) => {
      if (k !== i && alike(i, k)) found.push({ k, far })
      return false
    })
    found.sort((a, b) => a.far - b.far)
    for (const { k, far } of found.slice(0, TRIED)) {
      const vx = spots.column[k]! - x
      const vy = spots.row[k]! - y
      const near = far <= NEAR_ROW * 2 * Math.sqrt(spots.cells[i]! / Math.PI)
      const least = near && ratio(spots.cells[k]!, spots.cells[i]!) <= SAME_SIZE ? ROW - 1 : ROW
      const at = (times: number) =>
        within(
          x + times * vx,
          y + times * vy,
          Math.abs(times) * OFF_ROW * far + OFF_ROW_PX,
          other =>
            other !== i &&
            alike(i, other) &&
            (least === ROW || ratio(spots.cells[other]!, spots.cells[i]!) <= SAME_SIZE),
        )
      let together = 2
      for (let times = 2; together < least && at(times); times++) together++
      for (let times = -1; together < least && at(times); times--) together++
      if (together >= least) return { x: vx, y: vy }
    }
    return null
  }
  return {
    onCurve(i, reach) {
      return nearest(i, reach, TRIED, k => alike(i, k)).some(k => {
        const ahead = 2 + follow(i, k, CURVE)
        return ahead >= CURVE || ahead + follow(k, i, CURVE) >= CURVE
      })
    },
    onLattice: (i, reach) => latticePitch(i, reach) > 0,
    besideLattice(i, reach) {
      const dots = nearest(i, reach, BESIDE, k => shape(k) <= DOT_SHAPE && spots.cells[k]! >= 0.5 * spots.cells[i]!)
      let count = 0
      for (const k of dots) {
        const far = Math.hypot(spots.column[k]! - spots.column[i]!, spots.row[k]! - spots.row[i]!)
        if (far <= RIM_PITCHES * latticePitch(k, reach) && ++count >= 2) return true
      }
      return false
    },
    endOfRow(i, reach) {
      return nearest(
        i,
        reach,
        BESIDE,
        k => spots.cells[k]! >= spots.cells[i]! / LIKE_AREA && spots.short[k]! <= LIKE_AXIS * spots.long[i]!,
      ).some(k => {
        const step = rowStep(k, reach)
        if (step === null) return false
        const [dx, dy] = [spots.column[k]! - spots.column[i]!, spots.row[k]! - spots.row[i]!]
        const long = Math.hypot(step.x, step.y)
        const off = Math.abs(dx * step.y - dy * step.x) / long
        return Math.hypot(dx, dy) <= END_STEPS * long && off <= OFF_ROW * long + OFF_ROW_PX
      })
    },
    sameShape(i, reach) {
      if (spots.cells[i]! < SHAPE_CELLS || shape(i) < OWN_SHAPE + DISC_NOISE / Math.sqrt(spots.cells[i]!)) return 0
      let count = 0
      within(spots.column[i]!, spots.row[i]!, reach, k => {
        // Blur rounds the smaller more.
        const larger =
          spots.cells[k]! >= 1.5 * spots.cells[i]! && shape(k) >= shape(i) && shape(k) <= ROUNDED * shape(i)
        if (k !== i && ofShape(k, i, larger)) count++
        return false
      })
      return count
    },
    strewn(i, reach, largest) {
      if (shape(i) < DISC_SHAPE && spots.long[i]! < DISC_ASPECT * spots.short[i]!) return false
      let count = 0
      let beyond = 0
      within(spots.column[i]!, spots.row[i]!, reach, k => {
        if (k === i || !ofShape(k, i)) return false
        if (spots.cells[k]! > largest) beyond++
        if (spots.cells[k]! > largest || ratio(spots.cells[k]!, spots.cells[i]!) <= STREWN_SIZES) count++
        return false
      })
      return beyond >= STREWN_BEYOND && count >= STREWN
    },
    inRow: (i, reach) => rowStep(i, reach) !== null,
    equals(i, reach) {
      return nearest(i, reach, TRIED, k => alike(i, k) && ratio(spots.cells[k]!, spots.cells[i]!) <= EQUAL_AREA).length
    },
    company(i, reach) {
      let count = 0
      within(spots.column[i]!, spots.row[i]!, reach, k => {
        if (k !== i && regular[k] === 0 && alike(i, k)) count++
        return false
      })
      return count
    },
    crowd(i, reach) {
      let count = 0
      within(spots.column[i]!, spots.row[i]!, reach, k => {
        if (k !== i && spots.cells[k]! >= CROWD_AREA * spots.cells[i]!) count++
        return false
      })
      return count
    },
  }
}

/** The larger over the smaller. */
function ratio(a: number, b: number): number {
  return a > b ? a / b : b / a
}

function near(a: number, b: number): boolean {
  return a <= LIKE_AXIS * b && b <= LIKE_AXIS * a
}
