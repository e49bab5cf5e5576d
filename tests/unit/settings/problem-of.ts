import { expect } from 'vitest'
import { type Problem, ProblemError } from '../../../src/model/problem.js'

/** The coded problem a call raises; fails the test when it raises none or a bug. */
export function problemOf(call: () => unknown): Problem {
  let raised: unknown = null
  try {
    call()
  } catch (error) {
    raised = error
  }
  if (!(raised instanceof ProblemError)) expect.fail(`expected a ProblemError; got ${String(raised)}`)
  return raised.problem
}
