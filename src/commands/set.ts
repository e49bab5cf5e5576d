import type { App } from '../app.js'
import type { Verdict } from '../model/inspection.js'
import { EXIT } from './exit-code.js'
import { tableLines } from './print-table.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

const CODES: Readonly<Record<Verdict, number>> = { pass: EXIT.pass, fail: EXIT.fail, recheck: EXIT.recheck }

/**
 * `burngate set JOB`: the films of one job against each other, register and size. 0: they fit, or no limit asks; 1: they do not; 2: cannot be told,
 * or a film could not take part.
 */
export async function setCommand(
  names: readonly string[],
  options: { readonly workspace?: string; readonly json?: boolean },
  app: App,
): Promise<number> {
  const { terminal } = app
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const set = await workspace.filmSet(names)
    const { frame, films, pairs, left, limit, verdict } = set
    if (options.json === true) terminal.out(JSON.stringify({ schema: 'burngate/set@1', ...set }))
    if (films.length > 0) {
      terminal.say(
        `Films of ${plain(set.job)}, ${frame!.widthMm.toFixed(1)} x ${frame!.heightMm.toFixed(1)} mm, each against its separation:`,
      )
      for (const line of tableLines([
        ['film', 'scanned', 'across', 'along the feed', 'uneven'],
        ...films.map(film => [
          film.positive,
          film.scannedAt.slice(0, 10),
          percent(film.sizeErrorAcross),
          percent(film.sizeErrorFeed),
          film.unevenUm === null ? '-' : `${film.unevenUm.toFixed(1)} µm rms`,
        ]),
      ]))
        terminal.say(`  ${line}`)
    }
    if (pairs.length > 0) {
      terminal.say('Against each other, shifted and turned as well as can be; what is left at the worst corner:')
      for (const line of tableLines([
        ['films', 'register error', 'larger across', 'larger along the feed'],
        ...pairs.map(pair => [
          pair.films.join(' and '),
          `${pair.registerError.value.toFixed(0)} ± ${pair.registerError.expanded.toFixed(0)} µm`,
          percent(pair.sizeAcross),
          percent(pair.sizeFeed),
        ]),
      ]))
        terminal.say(`  ${line}`)
    }
    for (const { positive, because, next } of left)
      terminal.say(`Left out: ${plain(positive)}, because ${plain(because)}. To do: ${next}.`)
    if (pairs.length === 0) {
      terminal.say(
        'There are no two films to hold against each other: inspect two or more of the job with their artwork.',
      )
      return EXIT.recheck
    }
    terminal.say(
      limit === null || verdict === null
        ? 'No job type of theirs has a limit on registerError, so nothing is judged.'
        : `${verdict.toUpperCase()}: the limit on register is ${limit} µm.${verdict === 'recheck' ? ` To do: ${left.length > 0 ? 'have every film take part' : 'scan the films on one scanner, lying alike, after calibrating it with --grid'}.` : ''}`,
    )
    return verdict === null ? (left.length > 0 ? EXIT.recheck : EXIT.pass) : CODES[verdict]
  } finally {
    await workspace.close()
  }
}

function percent({ value, expanded }: { readonly value: number; readonly expanded: number }): string {
  return `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(3)} ± ${expanded.toFixed(3)} %`
}
