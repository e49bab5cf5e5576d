/**
 * Every trouble a user can meet, in one table: what happened, and what to do next.
 * README's table is printed from it. Anything thrown that is not a `ProblemError` is a bug.
 */
export interface ProblemKind {
  /** What happened. May hold `{detail}`, filled in when the problem is raised. */
  readonly what: string
  /** What to do next. */
  readonly next: string
}

export const PROBLEMS = {
  FILE_EMPTY: {
    what: 'the file is empty',
    next: 'scan again; if it keeps happening check the disk the scanner writes to',
  },
  FILE_MISSING: { what: 'there is no file {detail}', next: 'check the path, then name or drop the file again' },
  FILE_NOT_READABLE: {
    what: 'the file could not be opened ({detail})',
    next: 'check its permissions and the network share, then drop it again',
  },
  NOT_A_SCAN: { what: 'the file is neither TIFF nor PNG ({detail})', next: 'save the scan as 16-bit TIFF' },
  SCAN_TRUNCATED: {
    what: 'the file is cut short ({detail})',
    next: 'let the scanner finish, then copy the whole file again',
  },
  SCAN_UNFINISHED: {
    what: 'the last rows are all zero, as in a scan that is still being written ({detail})',
    next: 'let the scanner finish, then copy the whole file again',
  },
  SCAN_DAMAGED: {
    what: 'the file is damaged ({detail})',
    next: 'scan again, or copy the file again from the scanning computer',
  },
  SCAN_TOO_LARGE: {
    what: 'the picture is larger than any flatbed can make ({detail})',
    next: 'check the file; scan again at 2400 dpi or less',
  },
  SCAN_NO_PIXELS: { what: 'the picture has no pixels ({detail})', next: 'scan again' },
  BITS_UNSUPPORTED: {
    what: 'burngate cannot measure {detail}',
    next: 'set the scanner to 16-bit grey or 48-bit colour and scan again',
  },
  COLOUR_UNSUPPORTED: {
    what: 'burngate cannot measure {detail}',
    next: 'set the scanner to 16-bit grey or 48-bit colour and scan again',
  },
  COMPRESSION_UNSUPPORTED: {
    what: 'burngate cannot read {detail} compression',
    next: 'save the scan as TIFF without compression, or with LZW or Deflate',
  },
  COMPRESSION_LOSSY: {
    what: 'the scan was stored with lossy {detail} compression, which changes the edges',
    next: 'save the scan as TIFF without compression, or with LZW or Deflate',
  },
  RESOLUTION_MISSING: {
    what: 'the file does not say its resolution',
    next: 'give `dpi` in a sidecar <scan>.<ext>.yaml, or set `scanners.<name>.dpi` in burngate.yaml',
  },
  RESOLUTION_IMPLAUSIBLE: {
    what: 'the resolution in the file cannot be right ({detail})',
    next: 'give `dpi` in a sidecar <scan>.<ext>.yaml',
  },
  RESOLUTION_TOO_LOW: {
    what: 'the scan is too coarse to measure edges ({detail})',
    next: 'scan at 600 dpi or more; 1200 dpi is usual',
  },
  SCAN_STILL_GROWING: {
    what: 'the file was still changing after {detail}',
    next: 'let the scanner finish, then drop it again',
  },

  TABLET_NOT_FOUND: {
    what: 'no step tablet was found on the scan ({detail})',
    next: 'lay the tablet straight on open glass with light all round it, and scan again',
  },
  TABLET_CSV_INVALID: {
    what: 'the tablet file is not right ({detail})',
    next: 'write one line a step: step,density[,expanded], step 1 the clearest',
  },
  TABLET_CSV_EMPTY: {
    what: 'the tablet file holds no steps ({detail})',
    next: 'write one line a step: step,density[,expanded], step 1 the clearest',
  },
  TABLET_CSV_UNIT: {
    what: 'the tablet file holds another unit than density ({detail})',
    next: 'give densities: D = -log10 of the share of light that passes, so 10 % is 1.00 and 1 % is 2.00',
  },
  TABLET_CSV_ORDER: {
    what: 'the densities in the tablet file do not rise from step to step ({detail})',
    next: 'number the steps from the clearest, which is step 1, to the densest, and check the values against the certificate',
  },
  TABLET_STEP_MISSING: {
    what: 'the tablet file leaves out a step ({detail})',
    next: 'write every step of the tablet down, 1, 2, 3 from the clearest, also those too dense for the scanner',
  },
  TABLET_STEP_TWICE: {
    what: 'the tablet file has one step twice ({detail})',
    next: 'keep one line a step',
  },
  TABLET_STEP_COUNT: {
    what: 'the steps on the scan do not fit the tablet file ({detail})',
    next: 'check that the file belongs to this tablet, that all of it lies on the glass and that nothing lies on it',
  },
  TABLET_STEP_DIRTY: {
    what: 'something lies on steps of the tablet, or the tablet file is wrong there ({detail})',
    next: 'clean tablet and glass, take hairs, labels and tape off the steps, check those lines of the file against the certificate, and scan again',
  },
  TABLET_TWICE: {
    what: 'more than one step tablet lies on the glass ({detail})',
    next: 'leave only the tablet on the glass that the file belongs to, and scan again',
  },
  CALIBRATION_CLIPPED: {
    what: 'the scan is clipped ({detail})',
    next: 'switch off automatic exposure, lower the exposure so that open light stays below the top, and scan again',
  },
  CALIBRATION_NOT_MONOTONE: {
    what: 'the codes do not fall from step to step ({detail})',
    next: 'clean the tablet, check it lies the right way and the certificate is its own, and scan again',
  },
  CALIBRATION_EIGHT_BIT: {
    what: 'the scan has only 8-bit values ({detail})',
    next: 'set the scanner to 16-bit grey or 48-bit colour and scan again',
  },
  CALIBRATION_SHARPENED: {
    what: 'the steps have bright and dark halos as sharpening makes them ({detail})',
    next: 'switch off sharpening and every other correction in the scanner driver, and scan again',
  },
  EDGE_NOT_FOUND: {
    what: 'no straight opaque edge was found on the edge scan ({detail})',
    next: 'lay a razor-straight opaque edge on open glass, turned by 1 to 5 degrees, and scan it at the same dpi',
  },
  EDGE_NOT_STRAIGHT: {
    what: 'the edge on the edge scan is bent or nicked ({detail})',
    next: 'lay an undamaged blade flat on the glass, turned by 1 to 5 degrees, and scan it again',
  },
  EDGE_NOT_TURNED: {
    what: 'the edge lies too straight on the glass to be read between the pixels ({detail})',
    next: 'turn it by 1 to 5 degrees and scan it again',
  },
  EDGE_CLIPPED: {
    what: 'the edge scan is clipped ({detail})',
    next: 'switch off automatic exposure, scan the edge at the exposure of the tablet, and give that',
  },
  EDGE_SHARPENED: {
    what: 'the edge scan has bright halos as sharpening makes them ({detail})',
    next: 'switch off sharpening and every other correction in the scanner driver, and scan both tablet and edge again',
  },
  EDGE_OTHER_SETTING: {
    what: 'the edge was scanned at another setting than the tablet ({detail})',
    next: 'scan the edge with the bits and the colour mode of the tablet, and at its dpi',
  },
  EDGE_IS_TABLET: {
    what: 'the edge scan is the very scan of the tablet ({detail})',
    next: 'give the scan of a razor-straight opaque edge with --edge, or leave --edge out',
  },
  GRID_NOT_FOUND: {
    what: 'no grid of that pitch was found on the grid scan ({detail})',
    next: 'lay the grid straight (within 10 degrees) on open glass with some clear film all round it, give its true pitch with --grid-pitch, and scan it at the same dpi',
  },
  GRID_OTHER_SETTING: {
    what: 'the grid was scanned at another setting than the tablet ({detail})',
    next: 'scan the grid at the dpi of the tablet: the size of a pixel holds at one resolution only',
  },
  GRID_TOO_FEW: {
    what: 'too little of the grid can be read ({detail})',
    next: 'clean the grid and the glass and scan at least 5 x 5 of its nodes',
  },
  GRID_UNEVEN: {
    what: 'the nodes of the grid do not lie evenly ({detail})',
    next: 'lay the grid flat, check that nothing moved while scanning, and scan again; use an etched or plotted grid, not one from the printer under test',
  },
  FLAT_OTHER_SETTING: {
    what: 'the flat scan was made at another setting than the tablet ({detail})',
    next: 'scan the bare glass, or an even film that covers it, at the dpi, bits and channel of the tablet',
  },
  FLAT_CLIPPED: {
    what: 'the flat scan is clipped ({detail})',
    next: 'switch off automatic exposure, scan the bare glass at the exposure of the tablet, below the top of the scale, and give that',
  },
  FLAT_OTHER_EXPOSURE: {
    what: 'the flat scan is not at the exposure of the tablet ({detail})',
    next: 'switch off automatic exposure and scan the bare glass, or a bare film that covers it, at the exposure of the tablet',
  },
  FLAT_PRINTED: {
    what: 'what lies on the glass of the flat scan is not even ({detail})',
    next: 'scan the bare glass, or a film without print that covers it, cleaned of dust',
  },
  FLAT_UNEVEN: {
    what: 'light varies over the flat scan in a way no lamp does ({detail})',
    next: 'take everything off the glass, let the lamp warm up, check that the lid’s light is clean and closed, and scan the bare glass again',
  },
  FLAT_TOO_SMALL: {
    what: 'too little of the flat scan can be used ({detail})',
    next: 'scan the whole bare glass, as large as the scans of films',
  },
  ACTINIC_TABLE_INVALID: {
    what: 'the actinic table cannot be used ({detail})',
    next: 'write at least 5 lines scanner,actinic: scanner density and ultraviolet density of the same place, decimal points',
  },
  CALIBRATION_FILE_INVALID: {
    what: 'the calibration file is not right ({detail})',
    next: 'calibrate the scanner again; do not edit files in scanners/ by hand',
  },
  SCANNER_NAME_INVALID: {
    what: 'the scanner name {detail} cannot be used as a file name',
    next: 'use letters, digits, dot, dash and underscore only',
  },

  WORKSPACE_MISSING: {
    what: 'there is no burngate workspace at {detail}',
    next: 'make one with `burngate init DIR`, or point at one with --workspace DIR',
  },
  WORKSPACE_NOT_EMPTY: { what: '{detail} already holds other files', next: 'give an empty or new folder' },
  SETTINGS_INVALID: {
    what: 'a settings file is not right: {detail}',
    next: 'correct that line; README lists every setting with its range',
  },
  JOB_TYPE_UNKNOWN: { what: 'there is no job type {detail}', next: 'use one of the files in job-types/, or add one' },
  POSITIVE_NAME_INVALID: {
    what: 'the positive name {detail} cannot be used',
    next: 'use letters, digits, spaces, dot, dash and underscore, at most 120 characters',
  },
  SIDECAR_INVALID: {
    what: 'the sidecar is not right: {detail}',
    next: 'correct that line, or remove the sidecar, and drop the scan again',
  },
  DATABASE_UNUSABLE: {
    what: 'the history database cannot be used ({detail})',
    next: 'restore burngate.db from a backup, or move it away to begin a new history',
  },
  DATABASE_BUSY: {
    what: 'another program keeps the history database locked ({detail})',
    next: 'close the other program, or wait until it is done, and try again',
  },
  FILE_NOT_WRITABLE: {
    what: 'a file could not be written ({detail})',
    next: 'check free disk space, permissions and the network share, then try again',
  },
  WORKSPACE_BUSY: {
    what: 'another burngate is already watching this workspace ({detail})',
    next: 'stop it first, or let it do the work',
  },

  BRACKET_ONE_SCAN: {
    what: 'a bracket needs two or more scans of one film ({detail})',
    next: 'scan the film again at a higher exposure without moving it, and give both scans together',
  },
  BRACKET_UNCALIBRATED: {
    what: 'the scans of a bracket cannot be joined without a calibration of their scanner ({detail})',
    next: 'calibrate the scanner at the setting of the darkest scan (`burngate calibrate`), then give the bracket again',
  },
  BRACKET_SETTINGS_DIFFER: {
    what: 'the scans of the bracket were made at different settings ({detail})',
    next: 'scan the same window at the same dpi, bits and colour mode each time and change the exposure only',
  },
  BRACKET_SIZES_DIFFER: {
    what: 'the scans of the bracket show windows of very different size ({detail})',
    next: 'scan the same window each time and change the exposure only',
  },
  BRACKET_NO_REFERENCE: {
    what: 'no scan of the bracket was made at the exposure of the calibration ({detail})',
    next: 'make one of the scans at the setting of the calibration, with open light or clear film in view, and give it with the others',
  },
  BRACKET_SAME_EXPOSURE: {
    what: 'two scans of the bracket have the same exposure ({detail})',
    next: 'raise the exposure two to sixteen times from scan to scan; leave out the scan that is there twice',
  },
  BRACKET_CLIPPED: {
    what: 'a scan of the bracket is clipped where it would have to agree with the others ({detail})',
    next: 'raise the exposure in smaller steps, at most sixteen times from scan to scan, the darkest without clipping',
  },
  BRACKET_FILMS_DIFFER: {
    what: 'the scans of the bracket do not show the same film ({detail})',
    next: 'give scans of one film only, all made without touching it',
  },
  BRACKET_NOT_ALIGNED: {
    what: 'the scans of the bracket cannot be laid over each other ({detail})',
    next: 'scan the film again at all exposures without lifting the lid or moving the film',
  },

  ARTWORK_NOT_A_PICTURE: {
    what: 'the artwork is neither TIFF nor PNG ({detail})',
    next: 'give the separation as the RIP sends it to the printer: a 1-bit TIFF or PNG at its printing resolution',
  },
  ARTWORK_NO_RESOLUTION: {
    what: 'the artwork does not say its resolution, so its size is not known ({detail})',
    next: 'save it once more with its resolution in the file (TIFF tags XResolution, YResolution and ResolutionUnit, or PNG pHYs)',
  },
  ARTWORK_NOT_BLACK_AND_WHITE: {
    what: 'the artwork has shades of grey or colour ({detail})',
    next: 'give the separation itself, as the RIP screened it: 1-bit, black and white only, not a preview',
  },
  ARTWORK_TOO_LARGE: {
    what: 'the artwork is larger than burngate can hold ({detail})',
    next: 'save the separation at a lower resolution, 720 dpi is plenty for this, or only the part that was filmed',
  },
  ARTWORK_DAMAGED: {
    what: 'the artwork cannot be read ({detail})',
    next: 'save the separation again as TIFF (uncompressed, LZW, PackBits or Group 4) or PNG, and copy the whole file',
  },

  STRIP_CODE_TOO_LONG: {
    what: 'the code on the strip cannot hold all of it ({detail})',
    next: 'give shorter names; 70 to 110 characters fit in all, positive, job type, setting, stock, mode and printer together',
  },
  STRIP_NAME_INVALID: {
    what: 'the code on the strip cannot hold {detail}',
    next: 'use letters, digits, spaces and . - _ + , ( ) % only',
  },
  STRIP_DPI_INVALID: {
    what: 'the printer resolution {detail} cannot be used',
    next: 'give the resolution the printer prints at, 200 to 5760 dpi: --dpi 720, or --dpi 1440x720 for 1440 across the head and 720 along the feed',
  },
  STRIP_RULING_TOO_FINE: {
    what: 'the printer cannot screen so finely ({detail})',
    next: 'print at a higher resolution, set a coarser `printed.ruling` in the job type, or leave the tints to your own screening with --tints grey',
  },
  STRIP_FILE_KIND: {
    what: 'burngate cannot write a strip as {detail}',
    next: 'end the file name in .png, .tif, .pdf or .svg',
  },

  STUDY_PLAN_INVALID: {
    what: 'the plan of the gauge study is not right ({detail})',
    next: 'write one line a value or scan under the heading `part,operator,repeat,value` or `part,operator,repeat,file`, or name the scans `<positive>__<operator>__<repeat>.tif`',
  },
  STUDY_VALUE_INVALID: {
    what: 'a value of the gauge study cannot be used ({detail})',
    next: 'correct that value, or measure it again; leave no cell empty',
  },
  STUDY_VALUE_TWICE: {
    what: 'the gauge study has one measurement twice ({detail})',
    next: 'number the repeats 1, 2, 3 within each part and operator, and list each scan once',
  },
  STUDY_VALUE_MISSING: {
    what: 'the gauge study has a gap ({detail})',
    next: 'measure every part with every operator or in every placement, then run the study again',
  },
  STUDY_UNBALANCED: {
    what: 'the gauge study has more repeats in one place than in another ({detail})',
    next: 'measure every part equally often with every operator, or leave out the extra repeats',
  },
  STUDY_TOO_FEW: {
    what: 'the gauge study is too small to tell anything ({detail})',
    next: 'measure at least 2 parts at least 2 times each; 10 parts, 3 operators or placements and 3 repeats are usual',
  },
  STUDY_TOO_LARGE: {
    what: 'the gauge study is larger than any study needs ({detail})',
    next: 'leave some out: at most 200 parts, 200 operators or placements and 200 repeats',
  },
  STUDY_NO_VARIATION: {
    what: 'every value of the gauge study is the same ({detail})',
    next: 'write the values with more decimals, choose parts that differ, and check that the repeats are not copies',
  },
  STUDY_READING_UNKNOWN: {
    what: 'the gauge study has no reading {detail}',
    next: 'name one that it has with --reading',
  },
  LADDER_PLAN_INVALID: {
    what: 'the plan of the ink ladder is not right: {detail}',
    next: 'correct that line; README shows a plan and lists every key with its range',
  },
  LADDER_PAPER_TOO_SMALL: {
    what: 'a ladder strip does not fit on the sheet of the plan ({detail})',
    next: 'set paper in the plan to a sheet that holds a strip with 8 mm free all round and 8 mm for words',
  },
  LADDER_ROW_NOT_FOUND: {
    what: 'the row of patches was not found ({detail})',
    next: 'leave clear film between the patches, which must be 4 mm or more with one darker than D 0.5, correct count and pitch in the plan, and lay nothing else on the glass',
  },
  LADDER_SCAN_NOT_OF_PLAN: {
    what: 'a scan does not belong to this ladder ({detail})',
    next: 'name it `<stock>__<mode>__<level>.tif` as the plan writes them, say stock, mode and setting in its sidecar, or read it with its own plan',
  },
  LADDER_STRIP_UNREADABLE: {
    what: 'the code of a ladder strip could not be read ({detail})',
    next: 'clean film and glass and scan that strip again at 600 dpi or more; scanned alone it may be named `<stock>__<mode>__<level>.tif`',
  },
  LADDER_STRIP_NOT_OF_PLAN: {
    what: 'strips on a scan do not belong to this ladder ({detail})',
    next: 'read them with the plan they were printed from; what belongs to this one was read',
  },
  LADDER_PLAN_UNKNOWN: {
    what: 'no plan for a scan of an ink ladder lies in inbox/ladder ({detail})',
    next: 'put its plan there as `<any name>.yaml`, beside the scans, or say `positive: <name of the plan>` in the scan’s sidecar',
  },
  LADDER_SCAN_TWICE: {
    what: 'a scan of the ladder was given twice ({detail})',
    next: 'name each scan once; to average repeats, print and scan the setting again',
  },
  LADDER_NOTHING_READ: {
    what: 'no scan of the ladder could be read ({detail})',
    next: 'put that right first: the same may hold for the others',
  },
  WEAR_PAIRS_INCOMPLETE: {
    what: 'a rub test needs two scans, before and after ({detail})',
    next: 'name the scans in pairs: BEFORE AFTER, for each test',
  },
  WEAR_NOT_TOLD: {
    what: 'the wear of a film could not be told ({detail})',
    next: 'give two scans of one film with solids of some millimetres, the first made before it was rubbed',
  },
  INSPECTION_UNKNOWN: {
    what: 'the history has no inspection and no positive {detail}',
    next: 'take the id from the JSON record beside the report, or the name of the positive from the board',
  },
  ACCEPTANCE_INCOMPLETE: {
    what: 'an acceptance needs a name and a reason: {detail}',
    next: 'say who lets the film through and why: --by NAME --because "REASON"',
  },
  ACCEPTANCE_NOT_NEEDED: {
    what: 'there is nothing to accept: {detail}',
    next: 'burn it; or look on the board which film you meant',
  },
  RETIREMENT_INCOMPLETE: {
    what: 'a film is taken out of its drawer for a reason: {detail}',
    next: 'say why: --because "REASON", and if you like who: --by NAME',
  },
  USE_INVALID: {
    what: 'a use of a film could not be counted: {detail}',
    next: 'give `--times` as a whole number, `--on` as a day that has been, and `--by` as a name',
  },
  SERVE_ADDRESS_UNUSABLE: {
    what: 'the board cannot be served at {detail}',
    next: 'name another port with --port (0 takes any free one) or another address with --host, or stop what listens there',
  },
  EVENT_INVALID: {
    what: 'the event cannot be written down: {detail}',
    next: 'say what was changed in 1 to 120 characters, and the day it happened with --on 2026-03-31, today at the latest',
  },
} as const satisfies Record<string, ProblemKind>

export type ProblemCode = keyof typeof PROBLEMS

export interface Problem {
  readonly code: ProblemCode
  /** One sentence: what happened, with the offending value. */
  readonly what: string
  /** One sentence: what to do next. */
  readonly next: string
}

/** Fills a row of the table with its detail. */
export function problem(code: ProblemCode, detail = ''): Problem {
  const kind = PROBLEMS[code]
  const what = kind.what.includes('{detail}')
    ? kind.what.replace('{detail}', () => detail).replace(' ()', '')
    : detail === ''
      ? kind.what
      : `${kind.what} (${detail})`
  return { code, what, next: kind.next }
}

/** How a problem travels from the stage that met it to the door that tells the user. */
export class ProblemError extends Error {
  readonly problem: Problem
  constructor(code: ProblemCode, detail = '') {
    const made = problem(code, detail)
    super(`${made.code}: ${made.what}; ${made.next}`)
    this.name = 'ProblemError'
    this.problem = made
  }
}
