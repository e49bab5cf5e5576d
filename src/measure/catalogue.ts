import type { GrowthReadingName } from '../model/growth.js'
import type { ReadingName } from '../model/reading.js'
import { measureBandingAmplitude } from './banding-amplitude.js'
import { measureBandingPitch } from './banding-pitch.js'
import { measureBaseDensity } from './base-density.js'
import { measureExtraInk } from './extra-ink.js'
import type { FilmEvidence, Measured } from './film-evidence.js'
import { measureFringeWidth } from './fringe-width.js'
import { measureInkSpread } from './ink-spread.js'
import { measureLineGain } from './line-gain.js'
import { measureMissingInk } from './missing-ink.js'
import { measureMissingNozzleCount } from './missing-nozzle-count.js'
import { measureMottle } from './mottle.js'
import { measurePinholeCount } from './pinhole-count.js'
import { measurePinholeLargest } from './pinhole-largest.js'
import { measureRaggedness } from './raggedness.js'
import { measureRiseWidth, measureRiseWidthWorst } from './rise-width.js'
import { measureRuling } from './ruling.js'
import { measureScratchCount } from './scratch-count.js'
import { measureScreenAngle } from './screen-angle.js'
import { measureSizeErrorAcross } from './size-error-across.js'
import { measureSizeErrorFeed } from './size-error-feed.js'
import { measureSolidDensity } from './solid-density.js'
import { measureSolidDensityLowest } from './solid-density-lowest.js'
import { measureSpeckCount } from './speck-count.js'
import { measureSpeckLargest } from './speck-largest.js'
import { measureThinSpotCount } from './thin-spot-count.js'
import { measureToneValueError } from './tone-value-error.js'

/** Every reading of one scan and the function that takes it (growth needs two: compare/). A new reading is one file here and one line below. */
export const CATALOGUE: Readonly<Record<Exclude<ReadingName, GrowthReadingName>, (film: FilmEvidence) => Measured>> = {
  baseDensity: measureBaseDensity,
  solidDensity: measureSolidDensity,
  solidDensityLowest: measureSolidDensityLowest,
  riseWidth: measureRiseWidth,
  riseWidthWorst: measureRiseWidthWorst,
  fringeWidth: measureFringeWidth,
  inkSpread: measureInkSpread,
  raggedness: measureRaggedness,
  bandingAmplitude: measureBandingAmplitude,
  bandingPitch: measureBandingPitch,
  mottle: measureMottle,
  pinholeCount: measurePinholeCount,
  pinholeLargest: measurePinholeLargest,
  speckCount: measureSpeckCount,
  speckLargest: measureSpeckLargest,
  scratchCount: measureScratchCount,
  missingNozzleCount: measureMissingNozzleCount,
  thinSpotCount: measureThinSpotCount,
  sizeErrorAcross: measureSizeErrorAcross,
  sizeErrorFeed: measureSizeErrorFeed,
  toneValueError: measureToneValueError,
  ruling: measureRuling,
  screenAngle: measureScreenAngle,
  lineGain: measureLineGain,
  missingInk: measureMissingInk,
  extraInk: measureExtraInk,
}
