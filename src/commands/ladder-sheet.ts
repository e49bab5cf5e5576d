import type { App } from '../app.js'
import { EXIT } from './exit-code.js'
import { plain } from './say-problem.js'

/** `burngate ladder sheet PLAN --out DIR [--each]`: the sheets to print, and a page to tick them off. */
export async function ladderSheetCommand(
  file: string,
  options: { readonly out: string; readonly each?: boolean; readonly workspace?: string; readonly json?: boolean },
  app: App,
): Promise<number> {
  const { terminal } = app
  const { files, checklist } = await app.writeLadderSheets(file, {
    folder: app.workspaceFolder(options.workspace),
    out: options.out,
    each: options.each === true,
  })
  if (options.json === true) terminal.out(JSON.stringify({ schema: 'burngate/ladder-sheets@1', files, checklist }))
  else {
    terminal.say(
      `${files.length} ${options.each === true ? 'strips' : 'sheets'} in ${plain(options.out)}, ${plain(files[0]!)} first.`,
    )
    terminal.say(
      'Print them at 100 %, unturned: no scaling, no smoothing, no colour management; the driver alone sets mode and ink.',
    )
    if (checklist !== null) terminal.say(`What to print in which order, to tick off: ${checklist}`)
  }
  return EXIT.pass
}
