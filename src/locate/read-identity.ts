import { mapped, type PlaneMap } from '../imaging/fit-plane-map.js'
import type { LightField } from '../imaging/light-field.js'
import type { StripIdentity, StripLayout, StripRect } from '../model/strip.js'
import { type ParsedStripCode, parseStripCode } from '../strip/strip-code.js'
import { type CodePicture, readCode } from './read-code.js'

/** What the codes on a strip's two ends came to. */
export type IdentityReading =
  | { readonly kind: 'read'; readonly identity: StripIdentity; readonly ends: readonly ('first' | 'last')[] }
  /** `because` goes after "The code of the control strip was not taken: ". */
  | { readonly kind: 'refused'; readonly because: string }

/** Side of a picture's pixel, mm: a module of 0.37 mm, the finest a strip has, is seven of them. */
const PIXEL_MM = 0.05
/** Clear film that a reader needs round the symbol, mm: drawn in, whatever lies there. */
const QUIET_MM = 1.2
/** The symbol may lie outside its field by this, mm: the map of a cropped strip is that good. */
const AROUND_MM = 0.3
/** Looked up so many times a pixel each way: coarser scans are drawn between, finer ones averaged. */
const SAMPLES = 2

/**
 * Who a strip says it is: its two codes (ISO/IEC 16022) read from windows turned upright by the strip's map, so that tilt and mirror
 * make no difference. Either end will do; two that read differently are refused.
 * @param map strip, mm, to pixels of the scan
 * @param clear light of clear film
 */
export async function readIdentity(
  field: LightField,
  layout: StripLayout,
  map: PlaneMap,
  clear: number,
): Promise<IdentityReading> {
  const read: { end: 'first' | 'last'; parsed: ParsedStripCode }[] = []
  for (const code of layout.fields) {
    if (code.kind !== 'code') continue
    const picture = codePicture(field, code.rect, map, clear)
    const text = picture === null ? null : await readCode(picture)
    if (text !== null) read.push({ end: code.end, parsed: parseStripCode(text) })
  }
  const told = read.flatMap(({ end, parsed }) =>
    parsed.kind === 'identity' ? [{ end, identity: parsed.identity }] : [],
  )
  const [first, second] = told
  if (first === undefined) {
    const refused = read.map(({ parsed }) => parsed).find(parsed => parsed.kind === 'refused')
    if (refused !== undefined) return { kind: 'refused', because: refused.because }
    return {
      kind: 'refused',
      because: read.length > 0 ? 'it is some other code, not a strip’s' : 'neither of its two codes could be read',
    }
  }
  if (second !== undefined && JSON.stringify(first.identity) !== JSON.stringify(second.identity))
    return {
      kind: 'refused',
      because: `its two ends name different films, "${first.identity.positive}" and "${second.identity.positive}"`,
    }
  return { kind: 'read', identity: first.identity, ends: told.map(({ end }) => end) }
}

/** A code's window, upright, light over that of clear film; null when most of it is out of view. */
export function codePicture(field: LightField, rect: StripRect, map: PlaneMap, clear: number): CodePicture | null {
  const side = Math.ceil((Math.max(rect.width, rect.height) + 2 * QUIET_MM) / PIXEL_MM)
  const corners = [
    [rect.x - AROUND_MM, rect.y - AROUND_MM],
    [rect.x + rect.width + AROUND_MM, rect.y - AROUND_MM],
    [rect.x - AROUND_MM, rect.y + rect.height + AROUND_MM],
    [rect.x + rect.width + AROUND_MM, rect.y + rect.height + AROUND_MM],
  ].map(([x, y]) => mapped(map, x!, y!))
  const left = Math.max(0, Math.floor(Math.min(...corners.map(c => c.x))) - 1)
  const top = Math.max(0, Math.floor(Math.min(...corners.map(c => c.y))) - 1)
  const right = Math.min(field.width - 1, Math.ceil(Math.max(...corners.map(c => c.x))) + 1)
  const bottom = Math.min(field.height - 1, Math.ceil(Math.max(...corners.map(c => c.y))) + 1)
  const width = right - left + 1
  const height = bottom - top + 1
  if (!(width > 8 && height > 8)) return null
  const window = field.read({ column: left, row: top, width, height })
  const light = new Float32Array(side * side).fill(1)
  let missing = 0
  let asked = 0
  const step = PIXEL_MM / SAMPLES
  for (let r = 0; r < side; r++)
    for (let c = 0; c < side; c++) {
      const x0 = rect.x - QUIET_MM + c * PIXEL_MM
      const y0 = rect.y - QUIET_MM + r * PIXEL_MM
      if (
        !(x0 > rect.x - AROUND_MM && x0 < rect.x + rect.width + AROUND_MM) ||
        !(y0 > rect.y - AROUND_MM && y0 < rect.y + rect.height + AROUND_MM)
      )
        continue
      let sum = 0
      let n = 0
      for (let i = 0; i < SAMPLES; i++)
        for (let j = 0; j < SAMPLES; j++) {
          asked++
          const x = x0 + (j + 0.5) * step
          const y = y0 + (i + 0.5) * step
          const px = map.x0 + map.xx * x + map.xy * y - left
          const py = map.y0 + map.yx * x + map.yy * y - top
          const pc = Math.floor(px)
          const pr = Math.floor(py)
          if (!(pc >= 0 && pr >= 0 && pc < width - 1 && pr < height - 1)) {
            missing++
            continue
          }
          const u = px - pc
          const v = py - pr
          const at = pr * width + pc
          sum +=
            (window[at]! * (1 - u) + window[at + 1]! * u) * (1 - v) +
            (window[at + width]! * (1 - u) + window[at + width + 1]! * u) * v
          n++
        }
      if (n > 0) light[r * side + c] = Math.min(1, Math.max(0, sum / n / clear))
    }
  return missing > asked / 2 ? null : { side, light }
}
