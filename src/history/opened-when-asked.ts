import type { Store } from '../model/store.js'

/** A store that is opened by the first question to it, or before by `begin`; what keeps it from being opened is then the answer to every question. */
export function openedWhenAsked(open: () => Promise<Store>): { readonly store: Store; readonly begin: () => void } {
  let opening: Promise<Store> | null = null
  const opened = () => {
    opening ??= open()
    return opening
  }
  const asked: Partial<Store> = {
    async *all() {
      yield* (await opened()).all()
    },
    async close() {
      // What could not be opened needs no closing.
      await (await opening?.catch(() => undefined))?.close()
    },
  }
  // Every other question is answered by a promise, so the same few words serve for all.
  const store = new Proxy(asked, {
    get: (known, name: keyof Store) =>
      known[name] ??
      (async (...words: never[]) => {
        const found = await opened()
        return (found[name] as (...words: never[]) => Promise<unknown>)(...words)
      }),
  }) as Store
  return { store, begin: () => void opened().catch(() => {}) }
}
