import { describe, expect, it } from 'vitest'
import { type AnswerContext, answerRequest } from '../../../src/board/answer-request.js'
import { ProblemError } from '../../../src/model/problem.js'

const asked: string[] = []
const context: AnswerContext = {
  live: {
    board: async () => 'the board',
    process: async () => null,
    history: async file => (file === 'pier__1.html' ? 'the history' : null),
  },
  readFile: async steps => {
    asked.push(steps.join('/'))
    return steps.join('/') === 'pier__2.html' ? new TextEncoder().encode('a report') : null
  },
  loopbackOnly: true,
}
const get = (
  target: string,
  more: { method?: string; host?: string | undefined; context?: Partial<AnswerContext> } = {},
) =>
  answerRequest(
    { method: more.method ?? 'GET', target, host: 'host' in more ? more.host : '127.0.0.1:8417' },
    { ...context, ...more.context },
  )
const text = (body: Uint8Array | string) => (typeof body === 'string' ? body : new TextDecoder().decode(body))

describe('a request to the board', () => {
  it('gets the board, a history and a report, each with its kind, and none kept or framed by others', async () => {
    for (const [target, body] of [
      ['/', 'the board'],
      ['/index.html?x=1', 'the board'],
      ['/history/pier__1.html', 'the history'],
      ['/pier__2.html', 'a report'],
    ] as const) {
      const answer = await get(target)
      expect([answer.status, text(answer.body)]).toEqual([200, body])
      expect(answer.headers).toMatchObject({
        'content-type': 'text/html; charset=utf-8',
        'cache-control': 'no-cache',
        'x-content-type-options': 'nosniff',
        'x-frame-options': 'DENY',
      })
    }
  })

  it.each([
    '/../burngate.db',
    '/history/../../burngate.yaml',
    '/..%2fburngate.yaml',
    '/%2e%2e/burngate.yaml',
    '/.htaccess.html',
    '/history/..',
    '//etc/passwd.html',
    '/a/b/c.html',
    '/a\\..\\b.html',
    '/C:/x.html',
    '/x.html\u0000',
    '/pier 2.html',
    'http://127.0.0.1/pier__2.html',
    '',
  ])('never asks the disk for %j', async target => {
    asked.length = 0
    expect((await get(target)).status).toBe(404)
    expect(asked).toEqual([])
  })

  it('hands out only the kinds of file that reports are made of', async () => {
    asked.length = 0
    for (const target of ['/burngate.db', '/scan.tif', '/notes', '/x.HTML'])
      expect((await get(target)).status).toBe(404)
    expect(asked).toEqual([])
  })

  it('is refused when it would change something, or comes under another name', async () => {
    for (const method of ['POST', 'PUT', 'DELETE', 'OPTIONS'])
      expect(await get('/', { method })).toMatchObject({ status: 405, headers: { allow: 'GET, HEAD' } })
    for (const host of ['rebound.example', '127.0.0.1.rebound.example', undefined])
      expect((await get('/', { host })).status).toBe(421)
    for (const host of ['localhost:8417', '[::1]:8417', '127.0.0.1'])
      expect((await get('/', { host })).status).toBe(200)
    expect((await get('/', { host: 'wall.example', context: { loopbackOnly: false } })).status).toBe(200)
  })

  it('is told what to do when the history cannot be read, and our own faults go on', async () => {
    const board = async () => {
      throw new ProblemError('DATABASE_BUSY', 'burngate.db')
    }
    const answer = await get('/', { context: { live: { ...context.live, board } } })
    expect(answer).toMatchObject({ status: 503, headers: { 'retry-after': '15' } })
    expect(text(answer.body)).toContain('To do:')
    const bug = async () => {
      throw new TypeError('no such thing')
    }
    await expect(get('/', { context: { live: { ...context.live, board: bug } } })).rejects.toThrow(TypeError)
  })
})
