import { describe, expect, it } from 'vitest'
import { SvgDocument } from '../../../src/report/svg-document.js'

const SVG = 'http://www.w3.org/2000/svg'
const document = new SvgDocument()
const element = (name: string) => document.createElementNS(SVG, name)

describe('a document that charts are drawn into', () => {
  it('writes elements, attributes, styles and text, escaped', () => {
    const svg = element('svg')
    svg.setAttribute('viewBox', '0 0 3 4')
    Object.assign(svg.style, { fontSize: '12px' })
    svg.style.setProperty('stroke-width', '2')
    const text = svg.appendChild(element('text'))
    text.textContent = 'a < b & "c"'
    svg.append(element('line'), 'and')
    text.setAttributeNS(null, 'title', 'x"><y')
    expect(svg.outerHTML).toBe(
      '<svg viewBox="0 0 3 4" style="font-size:12px;stroke-width:2"><text title="x&quot;&gt;&lt;y">a &lt; b &amp; "c"</text><line/>and</svg>',
    )
  })

  it('keeps who stands where when nodes are put in, moved and taken out', () => {
    const [one, two, three] = ['a', 'b', 'c'].map(element) as [
      ReturnType<typeof element>,
      ReturnType<typeof element>,
      ReturnType<typeof element>,
    ]
    const parent = element('g')
    parent.append(one, three)
    parent.insertBefore(two, three)
    expect(parent.childNodes).toEqual([one, two, three])
    expect([parent.firstChild, one.nextSibling, three.nextSibling]).toEqual([one, two, null])
    parent.appendChild(one)
    expect(parent.childNodes).toEqual([two, three, one])
    two.remove()
    expect(two.parentNode).toBeNull()
    parent.textContent = null
    expect(parent.childNodes).toEqual([])
    expect(one.parentNode).toBeNull()
  })

  it('finds elements by name at any depth, and the drawing around them', () => {
    const svg = element('svg')
    const inner = svg.appendChild(element('g')).appendChild(element('style'))
    expect(svg.querySelectorAll('style')).toEqual([inner])
    expect(inner.ownerSVGElement).toBe(svg)
    expect(svg.ownerSVGElement).toBeNull()
    expect(() => svg.querySelectorAll('g > style')).toThrow(RangeError)
  })
})
