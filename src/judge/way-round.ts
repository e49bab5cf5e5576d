import type { Doubt } from '../model/measured.js'

/**
 * Whether a film lies, or was printed, the wrong way round. A scanner looks at the side on the glass. A right film reads as its artwork
 * from its ink side, the side that touches the stencil (common practice, no source); so ink side down it must read as the artwork, and ink side up mirrored.
 * From the scan alone nobody can tell a film turned over from one printed mirrored: a doubt, never a fail.
 * @param mirrored whether the film shows mirrored on the scan, by its strip or its artwork; null when that cannot be told
 * @param inkSideUp how the site lays its films; null when it does not say
 */
export function wayRound(mirrored: boolean | null, inkSideUp: boolean | null): Doubt | null {
  if (mirrored === null || inkSideUp === null || mirrored === inkSideUp) return null
  return {
    code: 'wrongWayRound',
    why: `The film ${mirrored ? 'shows mirrored' : 'reads the right way round'} on the scan; with its ink side ${inkSideUp ? 'up' : 'down'} on the glass, as \`inkSideUp\` in burngate.yaml says, it should ${mirrored ? 'read as its artwork' : 'show mirrored'}.`,
    next: `look at the film: if it lay with its ink side ${inkSideUp ? 'down' : 'up'}, scan it again the right way; if it lay right, it was printed mirrored, and must be printed anew unless that was meant`,
  }
}
