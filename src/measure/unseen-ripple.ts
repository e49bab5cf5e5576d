import type { LimitName, NotMeasured } from '../model/reading.js'
import { notMeasured } from './film-evidence.js'
import type { FilmRipple } from './solid-ripple.js'

/**
 * Why there is no solid to read ripple from; null when there is one. A limit on ripple is then not asked: a film without large solids shows no bands, and what lies
 * beyond the scanner's deepest density lets less light through than the scanner can see, bands or not. It is said in the record.
 */
export function unseenRipple(reading: LimitName, ripple: FilmRipple | undefined): NotMeasured | null {
  if (ripple !== undefined && ripple.solids.length > 0) return null
  if (ripple !== undefined && ripple.tooDeep > 0)
    return {
      ...notMeasured(
        reading,
        'the solids are deeper than this scanner can tell, so their ripple is lost in its noise and black',
        'scan the film at two or more exposures and give the scans together as a bracket',
      ),
      notAsked: true,
    }
  return {
    ...notMeasured(
      reading,
      'no solid of 4 mm by 4 mm clear of its edges was found on the film',
      'print the positive with a solid patch of 12 mm or more in its margin',
    ),
    notAsked: true,
  }
}
