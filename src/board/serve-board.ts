import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { ProblemError } from '../model/problem.js'
import { answerRequest, type LivePages } from './answer-request.js'
import { readReport } from './read-report.js'

export interface ServeContext {
  /** The address to listen at; the loopback unless somebody says otherwise. */
  readonly host: string
  /** 0: any free one. */
  readonly port: number
  /** The folder that reports are read from. */
  readonly reports: string
  readonly live: LivePages
  /** Told once it listens. */
  readonly onListening: (address: { readonly url: string; readonly loopback: boolean }) => void
  /** Told of a fault of our own; the request is answered with 500. */
  readonly onFault: (error: unknown) => void
  /** Ends the serving. */
  readonly stop: AbortSignal
}

const LOOPBACK = /^(127\.\d+\.\d+\.\d+|::1|localhost)$/i

/**
 * Serves the board until it is told to stop. Reads only; answers GET and HEAD.
 * @throws ProblemError SERVE_ADDRESS_UNUSABLE when nobody can listen there
 */
export async function serveBoard(context: ServeContext): Promise<void> {
  const { host, port, reports, live, stop } = context
  const loopback = LOOPBACK.test(host)
  const server = createServer((request, response) => {
    const { method = '', url = '', headers } = request
    request.resume()
    answerRequest(
      { method, target: url, host: headers.host },
      { live, readFile: steps => readReport(reports, steps), loopbackOnly: loopback },
    ).then(
      ({ status, headers, body }) => {
        response.writeHead(status, { ...headers, 'content-length': Buffer.byteLength(body) })
        response.end(method === 'HEAD' ? undefined : body)
      },
      (error: unknown) => {
        context.onFault(error)
        response.writeHead(500, { 'content-type': 'text/plain; charset=utf-8' })
        response.end('burngate itself failed; its terminal says why.\n')
      },
    )
  })
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) =>
      reject(new ProblemError('SERVE_ADDRESS_UNUSABLE', `${at(host, port)}: ${error.code ?? error.message}`)),
    )
    server.listen({ host, port, exclusive: true }, resolve)
  })
  context.onListening({ url: `http://${at(host, (server.address() as AddressInfo).port)}/`, loopback })
  await new Promise<void>(resolve => {
    const end = () => {
      server.close(() => resolve())
      server.closeAllConnections()
    }
    if (stop.aborted) end()
    else stop.addEventListener('abort', end, { once: true })
  })
}

function at(host: string, port: number): string {
  return `${host.includes(':') ? `[${host}]` : host}:${port}`
}
