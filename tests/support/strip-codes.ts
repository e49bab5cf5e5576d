import type { ArtworkBitmap } from '../../src/model/artwork.js'
import { codeModules } from '../../src/strip/code-modules.js'
import type { StripDrawing } from '../../src/strip/draw-strip.js'
import { check } from '../../src/strip/strip-code.js'

/** A code's text with its check, whatever it says: what nobody can have drawn with the program. */
export function checkedText(text: string): string {
  return `${text} ${check(text)}`
}

/**
 * A strip laid along the head with other codes than its own in it.
 * @param texts what the code on either end says; null blots it out, undefined leaves it
 */
export function withCodes(
  { layout, bitmap }: Pick<StripDrawing, 'layout' | 'bitmap'>,
  texts: { readonly first?: string | null; readonly last?: string | null },
): ArtworkBitmap {
  if (layout.laid !== 'head') throw new RangeError('only a strip laid along the head; got one along the feed')
  const bits = bitmap.bits.slice()
  const perX = bitmap.dpi.across / 25.4
  const perY = bitmap.dpi.along / 25.4
  const set = (column: number, row: number, ink: boolean) => {
    const at = row * bitmap.rowBytes + (column >> 3)
    const bit = 0x80 >> (column & 7)
    bits[at] = ink ? bits[at]! | bit : bits[at]! & ~bit
  }
  for (const field of layout.fields) {
    if (field.kind !== 'code') continue
    const text = texts[field.end]
    if (text === undefined) continue
    const { x, y, width, height } = field.rect
    const code = text === null ? null : codeModules(text)
    const module = code === null ? null : { x: (width * perX) / code.size, y: (height * perY) / code.size }
    for (let r = Math.round(y * perY); r < Math.round((y + height) * perY); r++)
      for (let c = Math.round(x * perX); c < Math.round((x + width) * perX); c++) {
        const inked =
          code === null || module === null
            ? false
            : code.dark[
                Math.min(code.size - 1, Math.floor((r + 0.5 - y * perY) / module.y)) * code.size +
                  Math.min(code.size - 1, Math.floor((c + 0.5 - x * perX) / module.x))
              ] === 1
        set(c, r, inked)
      }
  }
  return { ...bitmap, bits }
}
