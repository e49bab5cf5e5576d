import { alignArtwork } from '../../src/artwork/align-artwork.js'
import { compareInk } from '../../src/artwork/compare-ink.js'
import { localShift } from '../../src/artwork/local-shift.js'
import type { Shape } from '../../src/demo/film.js'
import { seededRandom } from '../../src/demo/random.js'
import { filmToPixel } from '../../src/demo/scanner.js'
import { filmInk } from '../../src/locate/film-ink.js'
import { filmTurns } from '../../src/locate/film-turns.js'
import { locateScan } from '../../src/locate/locate-scan.js'
import { artworkFilm } from './artwork-film.js'
import { openBedScan } from './calibrated-scanner.js'
import { knownLight } from './seen-flaws.js'

/**
 * Artworks laid on random films whose sides wander smoothly, at several resolutions and gammas: places, sizes, missing and added ink against their truth.
 * By hand, 5 seconds a film: `npx tsx tests/support/make-artwork-films.ts 20 600 60000 0.2 [2]` (films, dpi, first seed, wander of up to so many mm,
 * kinds of things on the film: 2 for tints alone).
 */
const [films, dpi, firstSeed, mostWander] = [20, 600, 60_000, 0.2].map((usual, i) =>
  Number(process.argv[2 + i] ?? usual),
)
const only = process.argv[6] === undefined ? [0, 1, 3, 4, 6] : process.argv[6].split(',').map(Number)
const ADDED: Shape = { kind: 'rectangle', u: 0.9, v: 1.2, width: 0.6, height: 1.1 }
const um = 25_400 / dpi!
const sizes: { off: number; standard: number }[] = []
for (let k = 0; k < films!; k++) {
  const seed = firstSeed! + k
  const random = seededRandom(seed * 7 + 1)
  const artworkDpi = random.pick([
    { across: 360, along: 360 },
    { across: 720, along: 720 },
    { across: 1440, along: 720 },
    { across: 1440, along: 1440 },
    { across: 2540, along: 2540 },
  ])
  const wander = mostWander! * random.between(0.3, 1)
  const [longU, longV] = [random.between(60, 140), random.between(60, 140)]
  const [turnU, turnV] = [random.between(0, 7), random.between(0, 7)]
  // How far a place is off, mm: each axis by where it lies along itself, so that upright shapes stay upright.
  const offU = (u: number) => wander * Math.sin((2 * Math.PI * u) / longU + turnU)
  const offV = (v: number) => wander * Math.sin((2 * Math.PI * v) / longV + turnV)
  let missing = 0
  const spoilt = k % 2 === 1 && !only.includes(2)
  const one = artworkFilm({
    seed,
    artworkDpi,
    scanDpi: dpi!,
    only,
    spoil: (shapes, chance) => {
      const blocks = shapes.filter(
        s =>
          s.kind === 'rectangle' &&
          (s.turn ?? 0) === 0 &&
          Math.min(s.width, s.height) > 0.4 &&
          s.width * s.height > 1.5,
      )
      // One that no other stroke covers, so that all of it is gone.
      const alone = blocks.filter(block => !shapes.some(other => other !== block && covers(other, block)))
      const gone = spoilt && alone.length > 1 ? chance.pick(alone) : undefined
      if (gone?.kind === 'rectangle') missing = gone.width * gone.height
      const left = shapes.filter(shape => shape !== gone)
      return (spoilt ? [...left, ADDED] : left).map(shape => wandered(shape, offU, offV))
    },
  })
  const scanner = { ...one.scan.scanner, gamma: random.pick([1, 2]) }
  const bed = { ...one.scan, scanner }
  const located = locateScan({
    scan: openBedScan(bed),
    light: knownLight(scanner),
    umPerPixel: { across: um, along: um },
  })
  const { scan, overview, regions } = located
  const clear = regions.base ?? 1
  const fit = alignArtwork(one.artwork, {
    scan,
    ...filmInk(located),
    clear,
    turns: filmTurns(located),
  })
  const about = `${seed}: artwork ${artworkDpi.across} x ${artworkDpi.along}, gamma ${scanner.gamma}, spread ${one.film.inkSpreadUm.toFixed(0)} um, turned ${one.turned.toFixed(1)}${one.mirrored ? ' mirrored' : ''}, wander ${wander.toFixed(2)} mm`
  if (fit.kind !== 'fitted') {
    console.log(`${about}: NOT FITTED, ${fit.because}`)
    continue
  }
  const shift = localShift(fit.shift)
  const border = (one.film.widthMm - ((one.artwork.width * 25.4) / artworkDpi.across) * (1 + one.across)) / 2
  const offs = one.film.shapes.flatMap(shape => {
    // Not what was added, which the artwork does not hold.
    if (shape.kind !== 'rectangle' || Math.abs(shape.width * shape.height - 0.66) < 0.02) return []
    // Back to the artwork: by steps, as the wander is small.
    const back = (film: number, share: number, off: (x: number) => number) => {
      const at = (film - border) / (1 + share)
      let x = at
      for (let i = 0; i < 8; i++) x = at - off(x)
      return x
    }
    const [fu, fv] = [shape.u + shape.width / 2, shape.v + shape.height / 2]
    const [u, v] = [back(fu, one.across, offU), back(fv, one.feed, offV)]
    const { across, feed } = shift(u, v)
    const [x, y] = [u + across, v + feed]
    const seen = {
      column: fit.map.x0 + fit.map.xx * x + fit.map.xy * y,
      row: fit.map.y0 + fit.map.yx * x + fit.map.yy * y,
    }
    const truth = filmToPixel(bed, fu, fv)
    return [Math.hypot(seen.column - truth.column, seen.row - truth.row)]
  })
  offs.sort((a, b) => a - b)
  const found = compareInk(one.artwork, fit, { scan, overview, onFilm: regions.film, clear })
  const ink = (is: { areaMm2: number; standardMm2: number; count: number }, truth: number) =>
    `${truth.toFixed(2)} off ${(is.areaMm2 - truth).toFixed(3)} U ${(2 * is.standardMm2).toFixed(3)} in ${is.count}${Math.abs(is.areaMm2 - truth) <= 2 * is.standardMm2 + 1e-9 ? '' : ' BEYOND U'}`
  const size = [
    [fit.size.across, one.across],
    [fit.size.feed, one.feed],
  ] as const
  for (const [told, truth] of size) if (told !== null) sizes.push({ off: told.value - truth, standard: told.standard })
  console.log(
    `${about}: place off ${(offs[Math.floor(offs.length / 2)] ?? Number.NaN).toFixed(2)} px, at worst ${(offs.at(-1) ?? Number.NaN).toFixed(2)}; size off ${size.map(([told, truth]) => (told === null ? 'none' : `${(100 * (told.value - truth)).toFixed(4)} (U ${(200 * told.standard).toFixed(4)})`)).join(', ')} %; mirrored ${fit.mirrored === one.mirrored ? 'told' : 'WRONG'}; missing ${ink(found.missing, missing)}, extra ${ink(found.extra, spoilt ? 0.66 : 0)}`,
  )
}
const beyond = sizes.filter(({ off, standard }) => Math.abs(off) > 2 * standard).length
console.log(
  `sizes: ${beyond} of ${sizes.length} beyond U; rms of off over standard ${Math.sqrt(sizes.reduce((sum, { off, standard }) => sum + (off / standard) ** 2, 0) / sizes.length).toFixed(2)}`,
)

/** Whether boxes of two shapes share a place. */
function covers(one: Shape, other: Shape): boolean {
  const box = (shape: Shape) =>
    shape.kind === 'disc'
      ? [shape.u - shape.radius, shape.v - shape.radius, shape.u + shape.radius, shape.v + shape.radius]
      : [shape.u, shape.v, shape.u + shape.width, shape.v + shape.height]
  const [a, b] = [box(one), box(other)]
  return a[0]! < b[2]! && b[0]! < a[2]! && a[1]! < b[3]! && b[1]! < a[3]!
}

function wandered(shape: Shape, offU: (u: number) => number, offV: (v: number) => number): Shape {
  if (shape.kind === 'rectangle' && (shape.turn ?? 0) === 0) {
    const [u, v] = [shape.u + offU(shape.u), shape.v + offV(shape.v)]
    const right = shape.u + shape.width + offU(shape.u + shape.width)
    const bottom = shape.v + shape.height + offV(shape.v + shape.height)
    return { ...shape, u, v, width: right - u, height: bottom - v }
  }
  const [u, v] = shape.kind === 'disc' ? [shape.u, shape.v] : [shape.u + shape.width / 2, shape.v + shape.height / 2]
  return { ...shape, u: shape.u + offU(u), v: shape.v + offV(v) }
}
