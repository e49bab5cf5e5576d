/**
 * Letters of 5 x 7 dots, for words on film: the project's own, so that a strip looks the same on every computer and in every
 * kind of file. Each glyph is seven rows, and two more where it hangs below the line; one base-32 digit a row, the leftmost
 * dot in the highest bit.
 */
const GLYPHS: Readonly<Record<string, string>> = {
  A: 'ehhvhhh',
  B: 'uhhuhhu',
  C: 'ehggghe',
  D: 'uhhhhhu',
  E: 'vgguggv',
  F: 'vgguggg',
  G: 'ehgnhhf',
  H: 'hhhvhhh',
  I: 'e44444e',
  J: '72222ic',
  K: 'hikokih',
  L: 'ggggggv',
  M: 'hrllhhh',
  N: 'hhpljhh',
  O: 'ehhhhhe',
  P: 'uhhuggg',
  Q: 'ehhhlid',
  R: 'uhhukih',
  S: 'fgge11u',
  T: 'v444444',
  U: 'hhhhhhe',
  V: 'hhhhha4',
  W: 'hhhllla',
  X: 'hha4ahh',
  Y: 'hhha444',
  Z: 'v1248gv',
  a: '00e1fhf',
  b: 'ggmphhu',
  c: '00egghe',
  d: '11djhhf',
  e: '00ehvge',
  f: '698s888',
  g: '00fhhhf1e',
  h: 'ggmphhh',
  i: '40c444e',
  j: '2062222ic',
  k: 'ggikoki',
  l: 'c44444e',
  m: '00qllhh',
  n: '00mphhh',
  o: '00ehhhe',
  p: '00uhhhugg',
  q: '00fhhhf11',
  r: '00mpggg',
  s: '00ege1u',
  t: '88s8896',
  u: '00hhhjd',
  v: '00hhha4',
  w: '00hhlla',
  x: '00ha4ah',
  y: '00hhhhf1e',
  z: '00v248v',
  '0': 'ehjlphe',
  '1': '4c4444e',
  '2': 'eh1248v',
  '3': 'v2421he',
  '4': '26aiv22',
  '5': 'vgu11he',
  '6': '68guhhe',
  '7': 'v124888',
  '8': 'ehhehhe',
  '9': 'ehhf12c',
  ' ': '0000000',
  '-': '000v000',
  _: '000000v',
  '.': '00000cc',
  ',': '00000cc48',
  '+': '044v440',
  '(': '2488842',
  ')': '8422248',
  '%': 'op248j3',
  '/': '01248g0',
  ':': '0cc0cc0',
  '~': '008l200',
  '?': 'eh12404',
}

export const LETTER_WIDTH = 5
/** What hangs below the line included. */
export const LETTER_HEIGHT = 9
/** From letter to letter, dots. */
export const LETTER_STEP = 6

/**
 * Rows of dots of a letter, each row five bits, leftmost highest. Accents are left out; what has no letter is a question mark:
 * the words help people, the code is what is read.
 */
export function letterRows(letter: string): readonly number[] {
  const plain = letter.normalize('NFD').replace(/\p{M}/gu, '')
  return [...(GLYPHS[plain] ?? GLYPHS['?']!)].map(digit => Number.parseInt(digit, 32))
}
