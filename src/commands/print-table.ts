import { plain } from './say-problem.js'

/** Rows of text in columns, two spaces apart; the last column is not padded. No column is wider than `widest`. */
export function tableLines(rows: readonly (readonly string[])[], widest = 60): string[] {
  const cells = rows.map(row => row.map(cell => cut(plain(cell).replaceAll('\u00a0', ' '), widest)))
  const widths: number[] = []
  for (const row of cells)
    for (let i = 0; i < row.length; i++) widths[i] = Math.max(widths[i] ?? 0, [...row[i]!].length)
  return cells.map(row =>
    row
      .map((cell, i) => (i === row.length - 1 ? cell : cell + ' '.repeat(widths[i]! - [...cell].length)))
      .join('  ')
      .trimEnd(),
  )
}

function cut(text: string, widest: number): string {
  const letters = [...text]
  return letters.length <= widest ? text : `${letters.slice(0, widest - 1).join('')}…`
}
