import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { readFileSync } from 'node:fs'
import type { Taken } from './timed-process.js'

/** `burngate serve` as a burn room has it running all day. */
export interface ServedPages {
  /** Fetches the board, or a page it links to whose address holds this text, to its last byte. */
  fetched(page: string): Promise<Taken>
  close(): Promise<void>
}

/** Port that nothing else of a shop is likely to use. */
const PORT = 18417
/** Linux counts a process's time in hundredths of a second, and its memory in pages of 4 KiB. */
const TICKS = 100
const PAGE_KIB = 4

/** Starts the server and asks for the board once, as a browser left open has. */
export async function servedPages(cli: string, workspace: string): Promise<ServedPages> {
  const args = [cli, 'serve', '--workspace', workspace, '--port', String(PORT)]
  const server = spawn(process.execPath, args, { stdio: ['ignore', 'inherit', 'pipe'] })
  await once(server.stderr!, 'data')
  const address = `http://127.0.0.1:${PORT}/`
  const board = await textOf(address)
  return {
    async fetched(page) {
      const path = page === '' ? '' : board.match(new RegExp(`href="([^"]*${page}[^"]*)"`))?.[1]
      if (path === undefined) throw new Error(`the board links to no page of ${page}`)
      const before = usedBy(server)
      const begun = performance.now()
      await textOf(`${address}${path}`)
      const seconds = (performance.now() - begun) / 1000
      const after = usedBy(server)
      return { seconds, cpuSeconds: after.cpuSeconds - before.cpuSeconds, peakMiB: after.mib }
    },
    async close() {
      server.kill()
      await once(server, 'close')
    },
  }
}

async function textOf(address: string): Promise<string> {
  const answer = await fetch(address)
  if (!answer.ok) throw new Error(`${address} answered ${answer.status}`)
  return await answer.text()
}

/** What a running process has used so far; only Linux tells it of another. */
function usedBy({ pid }: ChildProcess): { cpuSeconds: number; mib: number } {
  try {
    // The name of the program, in brackets, may hold blanks.
    const fields = readFileSync(`/proc/${pid}/stat`, 'utf8')
      .replace(/^.*\) /, '')
      .split(' ')
    return {
      cpuSeconds: (Number(fields[11]) + Number(fields[12])) / TICKS,
      mib: (Number(fields[21]) * PAGE_KIB) / 1024,
    }
  } catch {
    return { cpuSeconds: Number.NaN, mib: Number.NaN }
  }
}
