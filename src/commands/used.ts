import { type App, formatDay } from '../app.js'
import { dateOption } from './date-option.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

export interface UsedOptions {
  readonly workspace?: string
  readonly times?: string
  readonly by?: string
  readonly on?: string
  readonly json?: boolean
}

/** `burngate used ID`: a positive burned a screen, or several; counted for ever, and set against wear and growth. */
export async function usedCommand(id: string, options: UsedOptions, app: App): Promise<number> {
  const { terminal } = app
  const on = options.on === undefined ? undefined : dateOption(options.on)
  if (on === null) {
    terminal.say(`--on takes a date such as 2026-03-31, not "${plain(options.on!)}".`)
    return EXIT.usage
  }
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const { use, uses, since, retired } = await workspace.recordUse({
      id,
      ...(options.times === undefined
        ? {}
        : { times: /^\d+$/.test(options.times) ? Number(options.times) : Number.NaN }),
      ...(options.by === undefined ? {} : { by: options.by }),
      ...(on === undefined ? {} : { on }),
    })
    await workspace.writeBoard()
    if (options.json === true) terminal.out(JSON.stringify({ schema: 'burngate/use@1', ...use, uses }))
    const print = since === null ? '' : ` since it was printed anew, first scanned on ${formatDay(since)}`
    terminal.say(
      `Counted: ${plain(use.positive)} was used ${use.times === 1 ? 'once' : `${use.times} times`} on ${formatDay(use.at)}.`,
    )
    terminal.say(`  ${uses} ${uses === 1 ? 'use' : 'uses'} in all${print}.`)
    if (retired) terminal.say('  It was taken out of its drawer before; a new scan of it brings it back.')
    terminal.say(`  burngate history ${plain(use.positive)} sets growth and wear against use.`)
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}
