import { alongScanner, bandingOf, slantEnough } from './banding.js'
import type { FilmEvidence } from './film-evidence.js'

/** Films are turned on the glass by more than this with a quarter turn, degrees: what lies aslant does not fit. */
const MOST_ASLANT = 20

/** Ripple of less than this share of the ink is not worth a word. */
const WORTH_A_WORD = 0.005

/** What must be said beside banding: a film that lies square cannot tell its own ripple from the scanner's. */
export function rippleNotes({ scan, ripple }: FilmEvidence): string[] {
  if (ripple === undefined) return []
  const notes: string[] = []
  if (ripple.solids.length > 0) {
    const [{ rms, clearest }] = bandingOf({ scan, ripple })
    const way = clearest === null ? null : alongScanner(clearest)
    if (clearest !== null && way !== null && rms > WORTH_A_WORD)
      notes.push(
        `The film lies so square on the glass that ${way === 'across' ? 'streaks of the scanner' : 'ripple of the scanner’s carriage'} would look like its bands. ${ripple.scanner === null ? 'No clear area was in view to tell them apart' : `The clear film beside them ripples by ${(100 * ripple.scanner[way]).toFixed(2)} % of its light, which U holds; streaks that show in the dark only would not show there`}. To be sure, turn the film by ${turnWords(slantEnough(clearest))} and scan again.`,
      )
  }
  if (ripple.tooDeep > 0 && ripple.solids.length > 0)
    notes.push(
      `${ripple.tooDeep} of ${ripple.tooDeep + ripple.solids.length} large solids are deeper than the scanner can tell; banding and mottle are those of the others.`,
    )
  return notes
}

function turnWords(enough: number | null): string {
  return enough === null || enough > MOST_ASLANT
    ? 'a quarter turn'
    : `${Math.max(1, Math.ceil(enough))} degrees or a quarter turn`
}
