import { type BlockOverview, blockOverview } from '../imaging/block-overview.js'
import type { OpenScan } from '../model/scan.js'

/** A scan that may show something opaque beside open light. */
export interface OpaqueView {
  readonly scan: OpenScan
  readonly umPerPixel: { readonly across: number; readonly along: number }
  /** Places that are not opaque however dark they are: the tablet's own steps. */
  excluded?(column: number, row: number): boolean
}

/** Mean code of one block deep inside an opaque area; its middle in scan pixels. */
export interface OpaqueBlock {
  readonly code: number
  readonly column: number
  readonly row: number
}

/** Side of a block, um: large enough to average noise away, small against any reach of flare. */
export const FLARE_BLOCK_UM = 500
/** Optical blur and its tails end within this distance of anything lit, um; what is left further in is veiling glare. */
const CLEAR_OF_LIGHT_UM = 1000
/** Opaque: less light than this, D 1.7, even with all the glare a usable scanner has. */
const OPAQUE_BELOW = 0.02

/** Light of a scan by blocks of `FLARE_BLOCK_UM`, through a table. */
export function flareOverview(view: OpaqueView, table: Float32Array): BlockOverview {
  const um = Math.sqrt(view.umPerPixel.across * view.umPerPixel.along)
  return blockOverview(view.scan, Math.max(1, Math.round(FLARE_BLOCK_UM / um)), table)
}

/**
 * The blocks of a scan that lie in something opaque, clear of its edges and of the scan's rim by 1 mm.
 * @param light the scan by blocks, as light of an approximate response
 */
export function opaqueBlocks(view: OpaqueView, light: BlockOverview): OpaqueBlock[] {
  const codes = flareOverview(view, SAME)
  const { columns, rows, blockPx } = light
  const blockUm = blockPx * Math.sqrt(view.umPerPixel.across * view.umPerPixel.along)
  const reach = Math.ceil(CLEAR_OF_LIGHT_UM / blockUm)
  const found: OpaqueBlock[] = []
  for (let row = reach; row + reach < rows; row++)
    for (let column = reach; column + reach < columns; column++) {
      let dark = true
      for (let r = row - reach; dark && r <= row + reach; r++)
        for (let c = column - reach; c <= column + reach; c++)
          if (!(light.light[r * columns + c]! < OPAQUE_BELOW)) {
            dark = false
            break
          }
      const block = {
        code: codes.light[row * columns + column]!,
        column: (column + 0.5) * blockPx - 0.5,
        row: (row + 0.5) * blockPx - 0.5,
      }
      if (dark && view.excluded?.(block.column, block.row) !== true) found.push(block)
    }
  return found
}

/** Codes as they are: the mean of a block is then its mean code. */
const SAME = Float32Array.from({ length: 65536 }, (_, code) => code)
