import { spawn } from 'node:child_process'
import { readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

/** What a process took from start to end. */
export interface Taken {
  readonly seconds: number
  readonly cpuSeconds: number
  readonly peakMiB: number
}

const USAGE_AT_EXIT = fileURLToPath(new URL('./usage-at-exit.cjs', import.meta.url))

/**
 * Runs Node with the given arguments in a process of its own.
 * @param mayEndWith exit codes that are no fault
 */
export async function timedProcess(args: readonly string[], mayEndWith: readonly number[] = [0]): Promise<Taken> {
  const usage = join(tmpdir(), `burngate-bench-usage-${process.pid}.json`)
  const begun = performance.now()
  const child = spawn(process.execPath, ['--require', USAGE_AT_EXIT, ...args], {
    env: { ...process.env, BENCH_USAGE: usage },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  let said = ''
  for (const stream of [child.stdout, child.stderr]) stream.on('data', chunk => (said += chunk))
  const code = await new Promise<number | null>((resolve, reject) => child.on('error', reject).on('close', resolve))
  const seconds = (performance.now() - begun) / 1000
  if (code === null || !mayEndWith.includes(code))
    throw new Error(`node ${args.join(' ')} ended with ${code}:\n${said}`)
  const used = JSON.parse(readFileSync(usage, 'utf8')) as Omit<Taken, 'seconds'>
  rmSync(usage)
  return { seconds, ...used }
}
