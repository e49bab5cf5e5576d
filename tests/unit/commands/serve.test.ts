import { mkdtemp, readdir, rm } from 'node:fs/promises'
import { request } from 'node:http'
import { createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { serveCommand } from '../../../src/commands/serve.js'
import { openSqliteStore } from '../../../src/history/sqlite-store.js'
import { inspectionRecord } from '../../support/inspection-record.js'
import { program } from '../../support/program.js'

const NOW = new Date('2026-06-01T12:00:00Z')

let folder: string
let shop: string
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'burngate-serve-'))
  shop = join(folder, 'shop')
  await program(folder, NOW).app.initWorkspace(shop)
})
afterEach(() => rm(folder, { recursive: true, force: true }))

async function inspected(id: string, positive: string, scannedAt: string): Promise<void> {
  const store = await openSqliteStore(join(shop, 'burngate.db'))
  await store.add(inspectionRecord({ id, positive, scannedAt, sha256: id.padStart(64, '0') }))
  await store.close()
}

/** Whatever is asked goes over the wire as it is: fetch would mend a path first. */
function ask(url: string, path: string, method = 'GET'): Promise<{ status: number; body: string }> {
  const { hostname, port } = new URL(url)
  return new Promise((resolve, reject) => {
    const sent = request({ host: hostname, port, path, method }, response => {
      let body = ''
      response.on('data', chunk => {
        body += chunk
      })
      response.on('end', () => resolve({ status: response.statusCode ?? 0, body }))
    })
    sent.on('error', reject)
    sent.end()
  })
}

/** Serves while `during` runs, then stops as Ctrl-C would. */
async function serving(during: (url: string) => Promise<void>, options = {}): Promise<string> {
  const { app, stop, said } = program(folder, NOW)
  const served = serveCommand({ workspace: shop, port: '0', host: '127.0.0.1', refresh: '15', ...options }, app)
  let words = ''
  for (let i = 0; i < 200 && !words.includes('http'); i++) {
    await new Promise(resolve => setTimeout(resolve, 10))
    words += said()
  }
  try {
    await during(/http:\S+/.exec(words)![0])
  } finally {
    stop.abort()
    expect(await served).toBe(0)
  }
  return words
}

describe('burngate serve', () => {
  it('shows the board and a history as they are now, refreshed without script, and writes nothing', async () => {
    await inspected('a', 'pier', '2026-05-01T08:00:00Z')
    const before = await readdir(shop, { recursive: true })
    const words = await serving(async url => {
      expect(new URL(url).hostname).toBe('127.0.0.1')
      const first = await ask(url, '/')
      expect(first.status).toBe(200)
      expect(first.body).toContain('<noscript><meta http-equiv="refresh" content="15"></noscript>')
      expect(first.body).toContain('pier')
      expect(first.body).not.toContain('lagoon')
      await inspected('b', 'lagoon', '2026-05-02T08:00:00Z')
      await inspected('c', 'pier', '2026-05-20T08:00:00Z')
      const second = await ask(url, '/')
      expect(second.body).toContain('lagoon')
      const page = /href="(history\/pier__[0-9a-f]+\.html)">1 earlier scan</.exec(second.body)![1]!
      expect((await ask(url, `/${page}`)).body).toContain('2 inspections')
      expect((await ask(url, '/process.html')).status).toBe(200)
    })
    expect(words).not.toContain('no password')
    expect(await readdir(shop, { recursive: true })).toEqual(before)
  })

  it('reads only, and only reports', async () => {
    await serving(async url => {
      for (const path of ['/../burngate.yaml', '/%2e%2e/burngate.yaml', '/../../../../etc/passwd', '/none.html'])
        expect(await ask(url, path)).toMatchObject({ status: 404 })
      expect(await ask(url, '/', 'POST')).toMatchObject({ status: 405 })
      expect(await ask(url, '/', 'HEAD')).toMatchObject({ status: 200, body: '' })
    })
  })

  it('says when others can read it, when the port is taken, and when a number cannot be', async () => {
    const words = await serving(async () => {}, { host: '0.0.0.0' })
    expect(words).toContain('there is no password')
    const { app, said } = program(folder, NOW)
    const taken = createServer()
    await new Promise<void>(resolve => taken.listen(0, '127.0.0.1', resolve))
    const { port } = taken.address() as { port: number }
    const options = { workspace: shop, host: '127.0.0.1', refresh: '15', port: '0' }
    await expect(serveCommand({ ...options, port: `${port}` }, app)).rejects.toThrow(/SERVE_ADDRESS_UNUSABLE.*--port/)
    await new Promise(resolve => taken.close(resolve))
    for (const wrong of [{ port: '65536' }, { port: 'x' }, { port: '0', refresh: '0' }])
      expect(await serveCommand({ ...options, ...wrong }, app)).toBe(64)
    expect(said()).toContain('--port must be a whole number from 0 to 65535; got "x"')
  })
})
