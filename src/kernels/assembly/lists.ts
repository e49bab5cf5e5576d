// How the loops read and write the memory: taken into each of the modules beside it. Places count bytes from the start of the memory.

/** f64 of a list. */
// @ts-expect-error: decorator
@inline
export function at(list: usize, i: i32): f64 {
  return load<f64>(list + ((<usize>i) << 3))
}

/** Writes an f64 of a list. */
// @ts-expect-error: decorator
@inline
export function put(list: usize, i: i32, value: f64): void {
  store<f64>(list + ((<usize>i) << 3), value)
}

/** i32 of a list. */
// @ts-expect-error: decorator
@inline
export function whole(list: usize, i: i32): i32 {
  return load<i32>(list + ((<usize>i) << 2))
}

/** f32 of a list. */
// @ts-expect-error: decorator
@inline
export function block(light: usize, i: i32): f64 {
  return load<f32>(light + ((<usize>i) << 2)) as f64
}

/** Sixteen cells, all bits of a marked one set; `mark` below 0: marked is what is not 0. */
// @ts-expect-error: decorator
@inline
export function sixteen(at: usize, mark: i32): v128 {
  const v = v128.load(at)
  return mark < 0 ? i8x16.ne(v, i8x16.splat(0)) : i8x16.eq(v, i8x16.splat(<i8>mark))
}

/** Whether one cell is marked, as `sixteen` has it. */
// @ts-expect-error: decorator
@inline
export function marked(at: usize, mark: i32): boolean {
  const v = load<u8>(at) as i32
  return mark < 0 ? v != 0 : v == mark
}
