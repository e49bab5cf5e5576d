import { openScan } from '../decode/open-scan.js'
import { type FlawGround, findFlaws } from '../locate/find-flaws.js'
import { measureFlaws } from '../measure/measure-flaws.js'
import type { MeasuredFlaws, NotLooked } from '../model/flaw.js'
import type { Channel } from '../model/scan.js'

/** Where flaws are looked for, as plain data: it crosses into another thread, the large arrays shared. */
export interface FlawTask extends Omit<FlawGround, 'scan'> {
  readonly file: string
  readonly channel: Channel
  readonly scan: Omit<FlawGround['scan'], 'scan'>
}

/** Flaws of the whole page, found and measured. */
export function lookForFlaws(ground: FlawGround): MeasuredFlaws | NotLooked {
  const places = findFlaws(ground)
  if ('because' in places) return places
  const { scan, umPerPixel, light } = ground.scan
  return measureFlaws(scan, umPerPixel, light.lineSpread, places)
}

/** The same as another thread is asked it; null when the scan is not such as another thread can open. */
export function flawTask({
  scan: { scan, umPerPixel, light },
  overview,
  regions,
  edges,
  strips,
}: FlawGround): FlawTask | null {
  if (scan.file === undefined) return null
  const { transmittance, lineSpread } = light
  return {
    file: scan.file,
    channel: scan.header.channel,
    scan: { umPerPixel, light: { transmittance, lineSpread } },
    overview,
    regions,
    edges,
    strips,
  }
}

/** Looks for flaws of a scan that is open in another thread. */
export async function lookElsewhere({ file, channel, scan, ...ground }: FlawTask): Promise<MeasuredFlaws | NotLooked> {
  const open = await openScan(file, { channel, tempDir: '', again: true })
  try {
    return lookForFlaws({ ...ground, scan: { ...scan, scan: open } })
  } finally {
    open.close()
  }
}
