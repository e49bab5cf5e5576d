import type Handlebars from 'handlebars'
import type { Verdict } from '../model/inspection.js'
import { safe } from './render-template.js'

/**
 * A verdict's shape, told apart by outline and by how much of it is filled, so that it holds in grey and from afar:
 * pass an open ring with the way through, fail a shut square, recheck a half-filled diamond.
 * Hidden from screen readers: the word always stands beside it.
 */
const SHAPES: Readonly<Record<Verdict, string>> = {
  pass: '<circle cx="50" cy="50" r="41" fill="none" stroke="currentColor" stroke-width="13"/><path d="M50 76V34M31 48 50 28 69 48" fill="none" stroke="currentColor" stroke-width="13"/>',
  fail: '<path d="M3 3H97V97H3Z" fill="currentColor"/><path d="M17 50H83" stroke="var(--ground, #fff)" stroke-width="17"/>',
  recheck:
    '<path d="M50 6 94 50 50 94 6 50Z" fill="none" stroke="currentColor" stroke-width="9"/><path d="M50 6V94L6 50Z" fill="currentColor"/>',
}

/** The shape of a verdict as inline SVG; its size is its class's. */
export function verdictShape(verdict: Verdict): Handlebars.SafeString {
  return safe(`<svg class="shape" viewBox="0 0 100 100" aria-hidden="true" focusable="false">${SHAPES[verdict]}</svg>`)
}

/** The shape of a person's word beside a verdict: a tick above a line to sign on. */
export function acceptedShape(): Handlebars.SafeString {
  return safe(
    '<svg class="shape" viewBox="0 0 100 100" aria-hidden="true" focusable="false"><path d="M20 42 42 64 82 12M6 90H94" fill="none" stroke="currentColor" stroke-width="12"/></svg>',
  )
}
