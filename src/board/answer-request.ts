import { ProblemError } from '../model/problem.js'

/** Pages made anew from the history for every request; null: there is none, or only the one that was written. */
export interface LivePages {
  board(): Promise<string>
  process(): Promise<string | null>
  /** @param file as in `reports/history/`, with its `.html` */
  history(file: string): Promise<string | null>
}

export interface BoardRequest {
  readonly method: string
  /** Path and query as they came. */
  readonly target: string
  /** The `Host` header. */
  readonly host: string | undefined
}

export interface BoardAnswer {
  readonly status: number
  readonly headers: Readonly<Record<string, string>>
  readonly body: Uint8Array | string
}

export interface AnswerContext {
  readonly live: LivePages
  /** A file below `reports/` by the steps of its path, or null. */
  readonly readFile: (steps: readonly string[]) => Promise<Uint8Array | null>
  /** Answer only whoever calls this machine by a name of its own: a page of the web could otherwise read the board under another name. */
  readonly loopbackOnly: boolean
}

/** Kinds of file that reports are made of. Nothing else is handed out. */
const KINDS: Readonly<Record<string, string>> = {
  html: 'text/html; charset=utf-8',
  json: 'application/json; charset=utf-8',
  csv: 'text/csv; charset=utf-8',
  png: 'image/png',
  svg: 'image/svg+xml',
}

/** One step of a path as this program names its files: no dot at its begin, so neither `.` nor `..`, and no sign that means anything to a disk. */
const STEP = /^[A-Za-z0-9_-][A-Za-z0-9._-]{0,200}$/
/** `history/<page>` is the deepest. */
const DEEPEST = 2

const ALWAYS = {
  'cache-control': 'no-cache',
  'x-content-type-options': 'nosniff',
  'x-frame-options': 'DENY',
  'referrer-policy': 'no-referrer',
} as const

/** Answers one request for the board, a page of the process or of a positive's history, or a report. Changes nothing. */
export async function answerRequest(request: BoardRequest, context: AnswerContext): Promise<BoardAnswer> {
  if (request.method !== 'GET' && request.method !== 'HEAD')
    return words(405, 'This board is only read.', { allow: 'GET, HEAD' })
  if (context.loopbackOnly && !isLoopback(request.host))
    return words(421, 'This board answers only under http://127.0.0.1 or http://localhost.')
  const steps = stepsOf(request.target)
  if (steps === null) return words(404, 'There is no such page. The board is at /.')
  try {
    const [first, second] = steps
    const kind = KINDS[steps.at(-1)?.split('.').at(-1) ?? '']
    if (first === undefined || (first === 'index.html' && second === undefined))
      return answer(KINDS.html!, await context.live.board())
    const made =
      second === undefined && first === 'process.html'
        ? await context.live.process()
        : first === 'history' && second?.endsWith('.html') === true
          ? await context.live.history(second)
          : null
    const found = made ?? (kind === undefined ? null : await context.readFile(steps))
    return found === null ? words(404, 'There is no such page. The board is at /.') : answer(kind!, found)
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error
    const { what, next } = error.problem
    return words(503, `The board cannot be shown: ${what}.\nTo do: ${next}.`, { 'retry-after': '15' })
  }
}

/** `null` for a path that cannot be one of ours. The root has no steps. */
function stepsOf(target: string): readonly string[] | null {
  const path = target.split(/[?#]/, 1)[0]!
  if (path === '/') return []
  const steps = path.split('/').slice(1)
  return path.startsWith('/') && steps.length <= DEEPEST && steps.every(step => STEP.test(step)) ? steps : null
}

/** Whether a `Host` header names this machine itself, with any port. */
function isLoopback(host: string | undefined): boolean {
  return host !== undefined && /^(127\.0\.0\.1|localhost|\[::1\])(:[0-9]{1,5})?$/i.test(host)
}

function answer(kind: string, body: Uint8Array | string): BoardAnswer {
  return { status: 200, headers: { ...ALWAYS, 'content-type': kind }, body }
}

function words(status: number, text: string, headers: Readonly<Record<string, string>> = {}): BoardAnswer {
  return { status, headers: { ...ALWAYS, ...headers, 'content-type': 'text/plain; charset=utf-8' }, body: `${text}\n` }
}
