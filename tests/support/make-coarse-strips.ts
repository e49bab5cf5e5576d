import { unknownLightScale } from '../../src/calibrate/light-scale.js'
import { seededRandom } from '../../src/demo/random.js'
import { blockOverview } from '../../src/imaging/block-overview.js'
import { mapped } from '../../src/imaging/fit-plane-map.js'
import { blockPixels } from '../../src/locate/locate-scan.js'
import { locateStrips, readStrip } from '../../src/locate/locate-strips.js'
import type { ArtworkBitmap } from '../../src/model/artwork.js'
import { clearLight } from '../../src/pipeline/lay-strip.js'
import type { StripDrawing } from '../../src/strip/draw-strip.js'
import { pixelPitch, stripLayout } from '../../src/strip/strip-layout.js'
import { openBedScan } from './calibrated-scanner.js'
import { QUICK_SCANNER } from './quick-scanner.js'
import { stripFilm } from './strip-film.js'

/**
 * Identity and orientation of control strips on coarse scans, all that may befall one at once: any turn, mirrored or not, 1 % scratched, one
 * locating mark not printed, up to a fifth of the length off the glass. Names and printers as drawn by `strip-film.ts`, so modules of 0.35 to
 * 0.52 mm. Some minutes, so by hand: `npx tsx tests/support/make-coarse-strips.ts 30 300 400` (films, resolutions).
 */
const films = Number(process.argv[2] ?? 30)
const resolutions = process.argv.slice(3).map(Number)
const SEED = 9300
/** Most that lies off the glass, share of the strip's length. */
const CROPPED = 0.2

/** The print without one of its locating marks. */
function withoutMark({ bitmap, layout }: StripDrawing, pick: number): ArtworkBitmap {
  const marks = layout.fields.filter(field => field.kind === 'mark')
  const { rect } = marks[Math.floor(pick * marks.length)]!
  const pitch = pixelPitch({ across: bitmap.dpi!.across, along: bitmap.dpi!.along }, 'head')
  const turned = layout.laid === 'feed'
  const bits = bitmap.bits.slice()
  const [u, v, wide, high] = turned
    ? [bitmap.width * pitch.x - rect.y - rect.height, rect.x, rect.height, rect.width]
    : [rect.x, rect.y, rect.width, rect.height]
  for (let r = Math.floor(v / pitch.y) - 1; r <= Math.ceil((v + high) / pitch.y); r++)
    for (let c = Math.floor(u / pitch.x) - 1; c <= Math.ceil((u + wide) / pitch.x); c++)
      bits[r * bitmap.rowBytes + (c >> 3)]! &= ~(0x80 >> (c & 7))
  return { ...bitmap, bits }
}

const table: Record<string, string | number>[] = []
for (const dpi of resolutions.length === 0 ? [300, 400] : resolutions) {
  const wrong: string[] = []
  const corners: number[] = []
  for (let i = 0; i < films; i++) {
    const seed = SEED + i
    const random = seededRandom(seed + 77)
    const missing = random.uniform()
    const off = random.between(0, CROPPED) * random.pick([-1, 1])
    const sharpness = random.between(10, 35)
    const film = stripFilm(seed, {
      dpi,
      forms: ['standard', 'short', 'ladder'],
      scratched: 0.01,
      inkSpreadUm: [14, 50],
      netDensity: [1.5, 3.8],
      scanner: {
        ...QUICK_SCANNER,
        dpi,
        blurAcrossUm: sharpness,
        blurAlongUm: sharpness,
        gamma: random.between(1, 2.2),
      },
      spoilt: drawing => withoutMark(drawing, missing),
    })
    const { laid, form } = film.identity
    const long = film.toScan(100, 0)
    const start = film.toScan(0, 0)
    const um = 25_400 / dpi
    // Along the strip, in pixels; all of `off` leaves the glass, whose size stays.
    const share = (off * stripLayout(form, laid, null).width) / 100
    const shift = { column: share * (long.column - start.column), row: share * (long.row - start.row) }
    const placed = {
      ...film,
      placement: {
        ...film.placement,
        acrossMm: film.placement.acrossMm + (shift.column * um) / 1000,
        alongMm: film.placement.alongMm + (shift.row * um) / 1000,
      },
    }
    const page = { scan: openBedScan(placed), light: unknownLightScale(null), umPerPixel: { across: um, along: um } }
    const overview = blockOverview(page.scan, blockPixels(page.umPerPixel), page.light.transmittance)
    const clear = clearLight(overview)
    const strips = locateStrips(page, overview, clear)
    const facts = `${seed} ${form} ${laid}, ${off.toFixed(2)} off, turned ${film.placement.turnDegrees.toFixed(0)}${film.placement.mirrored ? ' mirrored' : ''}, blur ${sharpness.toFixed(0)}, spread ${film.film.inkSpreadUm.toFixed(0)}, net ${film.film.netDensity.toFixed(1)}, mark ${missing.toFixed(2)}`
    const read = strips[0] === undefined ? null : await readStrip(page, strips[0], clear)
    if (read === null) wrong.push(`not found: ${facts}`)
    else if ('kind' in read) wrong.push(`${read.because}: ${facts}`)
    else {
      const wanted = { ...film.identity, positive: film.identity.positive.normalize('NFC') }
      if (JSON.stringify(read.laid.identity) !== JSON.stringify(wanted)) wrong.push(`read as another: ${facts}`)
      else if (read.laid.mirrored !== film.placement.mirrored) wrong.push(`mirror told wrongly: ${facts}`)
      else {
        const middle = [read.layout.width / 2, read.layout.height / 2] as const
        const at = mapped(read.laid.map, ...middle)
        const truly = film.toScan(...middle)
        corners.push(Math.hypot(at.x - truly.column - shift.column, at.y - truly.row - shift.row))
      }
    }
  }
  for (const line of wrong) console.log(`${dpi} dpi, ${line}`)
  table.push({ dpi, films, right: films - wrong.length, 'middle off at worst, px': Math.max(...corners).toFixed(3) })
}
console.table(table)
