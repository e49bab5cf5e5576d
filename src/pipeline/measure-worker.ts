import type { MeasuredScan, MeasureRequest } from '../model/measured.js'
import { type Problem, ProblemError } from '../model/problem.js'
import { type MeasureOptions, measureScan } from './measure-scan.js'

/** What the worker thread answers. An error loses its class on the way between threads, so a problem travels as data. */
export type WorkerAnswer =
  | { readonly ok: true; readonly measured: MeasuredScan }
  | { readonly ok: false; readonly problem: Problem }

/** The worker thread's door: one scan measured for each message. Bugs are thrown, problems answered. */
export default async function work({
  request,
  ...options
}: MeasureOptions & { request: MeasureRequest }): Promise<WorkerAnswer> {
  try {
    return { ok: true, measured: await measureScan(request, options) }
  } catch (error) {
    if (error instanceof ProblemError) return { ok: false, problem: error.problem }
    throw error
  }
}

/** Answers once the worker's code is loaded. */
export function ready(): void {}
