import type { Terminal } from '../app.js'
import type { Problem } from '../model/problem.js'

/** A problem as a person reads it: what happened, then what to do. */
export function sayProblem(terminal: Terminal, problem: Problem, file?: string): void {
  terminal.say(`${file === undefined ? '' : `${plain(file)}: `}${plain(problem.what)}`)
  terminal.say(`  To do: ${plain(problem.next)}`)
}

/** A problem as a program reads it. */
export function problemLine(problem: Problem, file: string | null): string {
  return JSON.stringify({ schema: 'burngate/problem@1', file, ...problem })
}

/** Text that came from a file or its name, without what would steer a terminal. */
export function plain(text: string): string {
  return text.replace(/[\p{Cc}\p{Cf}\u2028\u2029]+/gu, ' ')
}
