import cliProgress from 'cli-progress'
import type { InspectionStep, Terminal } from '../app.js'

const STEPS: readonly InspectionStep[] = ['hash', 'open', 'measure', 'judge', 'archive', 'report', 'record', 'done']

/** How far the work is, while people watch; nothing at all in a pipe. */
export interface ProgressBar {
  step(step: InspectionStep, name: string): void
  stop(): void
}

export function progressBar(terminal: Terminal, scans: number): ProgressBar {
  if (!terminal.isTTY) return { step: () => {}, stop: () => {} }
  const bar = new cliProgress.SingleBar({
    format: '{bar} {percentage} %  {what}',
    stream: process.stderr,
    clearOnComplete: true,
    hideCursor: true,
    stopOnComplete: false,
  })
  bar.start(scans * STEPS.length, 0, { what: '' })
  let done = 0
  let last: string | null = null
  return {
    step(step, name) {
      if (last !== null && last !== name) done++
      last = name
      bar.update(Math.min(done * STEPS.length + STEPS.indexOf(step), scans * STEPS.length), {
        what: `${name}: ${step}`,
      })
    },
    stop: () => bar.stop(),
  }
}
