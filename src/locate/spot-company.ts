import type { Spots } from '../imaging/find-spots.js'
import type { FlawKind } from '../model/flaw.js'
import type { FlawCandidate } from '../model/located.js'
import { ALWAYS_UM, LARGEST_UM, LEAST_STOP_UM, LIKE_DASHES, LONGEST_STEP } from './flaw-sizes.js'
import type { LikeSpots } from './like-spots.js'
import type { Surroundings } from './spot-surroundings.js'

/** A spot that may be a flaw: its number in its list. */
export interface Chosen {
  readonly i: number
  readonly kind: FlawKind
  readonly lies?: FlawCandidate['lies']
}

/** With more spots than this the page is told as a whole, not spot by spot. */
const MOST_LOOKED_AT = 20_000
/** So many like spots within so many of their diameters, and at least so many um, are modules, punctuation or ornaments where the ground is not plain. */
const COMPANY = 3
const COMPANY_DIAMETERS = 12
const COMPANY_UM = 3000
/** So many spots within so many of its diameters, the ground not being plain: a code, a screen, a word. A letter has a counter or two. */
const CROWD = 4
const CROWD_DIAMETERS = 3.5

/** So many of one shape so near, or larger ones of about its shape: what an artist strews. */
const SAME_SHAPES = 3
/** So many more of one size within a dozen diameters. */
const EQUALS = 4
const SHAPE_REACH_UM = 10_000
const STREWN_REACH_UM = 7000

/** A gap left between two drawn things is mostly longer than wide, or not as large as is found for certain. */
const GAP = 1.5

/** Without the spots that are one of several laid on purpose: a row at equal distances (leader dots, a very coarse screen), like ones in a busy place. */
export function withoutCompany(
  list: Spots,
  like: LikeSpots,
  chosen: readonly Chosen[],
  dark: boolean,
  round: Surroundings,
  um: number,
): readonly Chosen[] {
  if (chosen.length === 0 || chosen.length > MOST_LOOKED_AT) return chosen
  return chosen.filter(({ i, kind }) => {
    const reach = LONGEST_STEP / um
    if (like.inRow(i, reach) || like.onCurve(i, reach) || like.onLattice(i, reach)) return false
    if (kind === 'scratch') return like.company(i, reach) < LIKE_DASHES
    if (kind !== 'hair' && (like.endOfRow(i, reach) || like.besideLattice(i, reach))) return false
    const diameter = 2 * Math.sqrt(list.cells[i]! / Math.PI)
    if (kind !== 'hair' && diameter * um > ALWAYS_UM + 1.5 * um) {
      if (like.sameShape(i, SHAPE_REACH_UM / um) >= SAME_SHAPES) return false
      if (like.equals(i, COMPANY_DIAMETERS * diameter) >= EQUALS) return false
      if (like.strewn(i, STREWN_REACH_UM / um, (Math.PI / 4) * (LARGEST_UM / um) ** 2)) return false
    }
    if (kind === 'hair' || diameter * um <= LEAST_STOP_UM + um || round.plain(list, i, dark)) return true
    if (like.crowd(i, CROWD_DIAMETERS * diameter) >= CROWD) return false
    // Small flaws are like each other by being small.
    if (diameter * um <= ALWAYS_UM + 1.5 * um) return dark || list.long[i]! < GAP * list.short[i]!
    return like.company(i, Math.max(COMPANY_UM / um, COMPANY_DIAMETERS * diameter)) < COMPANY
  })
}
