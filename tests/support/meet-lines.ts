import type { Flaw } from '../../src/model/flaw.js'
import type { PixelPoint } from '../../src/model/geometry.js'
import type { TrueLine } from './lined-film.js'

/** A true line or thin area, and what was found of it. */
export interface MetLine {
  readonly flaw: TrueLine
  /** The largest piece found where it lies, of any kind that is light as it is light or dark as it is dark; null when nothing was. */
  readonly found: Flaw | null
  readonly pieces: number
  /** The kind it was called, where that is another. */
  readonly otherKind: string | null
}

/** Which found flaws lie on which true ones; what lies on none is false. */
export function meetLines(
  truth: readonly TrueLine[],
  found: readonly Flaw[],
  um: number,
): { readonly met: readonly MetLine[]; readonly extra: readonly Flaw[] } {
  const dark = (kind: string) => kind === 'hair' || kind === 'speck'
  const taken = new Map<string, TrueLine>()
  const owners = new Map<TrueLine, Flaw[]>()
  for (const one of found) {
    let best: { flaw: TrueLine; unlike: number } | null = null
    for (const flaw of truth) {
      if (dark(flaw.kind) !== dark(one.kind)) continue
      // Half a millimetre and, of a thin area, its radius: the centre of a found line's outline lies within its own bend of the path.
      const reach = (flaw.acrossMm === undefined ? 250 : 500 * flaw.acrossMm) / um
      if (Math.min(...flaw.path.map(p => offOutline(one, p))) > reach) continue
      // Where several come into question (a curled hair lies round others) the one that is as large.
      const unlike = Math.abs(Math.log(one.leakedMm2 / flaw.leakedMm2))
      if (best === null || unlike < best.unlike) best = { flaw, unlike }
    }
    if (best === null) continue
    taken.set(one.id, best.flaw)
    owners.set(best.flaw, [...(owners.get(best.flaw) ?? []), one])
  }
  return {
    met: truth.map(flaw => {
      const of = owners.get(flaw) ?? []
      const best = of.find(one => one.kind === flaw.kind && (one.lengthMm === null) === (flaw.lengthMm === null))
      return {
        flaw,
        found: best ?? null,
        pieces: of.length,
        otherKind: best === undefined && of.length > 0 ? of[0]!.kind : null,
      }
    }),
    extra: found.filter(one => !taken.has(one.id)),
  }
}

/** Distance of a place from a flaw's middle line, of a hair from its box, of a spot from its centre, pixels. */
function offOutline({ kind, corners, lengthMm, place }: Flaw, p: PixelPoint): number {
  const [a, b, c, d] = corners
  if (lengthMm === null || a === undefined || b === undefined || c === undefined || d === undefined)
    return Math.hypot(place.column - p.column, place.row - p.row)
  if (kind === 'hair')
    return Math.hypot(Math.max(0, a.column - p.column, p.column - c.column), Math.max(0, a.row - p.row, p.row - c.row))
  const from = { x: (a.column + d.column) / 2, y: (a.row + d.row) / 2 }
  const way = { x: (b.column + c.column) / 2 - from.x, y: (b.row + c.row) / 2 - from.y }
  const along = ((p.column - from.x) * way.x + (p.row - from.y) * way.y) / (way.x ** 2 + way.y ** 2)
  const at = Math.min(1, Math.max(0, along))
  return Math.hypot(p.column - from.x - at * way.x, p.row - from.y - at * way.y)
}
