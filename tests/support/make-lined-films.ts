import { linedFilm } from './lined-film.js'
import { type MetLine, meetLines } from './meet-lines.js'
import { flawsOf } from './seen-flaws.js'

/**
 * How many hairs, scratches, lost nozzle lines and thin areas of random films are found, and how well their sizes are told. By hand, some seconds a film:
 * `npx tsx tests/support/make-lined-films.ts 20 600 50000 [list]` (films, dpi, first seed; `list` names each that was missed, split or false).
 */
const [films, dpi, firstSeed] = [process.argv[2] ?? 20, process.argv[3] ?? 600, process.argv[4] ?? 50_000].map(Number)
const list = process.argv[5] === 'list'
const met: MetLine[] = []
const falseOnes = new Map<string, number>()
const um = 25_400 / dpi!
for (let k = 0; k < films!; k++) {
  const seed = firstSeed! + k
  const film = linedFilm(seed, { dpi: dpi!, scratches: 6, hairs: 6, nozzles: 2, thinSpots: 3 })
  const bed = film.scan
  const found = flawsOf(bed)
  const result = meetLines(film.flaws, found, um)
  met.push(...result.met)
  if (list) {
    const { blurAcrossUm, gamma, veil } = bed.scanner
    console.log(
      `${seed}: net D ${film.netDensity.toFixed(2)}, spread ${bed.film.inkSpreadUm.toFixed(0)} um, gamma ${gamma}, blur ${(blurAcrossUm / um).toFixed(2)} px, veil ${veil.toFixed(5)}`,
    )
    for (const one of result.met)
      if (one.found === null || one.pieces > 1 || one.otherKind !== null)
        console.log(
          `   ${one.otherKind !== null ? `as ${one.otherKind}` : one.found === null ? 'missed' : `in ${one.pieces} pieces`}: ${one.flaw.kind} ${one.flaw.widthUm?.toFixed(1) ?? ''} um x ${one.flaw.lengthMm?.toFixed(2) ?? ''} mm ${one.flaw.thinner === undefined ? '' : `${one.flaw.thinner.toFixed(2)} D thinner, ${one.flaw.acrossMm!.toFixed(2)} mm`} leaks ${one.flaw.leakedMm2.toFixed(5)} mm2 at ${one.flaw.path[0]!.column.toFixed(0)},${one.flaw.path[0]!.row.toFixed(0)}`,
        )
    for (const one of result.extra)
      console.log(
        `   false: ${one.kind} ${one.diameterUm.toFixed(0)} um${one.lengthMm === null ? '' : `, ${one.lengthMm.toFixed(2)} mm x ${one.widthUm?.toFixed(1)} um`} at ${one.place.column.toFixed(0)},${one.place.row.toFixed(0)}`,
      )
  }
  for (const one of result.extra) falseOnes.set(one.kind, (falseOnes.get(one.kind) ?? 0) + 1)
}

const median = (values: number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN
const worst = (values: number[], share: number) =>
  [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(share * values.length))] ?? Number.NaN
const table: Record<string, unknown>[] = []
const row = (what: string, of: MetLine[]) => {
  if (of.length === 0) return
  const hits = of.filter(one => one.found !== null)
  const other = of.filter(one => one.otherKind !== null)
  const lengths = hits.filter(one => one.flaw.lengthMm !== null)
  const offMm = lengths.map(one => Math.abs(one.found!.lengthMm! - one.flaw.lengthMm!))
  const offShare = lengths.map(one => Math.abs(one.found!.lengthMm! / one.flaw.lengthMm! - 1))
  const leaks = hits.map(one => Math.abs(one.found!.leakedMm2 / one.flaw.leakedMm2 - 1))
  const width = lengths.map(one => Math.abs(one.found!.widthUm! - one.flaw.widthUm!))
  table.push({
    what,
    drawn: of.length,
    found: hits.length,
    'as another kind': other.length,
    pieces: hits.filter(one => one.pieces > 1).length,
    'length off, mm, half and 95 %': `${median(offMm).toFixed(2)} ${worst(offMm, 0.95).toFixed(2)} (${(100 * median(offShare)).toFixed(0)} ${(100 * worst(offShare, 0.95)).toFixed(0)} %)`,
    'width off, um': `${median(width).toFixed(1)} ${worst(width, 0.95).toFixed(1)}`,
    'leak off, %': `${(100 * median(leaks)).toFixed(0)} ${(100 * worst(leaks, 0.95)).toFixed(0)}`,
    'within U': `${hits.filter(one => Math.abs(one.found!.diameterUm - 2000 * Math.sqrt(one.flaw.leakedMm2 / Math.PI)) <= one.found!.expandedUm).length}`,
  })
}
for (const kind of ['scratch', 'hair', 'missingNozzle'] as const)
  for (const [from, to] of [
    [0, 0.1],
    [0.1, 0.25],
    [0.25, 0.5],
    [0.5, 1],
    [1, 2],
    [2, 99],
  ] as const)
    row(
      `${kind} ${from} to ${to} px wide`,
      met.filter(({ flaw }) => flaw.kind === kind && flaw.widthUm! >= from * um && flaw.widthUm! < to * um),
    )
for (const [from, to] of [
  [0, 0.15],
  [0.15, 0.3],
  [0.3, 0.6],
  [0.6, 9],
] as const)
  row(
    `thin by ${from} to ${to} D`,
    met.filter(({ flaw }) => flaw.kind === 'thinSpot' && flaw.thinner! >= from && flaw.thinner! < to),
  )
console.table(table)
console.log(`false: ${[...falseOnes].map(([kind, n]) => `${n} ${kind}`).join(', ') || 'none'} on ${films} films`)
