import { blockOverview } from '../imaging/block-overview.js'
import { surroundLight } from '../imaging/surround-light.js'
import type { OpenScan } from '../model/scan.js'

/** A scan that shows something opaque beside open light, as light through the calibration's own table. */
export interface DarkView {
  readonly scan: OpenScan
  readonly transmittance: Float32Array
  readonly umPerPixel: { readonly across: number; readonly along: number }
  /** Places that are not opaque however dark they are: the tablet's own steps. */
  excluded?(column: number, row: number): boolean
}

/** Blocks of the dark area, um: large enough to average noise away, small against the kernel. */
const BLOCK_UM = 500
/** Optical blur and its tails end within this distance of anything lit, um; what is left further in is veiling glare. */
const CLEAR_OF_LIGHT_UM = 1500
/** Opaque: less light than this, D 1.7, even with all the glare a usable scanner has. */
const OPAQUE_BELOW = 0.02
/** Kernels tried, one sigma in um: from just beyond the optics to the whole bed. */
const KERNELS_UM = Array.from({ length: 16 }, (_, i) => 1500 * 1.22 ** i)
const FEWEST_BLOCKS = 24
/** Surrounding light must range over this much inside the dark areas, or glare cannot be told from black. */
const LEAST_CONTRAST = 0.08

/** Mean light of the opaque area of one view and mean light round it. */
export interface DarkPlace {
  /** Index of the view. */
  readonly view: number
  readonly light: number
  readonly surround: number
}

/** The flare that one kernel makes of the opaque areas. */
export interface FlareCandidate {
  readonly kernelUm: number
  /** Slope of light over the light round it, and its standard error from the scatter alone. */
  readonly share: number
  readonly standard: number
  /** Variance of the light about that line: the right kernel leaves least, but a small opaque area cannot tell neighbours apart. */
  readonly scatter: number
  /** The opaque areas, one for each view that shows any. */
  readonly places: readonly DarkPlace[]
}

interface DarkBlock {
  readonly light: number
  readonly column: number
  readonly row: number
}

/**
 * Veiling glare (flare) of a scanner as opaque areas show it: in one, light is `offset + share x surroundings`; the offset is black, which
 * does not vary over the area, the slope is the flare. One candidate for each kernel tried; which it is, the tablet must help to say.
 * Assumes a Gaussian spread of glare.
 * @returns empty when no opaque area with enough contrast of surrounding light is in view
 */
export function flareCandidates(views: readonly DarkView[]): FlareCandidate[] {
  const seen = views.map(view => {
    const um = Math.sqrt(view.umPerPixel.across * view.umPerPixel.along)
    const overview = blockOverview(view.scan, Math.max(1, Math.round(BLOCK_UM / um)), view.transmittance)
    return {
      overview,
      view,
      blocks: darkBlocks(overview, overview.blockPx * um).filter(b => view.excluded?.(b.column, b.row) !== true),
    }
  })
  if (seen.reduce((sum, s) => sum + s.blocks.length, 0) < FEWEST_BLOCKS) return []
  const fits = KERNELS_UM.map(kernelUm => {
    // Each scan may have its own black: offsets are fitted apart, the slope is common.
    let sxx = 0
    let sxy = 0
    let syy = 0
    let n = 0
    const places: DarkPlace[] = []
    let least = Number.POSITIVE_INFINITY
    let most = Number.NEGATIVE_INFINITY
    for (const [index, { overview, view, blocks }] of seen.entries()) {
      if (blocks.length < 4) continue
      const surround = surroundLight(overview, view.umPerPixel, kernelUm)
      const x = blocks.map(b => surround.at(b.column, b.row))
      const mx = x.reduce((sum, v) => sum + v, 0) / x.length
      const my = blocks.reduce((sum, b) => sum + b.light, 0) / blocks.length
      blocks.forEach((b, i) => {
        sxx += (x[i]! - mx) ** 2
        sxy += (x[i]! - mx) * (b.light - my)
        syy += (b.light - my) ** 2
      })
      places.push({ view: index, light: my, surround: mx })
      n += blocks.length - 1
      least = Math.min(least, ...x)
      most = Math.max(most, ...x)
    }
    const share = sxx > 0 ? sxy / sxx : 0
    const scatter = Math.max(0, syy - share * sxy) / Math.max(1, n - 1)
    return {
      kernelUm,
      share,
      scatter,
      standard: Math.sqrt(scatter / Math.max(sxx, 1e-12)),
      contrast: most - least,
      places,
    }
  }).filter(fit => fit.contrast >= LEAST_CONTRAST)
  return fits
}

function darkBlocks(
  overview: { blockPx: number; columns: number; rows: number; light: Float32Array },
  blockUm: number,
): DarkBlock[] {
  const { columns, rows, light, blockPx } = overview
  const reach = Math.ceil(CLEAR_OF_LIGHT_UM / blockUm)
  const found: DarkBlock[] = []
  for (let row = reach; row + reach < rows; row++)
    for (let column = reach; column + reach < columns; column++) {
      let dark = true
      for (let r = row - reach; dark && r <= row + reach; r++)
        for (let c = column - reach; c <= column + reach; c++)
          if (!(light[r * columns + c]! < OPAQUE_BELOW)) {
            dark = false
            break
          }
      if (dark)
        found.push({
          light: light[row * columns + column]!,
          column: (column + 0.5) * blockPx - 0.5,
          row: (row + 0.5) * blockPx - 0.5,
        })
    }
  return found
}
