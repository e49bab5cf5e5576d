import type { DensityScan } from '../model/light.js'
import { filmCorners } from './film-corners.js'
import type { LocatedScan } from './locate-scan.js'

/** Edges within this many degrees of each other lie one way. */
const ONE_WAY = 0.7
const MOST_TURNS = 3
/** A line lies along the film's axes within this, degrees: what the direction of the film is told to. */
const ON_AXIS = 1.2

/**
 * How the film's straight lines lie, degrees 0..90 from the rows towards the columns, likeliest first: from its straight edges by
 * length, and from its own corners. A hint, good to a degree; empty when nothing is straight.
 */
export function filmTurns(
  located: Pick<LocatedScan, 'edges' | 'overview' | 'regions'> & { readonly scan: Pick<DensityScan, 'umPerPixel'> },
): number[] {
  const { across, along } = located.scan.umPerPixel
  const told: { angle: number; weight: number }[] = []
  const tell = (a: { column: number; row: number }, b: { column: number; row: number }, share: number): void => {
    const x = (b.column - a.column) * across
    const y = (b.row - a.row) * along
    told.push({ angle: quarter((Math.atan2(y, x) * 180) / Math.PI), weight: share * Math.hypot(x, y) })
  }
  for (const edge of located.edges) tell(edge.from, edge.to, 1)
  const corners = filmCorners(located.overview, located.regions)
  if (corners !== null) tell(corners[0]!, corners[1]!, 0.2)
  const ways: { angle: number; weight: number }[] = []
  for (const one of [...told].sort((a, b) => b.weight - a.weight)) {
    const way = ways.find(other => apart(other.angle, one.angle) < ONE_WAY)
    if (way === undefined) ways.push({ ...one })
    else way.weight += one.weight
  }
  return ways
    .sort((a, b) => b.weight - a.weight)
    .slice(0, MOST_TURNS)
    .map(way => way.angle)
}

function quarter(angle: number): number {
  return ((angle % 90) + 90) % 90
}

function apart(a: number, b: number): number {
  const off = Math.abs(a - b) % 90
  return Math.min(off, 90 - off)
}

/** Whether a direction (radians) lies along one of the film's turns or square to it. */
export function onAxis(angle: number, turns: readonly number[]): boolean {
  const degrees = (angle * 180) / Math.PI
  return turns.some(turn => {
    const off = ((((degrees - turn) % 90) + 90) % 90) as number
    return Math.min(off, 90 - off) <= ON_AXIS
  })
}
