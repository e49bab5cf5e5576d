import { describe, expect, it } from 'vitest'
import { RestTimer } from '../../../src/watch/rest-timer.js'

const entry = (size: number, mtimeMs = 5, ino = 1) => ({
  path: '',
  relative: 'a.tif',
  name: 'a.tif',
  folder: null,
  size,
  mtimeMs,
  ino,
})

describe('RestTimer', () => {
  it('counts from the last change of size, time or identity', () => {
    const timer = new RestTimer()
    expect(timer.restedMs(entry(1), 100)).toBe(0)
    timer.look(entry(1), 100)
    timer.look(entry(1), 150)
    expect(timer.restedMs(entry(1), 160)).toBe(60)
    timer.look(entry(2), 200)
    expect(timer.restedMs(entry(2), 230)).toBe(30)
    timer.look(entry(2, 6), 240)
    expect(timer.restedMs(entry(2), 240)).toBe(0)
    expect(timer.presentMs(entry(2), 240)).toBe(140)
    timer.look(entry(2, 6, 9), 250)
    expect(timer.presentMs(entry(2), 260)).toBe(10)
  })

  it('does not trust an old file time: a copy that keeps it has only just come', () => {
    const timer = new RestTimer()
    timer.look(entry(1, 0), 1000)
    expect(timer.restedMs(entry(1), 1000)).toBe(0)
  })

  it('forgets what is gone', () => {
    const timer = new RestTimer()
    timer.look(entry(1), 100)
    timer.keepOnly(new Set(['a.tif']))
    expect(timer.restedMs(entry(1), 200)).toBe(100)
    timer.keepOnly(new Set())
    expect(timer.restedMs(entry(1), 200)).toBe(0)
  })
})
