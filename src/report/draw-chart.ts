import * as Plot from '@observablehq/plot'
import Handlebars from 'handlebars/runtime.js'
import { parseHTML } from 'linkedom'
import { safe } from './render-template.js'

/** Charts are drawn at a phone's width and may grow; their smallest type is 11 px there. */
export const CHART_WIDTH = 340

const { document } = parseHTML('<!doctype html><html><body></body></html>')

/**
 * Draws a chart to inline SVG on the server. Text set through Plot is escaped by the document.
 * @param told what the chart shows, in words, for those who do not see it
 */
export function drawChart(told: string, options: Plot.PlotOptions): Handlebars.SafeString {
  const chart = Plot.plot({
    // linkedom's document has all of the DOM that Plot uses, but not all that its types ask for.
    document: document as unknown as NonNullable<Plot.PlotOptions['document']>,
    width: CHART_WIDTH,
    style: { fontSize: '12px', fontFamily: 'inherit', background: 'none' },
    ...options,
  })
  chart.setAttribute('role', 'img')
  chart.setAttribute('class', 'chart')
  chart.removeAttribute('height')
  chart.removeAttribute('width')
  for (const style of chart.querySelectorAll('style')) style.remove()
  // The document escapes quotes only in attributes: enough for a browser, not for whoever searches the page.
  return safe(chart.outerHTML.replace('<svg ', () => `<svg aria-label="${Handlebars.escapeExpression(told)}" `))
}
