import * as z from 'zod'
import type { Sidecar } from '../model/site.js'
import { positiveNameFault } from './file-identity.js'
import { NAME_RULE, namePattern } from './name-rule.js'
import { readYaml } from './yaml-document.js'

const label = z.string().trim().min(1).max(120)
const name = z.string().regex(namePattern, { error: NAME_RULE })
const positiveName = z
  .string()
  .normalize('NFC')
  .superRefine((text, context) => {
    const fault = positiveNameFault(text)
    if (fault !== null)
      context.addIssue({
        code: 'custom',
        message: `a positive's name must be letters, digits, spaces, dot, dash or underscore, at most 120; it ${fault}`,
      })
  })

/** A sidecar `<scan>.<ext>.yaml`: the only place where its ranges stand. */
export const sidecarSchema = z.strictObject({
  positive: positiveName
    .exactOptional()
    .describe('Which positive it is: letters, digits, spaces, `.` `-` `_`, at most 120.'),
  jobType: name.exactOptional().describe('The job type that judges it.'),
  scanner: name.exactOptional().describe('The scanner, as calibrated.'),
  scannedAt: z
    .union([
      z.iso.datetime({
        local: true,
        offset: true,
        error: 'it must be a date and time as in 2026-03-01T10:22 or 2026-03-01T10:22:05+01:00, or a date alone',
      }),
      z.iso.date({ error: 'it must be a real date' }),
    ])
    .exactOptional()
    .describe('When it was scanned, ISO 8601.')
    .meta({ examples: ['2026-03-01T10:22', '2026-03-01T10:22:05+01:00', '2026-03-01'] }),
  bracket: label
    .exactOptional()
    .describe(
      'Scans of one film at several exposures share this name and are joined; file names `<positive>__bracket-1.tif`, `-2` … do the same.',
    ),
  printer: label.exactOptional().describe('The printer that made the film.'),
  mode: label.exactOptional().describe('Its print mode.'),
  stock: label.exactOptional().describe('The film stock.'),
  setting: label.exactOptional().describe("The driver's ink setting."),
  temperature: z.number().min(-20).max(60).exactOptional().describe('Degrees Celsius in the room.'),
  humidity: z.number().min(0).max(100).exactOptional().describe('Relative humidity in the room, %.'),
  reprint: z
    .boolean()
    .exactOptional()
    .describe('The positive was printed anew before this scan: growth is counted from it on.'),
  replaces: positiveName
    .exactOptional()
    .describe('An older positive that this one stands in place of: that one is overtaken.'),
  note: z.string().trim().max(1000).exactOptional().describe('Any words; they stand in the report.'),
  dpi: z.number().min(50).max(19_200).exactOptional().describe('Resolution; wins over what the file says.'),
})

/**
 * What a sidecar tells of its scan, frozen; an empty text tells nothing, a key without a value counts as not given.
 * @param file name used in messages
 * @throws ProblemError SIDECAR_INVALID naming every fault with its line, key, value and rule
 */
export function parseSidecar(text: string, file: string): Sidecar {
  return readYaml(text, file, sidecarSchema, {
    problem: 'SIDECAR_INVALID',
    textKeys: [
      'positive',
      'jobType',
      'scanner',
      'scannedAt',
      'bracket',
      'printer',
      'mode',
      'stock',
      'setting',
      'replaces',
      'note',
    ],
    blankIsAbsent: true,
  })
}
