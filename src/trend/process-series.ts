import type { ProcessEvent, ProcessFilm, ProcessPoint, ProcessSeries } from '../model/process.js'
import { READINGS, type ReadingName } from '../model/reading.js'
import { type ChartReset, processChart } from './process-chart.js'

/** Readings that a fresh film has: growth needs two scans and tells of the drawer, not of the printer. */
const FRESH = (Object.keys(READINGS) as ReadingName[]).filter(
  name => name !== 'edgeGrowth' && name !== 'fringeGrowth' && name !== 'densityLoss',
)

/**
 * The films that tell how the printer prints: the first scan of each positive and of each reprint, on a calibrated scanner. A later scan of
 * a stored film tells how it aged. The same scan inspected again counts once, as it was read last.
 * @param films by scannedAt, then as they were added
 */
export function freshFilms(films: readonly ProcessFilm[]): readonly ProcessFilm[] {
  const seen = new Set<string>()
  const fresh = new Map<string, ProcessFilm>()
  for (const film of films) {
    const first = !seen.has(film.positive)
    seen.add(film.positive)
    const key = JSON.stringify([film.positive, film.sha256])
    if (film.standing === 'baseline' || fresh.has(key) || (film.standing === null && first)) {
      fresh.delete(key)
      fresh.set(key, film)
    }
  }
  return [...fresh.values()]
    .filter(film => film.scanner !== null)
    .sort((a, b) => Date.parse(a.scannedAt) - Date.parse(b.scannedAt))
}

/**
 * One series for each printer, mode, stock and reading that fresh films have, with its limits and signals. An event begins a new segment in
 * the series it concerns; so does another version of a method, whose numbers may differ.
 * @param films by scannedAt, then as they were added
 */
export function processSeries(
  films: readonly ProcessFilm[],
  events: readonly ProcessEvent[],
): readonly ProcessSeries[] {
  const groups = new Map<string, ProcessFilm[]>()
  for (const film of freshFilms(films)) {
    const key = JSON.stringify([film.printer, film.mode, film.stock])
    const group = groups.get(key)
    if (group === undefined) groups.set(key, [film])
    else group.push(film)
  }
  return [...groups.keys()].sort().flatMap(key => {
    const group = groups.get(key)!
    const { printer, mode, stock } = group[0]!
    const mine = events.filter(
      event => (event.printer === null || event.printer === printer) && (event.stock === null || event.stock === stock),
    )
    return FRESH.flatMap((reading): ProcessSeries[] => {
      const points: ProcessPoint[] = []
      const methods: string[] = []
      let bounds = 0
      for (const film of group) {
        const found = film.readings[reading]
        if (found === undefined) continue
        if (found.bound !== null) {
          bounds++
          continue
        }
        const { id, positive, scannedAt: at, scanner } = film
        points.push({ id, positive, at, value: found.value, scanner: scanner! })
        methods.push(found.method)
      }
      if (points.length === 0) return []
      const chart = processChart(
        points.map(point => point.value),
        resetsOf(points, methods, mine),
      )
      return [{ printer, mode, stock, reading, points, ...chart, bounds }]
    })
  })
}

function resetsOf(
  points: readonly ProcessPoint[],
  methods: readonly string[],
  events: readonly ProcessEvent[],
): readonly ChartReset[] {
  const because = new Map<number, string[]>()
  const add = (at: number, why: string): void => {
    const before = because.get(at)
    if (before === undefined) because.set(at, [why])
    else before.push(why)
  }
  for (const event of events) {
    const from = Date.parse(event.on)
    const at = points.findIndex(point => Date.parse(point.at) >= from)
    if (at >= 0) add(at, `${event.name} (${event.on.slice(0, 10)})`)
  }
  for (let i = 1; i < methods.length; i++)
    if (methods[i] !== methods[i - 1]) add(i, `measured another way (${methods[i]})`)
  return [...because].map(([at, whys]) => ({ at, because: whys.join(', ') }))
}
