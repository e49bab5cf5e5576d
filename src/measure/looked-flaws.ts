import type { MeasuredFlaws } from '../model/flaw.js'
import type { NotMeasured, ReadingName } from '../model/reading.js'
import { type FilmEvidence, notMeasured } from './film-evidence.js'

/** The flaws of a film, or why a reading of them cannot be made. */
export function lookedFlaws({ flaws }: FilmEvidence, name: ReadingName): MeasuredFlaws | NotMeasured {
  if (flaws === undefined)
    return notMeasured(name, 'nobody looked for flaws on this scan', 'inspect the scan again with this version')
  if ('because' in flaws) return notMeasured(name, flaws.because, flaws.next)
  if (flaws.tooMany)
    return notMeasured(
      name,
      'the scan shows more separate spots than any film has flaws',
      'look whether it is noise, a coarse grain or a pattern without regular dots; clean the glass, set the scanner to transparency mode and scan again',
    )
  return flaws
}
