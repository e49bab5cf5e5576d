import type Tinypool from 'tinypool'
import { PACKAGE } from './package-folder.js'

type WorkerName = 'measure-worker' | 'check-worker' | 'strip-worker'

export interface WorkerThreads {
  /** Hands a task to a thread; `count` threads at most, as the first caller says. */
  run<Answer>(name: WorkerName, task: object, count: number): Promise<Answer>
  /** Has a thread started and its code loaded, if there is none yet, so that it waits for the task and not the task for it. */
  begin(count: number): void
  close(): Promise<void>
}

/** The threads that do the pixel work. Run from source, where threads cannot read TypeScript, the work is done at once. */
export function workerThreads(): WorkerThreads {
  const fromSource = import.meta.url.endsWith('.ts')
  let pool: Promise<Tinypool> | null = null
  let begun: Promise<unknown> = Promise.resolve()
  let running = 0
  /** A scan that is measured alone has a thread beside it for a share of the work; where only one is wanted, or several are measured, there is none. */
  const beside = (count: number) =>
    count > 1 && running <= 1 ? { secondThread: new URL('dist/pipeline/beside-worker.js', PACKAGE).href } : {}
  const open = (count: number): Promise<Tinypool> => {
    const opened: Promise<Tinypool> = import('tinypool').then(({ default: Pool }) => {
      const made = new Pool({
        filename: new URL('dist/pipeline/measure-worker.js', PACKAGE).href,
        minThreads: 0,
        maxThreads: count,
        idleTimeout: 10_000,
        // Short-lived objects are few beside the page's arrays: collected sooner they take 18 MiB less and no more time.
        resourceLimits: { maxYoungGenerationSizeMb: 12 },
      })
      // A thread that dies outside any task would be made again for ever; end the pool, which fails what waits in it.
      made.on('error', () => {
        if (pool === opened) pool = null
        void made.destroy().catch(() => {})
      })
      return made
    })
    return opened
  }
  return {
    async run(name, task, count) {
      if (fromSource) {
        const { default: work } =
          name === 'measure-worker'
            ? await import('./measure-worker.js')
            : name === 'strip-worker'
              ? await import('./strip-worker.js')
              : await import('./check-worker.js')
        return (work as (task: object) => Promise<unknown>)(task) as Promise<never>
      }
      // A task that does not find the first thread ready would have a second one started for it.
      await begun
      pool ??= open(count)
      running++
      try {
        return await (await pool).run(
          { ...task, ...beside(count) },
          { filename: new URL(`dist/pipeline/${name}.js`, PACKAGE).href },
        )
      } finally {
        running--
      }
    },
    begin(count) {
      if (fromSource || pool !== null) return
      pool = open(count)
      // Should it fail, the task itself will say so.
      begun = pool.then(made => made.run(null, { name: 'ready' })).catch(() => {})
    },
    async close() {
      await (await pool)?.destroy()
      pool = null
    },
  }
}
