import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import sharp from 'sharp'
import { HARD_KINDS, type HardFilm, type HardKind, hardFilm } from './hard-film.js'
import { seenFlaws } from './seen-flaws.js'

/**
 * How many false flaws clean films of hard things show. By hand, as an A4 takes minutes and the fonts are the machine's own:
 * `npx tsx tests/support/make-clean-films.ts 6 600 210x297 30000 [kind,kind] [folder for crops]` (films, dpi, size in mm, first seed).
 */
const [films, dpi, size, firstSeed, only, folder] = [
  Number(process.argv[2] ?? 6),
  Number(process.argv[3] ?? 600),
  (process.argv[4] ?? '210x297').split('x').map(Number),
  Number(process.argv[5] ?? 30_000),
  process.argv[6],
  process.argv[7],
]
const kinds = only === undefined || only === 'all' ? HARD_KINDS : (only.split(',') as HardKind[])
if (folder !== undefined) mkdirSync(folder, { recursive: true })

for (let k = 0; k < films; k++) {
  const seed = firstSeed + k
  const film = await hardFilm(seed, { dpi, widthMm: size[0]!, heightMm: size[1]!, kinds })
  const { scanner } = film.bed
  const um = 25_400 / dpi
  const flaws = seenFlaws(film.scan, scanner)
  if ('because' in flaws) {
    console.log(`${seed}: ${flaws.because}`)
    continue
  }
  const by = new Map<string, number>()
  for (const flaw of flaws.list) {
    const at = `${flaw.kind} in ${film.kindAt(flaw.place.column, flaw.place.row)}`
    by.set(at, (by.get(at) ?? 0) + 1)
    if (folder !== undefined)
      await crop(film, flaw.place, join(folder, `${seed}-${flaw.id}-${at.replaceAll(' ', '-')}.png`))
  }
  const { solid, clear } = flaws.inspectedMm2
  console.log(
    `${seed}: ${flaws.list.length} false; ${(solid / 100).toFixed(0)} cm2 ink, ${(clear / 100).toFixed(0)} cm2 clear, ${Math.round((flaws.skippedMm2.halftone ?? 0) / 100)} cm2 halftone; net D ${film.bed.film.netDensity.toFixed(1)}, gamma ${scanner.gamma.toFixed(1)}, blur ${(scanner.blurAcrossUm / um).toFixed(2)} px; ${[...by].map(([at, n]) => `${n} ${at}`).join(', ')}`,
  )
}

async function crop({ scan }: HardFilm, at: { column: number; row: number }, file: string): Promise<void> {
  const half = Math.round(1300 / (25_400 / dpi))
  const column = Math.max(0, Math.round(at.column) - half)
  const row = Math.max(0, Math.round(at.row) - half)
  const width = Math.min(2 * half, scan.header.width - column)
  const height = Math.min(2 * half, scan.header.height - row)
  const { codes } = scan.readWindow({ column, row, width, height })
  const grey = Buffer.from(Uint8Array.from(codes, code => code >> 8))
  await sharp(grey, { raw: { width, height, channels: 1 } })
    .resize(width * 5, height * 5, { kernel: 'nearest' })
    .png()
    .toFile(file)
}
