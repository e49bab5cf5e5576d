import type { ArtworkMap } from './artwork.js'

/** What a set is made from: one film laid on its own separation. */
export interface SetFilmSource {
  readonly positive: string
  /** Its inspection. */
  readonly id: string
  readonly scannedAt: string
  /** Size of its separation, mm. */
  readonly frame: { readonly widthMm: number; readonly heightMm: number }
  readonly map: ArtworkMap
  readonly umPerPixel: { readonly across: number; readonly along: number }
  /** Films of one name err by one and the same scale, that of their scanner. */
  readonly scale: string
  /** Standard uncertainty of that scale, shares. */
  readonly scaleStandard: { readonly across: number; readonly along: number }
  /** Standard uncertainty of its own fit and of the film's moving with damp, shares, along the separation's two axes. */
  readonly fitStandard: { readonly across: number; readonly feed: number }
  /** How unevenly it lies on its separation beside the even map, um rms; null when not known. */
  readonly unevenUm: number | null
}

interface Told {
  readonly value: number
  /** k = 2. */
  readonly expanded: number
}

/** One film of a set against its separation. */
export interface SetFilm {
  readonly positive: string
  readonly id: string
  readonly scannedAt: string
  /** Film over separation, less one, %. */
  readonly sizeErrorAcross: Told
  readonly sizeErrorFeed: Told
  readonly unevenUm: number | null
}

/** Two films of a set, the first turned and shifted to fit the second as well as it can. */
export interface SetPair {
  readonly films: readonly [string, string]
  /** Distance left at the worst corner of the frame, um. */
  readonly registerError: Told
  /** How much larger the first is than the second, %. */
  readonly sizeAcross: Told
  readonly sizeFeed: Told
}

/** A film of the job that could not be held against the others. */
export interface SetLeftOut {
  readonly positive: string
  readonly because: string
  readonly next: string
}

/** The films of one job against each other. */
export interface FilmSet {
  readonly frame: { readonly widthMm: number; readonly heightMm: number } | null
  readonly films: readonly SetFilm[]
  /** The worst first. */
  readonly pairs: readonly SetPair[]
  readonly left: readonly SetLeftOut[]
}
