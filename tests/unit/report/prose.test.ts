import { expect, it } from 'vitest'
import { prose } from '../../../src/report/prose.js'

const html = (text: string) => prose(text).toHTML()

it('begins large and sets commands as code', () => {
  expect(html('run `burngate check` now')).toBe('Run <code>burngate check</code> now')
  expect(html('')).toBe('')
})

it('escapes everything, in code and out', () => {
  expect(html('<b> `<i>"` &')).toBe('&lt;b&gt; <code>&lt;i&gt;&quot;</code> &amp;')
})

it('leaves an odd backtick as it came', () => {
  expect(html('a ` b')).toBe('A &#x60; b')
})

it('keeps a figure with its unit and writes um as people do', () => {
  expect(html('rise width is 30.2 ± 1.2 um; at most 90 %, 3 mm2, `5 um`')).toBe(
    'Rise width is 30.2\u00a0±\u00a01.2\u00a0µm; at most 90\u00a0%, 3\u00a0mm², <code>5 um</code>',
  )
})
