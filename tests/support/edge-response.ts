import type { EdgeSpread } from '../../src/imaging/edge-spread.js'

/**
 * Frequency (cycles a pixel along the normal) at which the spatial frequency response of a super-sampled edge falls to `level`:
 * derivative, Hamming window, discrete transform, derivative filter divided out (ISO 12233:2014, 6.2.4 to 6.2.6).
 */
export function responseFrequency(edge: EdgeSpread, level: number, binsPerPixel?: number): number {
  const step = edge.binUm
  const n = Math.floor((edge.distance.at(-1)! - edge.distance[0]!) / step)
  const esf = Array.from({ length: n }, (_, i) => interpolate(edge, edge.distance[0]! + i * step))
  const lsf = esf.map((_, i) => (i === 0 || i === n - 1 ? 0 : (esf[i + 1]! - esf[i - 1]!) / 2))
  const centre = lsf.reduce((sum, v, i) => sum + v * i, 0) / lsf.reduce((sum, v) => sum + v, 0)
  const half = Math.min(centre, n - 1 - centre)
  const windowed = lsf.map((v, i) =>
    Math.abs(i - centre) > half ? 0 : v * (0.54 + 0.46 * Math.cos((Math.PI * (i - centre)) / half)),
  )
  const response = (cyclesPerPixel: number) => {
    const f = (cyclesPerPixel * step) / edge.pitchUm
    let re = 0
    let im = 0
    let zero = 0
    windowed.forEach((v, i) => {
      re += v * Math.cos(2 * Math.PI * f * i)
      im += v * Math.sin(2 * Math.PI * f * i)
      zero += v
    })
    const derivative = f === 0 ? 1 : Math.sin(2 * Math.PI * f) / (2 * Math.PI * f)
    // A published result with wider bins keeps their averaging, sinc(f / bins); ours has its own.
    const averaging = binsPerPixel === undefined ? 1 : sinc(cyclesPerPixel / binsPerPixel) / sinc(f)
    return (Math.hypot(re, im) / Math.abs(zero) / derivative) * averaging
  }
  let low = 0
  while (response(low + 0.005) > level && low < 1) low += 0.005
  let high = low + 0.005
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2
    if (response(middle) > level) low = middle
    else high = middle
  }
  return (low + high) / 2
}

function sinc(x: number): number {
  return x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x)
}

function interpolate(edge: EdgeSpread, at: number): number {
  let k = 0
  while (k < edge.distance.length - 2 && edge.distance[k + 1]! < at) k++
  const t = (at - edge.distance[k]!) / (edge.distance[k + 1]! - edge.distance[k]!)
  return edge.light[k]! + (edge.light[k + 1]! - edge.light[k]!) * Math.min(1, Math.max(0, t))
}
