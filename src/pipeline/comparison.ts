import { type CompareOptions, compareFilms, type FilmScan } from '../compare/compare-films.js'
import { filmLightAt } from '../compare/film-light.js'
import { inkLost } from '../compare/ink-lost.js'
import { type FlawScan, matchFlaws } from '../compare/match-flaws.js'
import { filmPieces, shownStroke, strokePieces, strokeProfiles } from '../compare/stroke-pictures.js'
import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { Comparison } from '../model/growth.js'
import { lightPicture } from '../report/light-picture.js'

/** Two scans of one film compared, with the pictures of one stroke before and after. */
export function comparison(
  before: FilmScan,
  after: FilmScan,
  options: CompareOptions & { readonly wear?: boolean },
  flaws: { readonly before: FlawScan; readonly after: FlawScan } | null = null,
): Comparison {
  const found = compareFilms(before, after, options)
  if (found.outcome !== 'compared') return found
  const changes = flaws === null ? null : matchFlaws(flaws.before, flaws.after, found.map)
  const wear = options.wear === true ? worn(before, after, found.map) : {}
  const shown = shownStroke(found.strokes)
  if (shown === null) return { ...found.comparison, flaws: changes, ...wear, profiles: null, crops: null }
  const { id } = found.comparison.strokes[found.strokes.indexOf(shown)]!
  const pieces = strokePieces(
    shown,
    filmLightAt(before.scan, shown.before.x, shown.before.y),
    filmLightAt(after.scan, shown.after.x, shown.after.y),
    found.map,
  )
  return {
    ...found.comparison,
    flaws: changes,
    ...wear,
    profiles: strokeProfiles(shown, id),
    crops:
      pieces === null
        ? null
        : {
            before: lightPicture(pieces.before, id, 'On the baseline'),
            after: lightPicture(pieces.after, id, 'Now'),
            umPerPixel: pieces.before.umPerPixel,
          },
  }
}

/** Side of the picture of a worn place, mm: so long at least, and with as much film round the place as it is long. */
const WORN_MM = 4

/** What came off, and the worst place before and after. */
function worn(
  before: FilmScan,
  after: FilmScan,
  map: PlaneMap,
): Pick<Extract<Comparison, { outcome: 'compared' }>, 'inkLost' | 'wearCrops'> {
  const lost = inkLost(before, after, map)
  const worst = lost?.worst ?? null
  if (worst === null) return { inkLost: lost, wearCrops: null }
  const widthMm = Math.max(WORN_MM, 2 * worst.lengthMm)
  const there = mapped(map, worst.x, worst.y)
  const pieces = filmPieces(
    worst,
    filmLightAt(before.scan, worst.x, worst.y),
    filmLightAt(after.scan, there.x, there.y),
    map,
    1000 * widthMm,
  )
  return {
    inkLost: lost,
    wearCrops:
      pieces === null
        ? null
        : {
            before: lightPicture(pieces.before, 'worn', 'Before'),
            after: lightPicture(pieces.after, 'worn', 'After'),
            widthMm,
          },
  }
}
