import type { Inspection } from '../model/inspection.js'

/** Exit statuses of the contract. */
export const EXIT = { pass: 0, fail: 1, recheck: 2, notInspected: 3, usage: 64, fault: 70 } as const

/** How one scan ended: its verdict, that it could not be inspected, or our own fault. */
export type Ending = Inspection['verdict'] | 'notInspected' | 'fault'

/** Worst first: our own fault, a fail, a scan that could not be inspected, a recheck. */
const WORST_FIRST: readonly Exclude<Ending, 'pass'>[] = ['fault', 'fail', 'notInspected', 'recheck']

/** One exit status for many scans: 70, 1, 3, 2, 0, the first that holds for any of them. */
export function exitCode(endings: readonly Ending[]): number {
  return EXIT[WORST_FIRST.find(ending => endings.includes(ending)) ?? 'pass']
}
