import * as z from 'zod'
import type { SiteSettings } from '../model/site.js'
import { compileFileNamePattern } from './file-identity.js'
import { NAME_RULE, namePattern } from './name-rule.js'
import { readYaml } from './yaml-document.js'

const scanner = z
  .strictObject({
    dpi: z.number().min(50).max(19_200).exactOptional().describe('Resolution to use when the file does not say it.'),
    maker: z.string().min(1).max(120).exactOptional().describe('Maker as the file names it, to know whose scan it is.'),
    model: z.string().min(1).max(120).exactOptional().describe('Model as the file names it, to know whose scan it is.'),
  })
  .describe('One scanner by the name its calibration has in scanners/.')

/** `burngate.yaml`: the only place where its ranges and defaults stand. */
export const siteSettingsSchema = z.strictObject({
  shop: z.string().trim().min(1).max(80).default('Screen shop').describe('The name on the reports.'),
  defaultJobType: z
    .string()
    .regex(namePattern, { error: NAME_RULE })
    .default('fine-line')
    .describe('The job type of a scan when nothing else says one.'),
  fileName: z
    .string()
    .max(120)
    .superRefine((pattern, context) => {
      const compiled = compileFileNamePattern(pattern)
      if ('fault' in compiled) context.addIssue({ code: 'custom', message: compiled.fault })
    })
    .default('<positive>[__<anything>].<ext>')
    .describe(
      'How a scan is named: `<positive>` is its positive, `<anything>` and `<ext>` any text, `[...]` may be missing.',
    ),
  lengthUnit: z.enum(['mm', 'inch']).default('mm').describe('Unit of lengths on pages; files keep mm and um.'),
  rulingUnit: z
    .enum(['lines/in', 'lines/cm'])
    .default('lines/in')
    .describe('Unit of rulings on pages; files keep lines/in.'),
  channel: z
    .enum(['grey', 'red', 'green', 'blue'])
    .default('blue')
    .describe('Channel measured in a colour scan; blue is nearest the exposure lamp. A grey scan has only grey.'),
  meshes: z
    .array(z.number().min(10).max(1000))
    .max(20)
    .default([])
    .describe(
      'Mesh counts the shop prints on, threads/in (threads/cm x 2.54), film laid square on the screen: reports of halftones say which may show a pattern.',
    ),
  calibrationMaxAgeDays: z
    .number()
    .int()
    .min(1)
    .max(3650)
    .default(90)
    .describe('Days after which a calibration is too old to pass a film.'),
  settleSeconds: z
    .number()
    .min(0.1)
    .max(600)
    .default(3)
    .describe('Seconds a file must rest, size and time unchanged, before it is read.'),
  sidecarWaitSeconds: z.number().min(0).max(600).default(60).describe('Seconds a sidecar may come after its scan.'),
  bracketWaitSeconds: z
    .number()
    .min(0)
    .max(3600)
    .default(120)
    .describe(
      'Seconds without a further scan after which a bracket in the inbox counts as complete; the first scan alone waits five times as long. Names ending `1of3` need no waiting.',
    ),
  usePolling: z
    .boolean()
    .default(false)
    .describe('Look at the inbox by the clock: for network shares that send no notices.'),
  inkSideUp: z
    .boolean()
    .nullable()
    .default(null)
    .describe(
      'How films lie on the glass: `false` ink side down on the glass (a right film then reads as its artwork on the scan), `true` ink side up (then mirrored). A film that lies otherwise is a recheck. Empty: not said, and nothing is concluded.',
    ),
  workers: z.number().int().min(1).max(16).default(2).describe('Scans measured at the same time.'),
  storage: z.enum(['sqlite']).default('sqlite').describe('Where the history lives; only sqlite for now.'),
  retentionDays: z
    .null()
    .default(null)
    .describe('Days after which archived scans are deleted. Only empty for now: nothing is ever deleted.'),
  scanners: z
    .record(z.string().regex(namePattern, { error: NAME_RULE }), scanner)
    .default({})
    .describe('The scanners of the shop, one group a name.'),
})

/**
 * The site's settings from the text of `burngate.yaml`, frozen; an empty text gives every default.
 * @param file name used in messages
 * @throws ProblemError SETTINGS_INVALID naming every fault with its line, key, value and rule
 */
export function parseSiteSettings(text: string, file: string): SiteSettings {
  return readYaml(text, file, siteSettingsSchema, {
    problem: 'SETTINGS_INVALID',
    textKeys: ['shop', 'defaultJobType', 'fileName'],
  })
}
