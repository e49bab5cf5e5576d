import { readdir } from 'node:fs/promises'
import { join, parse } from 'node:path'

/** Kinds of file an artwork may be, the likelier first. */
const ENDINGS = ['.tif', '.tiff', '.png']

/**
 * The artwork of a positive: `inbox/artwork/<positive>.tif` (or .tiff, .png), upper and lower case alike unless one matches to the
 * letter. Null when there is none, or no such folder.
 */
export async function artworkInInbox(folder: string, positive: string): Promise<string | null> {
  const names = await readdir(folder).catch(() => [] as string[])
  const fitting = names.flatMap(name => {
    const { name: stem, ext } = parse(name)
    const ending = ENDINGS.indexOf(ext.toLowerCase())
    if (ending < 0 || stem.toLowerCase() !== positive.toLowerCase()) return []
    return [{ name, rank: (stem === positive ? 0 : ENDINGS.length) + ending }]
  })
  fitting.sort((a, b) => a.rank - b.rank || (a.name < b.name ? -1 : 1))
  return fitting.length === 0 ? null : join(folder, fitting[0]!.name)
}
