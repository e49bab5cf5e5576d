import { MM_PER_INCH, UM_PER_INCH } from '../model/geometry.js'

/** A screen of dots on film, as measured or as asked for. */
export interface FilmScreen {
  /** Lines per inch, and U at k = 2. */
  readonly ruling: number
  readonly rulingExpanded: number
  /** Degrees from the direction across the head, and U. */
  readonly angle: number
  readonly angleExpanded: number
}

export type MoireRisk = 'low' | 'some' | 'high'

/** One pattern that dots and threads make together. */
export interface Moire {
  /** Which harmonic of the dots, along and across their rows, meets which of the threads. */
  readonly dots: readonly [number, number]
  readonly threads: readonly [number, number]
  /** From band to band of the pattern, mm; null when dots and threads keep step all over the film. */
  readonly periodMm: number | null
  /** Share of the contrast that the screen's own first harmonic has. */
  readonly contrast: number
}

export interface MeshAdvice {
  /** Threads per inch. */
  readonly mesh: number
  /** Threads to a line of dots. */
  readonly ratio: number
  readonly risk: MoireRisk
  /** The patterns most likely seen, worst first, at most three. */
  readonly nearest: readonly Moire[]
  /** One sentence each, for the printer. */
  readonly aboutRatio: string
  readonly aboutAngle: string
  readonly next: string
}

/** Harmonics of the dots that are looked at: seven threads to a line and more are out of every usual range. */
const DOT_ORDERS = 8
/** Harmonics of the mesh: single threads and their diagonals, and every opening twice. */
const THREAD_ORDERS: readonly (readonly [number, number])[] = [
  [1, 0],
  [0, 1],
  [1, 1],
  [1, -1],
  [2, 0],
  [0, 2],
]

/**
 * Bands closer than this merge for an eye at arm's length (0.5 mm are 15 cycles a degree at 430 mm), wider than the second they are
 * seen as well as they ever are. Between, evenly. Judgement, no source.
 */
const SEEN_FROM_MM = 0.5
const SEEN_WELL_MM = 2
/** Patterns wider than ten metres have no bands on any film, 1/in. */
const IN_STEP = 0.0025

/** The same pattern a quarter turn on. */
function alike(a: Moire, b: Moire): boolean {
  return Math.abs((a.periodMm ?? 0) - (b.periodMm ?? 0)) < 1e-6 && Math.abs(a.contrast - b.contrast) < 1e-9
}

/** Contrast times how well it is seen: a tenth is `some`, a fifth is `high`. Judgement, no source. */
const SOME = 0.1
const HIGH = 0.2

/** Threads to a line that the trade holds for good, and the least it works with (handbook ratios 2.5, 3.75 and 5; common practice 4 to 5). */
const USUAL_RATIO = { from: 3.5, to: 5, least: 2.5 } as const
/** Threads to a line that advice aims at: the middle of the trade's 4 to 5. */
const MIDDLE_RATIO = 4.5

/**
 * Frequency of the pattern that two gratings make: `sqrt(f1^2 + f2^2 - 2 f1 f2 cos(turn))`, in the unit of the frequencies
 * (Amidror, Hersch & Ostromoukhov, J. Electronic Imaging 3(3), 295, 1994).
 */
export function beatFrequency(first: number, second: number, degrees: number): number {
  const cos = Math.cos((degrees * Math.PI) / 180)
  return Math.sqrt(Math.max(0, first ** 2 + second ** 2 - 2 * first * second * cos))
}

/** Distance of neighbouring rows of dots, um. */
export function screenWidthUm(ruling: number): number {
  return UM_PER_INCH / ruling
}

/** Ruling, lines/in or lines/cm as the mesh is given, that a mesh takes at so many threads to a line. */
export function rulingForMesh(mesh: number, ratio: number): number {
  return mesh / ratio
}

/**
 * What dots and mesh will make together: every difference of a harmonic of the dots and one of the threads is a pattern
 * (Amidror et al., 1994); it is seen when it is coarse and neither harmonic is faint. The worst within U of ruling and angle counts.
 * Geometry only: ink, stencil and substrate can hide a pattern or bring another. Advice, never a verdict.
 * @param mesh threads per inch
 * @param meshAngle degrees from the film's direction across the head; 0: film laid square on the screen
 */
export function meshMoire(film: FilmScreen, mesh: number, meshAngle = 0): MeshAdvice {
  const worst = corners(film)
    .map(({ ruling, angle }) => patterns(ruling, angle, mesh, meshAngle))
    .reduce((a, b) => (scoreOf(b) > scoreOf(a) ? b : a))
  const score = scoreOf(worst)
  const risk: MoireRisk = score >= HIGH ? 'high' : score >= SOME ? 'some' : 'low'
  const ratio = mesh / film.ruling
  return {
    mesh,
    ratio,
    risk,
    nearest: worst.filter((one, i) => !worst.slice(0, i).some(other => alike(one, other))).slice(0, 3),
    aboutRatio: aboutRatio(ratio),
    aboutAngle: aboutAngle(film.angle - meshAngle),
    next: risk === 'low' ? '' : advice(film, mesh, meshAngle, score),
  }
}

/** The screen asked for and the ends of what it may be. */
function corners(film: FilmScreen): readonly { readonly ruling: number; readonly angle: number }[] {
  const { ruling, rulingExpanded, angle, angleExpanded } = film
  return [0, -1, 1].flatMap(r =>
    [0, -1, 1].map(a => ({ ruling: ruling + r * rulingExpanded, angle: angle + a * angleExpanded })),
  )
}

/** Every pattern, worst first. */
function patterns(ruling: number, angle: number, mesh: number, meshAngle: number): readonly Moire[] {
  const turn = ((angle - meshAngle) * Math.PI) / 180
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)]
  const found: Moire[] = []
  for (const threads of THREAD_ORDERS) {
    const [mu, mv] = [threads[0] * mesh, threads[1] * mesh]
    for (let i = -DOT_ORDERS; i <= DOT_ORDERS; i++)
      for (let j = -DOT_ORDERS; j <= DOT_ORDERS; j++) {
        if (i === 0 && j === 0) continue
        const u = ruling * (i * cos - j * sin) - mu
        const v = ruling * (i * sin + j * cos) - mv
        const beat = Math.hypot(u, v)
        const periodMm = beat < IN_STEP ? null : MM_PER_INCH / beat
        if (periodMm !== null && periodMm < SEEN_FROM_MM) continue
        // Edges of round dots make harmonics that fall with the power 1.5 of their order (a disc's transform); square openings
        // fall with the order along each thread (a slit's).
        const contrast =
          Math.hypot(i, j) ** -1.5 / (Math.max(1, Math.abs(threads[0])) * Math.max(1, Math.abs(threads[1])))
        found.push({
          dots: [i, j],
          threads,
          periodMm,
          contrast: threads[0] !== 0 && threads[1] !== 0 ? contrast / 2 : contrast,
        })
      }
  }
  return found.sort((a, b) => seen(b) - seen(a))
}

/** Contrast times how well its bands are seen. */
function seen({ periodMm, contrast }: Moire): number {
  return contrast * (periodMm === null ? 1 : Math.min(1, (periodMm - SEEN_FROM_MM) / (SEEN_WELL_MM - SEEN_FROM_MM)))
}

function scoreOf(found: readonly Moire[]): number {
  return found.length === 0 ? 0 : seen(found[0]!)
}

function aboutRatio(ratio: number): string {
  const is = `${ratio.toFixed(1)} threads to a line of dots`
  if (ratio < USUAL_RATIO.least)
    return `${is}: too few to hold every dot; ${USUAL_RATIO.from} to ${USUAL_RATIO.to} are usual.`
  if (ratio < USUAL_RATIO.from)
    return `${is}: few; small dots fall between threads. ${USUAL_RATIO.from} to ${USUAL_RATIO.to} are usual.`
  if (ratio <= USUAL_RATIO.to) return `${is}: within the usual ${USUAL_RATIO.from} to ${USUAL_RATIO.to}.`
  return `${is}: more than the usual ${USUAL_RATIO.to}, which hides patterns and holds small dots, but lays less ink.`
}

/** Angle of the rows to the nearest threads, folded to 0 .. 45 degrees. */
function aboutAngle(degrees: number): string {
  const folded = ((degrees % 90) + 90) % 90
  const near = Math.min(folded, 90 - folded)
  const is = `Rows of dots lie ${near.toFixed(1)} degrees from the threads`
  if (near < 4) return `${is}: nearly along them, where patterns are worst.`
  if (near > 41) return `${is}: nearly along their diagonals, where patterns are strong too.`
  return `${is}, clear of the threads and of their diagonals.`
}

/** A finer mesh for too few threads; else the angle of least risk, in steps of 7.5 degrees, when it is better; else another ruling. */
function advice(film: FilmScreen, mesh: number, meshAngle: number, score: number): string {
  const finer = Math.ceil((film.ruling * MIDDLE_RATIO) / 10) * 10
  const finerMesh = `Use a finer mesh, about ${finer} threads/in, or a coarser screen; print one test tint first.`
  if (mesh < USUAL_RATIO.least * film.ruling) return finerMesh
  let best = { angle: film.angle, score }
  for (let angle = 7.5; angle < 90; angle += 7.5) {
    const at = scoreOf(patterns(film.ruling, angle + meshAngle, mesh, meshAngle))
    if (at < 0.7 * best.score) best = { angle: angle + meshAngle, score: at }
  }
  if (best.score < SOME || (best.score < HIGH && score >= HIGH))
    return `Screen the next film at ${best.angle.toFixed(1)} degrees, or stretch the mesh turned; print one test tint first.`
  return finer > mesh
    ? finerMesh
    : `Try another mesh of the list, or a ruling of ${rulingForMesh(mesh, MIDDLE_RATIO).toFixed(0)} lines/in; print one test tint first.`
}
