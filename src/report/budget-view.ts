import type { Component, Reading } from '../model/reading.js'
import { type Manner, shownUnit } from './format-reading.js'

/** What each component of a budget is, for the person who scans. */
const WORDS: Readonly<Record<string, string>> = {
  tablet: 'The step tablet’s own densities, as its certificate states them',
  fit: 'Reading the tablet’s steps on the scan',
  noise: 'Noise of the pixels',
  black: 'What is not known of the scanner’s black and curve',
  'black drift': 'Black may move from scan to scan',
  'light drift': 'The lamp may not be what it was at the calibration',
  flare: 'Stray light from bright surroundings',
  'flat field': 'The glass is not lit alike everywhere',
  edges: 'The edges differ from each other',
  method: 'What reading an edge between pixels leaves',
  shape: 'The edge is not quite of the shape that spread ink gives',
  scanner: 'How well the scanner’s own blur is known (knife edge)',
  'light scale': 'The step tablet bends the light scale within its certificate',
  'solid density': 'The density of the solid beside the edge',
  resolution: 'A pixel may be longer or shorter than the resolution says (no grid)',
  'pixel size': 'Reading the grid that tells the length of a pixel',
  'grid pitch': 'The grid’s own pitch',
  'length of edge': 'A short edge shows only a piece of the wander',
  'wander finer than the scanner shows': 'Fine wander that the scanner blurs away',
  'wander that the line follows': 'A fitted line follows some of the slow wander',
  'rim of the places': 'Where the rims of the places lie',
  'places too small': 'Places just too small to be counted',
  'slow trend': 'Slow unevenness of the solid pulls at a wave of few pitches',
  'curve of ink': 'The bend of the curve from light to ink over so large a ripple',
  'scanner’s own ripple': 'The scanner’s own streaks or carriage, which lie as the bands do',
  base: 'The density of the clear film',
  tiles: 'So few tiles show only so much of the clouds',
  'flaws missed': 'One flaw in a hundred may be missed',
  'size near the least counted': 'Flaws about as small as the least that is counted fall on either side',
  'light it lets through': 'Noise and the level of ink and clear film round the flaw',
  'choice among several': 'Picking the extreme of several picks chance too',
}

const TIMES = '\u00d7'

/** The budget of one reading as a table: largest first, in words, with its share. */
export function budgetView(reading: Reading, manner: Manner) {
  const { label: unit, factor } = shownUnit(reading.unit, manner)
  const variance = reading.budget.reduce((sum, component) => sum + component.standard ** 2, 0)
  const k = reading.coverageFactor ?? 2
  return {
    components: [...reading.budget]
      .sort((a, b) => b.standard - a.standard)
      .map(component => ({
        name: WORDS[component.name] ?? component.name,
        code: component.name,
        quantity: quantityWords(component),
        sensitivity: sensitivityWords(component, unit, factor),
        freedom: component.degreesOfFreedom === undefined ? '' : freedomWords(component.degreesOfFreedom),
        standard: significant(component.standard * factor),
        share: variance > 0 ? shareWords((100 * component.standard ** 2) / variance) : '0\u00a0%',
      })),
    combined: significant(Math.sqrt(variance) * factor),
    freedom: reading.degreesOfFreedom === undefined ? '' : freedomWords(reading.degreesOfFreedom),
    k: k === 2 ? '2' : k.toFixed(2),
    widened: k > 2.005,
    expanded: significant(reading.expanded * factor),
  }
}

function quantityWords({ input }: Component): string {
  if (input === undefined) return ''
  if (input.unit === '1') return `${significant(100 * input.standard)}\u00a0%`
  if (input.unit === 'codes') return `${significant(input.standard)}\u00a0codes`
  if (input.unit === 'um2') return `${significant(input.standard)}\u00a0µm²`
  if (input.unit === 'um') return `${significant(input.standard)}\u00a0µm`
  return `${significant(input.standard)}\u00a0D`
}

/** Per one unit of the quantity; a share is shown in percent, so its sensitivity is per percent. */
function sensitivityWords({ input, sensitivity }: Component, unit: string, factor: number): string {
  if (sensitivity === undefined || input === undefined) return ''
  if (input.unit === '1') return `${TIMES}\u00a0${significant((sensitivity * factor) / 100)}\u00a0${unit}/%`
  if (input.unit === 'codes') return `${TIMES}\u00a0${significant(sensitivity * factor)}\u00a0${unit}/code`
  if (input.unit === 'D' && unit !== 'D') return `${TIMES}\u00a0${significant(sensitivity * factor)}\u00a0${unit}/D`
  return `${TIMES}\u00a0${significant(sensitivity)}`
}

function freedomWords(freedom: number | null): string {
  if (freedom === null || freedom > 999) return '∞'
  return freedom < 10 ? freedom.toFixed(1) : freedom.toFixed(0)
}

function shareWords(percent: number): string {
  return percent > 0 && percent < 0.5 ? 'under\u00a01\u00a0%' : `${percent.toFixed(0)}\u00a0%`
}

/** Two significant digits, no exponent for what is met in practice. */
function significant(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`an uncertainty component must be finite; got ${value}`)
  if (value === 0) return '0'
  // Below a ten-thousandth nothing on a page differs from nothing.
  return Math.abs(value) < 1e-4 ? '<\u00a00.0001' : Number(value.toPrecision(2)).toString()
}
