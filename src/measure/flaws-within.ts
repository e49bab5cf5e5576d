import type { FlawKind, MeasuredFlaws, NotLooked } from '../model/flaw.js'
import type { PixelPoint } from '../model/geometry.js'

/** The flaws of one part of a film. Counts are those of the list, which holds all but on pages with hundreds; rates are told of whole films only. */
export function flawsWithin(
  flaws: MeasuredFlaws | NotLooked,
  inside: (place: PixelPoint) => boolean,
): MeasuredFlaws | NotLooked {
  if ('because' in flaws) return flaws
  const list = flaws.list.filter(flaw => inside(flaw.place))
  const counts = Object.fromEntries(
    (Object.keys(flaws.counts) as FlawKind[]).map(kind => [kind, list.filter(flaw => flaw.kind === kind).length]),
  ) as Record<FlawKind, number>
  return { ...flaws, list, counts, rates: { light: null, dark: null } }
}
