/** What to do where a reading wants a control strip. */
export const NO_STRIP_NEXT =
  'print the positive with a control strip in its margin (`burngate strip`) and scan it with the film'

/** Why a reading of the control strip is missing. */
export function noStripBecause(fields: 'lines' | 'tints'): string {
  return `no control strip was read on this scan, and only its ${fields} are known well enough`
}
