import type { BlockOverview } from '../imaging/block-overview.js'
import { type LocatedStrip, type ReadStrip, readStrip } from '../locate/locate-strips.js'
import type { DensityScan } from '../model/light.js'
import type { StripLook } from '../model/strip.js'

/** What the control strips in view came to: the one that speaks for the film, if any, and why not. */
export interface StripsRead {
  readonly read: ReadStrip | null
  readonly look: StripLook
}

/** More strips than this on one scan are a ladder's sheet: its own command reads them all; one scan is asked who it is by the first of them. */
const MOST_READ = 8

/**
 * Reads the control strips in view. Strips that name one and the same positive are one film; those that name several are several films, of
 * which nobody can say which one the scan stands for: then none is believed.
 */
export async function layStrip(scan: DensityScan, strips: readonly LocatedStrip[], clear: number): Promise<StripsRead> {
  const read: ReadStrip[] = []
  const refused: string[] = []
  for (const strip of strips.slice(0, MOST_READ)) {
    const one = await readStrip(scan, strip, clear)
    if ('kind' in one) refused.push(one.because)
    else read.push(one)
  }
  const found = strips.length
  const first = read[0]
  if (first === undefined) return { read: null, look: { identity: null, found, refused: refused[0] ?? null } }
  const others = [...new Set(read.map(({ laid }) => laid.identity.positive))]
  if (others.length > 1)
    return {
      read: null,
      look: {
        identity: null,
        found,
        refused: `${read.length} control strips are in view, and they name ${others.length} films: ${others.map(name => `"${name}"`).join(', ')}`,
      },
    }
  return { read: first, look: { identity: first.laid.identity, found, refused: null } }
}

/** Share of the blocks that are taken for lighter than clear film: dust on open light, clipped corners. */
const BRIGHTEST = 0.02

/** Light of what is clear on a page of which nothing else is known yet. */
export function clearLight({ light }: BlockOverview): number {
  const every = Math.max(1, Math.floor(light.length / 20_000))
  const sample = Float32Array.from({ length: Math.ceil(light.length / every) }, (_, i) => light[i * every]!).sort()
  return sample[Math.floor((1 - BRIGHTEST) * (sample.length - 1))] ?? 0
}
