import type { App } from '../app.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

/** `burngate process`: charts of how the printers print, and how fast stocks grow. 0: no open signal; 2: some. */
export async function processCommand(
  options: { readonly workspace?: string; readonly json?: boolean },
  app: App,
): Promise<number> {
  const { terminal } = app
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const { series, stocks, events, signals } = await workspace.writeProcess()
    await workspace.writeBoard()
    if (options.json === true)
      terminal.out(
        JSON.stringify({
          schema: 'burngate/process@1',
          signals,
          series: series.map(({ points, segments, signals: found, ...rest }) => ({
            ...rest,
            films: points.length,
            newest: points.at(-1)!,
            segments: segments.map(({ from, to, ...segment }) => ({
              from: points[from]!.at,
              to: points[to - 1]!.at,
              films: to - from,
              ...segment,
            })),
            signals: found.map(({ since, until, ...signal }) => ({
              ...signal,
              since: points[since]!,
              until: points[until]!,
            })),
          })),
          stocks,
          events,
        }),
      )
    for (const { says } of signals) terminal.say(`SIGNAL ${plain(says)}`)
    if (signals.length === 0) terminal.say(series.length === 0 ? 'No films to chart yet.' : 'No open signal.')
    for (const { differences } of stocks) for (const { says } of differences) terminal.say(plain(says))
    terminal.say(`Process: ${workspace.paths.process}`)
    return signals.length === 0 ? EXIT.pass : EXIT.recheck
  } finally {
    await workspace.close()
  }
}
