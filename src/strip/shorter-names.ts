import type { StripIdentity } from '../model/strip.js'
import { drawStrip, FINE_MODULE } from './draw-strip.js'
import type { Screen } from './halftone-cell.js'

/** What would have to be taken off the names of a strip for its code to be coarse enough. */
export interface ShorterNames {
  /** Fewest characters, taken off the longest names. */
  readonly characters: number
  /** The names, longest first. */
  readonly names: readonly { readonly name: string; readonly length: number }[]
}

/** What a person may write shorter; a job type has its name elsewhere. */
const NAMES = ['positive', 'setting', 'stock', 'mode', 'level', 'printer'] as const

/** How much shorter the names must be for modules of `FINE_MODULE`; null when they are that coarse, or no length would make them so. */
export function shorterNames(identity: StripIdentity, screen: Screen): ShorterNames | null {
  const coarse = (one: StripIdentity) => {
    const { across, feed } = drawStrip(one, screen).module
    return Math.min(across, feed) >= FINE_MODULE
  }
  if (coarse(identity)) return null
  const lengths = (one: StripIdentity) =>
    NAMES.map(name => ({ name, length: [...(one[name] ?? '')].length }))
      .filter(({ length }) => length > 0)
      .sort((a, b) => b.length - a.length)
  let shorter = identity
  for (let characters = 1; ; characters++) {
    const [longest] = lengths(shorter)
    if (longest === undefined || longest.length <= 1) return null
    shorter = { ...shorter, [longest.name]: [...shorter[longest.name]!].slice(0, -1).join('') }
    if (coarse(shorter)) return { characters, names: lengths(identity) }
  }
}
