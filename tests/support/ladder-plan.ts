import type { LadderPlan } from '../../src/model/ladder.js'

/** The plan of the contract: 2 stocks, 2 modes, 5 levels; time first, then ink. */
export function ladderPlan(change: Partial<LadderPlan> = {}): LadderPlan {
  return {
    name: 'spring-film-test',
    jobType: 'fine-line',
    stocks: ['stock-a', 'stock-b'],
    modes: [
      { name: 'fast', dpi: { across: 720, along: 720 }, directions: 2, minutes: 1.5 },
      { name: 'fine', dpi: { across: 1440, along: 720 }, directions: 1, minutes: 4 },
    ],
    levels: [4, 6, 8, 10, 12],
    levelUnit: '',
    inkPerLevel: 0.08,
    weigh: null,
    repeats: 1,
    paper: { widthMm: 210, heightMm: 297 },
    ramp: false,
    patches: null,
    ...change,
  }
}
