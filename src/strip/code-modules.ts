import bwipjs from 'bwip-js'
import { ProblemError } from '../model/problem.js'

/** A Data Matrix as modules. */
export interface CodeModules {
  /** Modules a side. */
  readonly size: number
  /** size * size, row by row; 1 is dark, which is ink. */
  readonly dark: Uint8Array
}

/**
 * Symbols tried, modules a side, coarsest first (ISO/IEC 16022, ECC 200): 44, 62 and 86 codewords of data. A code of
 * 26 has modules of 0.5 mm on the strip, one of 32 0.42 mm: 20 scanner pixels at 1200 dpi, 10 at 600; one of 36 still 0.35 mm.
 */
const SIZES = [26, 32, 36] as const

/**
 * The modules of a text, in the smallest of the symbols that holds it.
 * @throws ProblemError STRIP_CODE_TOO_LONG when none holds it
 */
export function codeModules(text: string): CodeModules {
  for (const size of SIZES) {
    const dark = symbol(text, size)
    if (dark !== null) return { size, dark }
  }
  throw new ProblemError('STRIP_CODE_TOO_LONG', `${text.length} characters in all`)
}

function symbol(text: string, size: number): Uint8Array | null {
  try {
    // The library's types leave out the options of a single kind of symbol.
    const options = { bcid: 'datamatrix', text, version: `${size}x${size}` } as Parameters<typeof bwipjs.raw>[0]
    const [made] = bwipjs.raw(options) as unknown as readonly {
      readonly pixs: readonly number[]
      readonly pixx: number
    }[]
    if (made?.pixx !== size || made.pixs.length !== size * size) throw new Error('no square symbol of that size')
    return Uint8Array.from(made.pixs)
  } catch (error) {
    // The library's only word for "too long for this size".
    if (/NoValidSymbol/.test(String(error))) return null
    throw error
  }
}
