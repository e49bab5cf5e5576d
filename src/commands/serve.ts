import type { App } from '../app.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

export interface ServeOptions {
  readonly workspace?: string
  readonly port: string
  readonly host: string
  readonly refresh: string
}

/** `burngate serve`: the board, live, until Ctrl-C. On the loopback unless told otherwise; read only. */
export async function serveCommand(options: ServeOptions, app: App): Promise<number> {
  const { terminal } = app
  const port = wholeBetween(options.port, 0, 65_535)
  const refreshSeconds = wholeBetween(options.refresh, 1, 3600)
  if (port === null || refreshSeconds === null) {
    terminal.say(
      port === null
        ? `--port must be a whole number from 0 to 65535; got "${plain(options.port)}".`
        : `--refresh must be whole seconds from 1 to 3600; got "${plain(options.refresh)}".`,
    )
    return EXIT.usage
  }
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    await workspace.serve({
      host: options.host,
      port,
      refreshSeconds,
      onListening({ url, loopback }) {
        terminal.say(`Board: ${url}   (Ctrl-C ends it)`)
        if (!loopback)
          terminal.say(
            'Whoever reaches this machine on the network can read it: there is no password. Nobody can change anything.',
          )
      },
      onFault: error =>
        terminal.say(`A page could not be made: ${plain(error instanceof Error ? error.message : String(error))}`),
    })
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}

function wholeBetween(text: string, least: number, most: number): number | null {
  const value = /^[0-9]{1,5}$/.test(text) ? Number(text) : Number.NaN
  return value >= least && value <= most ? value : null
}
