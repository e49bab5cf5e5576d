import { checkedFilm, type Film, type Shape } from './film.js'

export interface GridPlan {
  readonly pitchMm: number
  /** Nodes each way. */
  readonly columns: number
  readonly rows: number
  readonly mark: 'lines' | 'dots' | 'squares' | 'crosses'
  /** Width of a line or a cross's arms, diameter of a dot, side of a square, mm. */
  readonly markMm: number
  /** Clear film beyond the outermost nodes, mm. */
  readonly marginMm: number
  /** How far the v axis leans towards u, degrees: what a bed that is not square makes of a grid that is. */
  readonly leanDegrees?: number
  /** Nodes left out, as `column,row` from 0. Lines have none. */
  readonly missing?: readonly string[]
  /** Moves a node, mm: a grid that is not even. Lines ignore it. */
  readonly shift?: (column: number, row: number) => { readonly u: number; readonly v: number }
}

/** Arms of a cross reach this share of the pitch from its middle. */
const ARM = 0.25

/**
 * A make-believe etched grid: opaque marks of known pitch on clear film.
 * @throws RangeError on a size that is not above 0 or marks that would touch
 */
export function gridFilm(plan: GridPlan): Film {
  const { pitchMm, columns, rows, mark, markMm, marginMm } = plan
  if (!(markMm > 0 && markMm < 0.6 * pitchMm))
    throw new RangeError(`markMm must be above 0 and below 0.6 of the pitch ${pitchMm}; got ${markMm}`)
  const lean = ((plan.leanDegrees ?? 0) * Math.PI) / 180
  const wide = (columns - 1) * pitchMm
  const high = (rows - 1) * pitchMm
  const aside = high * Math.sin(lean)
  const left = marginMm + Math.max(0, -aside)
  const shapes: Shape[] = []
  const node = (column: number, row: number) => ({
    u: left + column * pitchMm + row * pitchMm * Math.sin(lean),
    v: marginMm + row * pitchMm * Math.cos(lean),
  })
  if (mark === 'lines') {
    const half = markMm / 2
    for (let row = 0; row < rows; row++) {
      const { u, v } = node(0, row)
      shapes.push({ kind: 'rectangle', u: u - half, v: v - half, width: wide + markMm, height: markMm })
    }
    for (let column = 0; column < columns; column++) {
      const from = node(column, 0)
      const to = node(column, rows - 1)
      shapes.push({
        kind: 'rectangle',
        u: (from.u + to.u) / 2 - half,
        v: (from.v + to.v) / 2 - high / 2 - half,
        width: markMm,
        height: high + markMm,
        turn: -(plan.leanDegrees ?? 0),
      })
    }
  } else
    for (let row = 0; row < rows; row++)
      for (let column = 0; column < columns; column++) {
        if (plan.missing?.includes(`${column},${row}`) === true) continue
        const at = node(column, row)
        const off = plan.shift?.(column, row) ?? { u: 0, v: 0 }
        shapes.push(...marked(mark, at.u + off.u, at.v + off.v, markMm, ARM * pitchMm))
      }
  return checkedFilm({
    widthMm: wide + Math.abs(aside) + 2 * marginMm,
    heightMm: high * Math.cos(lean) + 2 * marginMm,
    baseDensity: 0.05,
    netDensity: 4,
    inkSpreadUm: 0,
    shapes,
  })
}

function marked(mark: 'dots' | 'squares' | 'crosses', u: number, v: number, size: number, arm: number): Shape[] {
  const half = size / 2
  if (mark === 'dots') return [{ kind: 'disc', u, v, radius: half }]
  if (mark === 'squares') return [{ kind: 'rectangle', u: u - half, v: v - half, width: size, height: size }]
  return [
    { kind: 'rectangle', u: u - arm, v: v - half, width: 2 * arm, height: size },
    { kind: 'rectangle', u: u - half, v: v - arm, width: size, height: arm - half },
    { kind: 'rectangle', u: u - half, v: v + half, width: size, height: arm - half },
  ]
}
