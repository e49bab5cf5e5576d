/** What this project uses of fft.js 4, which brings no types of its own. Complex numbers lie as pairs, real first. */
declare module 'fft.js' {
  export default class FFT {
    /** @param size a power of two, 2 or more */
    constructor(size: number)
    /** Unscaled; `out` must not be `data`. */
    transform(out: Float64Array, data: Float64Array): void
    /** Divided by the size. */
    inverseTransform(out: Float64Array, data: Float64Array): void
    /** First half of the spectrum of `size` real numbers; bins past the half are left as they were. */
    realTransform(out: Float64Array, data: Float64Array): void
  }
}
