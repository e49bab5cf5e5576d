import { type Random, seededRandom } from '../../src/demo/random.js'
import { type BedScan, scanFilm } from '../../src/demo/scanner.js'
import { measureBandingAmplitude } from '../../src/measure/banding-amplitude.js'
import { measureBandingPitch } from '../../src/measure/banding-pitch.js'
import { isReading } from '../../src/measure/film-evidence.js'
import { measureMottle } from '../../src/measure/mottle.js'
import type { OpenScan } from '../../src/model/scan.js'
import { bandedEvidence, bandedFilm } from './banded-film.js'
import { memoryScan } from './memory-scan.js'

/**
 * Banding of random films against its truth, with and without streaks of the scanner's own. By hand, 5 to 20 seconds a film:
 * `npx tsx tests/support/make-banded-films.ts 20 910000 600 0.5` (films, first seed, dpi, streaks of up to so many % of the light).
 */
const [films, first, dpi, mostStreak] = [20, 910_000, 600, 0.5].map((usual, i) => Number(process.argv[2 + i] ?? usual))
for (let k = 0; k < films!; k++) {
  const random = seededRandom(first! + k)
  const pitchMm = 0.5 * 10 ** random.uniform()
  const amplitude = k % 5 === 4 ? 0 : 0.1 * random.uniform() ** 2
  const grain = { rms: random.between(0, 0.03), correlationUm: random.between(60, 150) }
  const bed = bandedFilm({ seed: first! + k, dpi: dpi!, amplitude, pitchMm, grain })
  const streak = (mostStreak! / 100) * random.uniform()
  const film = bandedEvidence(bed, first! + 500 + k, one => streaked(one, streak, random))
  const banding = measureBandingAmplitude(film)
  const pitch = measureBandingPitch(film)
  const mottle = measureMottle(film)
  const wanted = (100 * amplitude) / Math.SQRT2
  const [off, u] = isReading(banding) ? [banding.value - wanted, banding.expanded] : [Number.NaN, Number.NaN]
  const said = isReading(pitch)
    ? `${(100 * (pitch.value / pitchMm - 1)).toFixed(3)} % (U ${pitch.expanded.toFixed(3)} mm)`
    : 'none'
  console.log(
    `${first! + k}: net D ${bed.film.netDensity.toFixed(2)}, turn ${bed.placement.turnDegrees.toFixed(1)}, streaks ${(100 * streak).toFixed(2)} %, grain ${(100 * grain.rms).toFixed(1)} %; rms ${wanted.toFixed(3)} % off ${off.toFixed(3)} U ${u.toFixed(3)}${Math.abs(off) <= u ? '' : ' BEYOND U'}; pitch ${pitchMm.toFixed(3)} mm off ${said}; mottle ${isReading(mottle) ? `${mottle.value.toFixed(2)} U ${mottle.expanded.toFixed(2)}` : 'none'}${isReading(banding) ? '' : ` (${banding.because})`}`,
  )
}

/** Streaks of the sensor run along the carriage: each column of the scan has its own gain, a wave and chance together, the same all the way down. */
function streaked(bed: BedScan, rms: number, random: Random): OpenScan {
  const { codes, width, height } = scanFilm(bed)
  const { scanner } = bed
  const pitchPx = (random.between(0.4, 4) * scanner.dpi) / 25.4
  const phase = random.between(0, 7)
  const gain = Float64Array.from({ length: width }, (_, c) => {
    const light = 1 + rms * (Math.sin((2 * Math.PI * c) / pitchPx + phase) + 0.7 * random.normal())
    return light ** (1 / scanner.gamma)
  })
  for (let r = 0; r < height; r++)
    for (let c = 0; c < width; c++) {
      const at = r * width + c
      codes[at] = Math.min(65535, Math.max(0, Math.round(scanner.black + (codes[at]! - scanner.black) * gain[c]!)))
    }
  return memoryScan(codes, width, height, scanner.dpi, { maker: scanner.maker, model: scanner.model })
}
