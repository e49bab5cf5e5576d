import { type App, formatTime } from '../app.js'
import { dateOption } from './date-option.js'
import { EXIT } from './exit-code.js'
import { requiredWorkspace } from './required-workspace.js'
import { plain } from './say-problem.js'

export interface EventOptions {
  readonly workspace?: string
  readonly printer?: string
  readonly stock?: string
  readonly on?: string
  readonly json?: boolean
}

/** `burngate event WHAT`: writes down what was changed on a printer; limits on the charts begin anew with it. */
export async function eventCommand(name: string, options: EventOptions, app: App): Promise<number> {
  const { terminal } = app
  const on = options.on === undefined ? undefined : dateOption(options.on)
  if (on === null) {
    terminal.say(`--on takes a date such as 2026-03-31, not "${plain(options.on!)}".`)
    return EXIT.usage
  }
  const workspace = await app.openWorkspace(requiredWorkspace(app, options.workspace))
  try {
    const { event, known, remarks } = await workspace.recordEvent({
      name,
      ...(options.printer === undefined ? {} : { printer: options.printer }),
      ...(options.stock === undefined ? {} : { stock: options.stock }),
      ...(on === undefined ? {} : { on }),
    })
    await workspace.writeProcess()
    await workspace.writeBoard()
    if (options.json === true) terminal.out(JSON.stringify({ schema: 'burngate/event@1', ...event }))
    const where = [event.printer ?? 'every printer', event.stock ?? 'every stock'].map(plain).join(', ')
    terminal.say(
      `${known ? 'Written down before' : 'Written down'}: ${plain(event.name)}, ${where}, from ${formatTime(event.on)} on.`,
    )
    for (const remark of remarks) terminal.say(`  ${plain(remark)}`)
    terminal.say(`Process: ${workspace.paths.process}`)
    return EXIT.pass
  } finally {
    await workspace.close()
  }
}
