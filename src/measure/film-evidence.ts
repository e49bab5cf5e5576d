import type { StraightEdge } from '../imaging/straight-edges.js'
import type { ArtworkAlignment, InkDifference, ScannerScale } from '../model/artwork.js'
import type { MeasuredFlaws, NotLooked } from '../model/flaw.js'
import type { LengthDoubts } from '../model/length-doubts.js'
import type { DensityScan } from '../model/light.js'
import type { Patch } from '../model/located.js'
import type { LimitName, NotMeasured, Reading } from '../model/reading.js'
import { type LeftOutEdge, type MeasuredEdge, measureEdge } from './measured-edge.js'
import { type PatchCodes, readPatch } from './read-patch.js'
import { scaleErrors } from './scale-errors.js'
import type { FilmRipple } from './solid-ripple.js'
import type { StripEvidence } from './strip-evidence.js'

/** Where to measure, as locate/ found it. */
export interface FilmPlaces {
  readonly solids: readonly Patch[]
  readonly lightest: readonly Patch[]
  readonly bases: readonly Patch[]
  readonly edges: readonly StraightEdge[]
}

export interface ReadPatch extends Patch {
  readonly codes: PatchCodes
}

/** Everything the readings are taken from: patches read, edges measured, each once. */
export interface FilmEvidence {
  readonly scan: DensityScan
  readonly solids: readonly ReadPatch[]
  readonly lightest: readonly ReadPatch[]
  readonly bases: readonly ReadPatch[]
  readonly edges: readonly MeasuredEdge[]
  readonly leftOut: readonly LeftOutEdge[]
  /** The artwork laid on the film and what is known of the scanner's scale; absent when no artwork was given. */
  readonly artwork?: {
    readonly alignment: ArtworkAlignment | null
    readonly scale: ScannerScale
    readonly difference?: InkDifference | null
  }
  /** Flaws of the whole page, or why none were looked for; absent where nobody looked. */
  readonly flaws?: MeasuredFlaws | NotLooked
  /** The control strip; absent when none was read. What is above is then the artwork's beside it. */
  readonly strip?: StripEvidence
  /** Densities above base between which the fringe lies (ISO 12647-1), D. */
  readonly fringeContours: { readonly low: number; readonly high: number }
  readonly doubts: LengthDoubts
  /** Ripple of the large solids; absent where nobody looked for it. */
  readonly ripple?: FilmRipple
}

/** For callers that know nothing against the scales. */
const NO_DOUBTS: LengthDoubts = { across: [], along: [], steps: [] }

/** What one file in measure/ answers: the reading, or why there is none. */
export type Measured = Reading | NotMeasured

export const isReading = (measured: Measured): measured is Reading => 'value' in measured

export function notMeasured(reading: LimitName, because: string, next: string): NotMeasured {
  return { reading, because, next }
}

/** Reads all patches and measures all edges of one film. */
export function gatherEvidence(
  scan: DensityScan,
  places: FilmPlaces,
  fringeContours: { readonly low: number; readonly high: number },
  doubts: LengthDoubts = NO_DOUBTS,
): FilmEvidence {
  const errors = scaleErrors(doubts.steps)
  const read = (patch: Patch): ReadPatch => ({ ...patch, codes: readPatch(scan.scan, patch.rect) })
  const edges: MeasuredEdge[] = []
  const leftOut: LeftOutEdge[] = []
  for (const edge of places.edges) {
    const measured = measureEdge(scan, edge, `edge-${edges.length + 1}`, errors)
    if ('because' in measured) leftOut.push(measured)
    else edges.push(measured)
  }
  return {
    scan,
    solids: places.solids.map(read),
    lightest: places.lightest.map(read),
    bases: places.bases.map(read),
    edges,
    leftOut,
    fringeContours,
    doubts,
  }
}
