import { join } from 'node:path'
import { type App, createApp, type World } from '../../src/app.js'
import { standInMeasure } from './stand-in-measure.js'

/** The program with its words caught and the pixel half in place (`itself`: its own worker); disk, settings and database are real. */
export function program(cwd: string, now = new Date('2025-03-04T12:00:00Z'), measure?: World['measure'] | 'itself') {
  const out: string[] = []
  const said: string[] = []
  const stop = new AbortController()
  const app: App = createApp({
    terminal: { out: line => out.push(line), say: line => said.push(line), isTTY: false },
    cwd,
    now: () => now,
    tick: () => performance.now(),
    stopSignal: () => stop.signal,
    debug: true,
    ...(measure === 'itself' ? {} : { measure: measure ?? (request => standInMeasure(request, join(cwd, 'tmp'))) }),
  })
  return {
    app,
    stop,
    /** Lines for programs, each parsed. */
    json: () => out.splice(0).map(line => JSON.parse(line)),
    out,
    said: () => said.splice(0).join('\n'),
  }
}
