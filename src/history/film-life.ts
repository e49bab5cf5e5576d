import type { Forecast } from '../model/growth.js'
import type { Inspection } from '../model/inspection.js'

/** What an inspection says of the life of its film, for the drawers. */
export interface FilmLife {
  /** It shows this film as it was that day. */
  readonly look: boolean
  /** The first of a new print under the same name. */
  readonly reprint: boolean
  /** An older positive that it stands in place of; null for none. */
  readonly replaces: string | null
  readonly forecast: Forecast | null
}

/** Scans that say nothing of how the film is now: of another film, the same file again, or dated in the future. */
const NO_LOOK: readonly string[] = ['notSameFilm', 'sameScan', 'futureScan']

/** The facts of a record that drawers are sorted by. */
export function filmLife({ standing, told, growth, positive }: Partial<Inspection>): FilmLife {
  const replaces = told?.replaces
  return {
    look: !(standing?.kind === 'apart' && NO_LOOK.includes(standing.because)),
    reprint: standing?.kind === 'baseline' && standing.reprint,
    replaces: typeof replaces === 'string' && replaces !== positive ? replaces : null,
    forecast: growth?.forecast ?? null,
  }
}
