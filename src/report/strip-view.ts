import type { MeasuredScan } from '../model/measured.js'
import { READINGS, type ReadingName } from '../model/reading.js'
import type { MeasuredStrip } from '../model/strip.js'
import { formatReading, type Manner } from './format-reading.js'

/** The control strip's section: who it says it is, its picture, lines without a width, and the artwork's readings beside its own. Null without a strip. */
export function stripView({ strip, stripPicture }: Pick<MeasuredScan, 'strip' | 'stripPicture'>, manner: Manner) {
  if (strip === undefined) return null
  return {
    picture:
      stripPicture === undefined
        ? null
        : {
            source: `data:image/png;base64,${stripPicture.pngBase64}`,
            width: stripPicture.width,
            height: stripPicture.height,
            aspect: `${stripPicture.width} / ${stripPicture.height}`,
          },
    facts: facts(strip),
    lost: lostLines(strip),
    beside: (Object.keys(strip.artwork) as ReadingName[]).map(name => ({
      label: READINGS[name].label,
      text: formatReading(strip.artwork[name]!, READINGS[name].decimals, manner).text,
    })),
  }
}

function facts({ identity, ends, mirrored }: MeasuredStrip): { name: string; value: string }[] {
  const { dpi } = identity
  const told: [string, string | undefined][] = [
    ['Positive', identity.positive],
    ['Job type', identity.jobType],
    [
      'Printed at',
      dpi.across === dpi.along ? `${dpi.across} dpi` : `${dpi.across} dpi across, ${dpi.along} dpi along the feed`,
    ],
    ['Setting', identity.setting],
    ['Print mode', identity.mode],
    ['Film stock', identity.stock],
    ['Ink level', identity.level],
    ['Printer', identity.printer],
    [
      'Read from',
      ends.length === 2 ? 'the codes on both ends' : `the code on its ${ends[0]} end alone; the other one is damaged`,
    ],
    ['On the scan', mirrored ? 'shows mirrored' : 'reads the right way round'],
  ]
  return told.flatMap(([name, value]) => (value === undefined || value === '' ? [] : [{ name, value }]))
}

/** Lines and gaps without a width, in words. */
function lostLines({ lost }: MeasuredStrip): { what: string; why: string }[] {
  return lost.map(({ polarity, direction, intendedUm, because }) => ({
    what: `The ${polarity === 'positive' ? 'line' : 'gap'} of ${intendedUm.toFixed(0)} um along the ${direction}`,
    why: because,
  }))
}
