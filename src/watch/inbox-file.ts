/** What a name in the inbox stands for. */
export type InboxFileKind = 'scan' | 'sidecar' | 'ignored'

/** Unfinished copies and the litter that file managers leave. */
const LITTER = /^(desktop\.ini|thumbs\.db|ehthumbs\.db|icon\r?)$/i
const UNFINISHED = /(~|\.(tmp|temp|part|partial|filepart|crdownload|download|lock))$/i
const SIDECAR = /^(.+\.(?:tiff?|png))\.ya?ml$/i

/**
 * What a file in the inbox is, by its name alone: hidden and unfinished files are nobody's, `<scan>.<ext>.yaml` goes with
 * its scan, and everything else is taken for a scan, so that a file that is none is told why.
 */
export function inboxFileKind(name: string): InboxFileKind {
  if (/^[.~]/.test(name) || LITTER.test(name) || UNFINISHED.test(name)) return 'ignored'
  return SIDECAR.test(name) ? 'sidecar' : 'scan'
}

/** The scan a sidecar's name belongs to. */
export function scanOfSidecar(name: string): string {
  return name.replace(/\.ya?ml$/i, '')
}
