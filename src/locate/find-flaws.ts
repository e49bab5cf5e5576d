import { codeOfLight } from '../imaging/code-of-light.js'
import { findSpots, type Spots } from '../imaging/find-spots.js'
import { fullWindows } from '../imaging/full-windows.js'
import { type DotList, regularDots } from '../imaging/regular-dots.js'
import type { NotLooked } from '../model/flaw.js'
import type { DensityScan, LightScale } from '../model/light.js'
import type { FlawCandidate, FlawPlaces } from '../model/located.js'
import { closerLook } from './closer-look.js'
import { drawnLines } from './drawn-lines.js'
import { filmCorners } from './film-corners.js'
import { filmTurns, onAxis } from './film-turns.js'
import { HOLDER, OPEN_LIGHT } from './find-light.js'
import { ALWAYS_UM, LARGEST_UM, LEAST_STOP_UM } from './flaw-sizes.js'
import { inkLevel } from './ink-level.js'
import { type LightLine, lightLines } from './light-lines.js'
import { likeSpots } from './like-spots.js'
import { inFamilies, type PlainLine } from './line-families.js'
import type { LocatedScan } from './locate-scan.js'
import { lostNozzles, type NozzleLine } from './lost-nozzles.js'
import { markStripFields } from './mark-strip-fields.js'
import { type Chosen, withoutCompany } from './spot-company.js'
import { type Neighbourhood, neighbourhood } from './spot-neighbours.js'
import { surroundings } from './spot-surroundings.js'
import { type ThinSpot, thinSpots } from './thin-spots.js'

/**
 * Spots stand out of their surround by this share of clear less solid. A hole of two pixels' diameter shows a fifth of its light through a blur of 1.5 pixels
 * (1 - exp(-r^2 / 2 s^2)), as at 2400 dpi; noise of a usual scan is about 0.01.
 */
const LIGHT_SHARE = 0.12
const DARK_SHARE = 0.88
/** Scratches and lost nozzle lines are thinner than this, mm: reversed artwork lines begin at 0.05 mm, and most are wider than 0.2. */
const WIDEST_LINE = 0.2
/** Thinner than any line an artwork leaves open (0.05 mm): a nozzle that gave no ink. */
const NOZZLE_LINE = 0.05
/** Of a scratch that is a spot: its width by how its light is spread over the one by its area and length; bent ones are up to so much wider. */
const THIN_ALL_OVER = 3
/** Strokes of reversed type are no longer, um: an ascender of 9 point. */
const LONGEST_STROKE = 2500
/** The smallest type is higher than this. */
const LEAST_LETTER_UM = 500
/** Hairs are longer than this, um; a shorter one is a speck. By its box a curled one seems no wider than the second. */
const LEAST_HAIR_UM = 500
const WIDEST_CURLED_UM = 450
/** Square spots are stops of letters that stand so many of its sizes away. */
const SQUARE = [1.02, 1.07] as const
const SQUARE_CELLS = 50
const SQUARE_GAP = 4
/** A spot so much longer than wide, so near a letter, um: a hyphen, a comma, a quotation mark, an accent. */
const STROKE = 1.8
const BY_TYPE_UM = 2000
/** Dark ones may be short hairs, and must be nearer. */
const HYPHEN_UM = 1000
/** Letters set apart are at most so large, corner to corner. */
const LARGEST_LETTER_UM = 4000
/** Letters as thin as hairs stand no farther apart than this, um. */
const LETTER_GAP_UM = 600
/** A line with nothing so near it, um, belongs to no drawing. */
const ALONE_UM = 1500
/** Largest group kept, mm: a letter, so that its full stop is known. */
const LARGEST_KEPT = 12
const MOST_SPOTS = 400_000
/** Dot distance of the coarsest screen, um: 28 lines/in. */
const COARSEST_SCREEN = 900
/** The film's own edge, its shadow and its cut: clear of them by this much, um. */
const RIM_UM = 1000
/** Blocks each way about one that are all neither ink nor clear film: a screen or a pattern, not type. */
const TEXTURE_BLOCKS = 4
/** Share of the ring round a larger pinhole that is ink: in a stroke a third of it may reach past one edge, round a counter hardly any is ink. */
const INK_ROUND = 0.6
/** The same half a diameter further out, where a letter has ended and a stroke two and a half holes wide goes on. */
const INK_BEYOND = 0.45
/** With ink all round no stroke is near, and a flake may be long; with nothing but ink far and wide it may be as long as a scratch is short; else only a round hole is one, as counters are mostly longer than wide. */
const ALL_ROUND = 0.9
const LONG_HOLE = 3
const THIN = 4
const ROUND_HOLE = 1.5
/** A flaw's line is uneven or bent; one drawn is neither. Shares of its width, and of a block. */
const EVEN_WIDTH = 0.12

/** A hair may lie across itself once or twice; a target, a ring with a cross has more loops. */
const DRAWN_LOOPS = 3

/** A block that passes more than this share of the light is clear film beside an edge. */
const MOSTLY_CLEAR = 0.75

/** What is known of a film when flaws are looked for: but for the open file plain data, so that another thread can look. */
export interface FlawGround extends Pick<LocatedScan, 'overview' | 'regions' | 'edges' | 'strips'> {
  readonly scan: Pick<DensityScan, 'scan' | 'umPerPixel'> & {
    readonly light: Pick<LightScale, 'transmittance' | 'lineSpread'>
  }
}

/**
 * Where flaws may be: every pixel of the film is looked at, except in halftones and at the film's own edge.
 * Pinhole: a light spot closed in by ink, at most 0.6 mm; above 0.15 mm it must be round and have ink round it as wide as itself, or it is the counter
 * of a letter. Speck: a dark spot alone in clear film, at most 0.6 mm; above 0.12 mm not beside a letter whose full stop or dot it may be.
 * Hair: thin, dark, alone and bent. Scratch: a thin light line through ink. On the film's axes and of even width it is artwork, but for one thinner than
 * artwork draws or one that goes on in another solid: a lost nozzle; the control strip's solids are looked at for these line by line. Dots on a lattice are a screen.
 */
export function findFlaws(located: FlawGround): FlawPlaces | NotLooked {
  const { scan, overview, regions } = located
  const { columns, rows, blockPx } = overview
  const clear = regions.base
  if (clear === null)
    return {
      because: 'no clear film was found, so nothing tells light from dark',
      next: 'scan the film with clear film in view',
    }
  const ink = inkLevel(overview, regions)
  const solid = ink.middle ?? 0
  const span = clear - solid
  const table = scan.light.transmittance
  const lightAbove = codeOfLight(table, solid + LIGHT_SHARE * span)
  const darkBelow = codeOfLight(table, solid + DARK_SHARE * span)
  // Dots of a middle tint run together at the outer levels, here and there.
  const middle = codeOfLight(table, solid + 0.5 * span)
  if (!(span > 0 && lightAbove > 0 && middle > lightAbove && darkBelow > middle && darkBelow < 65535))
    return {
      because: 'ink and clear film are too near each other in light',
      next: 'scan the film in transparency mode with automatic correction off',
    }

  const umX = scan.umPerPixel.across
  const umY = scan.umPerPixel.along
  const um = Math.sqrt(umX * umY)
  const inside = insideFilm(located)
  const spots = findSpots(
    scan.scan,
    overview,
    { lightAbove, middle, darkBelow },
    { longestPx: Math.round((LARGEST_KEPT * 1000) / um), most: MOST_SPOTS },
  )
  const { lines, thin, onLine } = linesAndThinSpots(
    lightLines(overview, regions, ink, span, scan.umPerPixel),
    thinSpots(overview, regions, ink, span),
  )
  const blockOf = (column: number, row: number): number =>
    Math.min(rows - 1, Math.floor(row / blockPx)) * columns + Math.min(columns - 1, Math.floor(column / blockPx))
  const beads = Uint8Array.from({ length: spots.light.count }, (_, i) =>
    onLine(blockOf(spots.light.column[i]!, spots.light.row[i]!)) ? 1 : 0,
  )
  const regular = (list: Spots, noRow?: Uint8Array) => regularDots(dotsOf(list, umX, umY), COARSEST_SCREEN, um, noRow)
  const lightDots = regular(spots.light, beads)
  const darkDots = regular(spots.dark)
  const kinds = blockKinds(located, lightAbove, darkBelow)
  const screened = screenBlocks(
    [
      [spots.light, lightDots],
      [spots.dark, darkDots],
      [spots.upper, regular(spots.upper, new Uint8Array(spots.upper.count).fill(1))],
      [spots.lower, regular(spots.lower, new Uint8Array(spots.lower.count).fill(1))],
    ],
    kinds,
    columns,
    rows,
    blockPx,
  )
  // A control strip's dots, gaps and codes are fine on purpose.
  markStripFields(located, screened)
  const turns = filmTurns(located)

  const candidates: FlawCandidate[] = []
  const looked = (list: Spots, i: number): boolean => {
    const block = blockOf(list.column[i]!, list.row[i]!)
    return inside[block] === 1 && screened[block] === 0
  }
  const diameterUm = (list: Spots, i: number) => 2 * Math.sqrt(list.cells[i]! / Math.PI) * um
  /** Light lets itself be seen wider than it is at a fifth of the light, and so does dark at four fifths: sizes that decide are taken loosely. */
  const largest = LARGEST_UM + 2 * um

  const round = surroundings(overview, solid, span, um)
  const pinholes: Chosen[] = []
  const reversed = neighbourhood(spots.light, lightDots, LEAST_LETTER_UM / um)
  for (let i = 0; i < spots.light.count; i++) {
    const list = spots.light
    if (lightDots[i] === 1 || !looked(list, i)) continue
    const block = blockOf(list.column[i]!, list.row[i]!)
    if (onLine(block)) continue
    const size = diameterUm(list, i)
    const aspect = list.long[i]! / list.short[i]!
    // Length of an even bar with this second moment.
    const lengthUm = list.long[i]! * Math.sqrt(12) * um
    const widthUm = (list.cells[i]! * um * um) / Math.max(um, lengthUm)
    if (aspect >= THIN && lengthUm >= 400) {
      // Letters that touch make a long group too, but not a thin one.
      const thin = list.short[i]! * Math.sqrt(12) * um <= THIN_ALL_OVER * widthUm + um
      if (widthUm <= 1000 * WIDEST_LINE && thin && !onAxis(list.angle[i]!, turns) && !ofReversedWord(i, lengthUm))
        pinholes.push({ i, kind: 'scratch' })
      continue
    }
    if (size > largest) continue
    if (size > ALWAYS_UM + 1.5 * um && !(compact(list, i) && amidInk(list, i, aspect))) continue
    if (size > ALWAYS_UM + 1.5 * um && aspect >= STROKE && !reversed.alone(i, BY_TYPE_UM / um)) continue
    if (size > LEAST_STOP_UM && round.wideInk(list, i) && (ofType(reversed, i) || reversed.inLine(i))) continue
    if (size > LEAST_STOP_UM && reversed.betweenLetters(i)) continue
    pinholes.push({ i, kind: 'pinhole' })
  }

  const specks: Chosen[] = []
  const around = neighbourhood(spots.dark, darkDots, LEAST_LETTER_UM / um)
  for (let i = 0; i < spots.dark.count; i++) {
    const list = spots.dark
    if (darkDots[i] === 1 || !looked(list, i)) continue
    const size = diameterUm(list, i)
    const aspect = list.long[i]! / list.short[i]!
    const boxUm = Math.hypot((list.right[i]! - list.left[i]! + 1) * umX, (list.bottom[i]! - list.top[i]! + 1) * umY)
    const widthUm = (list.cells[i]! * um * um) / boxUm
    // A bent hair is longer than its box is from corner to corner, so here it seems wider than it is; its true width is told when it is measured.
    const widest = compact(list, i) ? 150 + um : WIDEST_CURLED_UM
    if (boxUm >= LEAST_HAIR_UM && widthUm <= widest && (aspect >= 4 || size < 0.6 * boxUm)) {
      if (around.inWord(i, LETTER_GAP_UM / um)) continue
      if (boxUm <= LARGEST_LETTER_UM && aspect < 4 && around.spaced(i)) continue
      const onAxes = aspect >= 4 && onAxis(list.angle[i]!, turns)
      specks.push({ i, kind: 'hair', lies: onAxes ? 'onAxis' : around.alone(i, ALONE_UM / um) ? 'alone' : 'amid' })
      continue
    }
    if (size > largest) continue
    if (
      size > LEAST_STOP_UM &&
      (ofType(around, i) || around.betweenLetters(i) || (isSquare(list, i) && around.beside(i, SQUARE_GAP, 2, 8)))
    )
      continue
    if (size > ALWAYS_UM + 1.5 * um && aspect >= STROKE && !around.alone(i, HYPHEN_UM / um)) continue
    if (size > 120 + um && aspect >= 2 && onAxis(list.angle[i]!, turns)) continue
    // Letters of the smallest type, too, are dark and small; they stand in rows and are no discs.
    if (size > 200 + um && (around.amongLike(i) || !compact(list, i))) continue
    // The counter of a letter that is left open in ink is an island: light round it, ink beyond.
    if (size > ALWAYS_UM + 1.5 * um && !amidClear(list, i)) continue
    specks.push({ i, kind: 'speck' })
  }

  const closer = closerLook(scan.scan, overview, { lightAbove, middle, darkBelow }, um)
  const likeLight = likeSpots(spots.light, lightDots)
  const likeDark = likeSpots(spots.dark, darkDots)
  const lineUm = lines.map(line => plainLine(line, umX, umY))
  const slanted = pinholes.filter(({ kind }) => kind === 'scratch').map(({ i }) => i)
  const drawn = inFamilies(
    [...lineUm, ...slanted.map(i => plainSpot(spots.light, i, umX, umY))],
    slanted.length + lines.length > 0 ? longSpots(spots.light, umX, umY) : [],
  )
  const drawnSpots = new Set(slanted.filter((_, k) => drawn[lines.length + k]))
  for (const [list, like, chosen, dark] of [
    [spots.light, likeLight, pinholes.filter(({ i }) => !drawnSpots.has(i)), false],
    [spots.dark, likeDark, specks, true],
  ] as const)
    for (const { i, kind, lies } of withoutCompany(list, like, chosen, dark, round, um)) {
      if (kind === 'scratch' ? !closer.throughInk(list, i) : kind !== 'hair' && closer.amidItsLike(list, i, !dark))
        continue
      if (kind === 'hair' && (closer.crossedStrokes(list, i, turns) || closer.loops(list, i) >= DRAWN_LOOPS)) continue
      candidates.push({
        kind,
        lies: lies ?? 'amid',
        left: list.left[i]!,
        top: list.top[i]!,
        right: list.right[i]!,
        bottom: list.bottom[i]!,
        cells: list.cells[i]!,
        long: list.long[i]!,
        short: list.short[i]!,
        angle: list.angle[i]!,
        run: null,
      })
    }

  const isDrawn = drawnLines({
    overview,
    spots,
    like: likeLight,
    closer,
    turns,
    clearAbove: solid + MOSTLY_CLEAR * span,
    um,
  })
  const lost = lostNozzles(located, span)
  for (const line of lost) candidates.push(lineCandidate(line, 'missingNozzle'))
  for (const [k, line] of lines.entries()) {
    if (drawn[k] || lost.some(known => sameLine(known, line, umX, umY))) continue
    const middle = blockOf((line.from.column + line.to.column) / 2, (line.from.row + line.to.row) / 2)
    if (inside[middle] === 0 || screened[middle] === 1 || line.widthMm > WIDEST_LINE) continue
    const kind = lineKind(line, lines, turns, umX, umY, blockPx)
    if (kind === 'scratch' && isDrawn(line)) continue
    // The gap of two bars of a code lies on the axes as a lost nozzle's line does.
    if (kind === 'missingNozzle' && !closer.linesThroughInk(line.blocks, line.widthMm)) continue
    if (kind !== null) candidates.push(lineCandidate(line, kind))
  }
  for (const spot of thin) {
    const i = ((spot.top + spot.bottom) >> 1) * columns + ((spot.left + spot.right) >> 1)
    if (inside[i] === 0 || screened[i] === 1) continue
    const left = spot.left * blockPx
    const top = spot.top * blockPx
    const right = Math.min(overview.scanWidth, (spot.right + 1) * blockPx) - 1
    const bottom = Math.min(overview.scanHeight, (spot.bottom + 1) * blockPx) - 1
    const centre = { column: (left + right) / 2, row: (top + bottom) / 2 }
    if (lost.some(line => sameLine(line, { from: centre, to: centre }, umX, umY))) continue
    candidates.push({
      kind: 'thinSpot',
      lies: 'amid',
      left,
      top,
      right,
      bottom,
      cells: 0,
      long: (right - left + 1) / 4,
      short: (bottom - top + 1) / 4,
      angle: 0,
      run: {
        from: { column: left, row: (top + bottom) / 2 },
        to: { column: right, row: (top + bottom) / 2 },
        openMm2: (spot.open * blockPx * blockPx * umX * umY) / 1e6,
      },
    })
  }

  return {
    candidates,
    clear,
    solid,
    table,
    lightAbove,
    darkBelow,
    ...areas(kinds, inside, screened, regions.film, (blockPx * blockPx * umX * umY) / 1e6),
    overflow: spots.light.overflow || spots.dark.overflow,
    filmCorners: filmCorners(overview, regions),
  }

  /** Whether a larger light spot lies amid ink, not amid the strokes of a letter. */
  function amidInk(list: Spots, i: number, aspect: number): boolean {
    const near = round.ink(list, i, 1)
    return (
      near >= INK_ROUND &&
      round.ink(list, i, 1.5) >= INK_BEYOND &&
      aspect <= (near < ALL_ROUND ? ROUND_HOLE : round.plain(list, i, false) ? THIN : LONG_HOLE)
    )
  }

  function amidClear(list: Spots, i: number): boolean {
    return round.ink(list, i, 1) <= 1 - INK_ROUND && round.ink(list, i, 1.5) <= 1 - INK_BEYOND
  }

  /** Whether a slanting light stroke is a letter of a word that is left open in ink: one of its height, and no mere stroke, stands beside it. */
  function ofReversedWord(i: number, lengthUm: number): boolean {
    if (lengthUm > LONGEST_STROKE) return false
    if (reversed.spaced(i)) return true
    if (!round.wideInk(spots.light, i)) return false
    return reversed.like(i, 1, k => spots.light.long[k]! < 4 * spots.light.short[k]!)
  }
}

/** Whether a spot may be a full stop or the dot of a letter: a letter two to eight times its size stands beside it. */
function ofType(around: Neighbourhood, i: number): boolean {
  return around.beside(i, 1.6, 2, 8)
}

/** A disc's second moments are the least its area can have; a spot with these half as large again is branched, bent or hollow. */
const COMPACT = 1.5

function compact(list: Spots, i: number): boolean {
  return 4 * Math.PI * list.long[i]! * list.short[i]! <= COMPACT * list.cells[i]!
}

/** Whether a spot is a rectangle rather than a disc, where it has pixels enough to tell: its second moments are pi / 3 of what a disc of its area has. */
function isSquare(list: Spots, i: number): boolean {
  const shape = (4 * Math.PI * list.long[i]! * list.short[i]!) / list.cells[i]!
  return list.cells[i]! >= SQUARE_CELLS && shape >= SQUARE[0] && shape <= SQUARE[1]
}

function dotsOf(spots: Spots, umX: number, umY: number): DotList {
  const x = new Float64Array(spots.count)
  const y = new Float64Array(spots.count)
  const area = new Float64Array(spots.count)
  for (let i = 0; i < spots.count; i++) {
    x[i] = spots.column[i]! * umX
    y[i] = spots.row[i]! * umY
    area[i] = spots.cells[i]! * umX * umY
  }
  return { count: spots.count, x, y, area }
}

const OTHER = 0
const INK = 1
const CLEAR = 2
const BETWEEN = 3

/** What each block shows all over, by the levels that spots are found with. */
function blockKinds({ overview }: FlawGround, lightAbove: number, darkBelow: number): Uint8Array {
  const kinds = new Uint8Array(overview.light.length)
  for (let i = 0; i < kinds.length; i++) {
    const least = overview.least[i]!
    const greatest = overview.greatest[i]!
    if (greatest <= lightAbove) kinds[i] = INK
    else if (least >= darkBelow) kinds[i] = CLEAR
    else if (least > lightAbove && greatest < darkBelow) kinds[i] = BETWEEN
    else kinds[i] = OTHER
  }
  return kinds
}

/** Film that lies clear of open light, holder and the scan's end, and no specks on the bare glass. */
function insideFilm({ overview, regions, scan }: FlawGround): Uint8Array {
  const { columns, rows, blockPx } = overview
  const film = new Uint8Array(columns * rows)
  for (let i = 0; i < film.length; i++) {
    const label = regions.labels[i]
    if (regions.film[i] === 1 && label !== OPEN_LIGHT && label !== HOLDER) film[i] = 1
  }
  const rimX = Math.max(1, Math.round(RIM_UM / (blockPx * scan.umPerPixel.across)))
  const rimY = Math.max(1, Math.round(RIM_UM / (blockPx * scan.umPerPixel.along)))
  return middles(fullWindows(film, columns, rows, 2 * rimX + 1, 2 * rimY + 1), columns, rimX, rimY)
}

/** Windows told by their first cell, told by their middle one instead. */
function middles(fits: Uint8Array, columns: number, right: number, down: number): Uint8Array {
  const off = down * columns + right
  const moved = new Uint8Array(fits.length)
  moved.set(fits.subarray(0, Math.max(0, fits.length - off)), Math.min(off, fits.length))
  return moved
}

/** Blocks of halftones: about dots on a lattice, and where no block far and wide is all ink or all clear. */
function screenBlocks(
  lists: readonly (readonly [Spots, Uint8Array])[],
  kinds: Uint8Array,
  columns: number,
  rows: number,
  blockPx: number,
): Uint8Array {
  const screened = new Uint8Array(columns * rows)
  // A dot stands for what lies round it, half-way to its neighbours and a cut dot beyond: three blocks of 0.17 mm at 35 lines/in.
  const about = 3
  for (const [spots, dots] of lists)
    for (let i = 0; i < spots.count; i++) {
      if (dots[i] === 0) continue
      const c = Math.floor(spots.column[i]! / blockPx)
      const r = Math.floor(spots.row[i]! / blockPx)
      for (let rr = Math.max(0, r - about); rr <= Math.min(rows - 1, r + about); rr++)
        screened.fill(1, rr * columns + Math.max(0, c - about), rr * columns + Math.min(columns, c + about + 1))
    }
  const mixed = new Uint8Array(kinds.length)
  for (let i = 0; i < kinds.length; i++) if (kinds[i] !== INK && kinds[i] !== CLEAR) mixed[i] = 1
  const side = 2 * TEXTURE_BLOCKS + 1
  const fits = fullWindows(mixed, columns, rows, side, side)
  // The window and its ragged rim, into which no whole window fits.
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++)
      if (fits[r * columns + c] === 1)
        for (let rr = Math.max(0, r - about); rr < Math.min(rows, r + side + about); rr++)
          screened.fill(1, rr * columns + Math.max(0, c - about), rr * columns + Math.min(columns, c + side + about))
  return screened
}

function areas(
  kinds: Uint8Array,
  inside: Uint8Array,
  screened: Uint8Array,
  film: Uint8Array,
  blockMm2: number,
): Pick<FlawPlaces, 'inspectedMm2' | 'skippedMm2'> {
  let ink = 0
  let clear = 0
  let halftone = 0
  let border = 0
  let midTone = 0
  for (let i = 0; i < kinds.length; i++) {
    if (film[i] === 0) continue
    if (inside[i] === 0) border++
    else if (screened[i] === 1) halftone++
    else if (kinds[i] === BETWEEN) midTone++
    else if (kinds[i] === INK) ink++
    else if (kinds[i] === CLEAR) clear++
    // Where an edge runs through, half of the block is ink and half is clear on the average.
    else {
      ink += 0.5
      clear += 0.5
    }
  }
  const skipped = { halftone, border, midTone }
  return {
    inspectedMm2: { solid: ink * blockMm2, clear: clear * blockMm2 },
    skippedMm2: Object.fromEntries(
      Object.entries(skipped)
        .filter(([, blocks]) => blocks > 0)
        .map(([reason, blocks]) => [reason, blocks * blockMm2]),
    ),
  }
}

/** A thin area that is so many times as large as the lines it holds is no line's own light: they are its soft rim. */
const MUCH_LARGER = 2.5
/** With this share of its blocks on lines a smaller one is their light. */
const MOSTLY_LINE = 0.3

/** Lines that are no rim of a thin area, thin areas that are no line, and whether a block lies on one of those lines. */
function linesAndThinSpots(
  allLines: readonly LightLine[],
  allThin: readonly ThinSpot[],
): {
  readonly lines: readonly LightLine[]
  readonly thin: readonly ThinSpot[]
  readonly onLine: (block: number) => boolean
} {
  const areaAt = new Map<number, number>()
  for (const [k, spot] of allThin.entries()) for (const block of spot.blocks) areaAt.set(block, k)
  const lines = allLines.filter(line => {
    const inside = new Map<number, number>()
    for (const block of line.blocks) {
      const k = areaAt.get(block)
      if (k !== undefined) inside.set(k, (inside.get(k) ?? 0) + 1)
    }
    const count = line.blocks.length
    return ![...inside].some(([k, held]) => 2 * held > count && allThin[k]!.cells > MUCH_LARGER * count)
  })
  const ofLines = new Set(lines.flatMap(line => line.blocks))
  const onLine = (block: number): boolean => ofLines.has(block)
  return {
    lines,
    thin: allThin.filter(spot => spot.blocks.filter(onLine).length <= MOSTLY_LINE * spot.cells),
    onLine,
  }
}

/** What a light line through ink is; null for the artwork's own. */
function lineKind(
  line: LightLine,
  all: readonly LightLine[],
  turns: readonly number[],
  umX: number,
  umY: number,
  blockPx: number,
): 'scratch' | 'missingNozzle' | null {
  const dx = (line.to.column - line.from.column) * umX
  const dy = (line.to.row - line.from.row) * umY
  // Block by block a line's middle is told to half a block, no better where it is faint.
  const straight = line.bow * 1000 <= 0.5 * blockPx * umX
  if (!(straight && onAxis(Math.atan2(dy, dx), turns))) return 'scratch'
  if (line.uneven > EVEN_WIDTH && line.endsInClear < 2) return 'scratch'
  if (line.endsInClear === 0) return null
  if (line.widthMm <= NOZZLE_LINE) return 'missingNozzle'
  // The same line through another solid: the head missed both, an artwork seldom does.
  const goesOn = all.some(other => {
    if (other === line || other.widthMm > WIDEST_LINE || other.solids.some(s => line.solids.includes(s))) return false
    const ox = (other.from.column - line.from.column) * umX
    const oy = (other.from.row - line.from.row) * umY
    const off = Math.abs(ox * dy - oy * dx) / Math.hypot(dx, dy)
    const ex = (other.to.column - line.from.column) * umX
    const ey = (other.to.row - line.from.row) * umY
    return off <= 60 && Math.abs(ex * dy - ey * dx) / Math.hypot(dx, dy) <= 60
  })
  return goesOn ? 'missingNozzle' : null
}

function plainLine({ from, to, widthMm }: LightLine, umX: number, umY: number): PlainLine {
  const x = (to.column - from.column) * umX
  const y = (to.row - from.row) * umY
  return {
    x: ((from.column + to.column) / 2) * umX,
    y: ((from.row + to.row) / 2) * umY,
    angle: Math.atan2(y, x),
    length: Math.hypot(x, y),
    width: 1000 * widthMm,
  }
}

/** Long spots looked at among lines, and the pixels such a spot has at least. */
const MOST_LONG = 2000
const LONG_CELLS = 30

/** Long light spots of any width: a screen of lines, a hatch. */
function longSpots(list: Spots, umX: number, umY: number): PlainLine[] {
  const found: PlainLine[] = []
  for (let i = 0; i < list.count && found.length < MOST_LONG; i++)
    if (list.long[i]! >= THIN * list.short[i]! && list.cells[i]! >= LONG_CELLS) found.push(plainSpot(list, i, umX, umY))
  return found
}

function plainSpot(list: Spots, i: number, umX: number, umY: number): PlainLine {
  const length = list.long[i]! * Math.sqrt(12) * Math.sqrt(umX * umY)
  return {
    x: list.column[i]! * umX,
    y: list.row[i]! * umY,
    angle: list.angle[i]!,
    length,
    width: (list.cells[i]! * umX * umY) / length,
  }
}

/** Ends of one line seen twice lie so near the other's, um: a block of the overview and its half. */
const SAME_LINE_UM = 250

/** Whether a line of the overview is one that was found in the control strip. */
function sameLine(known: NozzleLine, { from, to }: Pick<LightLine, 'from' | 'to'>, umX: number, umY: number): boolean {
  const dx = (known.to.column - known.from.column) * umX
  const dy = (known.to.row - known.from.row) * umY
  const long = Math.hypot(dx, dy)
  const seen = [from, to].map(({ column, row }) => {
    const ox = (column - known.from.column) * umX
    const oy = (row - known.from.row) * umY
    return { off: Math.abs(ox * dy - oy * dx) / long, at: (ox * dx + oy * dy) / long }
  })
  return (
    seen.every(({ off }) => off < SAME_LINE_UM) &&
    Math.min(...seen.map(({ at }) => at)) < long &&
    Math.max(...seen.map(({ at }) => at)) > 0
  )
}

function lineCandidate(line: NozzleLine, kind: 'scratch' | 'missingNozzle'): FlawCandidate {
  const { from, to, openMm2 } = line
  return {
    kind,
    lies: 'amid',
    left: Math.floor(Math.min(from.column, to.column)),
    top: Math.floor(Math.min(from.row, to.row)),
    right: Math.ceil(Math.max(from.column, to.column)),
    bottom: Math.ceil(Math.max(from.row, to.row)),
    cells: 0,
    long: Math.hypot(to.column - from.column, to.row - from.row) / Math.sqrt(12),
    short: 1,
    angle: Math.atan2(to.row - from.row, to.column - from.column),
    run: { from, to, openMm2 },
  }
}
