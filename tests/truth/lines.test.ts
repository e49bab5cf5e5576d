import { afterAll, describe, expect, it } from 'vitest'
import { linedFilm } from '../support/lined-film.js'
import { type MetLine, meetLines } from '../support/meet-lines.js'
import { flawsOf } from '../support/seen-flaws.js'

/**
 * Films with hairs, scratches, lines of lost nozzles and thin areas among type, tints and hair-lines, on scanners drawn at random (seeded). Their truth is
 * the film's own light. Nothing here is tuned to a seed; change SEED and it must still hold.
 */
const SEED = 7300
const FILMS = [
  { dpi: 600, scratches: 5, hairs: 5, nozzles: 2, thinSpots: 3, heightMm: 38 },
  { dpi: 600, scratches: 5, hairs: 5, nozzles: 2, thinSpots: 3, heightMm: 38 },
  { dpi: 1200, scratches: 4, hairs: 4, nozzles: 1, thinSpots: 2, heightMm: 30 },
] as const

const met: (MetLine & { um: number })[] = []
let falseOnes = 0

describe('long and thin flaws of known films', () => {
  for (const [k, plan] of FILMS.entries())
    it(`${plan.dpi} dpi, seed ${SEED + k}`, () => {
      const film = linedFilm(SEED + k, plan)
      const um = 25_400 / plan.dpi
      const result = meetLines(film.flaws, flawsOf(film.scan), um)
      met.push(...result.met.map(one => ({ ...one, um })))
      falseOnes += result.extra.length
      // One in ten may be missed: a straight dark hair beside another looks like a drawn line, a wide line of a lost nozzle like one left open.
      const missed = result.met.filter(
        ({ flaw, found, otherKind }) => asked(flaw, um) && found === null && otherKind === null,
      )
      expect(missed.map(({ flaw }) => words(flaw)).slice(1)).toEqual([])
    })

  it('calls nothing else a flaw', () => {
    expect(falseOnes).toBe(0)
  })

  it('tells lengths within 0.3 mm or 5 %, widths within 4 um and 15 %, and leaked light within 10 %', () => {
    const hits = met.filter(({ flaw, found, um }) => asked(flaw, um) && found !== null)
    expect(hits.length).toBeGreaterThan(20)
    for (const { flaw, found } of hits) {
      const of = words(flaw)
      // Of a faint line half a micrometre of width may hide in the scatter of the ink; and at the rim of a solid ink that creeps leaves a line far
      // wider open than inside, which is not told.
      const rims = (flaw.kind === 'missingNozzle' ? 0.002 : 0.0005) * (flaw.lengthMm ?? 0)
      expect(Math.abs(found!.leakedMm2 - flaw.leakedMm2), of).toBeLessThan(0.1 * flaw.leakedMm2 + rims)
      if (flaw.lengthMm === null) continue
      const allowedMm = Math.max(0.3, 0.05 * flaw.lengthMm)
      expect(Math.abs(found!.lengthMm! - flaw.lengthMm), of).toBeLessThan(allowedMm)
      // A width is what is leaked over the length: a tenth of a millimetre is an eighth of the shortest.
      expect(Math.abs(found!.widthUm! - flaw.widthUm!), of).toBeLessThan(4 + 0.15 * flaw.widthUm!)
    }
  })

  afterAll(() => {
    console.table(
      (['scratch', 'hair', 'missingNozzle', 'thinSpot'] as const).map(kind => {
        const of = met.filter(({ flaw }) => flaw.kind === kind)
        const wanted = of.filter(({ flaw, um }) => asked(flaw, um))
        return {
          kind,
          drawn: of.length,
          'asked for': wanted.length,
          'of them found': wanted.filter(({ found, otherKind }) => found !== null || otherKind !== null).length,
          'as their kind': wanted.filter(({ found }) => found !== null).length,
        }
      }),
    )
  })
})

function words({ kind, widthUm, lengthMm, path }: MetLine['flaw']): string {
  return `${kind} of ${widthUm?.toFixed(1)} um x ${lengthMm?.toFixed(2)} mm at ${path[0]!.column.toFixed(0)}, ${path[0]!.row.toFixed(0)}`
}

/** Whether a flaw leaks (or holds back) as much as a spot of two pixels, and is 2 pixels long, or is thin by what a step of a tablet is. */
function asked(flaw: MetLine['flaw'], um: number): boolean {
  const asLarge = flaw.leakedMm2 >= Math.PI * (um / 1000) ** 2
  return flaw.kind === 'thinSpot' ? asLarge && flaw.thinner! >= 0.2 : asLarge && flaw.widthUm! >= 0.02 * um
}
