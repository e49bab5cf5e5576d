import bwipjs from 'bwip-js'
import type { Random } from '../../src/demo/random.js'
import { MM_PER_INCH } from '../../src/model/geometry.js'

/** What a cell of a printed page holds, as a drawing program lays it: each is something that is no flaw. */
export const PAGE_KINDS = [
  'paragraph',
  'panel',
  'table',
  'modules',
  'barcode',
  'logo',
  'pattern',
  'targets',
  'dashes',
  'confetti',
] as const
export type PageKind = (typeof PAGE_KINDS)[number]

const POINT = MM_PER_INCH / 72
const FONTS = [
  'DejaVu Sans',
  'DejaVu Serif',
  'DejaVu Sans Mono',
  'Liberation Sans',
  'Liberation Serif',
  'Liberation Mono',
]
const WORDS =
  'the film is dry; ink, mesh (No. 8) and squeegee: 12.5 mm i.e. all jobs of "Tidewater & Sons", est. 1931 - see fig. 4, pp. 6-9 % @ ® © ½ • äöü éè ñ! ok? it is a fiddly, illicit jig.'.split(
    ' ',
  )

/** An SVG picture of one kind, `room` mm wide and high and `px` pixels; black is ink. */
export function cellSvg(random: Random, kind: PageKind, room: number, px: number): string {
  const invert = kind === 'panel' || (kind !== 'barcode' && kind !== 'targets' && random.uniform() < 0.25)
  const parts = DRAWERS[kind](random, room)
  // A clear rim, so that what is reversed has an edge of its own.
  const ground = invert
    ? `<rect x="0" y="0" width="${room}" height="${room}" rx="${random.pick([0, 1])}" fill="#000"/>`
    : ''
  const [ink, paper] = invert ? ['#fff', '#000'] : ['#000', '#fff']
  const inside = invert ? `transform="translate(${0.06 * room} ${0.06 * room}) scale(0.88)"` : ''
  return `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="${px}" height="${px}" viewBox="0 0 ${room} ${room}"><rect width="${room}" height="${room}" fill="#fff"/>${ground}<g fill="${ink}" stroke="none" color="${ink}" ${inside}>${parts.join('').replaceAll('INK', ink).replaceAll('PAPER', paper)}</g></svg>`
}

const n = (value: number) => value.toFixed(3)

function words(random: Random, room: number, points: number): string {
  let line = random.pick(WORDS)
  while (line.length * 0.62 * points * POINT < room - 6 * points * POINT) line += ` ${random.pick(WORDS)}`
  return line.slice(0, Math.floor(room / (0.65 * points * POINT))).replaceAll('&', '&amp;')
}

function text(random: Random, x: number, y: number, points: number, line: string, more = ''): string {
  return `<text x="${n(x)}" y="${n(y)}" font-size="${n(points * POINT)}" font-family="${random.pick(FONTS)}" ${more}>${line}</text>`
}

function star(x: number, y: number, size: number, points: number, inner: number, turn: number): string {
  const corners = Array.from({ length: 2 * points }, (_, i) => {
    const a = turn + (Math.PI * i) / points
    const r = i % 2 === 0 ? size : inner * size
    return `${n(x + r * Math.sin(a))},${n(y - r * Math.cos(a))}`
  })
  return `<polygon points="${corners.join(' ')}"/>`
}

const DRAWERS: Readonly<Record<PageKind, (random: Random, room: number) => string[]>> = {
  paragraph(random, room) {
    const points = random.between(4.5, 10)
    const style = random.pick(['', 'font-weight="bold"', 'font-style="italic"'])
    const parts: string[] = []
    for (let y = points * POINT; y < room - 0.3 * points * POINT; y += points * POINT * random.between(1.15, 1.3))
      parts.push(text(random, 0.2, y, points, words(random, room - 0.4, points), style))
    return parts
  },
  panel(random, room) {
    const parts: string[] = [
      `<rect x="0.4" y="0.4" width="${n(room - 0.8)}" height="${n(room - 0.8)}" fill="none" stroke="INK" stroke-width="${n(random.between(0.1, 0.3))}"/>`,
    ]
    let y = 1
    for (;;) {
      const points = random.between(5, 11)
      y += points * POINT * 1.25
      if (y > room - 1.2) return parts
      parts.push(
        text(random, 1.2, y, points, words(random, room - 2.4, points), random.pick(['', 'font-weight="bold"'])),
      )
    }
  },
  table(random, room) {
    const parts: string[] = []
    const points = random.between(4.5, 7)
    const step = points * POINT * random.between(1.3, 1.7)
    const rule = random.between(0.06, 0.25)
    for (let y = step; y < room - 0.3; y += step) {
      const line = `${random.pick(WORDS.slice(0, 8))} ${'.'.repeat(Math.max(5, Math.floor((room * 0.25) / (0.33 * points * POINT))))}`
      parts.push(text(random, 0.3, y, points, line.replaceAll('&', '&amp;')))
      parts.push(
        text(
          random,
          room * 0.75,
          y,
          points,
          `${Math.floor(random.between(1, 99))}.${Math.floor(random.between(10, 99))}`,
        ),
      )
      if (random.uniform() < 0.4)
        parts.push(
          `<path d="M0.2 ${n(y + 0.25 * step)} H${n(room - 0.2)}" stroke="INK" stroke-width="${n(rule)}" ${random.uniform() < 0.5 ? `stroke-dasharray="${n(random.between(0.2, 1))} ${n(random.between(0.2, 0.8))}"` : ''}/>`,
        )
    }
    return parts
  },
  modules(random, room) {
    const bcid = random.pick(['qrcode', 'datamatrix', 'azteccode'])
    const made = bwipjs.toSVG({
      bcid,
      text: `https://tidewater.example/${random.whole()}/${random.whole()}`,
      scale: 4,
    } as Parameters<typeof bwipjs.toSVG>[0])
    return [codeIn(made, 0.5, 0.5, random.between(0.6, 1) * (room - 1))]
  },
  barcode(random, room) {
    const bcid = random.pick(['code128', 'ean13', 'interleaved2of5', 'code39'])
    const digits = bcid === 'ean13' ? '590123412345' : String(100000 + (random.whole() % 900000))
    const made = bwipjs.toSVG({ bcid, text: digits, scale: 3, height: 10, includetext: true } as Parameters<
      typeof bwipjs.toSVG
    >[0])
    return [codeIn(made, 0.3, 0.3, random.between(0.7, 1) * (room - 0.6))]
  },
  logo(random, room) {
    const c = room / 2
    const outer = 0.47 * room
    const parts = [`<circle cx="${c}" cy="${c}" r="${n(outer)}" fill="INK"/>`]
    // Letters of 4 point and more: smaller ones no screen holds.
    const band = random.between(1.75, 2.8)
    parts.push(
      `<circle cx="${c}" cy="${c}" r="${n(outer - 0.5)}" fill="none" stroke="PAPER" stroke-width="${n(random.between(0.1, 0.3))}"/>`,
    )
    parts.push(`<circle cx="${c}" cy="${c}" r="${n(outer - band - 0.6)}" fill="PAPER"/>`)
    // Letters and dots round the band.
    // Set as type is, or a third wider.
    const wide = 0.8 * band * random.between(0.75, 1.05)
    const count = Math.floor((2 * Math.PI * (outer - band)) / wide)
    for (let i = 0; i < count; i++) {
      const letter = 'TIDEWATER.SCREEN.WORKS.'[i % 23]!
      const a = (360 * i) / count
      parts.push(
        `<g fill="PAPER" transform="rotate(${n(a)} ${c} ${c})">${text(random, c - 0.3 * band, c - outer + 0.45 + 0.75 * band, (0.8 * band) / POINT, letter)}</g>`,
      )
    }
    parts.push(
      `<g fill="INK">${text(random, c - 0.22 * room, c + 0.1 * room, (0.32 * room) / POINT, random.pick(['Bo', '86', 'aæ', 'ß®', 'i&amp;', 'é%']), 'font-weight="bold"')}</g>`,
    )
    return parts
  },
  pattern(random, room) {
    const pitch = random.between(0.5, 2.4)
    const shape = random.pick(['dots', 'checks', 'rings', 'crosses', 'zigzag', 'tiles', 'holes'])
    const hex = random.uniform() < 0.5
    const size = pitch * random.between(0.15, 0.4)
    const one = (x: number, y: number): string => {
      if (shape === 'dots' || shape === 'holes') return `<circle cx="${n(x)}" cy="${n(y)}" r="${n(size)}"/>`
      if (shape === 'checks') return `<rect x="${n(x)}" y="${n(y)}" width="${n(pitch / 2)}" height="${n(pitch / 2)}"/>`
      if (shape === 'rings')
        return `<circle cx="${n(x)}" cy="${n(y)}" r="${n(size)}" fill="none" stroke="INK" stroke-width="${n(0.4 * size)}"/>`
      if (shape === 'crosses')
        return `<path d="M${n(x - size)} ${n(y)} h${n(2 * size)} M${n(x)} ${n(y - size)} v${n(2 * size)}" stroke="INK" stroke-width="${n(0.3 * size)}"/>`
      if (shape === 'zigzag')
        return `<path d="M${n(x)} ${n(y)} l${n(pitch / 2)} ${n(pitch / 3)} l${n(pitch / 2)} ${n(-pitch / 3)}" fill="none" stroke="INK" stroke-width="${n(0.12 * pitch)}"/>`
      return `<rect x="${n(x)}" y="${n(y)}" width="${n(0.8 * pitch)}" height="${n(0.42 * pitch)}"/>`
    }
    const parts: string[] = []
    let row = 0
    for (let y = 0.5; y < room - pitch; y += shape === 'tiles' ? pitch / 2 : pitch, row++)
      for (let x = 0.5 + (hex && row % 2 === 1 ? pitch / 2 : 0); x < room - pitch; x += pitch) parts.push(one(x, y))
    return [
      `<g transform="rotate(${n(random.pick([0, 0, 45, random.between(0, 90)]))} ${room / 2} ${room / 2}) translate(${n(0.15 * room)} ${n(0.15 * room)}) scale(0.7)">${parts.join('')}</g>`,
    ]
  },
  targets(random, room) {
    const line = random.between(0.06, 0.2)
    const parts: string[] = []
    for (let k = 0; k < 2; k++) {
      const [x, y] = [random.between(3, room - 3), random.between(3, room * 0.6)]
      const r = random.between(0.8, 1.8)
      parts.push(
        `<g fill="none" stroke="INK" stroke-width="${n(line)}"><circle cx="${n(x)}" cy="${n(y)}" r="${n(r)}"/>${random.uniform() < 0.5 ? `<circle cx="${n(x)}" cy="${n(y)}" r="${n(r / 2)}"/>` : ''}<path d="M${n(x - 1.6 * r)} ${n(y)} h${n(3.2 * r)} M${n(x)} ${n(y - 1.6 * r)} v${n(3.2 * r)}"/></g>`,
      )
    }
    for (const [x, y, a, b] of [
      [0, 0, 1, 1],
      [room, 0, -1, 1],
      [0, room, 1, -1],
      [room, room, -1, -1],
    ] as const)
      parts.push(
        `<path d="M${n(x + a * 0.1)} ${n(y + b * 2.2)} h${n(a * 1.8)} M${n(x + a * 2.2)} ${n(y + b * 0.1)} v${n(b * 1.8)}" stroke="INK" stroke-width="${n(line)}"/>`,
      )
    // A ruler with ticks and figures.
    for (let i = 0; 2.4 + 0.5 * i < room - 2.4; i++)
      parts.push(
        `<path d="M${n(2.4 + 0.5 * i)} ${n(0.82 * room)} v${i % 2 === 0 ? 1.2 : 0.6}" stroke="INK" stroke-width="${n(line)}"/>`,
      )
    for (let i = 0; 2.4 + 2 * i < room - 2.4; i++) parts.push(text(random, 2.2 + 2 * i, 0.8 * room, 4.5, String(i)))
    return parts
  },
  dashes(random, room) {
    const parts: string[] = []
    const dash = () =>
      random.pick([
        `stroke-dasharray="${n(random.between(0.3, 1.2))} ${n(random.between(0.25, 1))}"`,
        `stroke-dasharray="0 ${n(random.between(0.6, 1.4))}" stroke-linecap="round"`,
        `stroke-dasharray="1 0.4 0.2 0.4"`,
      ])
    const width = () => n(random.between(0.12, 0.35))
    const square = random.uniform() < 0.5
    for (let inset = 0.4; inset < 0.4 * room; inset += random.between(1, 2))
      parts.push(
        square
          ? `<rect x="${n(inset)}" y="${n(inset)}" width="${n(room - 2 * inset)}" height="${n(room - 2 * inset)}" rx="${random.pick([0, 1])}" fill="none" stroke="INK" stroke-width="${width()}" ${dash()}/>`
          : `<circle cx="${room / 2}" cy="${room / 2}" r="${n(room / 2 - inset)}" fill="none" stroke="INK" stroke-width="${width()}" ${dash()}/>`,
      )
    return parts
  },
  confetti(random, room) {
    const points = random.pick([4, 5, 6])
    const inner = random.between(0.3, 0.6)
    const kind = random.pick(['star', 'star', 'heart', 'triangle', 'drop'])
    const drawn: { x: number; y: number; s: number }[] = []
    for (let k = 0; k < 200 && drawn.length < 30; k++) {
      // Smaller ones no screen holds.
      const s = random.between(0.35, 0.9)
      const [x, y] = [random.between(1, room - 1), random.between(1, room - 1)]
      if (drawn.every(d => Math.hypot(d.x - x, d.y - y) > 1.2 * (d.s + s) + 0.1)) drawn.push({ x, y, s })
    }
    return drawn.map(({ x, y, s }) => {
      if (kind === 'star') return star(x, y, s, points, inner, random.between(0, 6))
      const turn = random.between(0, 360)
      const path =
        kind === 'heart'
          ? 'M0 0.9 C-1.4 -0.2 -0.6 -1 0 -0.4 C0.6 -1 1.4 -0.2 0 0.9 Z'
          : kind === 'triangle'
            ? 'M0 -0.9 L0.8 0.6 L-0.8 0.6 Z'
            : 'M0 -1 C0.9 0.2 0.5 0.9 0 0.9 C-0.5 0.9 -0.9 0.2 0 -1 Z'
      return `<path d="${path}" transform="translate(${n(x)} ${n(y)}) rotate(${n(turn)}) scale(${n(s)})"/>`
    })
  },
}

/** A code made elsewhere, in a square of the told side. */
function codeIn(svg: string, x: number, y: number, side: number): string {
  const [, wide, high] = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(svg)!
  const body = svg.slice(svg.indexOf('>') + 1, svg.lastIndexOf('</svg>'))
  const scale = side / Math.max(Number(wide), Number(high))
  return `<g transform="translate(${n(x)} ${n(y)}) scale(${scale.toFixed(5)})">${body.replaceAll('#000000', 'INK')}</g>`
}
