import { median } from '../imaging/robust.js'
import { fitStroke } from '../measure/stroke-model.js'
import type { ComparedStroke } from './compare-strokes.js'

/** By how much half a stroke's widening and its edges' spread change, um, when something else is assumed on one scan or on both. */
export interface Sensitivity {
  /** The scanner of the baseline's scan, and of the new one, one standard uncertainty wider. */
  readonly scannerBefore: Shift
  readonly scannerAfter: Shift
  /** Both at once: what a scanner common to both leaves. */
  readonly scannerBoth: Shift
  /** The net density of the solids, one standard uncertainty less, on both. */
  readonly net: Shift
}

interface Shift {
  readonly edge: number
  readonly sigma: number
}

/** Strokes that are fitted again. */
const SAMPLE = 8

/**
 * How sure the scanner's spread and the ink's density make the growth: a few strokes are fitted again with each of them changed.
 * @param wider by how much the blur would be wider, one standard uncertainty further (1 is as it is), across a normal
 * @param netError standard uncertainty of the net density, D
 */
export function sensitivityOf(
  strokes: readonly ComparedStroke[],
  wider: {
    readonly before: (nx: number, ny: number) => number
    readonly after: (nx: number, ny: number) => number
  },
  netError: number,
): Sensitivity {
  const every = Math.max(1, Math.floor(strokes.length / SAMPLE))
  const sample = strokes.filter((_, i) => i % every === 0).slice(0, SAMPLE)
  const rows = sample.flatMap(stroke => {
    const sign = stroke.stroke.kind === 'line' ? 0.5 : -0.5
    const again = (side: 'before' | 'after', moreBlur: boolean, less: number) => {
      const measured = stroke[side]
      const { model, nodes } = measured
      const scale = moreBlur ? wider[side](measured.nx, measured.ny) : 1
      const fit = fitStroke(
        model.kind,
        measured.profile,
        { ...nodes, offsets: nodes.offsets.map(x => x * scale) },
        model.net - less,
        model.clear,
        model.sigma,
      )
      return fit === null
        ? null
        : { edge: sign * (fit.halfWidth - measured.halfWidth), sigma: fit.model.sigma - model.sigma }
    }
    const before = again('before', true, 0)
    const after = again('after', true, 0)
    const netBefore = again('before', false, netError)
    const netAfter = again('after', false, netError)
    return before === null || after === null || netBefore === null || netAfter === null
      ? []
      : [{ before, after, netBefore, netAfter }]
  })
  const middle = (of: (row: (typeof rows)[number], key: 'edge' | 'sigma') => number): Shift => {
    const one = (key: 'edge' | 'sigma') => (rows.length === 0 ? 0 : median(rows.map(row => Math.abs(of(row, key)))))
    return { edge: one('edge'), sigma: one('sigma') }
  }
  return {
    scannerBefore: middle((row, key) => row.before[key]),
    scannerAfter: middle((row, key) => row.after[key]),
    scannerBoth: middle((row, key) => row.after[key] - row.before[key]),
    net: middle((row, key) => row.netAfter[key] - row.netBefore[key]),
  }
}
