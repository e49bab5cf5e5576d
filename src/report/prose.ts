import Handlebars from 'handlebars/runtime.js'
import { safe } from './render-template.js'

/** A number and the unit after it: kept on one line. */
const FIGURE = /(\d|±) (?=\d|±|%|D\b|um\b|mm2?\b|dpi\b)/g

/**
 * A sentence from the judge, the table of problems or a file, as a sentence on a page: its first letter large,
 * what stands between `backticks` as code, um and mm2 as µm and mm². All of it is escaped first.
 */
export function prose(text: string): Handlebars.SafeString {
  const sentence = text.charAt(0).toUpperCase() + text.slice(1)
  const pieces = sentence.split('`')
  // An odd backtick is no pair: the text is shown as it came.
  if (pieces.length % 2 === 0) return safe(withUnits(Handlebars.escapeExpression(sentence)))
  return safe(
    pieces
      .map(piece => Handlebars.escapeExpression(piece))
      .map((piece, i) => (i % 2 === 1 ? `<code>${piece}</code>` : withUnits(piece)))
      .join(''),
  )
}

function withUnits(text: string): string {
  return text
    .replace(FIGURE, '$1\u00a0')
    .replace(/(\d\u00a0)um\b/g, '$1µm')
    .replace(/(\d\u00a0)mm2\b/g, '$1mm²')
}
