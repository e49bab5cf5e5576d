import type { App } from '../app.js'
import { ProblemError } from '../model/problem.js'

/** The workspace a command works in. @throws ProblemError WORKSPACE_MISSING when none is named and the current folder is none */
export function requiredWorkspace(app: App, named: string | undefined): string {
  const folder = app.workspaceFolder(named)
  if (folder === null) throw new ProblemError('WORKSPACE_MISSING', app.cwd)
  return folder
}
