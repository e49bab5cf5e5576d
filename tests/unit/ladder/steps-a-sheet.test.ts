import { expect, it } from 'vitest'
import { stepsASheet } from '../../../src/ladder/steps-a-sheet.js'

it('counts what fits inside the rim, and never says none', () => {
  const paper = (widthMm: number, heightMm: number) => ({ paper: { widthMm, heightMm } })
  expect(stepsASheet(paper(210, 297), { widthMm: 97, heightMm: 70 })).toBe(8)
  expect(stepsASheet(paper(210, 297), { widthMm: 97.1, heightMm: 70 })).toBe(4)
  expect(stepsASheet(paper(60, 60), { widthMm: 97, heightMm: 70 })).toBe(1)
})
