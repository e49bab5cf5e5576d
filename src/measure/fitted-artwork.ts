import type { ArtworkFit } from '../model/artwork.js'
import type { LimitName, NotMeasured } from '../model/reading.js'
import { type FilmEvidence, notMeasured } from './film-evidence.js'

/** The artwork as it lies on the film, for a reading that is taken against it, or why there is none: not given (then not asked), unreadable, another. */
export function fittedArtwork(
  { artwork }: FilmEvidence,
  reading: LimitName,
): { readonly artwork: NonNullable<FilmEvidence['artwork']>; readonly alignment: ArtworkFit } | NotMeasured {
  if (artwork === undefined)
    return {
      ...notMeasured(
        reading,
        'no artwork was given to compare the film with',
        'give the separation with --artwork FILE, or put it into inbox/artwork under the name of the positive',
      ),
      notAsked: true,
    }
  const { alignment } = artwork
  if (alignment === null)
    return notMeasured(
      reading,
      'the artwork could not be read',
      'put right what is wrong with the artwork, then inspect again',
    )
  if (alignment.kind !== 'fitted') return notMeasured(reading, alignment.because, alignment.next)
  return { artwork, alignment }
}
