import type { LimitName, Unit } from '../model/reading.js'

/** What a reading outside its limit does on the screen, and what to do about it. */
interface Advice {
  /** Below the limit: clause after the number, and what to do. */
  readonly low: { readonly so: string; readonly next: string }
  readonly high: { readonly so: string; readonly next: string }
  /** Too close to the limit to call. */
  readonly close: string
  /** The scanner gave only a bound. */
  readonly bound: string
}

const DENSITOMETER = 'read it on a transmission densitometer, or scan again as a bracket at a higher exposure'
const IMPOSSIBLE_LOW = {
  so: 'a film can hardly be that good',
  next: 'calibrate the scanner again and scan again; if it stays so, correct the limit in the job type',
}
const SHARPER_SCAN =
  'scan again at a finer dpi with the film flat on the glass, and calibrate the scanner with a knife edge (--edge)'
const SHARPER_PRINT =
  'print in one direction, slower or with less ink, let the film dry fully, and look at the film stock and the head'

const DENSITY: Advice = {
  low: {
    so: 'light will come through',
    next: 'print again with more ink or a slower mode; if it stays low, try another film stock',
  },
  high: { so: 'more ink is on the film than the job wants', next: 'print again with less ink' },
  close: `${DENSITOMETER}, or print again well clear of the limit`,
  bound: DENSITOMETER,
}

const EDGE: Advice = {
  low: IMPOSSIBLE_LOW,
  high: { so: 'the edges on the stencil will be soft', next: `${SHARPER_PRINT}; then scan again` },
  close: `${SHARPER_SCAN}; a sharper print would be clear of the limit`,
  bound: SHARPER_SCAN,
}

const SIZE: Advice = {
  low: {
    so: 'it will not fit films of the right size',
    next: 'set the scale of this printer right in the RIP (feed or width adjustment), and print again; films dry and shrink in dry rooms',
  },
  high: {
    so: 'it will not fit films of the right size',
    next: 'set the scale of this printer right in the RIP (feed or width adjustment), and print again',
  },
  close: 'measure the scanner’s own pixel size on a grid (`burngate calibrate ... --grid SCAN`), then scan again',
  bound: 'scan again at a finer dpi',
}

const REPRINT =
  'print this positive again, and keep films dry and apart; `burngate process` tells which stock creeps least'
const GROWTH: Advice = {
  low: IMPOSSIBLE_LOW,
  high: { so: 'the ink has crept since the first scan, and fine gaps fill', next: REPRINT },
  close: 'scan it again, turned a little, or print it again to be well clear of the limit',
  bound: SHARPER_SCAN,
}

const FINER = 'scan again at a finer dpi: smaller ones are then found and sized'
const PINHOLES: Advice = {
  low: IMPOSSIBLE_LOW,
  high: {
    so: 'light comes through and makes spots that print',
    next: 'touch up the marked places with opaque, or wipe head and film and print again; then scan again',
  },
  close: FINER,
  bound: FINER,
}
const SPECKS: Advice = {
  low: IMPOSSIBLE_LOW,
  high: {
    so: 'they hold back light and leave spots of stencil open',
    next: 'wipe film and glass and scan again; what stays is ink: scrape it off or print again',
  },
  close: 'wipe film and glass and scan again, at a finer dpi',
  bound: 'wipe film and glass and scan again: what is gone was dust',
}
const NOZZLES = 'clean the head, print a nozzle check, and print again'

const ADVICE: Readonly<Partial<Record<LimitName, Advice>>> = {
  edgeGrowth: GROWTH,
  fringeGrowth: { ...GROWTH, high: { ...GROWTH.high, so: 'the half-dense rims have widened since the first scan' } },
  densityLoss: { ...GROWTH, high: { ...GROWTH.high, so: 'the black has faded or come off since the first scan' } },
  baseDensity: {
    low: IMPOSSIBLE_LOW,
    high: {
      so: 'the clear parts hold back the lamp',
      next: 'wipe the film and the glass and scan again; if it stays high, take a clearer film stock',
    },
    close: 'wipe the film and the glass and scan again; a transmission densitometer can settle it',
    bound: 'scan again with open light in view and nothing clipped',
  },
  solidDensity: DENSITY,
  solidDensityLowest: {
    ...DENSITY,
    low: {
      so: 'light will come through there',
      next: 'look at the marked solid for banding, a clogged nozzle or a scratch; clean the head and print again',
    },
  },
  riseWidth: EDGE,
  riseWidthWorst: {
    ...EDGE,
    high: {
      so: 'the stencil will be soft there',
      next: 'look at the marked edge for smear, wet handling or film lifted off the glass; print or scan again',
    },
  },
  fringeWidth: {
    ...EDGE,
    high: { so: 'half-dense rims let fine shapes fill or wash out', next: `${SHARPER_PRINT}; then scan again` },
  },
  inkSpread: {
    ...EDGE,
    high: {
      so: 'the ink has crept sideways and fine lines fill',
      next: 'print with less ink or on another film stock, let it dry fully, and store it dry',
    },
  },
  raggedness: {
    ...EDGE,
    high: {
      so: 'the edges on the stencil will be rough',
      next: 'clean and align the head, print in one direction or at a higher resolution; then scan again',
    },
  },
  pinholeCount: PINHOLES,
  pinholeLargest: PINHOLES,
  speckCount: SPECKS,
  speckLargest: SPECKS,
  scratchCount: {
    ...PINHOLES,
    high: {
      so: 'light comes through along them',
      next: 'touch up the marked lines with opaque or print again, and keep films apart in their drawer',
    },
  },
  missingNozzleCount: { ...PINHOLES, high: { so: 'light comes through where a nozzle gave no ink', next: NOZZLES } },
  thinSpotCount: {
    ...PINHOLES,
    high: {
      so: 'light may come through there',
      next: `look at the marked places; ${NOZZLES}, with more ink if they stay`,
    },
  },
  sizeErrorAcross: SIZE,
  sizeErrorFeed: SIZE,
}

const GENERAL: Advice = {
  low: { so: 'that is outside what the job allows', next: 'print again' },
  high: { so: 'that is outside what the job allows', next: 'print again' },
  close: 'scan again at a finer dpi, or check it by eye on the light table',
  bound: 'scan again at a finer dpi, or check it by eye on the light table',
}

/** Sentences for a reading outside or near a limit; a reading without its own gets general ones. */
export function adviceFor(reading: LimitName): Advice {
  return ADVICE[reading] ?? GENERAL
}

/** Decimals of readings between films, by unit. */
export const DECIMALS_BY_UNIT: Readonly<Record<Unit, number>> = {
  D: 2,
  um: 1,
  mm: 2,
  mm2: 2,
  '%': 1,
  'lines/in': 1,
  degrees: 1,
  count: 0,
}
