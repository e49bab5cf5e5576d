import type { Random } from '../../src/demo/random.js'
import type { DemoScanner } from '../../src/demo/scanner.js'

/** A flatbed as flaws are looked for on: blur, response and noise drawn at random, size and lamp without error. */
export function randomFlatbed(random: Random, dpi: number): DemoScanner {
  const blur = Math.max(random.between(6, 16), (0.35 * 25_400) / dpi)
  return {
    maker: 'Tidewater',
    model: 'flatbed-r',
    dpi,
    scaleErrorAcross: 0,
    scaleErrorAlong: 0,
    blurAcrossUm: blur,
    blurAlongUm: blur * random.between(0.8, 1.2),
    black: random.between(100, 800),
    gain: random.between(52_000, 62_000),
    gamma: random.between(1, 2.2),
    veil: random.between(0, 0.0003),
    readNoise: random.between(4, 20),
    shotNoise: random.between(60, 250),
    flare: 0,
    flareReachMm: 10,
    shading: 0,
    lamp: 1,
  }
}
