import type { NotMeasured, ReadingName } from '../model/reading.js'
import { notMeasured } from './film-evidence.js'

/**
 * A reading of the control strip where none was read: a limit on it is then not asked, as one on size is not without artwork. A job type that wants the
 * strip says so itself.
 */
export function noStrip(reading: ReadingName, fields: 'lines' | 'tints'): NotMeasured {
  return {
    ...notMeasured(
      reading,
      `no control strip was read on this scan, and only its ${fields} are known well enough`,
      'print the positive with a control strip in its margin (`burngate strip`) and scan it with the film',
    ),
    notAsked: true,
  }
}
