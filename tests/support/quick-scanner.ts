import type { DemoScanner } from '../../src/demo/scanner.js'

/** A coarse make-believe scanner without faults: scans of it are quick to make. Tests change what they are about. */
export const QUICK_SCANNER: DemoScanner = {
  maker: 'demo',
  model: 'flatbed-r',
  dpi: 250,
  scaleErrorAcross: 0,
  scaleErrorAlong: 0,
  blurAcrossUm: 30,
  blurAlongUm: 30,
  black: 300,
  gain: 56_000,
  gamma: 1,
  veil: 0.0001,
  readNoise: 12,
  shotNoise: 120,
  flare: 0,
  flareReachMm: 8,
  shading: 0,
  lamp: 1,
}
