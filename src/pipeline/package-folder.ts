import { existsSync } from 'node:fs'

/** The package's own folder: the nearest above with a package.json, for the bundler moves this file. */
export const PACKAGE = packageFolder()

function packageFolder(): URL {
  let folder = new URL('.', import.meta.url)
  while (!existsSync(new URL('package.json', folder)) && folder.pathname !== '/') folder = new URL('..', folder)
  return folder
}
