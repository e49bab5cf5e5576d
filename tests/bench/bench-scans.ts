import { existsSync, mkdirSync, renameSync } from 'node:fs'
import { join } from 'node:path'
import sharp from 'sharp'
import type { Film, Shape } from '../../src/demo/film.js'
import type { BedScan } from '../../src/demo/scanner.js'
import { separation, writeSeparation } from '../../src/demo/separation.js'
import { demoScans, writeDemoScan } from '../../src/demo/shop.js'
import { pilotBadge, reefLabel, regattaFront, teamNumber } from '../../src/demo/shop-artwork.js'
import { writeScan } from '../../src/demo/write-scan.js'
import { drawStrip } from '../../src/strip/draw-strip.js'

export type BenchScan = 'grey1200' | 'strip1200' | 'grey2400' | 'deflate1200' | 'lzw1200' | 'rgb1200' | 'rgb-lzw1200'

/** A page on the glass with open light round the film. A4, or a quarter of its side for a quick look. */
const PAGES = {
  a4: { widthMm: 210, heightMm: 297, across: 2, down: 4, strip: 'standard' },
  quick: { widthMm: 105, heightMm: 148, across: 1, down: 2, strip: 'short' },
} as const
export type BenchPage = keyof typeof PAGES

const MARGIN_MM = 7
const [SPACE_U, SPACE_V] = [90, 64]

/** Four separations of type, solids, tints and hair-lines, turn about over the page. */
function film(page: BenchPage): Film {
  const { widthMm, heightMm, across, down } = PAGES[page]
  const art = [regattaFront(), teamNumber('07'), reefLabel(), pilotBadge()]
  const shapes: Shape[] = []
  for (let row = 0; row < down; row++)
    for (let column = 0; column < across; column++)
      for (const shape of art[(row * across + column + row) % art.length]!.shapes)
        shapes.push({ ...shape, u: shape.u + 5 + column * SPACE_U, v: shape.v + 4 + row * SPACE_V })
  return {
    widthMm: widthMm - 2 * MARGIN_MM,
    heightMm: heightMm - 2 * MARGIN_MM,
    baseDensity: 0.06,
    netDensity: 3.3,
    inkSpreadUm: 15,
    shapes,
    banding: { amplitude: 0.004, pitchMm: 1.27 },
    grain: { rms: 0.006, correlationUm: 90 },
  }
}

/** A control strip below all that, where there is clear film. */
function strip(page: BenchPage): NonNullable<Film['printed']> {
  const dpi = { across: 1440, along: 720 }
  const told = { positive: 'bench', jobType: 'fine-line', dpi, form: PAGES[page].strip, laid: 'head' } as const
  const { bitmap } = drawStrip({ ...told, tints: 'screened' }, { ruling: 55, angle: 22.5 })
  return [{ u: 8, v: 8 + PAGES[page].down * SPACE_V, raster: bitmap }]
}

function scanOf(page: BenchPage, dpi: number, printed: Film['printed'] = []): BedScan {
  const { widthMm, heightMm } = PAGES[page]
  const { scan } = demoScans().find(one => one.kind === 'positive')!
  return {
    scanner: { ...scan.scanner, dpi },
    bedWidthMm: widthMm,
    bedHeightMm: heightMm,
    film: { ...film(page), printed },
    placement: { acrossMm: widthMm / 2, alongMm: heightMm / 2, turnDegrees: 0.3, mirrored: false },
    holder: null,
    seed: 7,
  }
}

const DATE = '2026-03-20T09:00:00'

/** Makes what is not in the folder yet; the pages are drawn by the make-believe scanner and packed by sharp. */
export async function benchScan(folder: string, page: BenchPage, name: BenchScan): Promise<string> {
  const file = join(folder, `${page}-${name}.tif`)
  if (existsSync(file)) return file
  mkdirSync(folder, { recursive: true })
  const half = `${file}.part.tif`
  if (name === 'grey1200' || name === 'grey2400') {
    await writeScan(half, scanOf(page, name === 'grey1200' ? 1200 : 2400), DATE)
  } else if (name === 'strip1200') {
    await writeScan(half, scanOf(page, 1200, strip(page)), DATE)
  } else {
    const plain = sharp(await benchScan(folder, page, 'grey1200'), { limitInputPixels: false, unlimited: true })
    const resolution = { xres: 1200 / 25.4, yres: 1200 / 25.4, resolutionUnit: 'inch' as const }
    const compression = name === 'deflate1200' ? 'deflate' : name.includes('lzw') ? 'lzw' : 'none'
    await plain
      .toColourspace(name.startsWith('rgb') ? 'rgb16' : 'grey16')
      .tiff({ compression, predictor: compression === 'none' ? 'none' : 'horizontal', ...resolution })
      .toFile(half)
  }
  renameSync(half, file)
  return file
}

/** The separation of the page at 720 dpi, 1-bit. */
export async function benchArtwork(folder: string, page: BenchPage): Promise<string> {
  const file = join(folder, `${page}-artwork.tif`)
  if (existsSync(file)) return file
  const { widthMm, heightMm, shapes } = film(page)
  await writeSeparation(file, separation({ widthMm, heightMm, shapes }, { across: 720, along: 720 }))
  return file
}

/** The scans that calibrate the make-believe scanner: tablet, its certificate, knife edge. */
export async function benchTablet(folder: string): Promise<{ tablet: string; certificate: string; edge: string }> {
  const of = (kind: 'tablet' | 'knifeEdge') => writeDemoScan(demoScans().find(one => one.kind === kind)!, folder)
  const tablet = await of('tablet')
  const edge = await of('knifeEdge')
  return { tablet: tablet.scan, certificate: tablet.certificate!, edge: edge.scan }
}
