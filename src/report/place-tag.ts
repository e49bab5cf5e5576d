/** Letters of the kinds of place, as the report's legend gives them. */
const LETTERS: Readonly<Record<string, string>> = {
  solid: 'S',
  thin: 'T',
  area: 'A',
  rail: 'R',
  base: 'B',
  edge: 'E',
  missing: 'M',
  extra: 'X',
  flaw: '',
  line: 'L',
  tint: 'P',
}

/** Stands before the letter of a place in the control strip. */
const OF_STRIP = 'C'

/**
 * Short name of a measured place, the same on the picture, in the tables and under the crops:
 * `solid-3` is S3, `thin-1` (the lightest square of a solid) T1, `area-2` (a large solid read for bands) A2, `edge-7` E7;
 * in the control strip a C stands before it, `strip-edge-7` CE7, its long rail is CR1. An id of another form is shown as it is.
 */
export function placeTag(id: string): string {
  const parts = /^(strip-)?([a-z]+)-(\d+)$/.exec(id)
  const letter = parts === null ? undefined : LETTERS[parts[2]!]
  return letter === undefined ? id : `${parts![1] === undefined ? '' : OF_STRIP}${letter}${parts![3]}`
}
