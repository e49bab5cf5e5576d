/** Equal steps along a profile: step k runs from `start + k * pitch` to `start + (k + 1) * pitch`, in samples. */
export interface StepLattice {
  readonly start: number
  readonly pitch: number
  /** Mean spread within a step, in the unit of the profile. */
  readonly within: number
}

/** A step narrower than this many samples has no inside to speak of. */
const NARROWEST_PITCH = 6
/** Off-lattice places (the tablet's own ends, a label) may not outvote the steps: their spread is capped and the worst of them left out. */
const WIDEST_WITHIN = 0.2
const WORST_LEFT_OUT = 1 / 8
/** A boundary is sought within this share of a step of where it should be; rounds of seeking and fitting. */
const BOUNDARY_REACH = 0.4
const BOUNDARY_ROUNDS = 6
/** Boundaries that tell where the steps are: jumps of this many times the usual difference of two samples. */
const BOUNDARY_JUMP = 8
const FEWEST_BOUNDARIES = 4
/** A boundary further from the even row than this, in samples and in shares of a step, is a label, a hair or the tablet's end. */
const BOUNDARY_OFF_SAMPLES = 1
const BOUNDARY_OFF = 0.08
/** Left out at each side of a step: gaps, lines and blurred edges between steps. */
const COARSE_MARGIN = 0.15
const FINE_MARGIN = 0.06

/** Lattices offered at most: where steps are few or lost in noise, twice or half the pitch is nearly as flat, and only the file tells. */
const MOST_LATTICES = 4
/** Pitches nearer than this share are one. */
const SAME_PITCH = 0.04
/** Samples of the running median that takes gaps and lines between steps out and leaves a staircase as it is. */
const GAP_WINDOW = 9

/**
 * The lattices that may be those of the steps, likeliest first: `stepLattice`'s own, the pitches that are flattest for their width, their
 * halves and doubles, and the same on the profile without its narrow gaps. Which of them is right only the certificate can tell.
 * @param profile logarithm of light along the tablet, equally spaced samples
 * @param from first sample of the part that surely belongs to the tablet
 * @param to one past its last sample
 */
export function stepLattices(profile: Float64Array, from: number, to: number): readonly StepLattice[] {
  const found: StepLattice[] = []
  const keep = (lattice: StepLattice | null): void => {
    if (lattice === null) return
    if (found.every(known => Math.abs(known.pitch / lattice.pitch - 1) > SAME_PITCH)) found.push(lattice)
  }
  keep(stepLattice(profile, from, to))
  const smooth = withoutGaps(profile)
  for (const wide of flattest(smooth, from, to)) {
    keep({ ...wide, ...alignToBoundaries(profile, from, to, wide) })
    if (found.length >= MOST_LATTICES) break
  }
  return found
}

/** Running median; samples near the ends keep what they have. */
function withoutGaps(profile: Float64Array): Float64Array {
  const half = (GAP_WINDOW - 1) / 2
  return profile.map((value, i) =>
    i < half || i + half >= profile.length ? value : profile.slice(i - half, i + half + 1).sort()[half]!,
  )
}

/** Pitches whose steps are flattest for their width, flattest first: spread within a step over the pitch falls to the true one and rises past it. */
function flattest(profile: Float64Array, from: number, to: number): StepLattice[] {
  const length = to - from
  if (!(length >= 3 * NARROWEST_PITCH)) return []
  const spread = spreadWithin(profile, from, to)
  const tried: StepLattice[] = []
  const most = Math.min(70, length / NARROWEST_PITCH)
  for (let cells = 3; cells <= most; cells += 0.15) {
    const pitch = length / cells
    let best: StepLattice = { start: from, pitch, within: Number.POSITIVE_INFINITY }
    for (let p = 0; p < 24; p++) {
      const start = from + (p * pitch) / 24
      const within = spread(pitch, start, COARSE_MARGIN)
      if (within < best.within) best = { start, pitch, within }
    }
    tried.push(best)
  }
  const floor = Math.max(1e-6, Math.min(...tried.map(t => t.within)))
  const cost = (t: StepLattice) => (t.within + floor) / t.pitch
  tried.sort((a, b) => cost(a) - cost(b))
  const kept: StepLattice[] = []
  for (const t of tried) {
    if (kept.length >= MOST_LATTICES) break
    if (Number.isFinite(t.within) && kept.every(k => Math.abs(k.pitch / t.pitch - 1) > SAME_PITCH)) kept.push(t)
  }
  return kept
}

/** Mean spread within the steps of a lattice; see the constants for what is left out. */
function spreadWithin(
  profile: Float64Array,
  from: number,
  to: number,
): (pitch: number, start: number, margin: number) => number {
  const sums = new Float64Array(profile.length + 1)
  const squares = new Float64Array(profile.length + 1)
  for (let i = 0; i < profile.length; i++) {
    sums[i + 1] = sums[i]! + profile[i]!
    squares[i + 1] = squares[i]! + profile[i]! ** 2
  }
  return (pitch, start, margin) => {
    const spreads: number[] = []
    const first = Math.ceil((from - start) / pitch - 0.5)
    const last = Math.floor((to - start) / pitch - 0.5)
    for (let k = first; k <= last; k++) {
      const a = Math.max(0, Math.ceil(start + (k + margin) * pitch))
      const b = Math.min(profile.length, Math.floor(start + (k + 1 - margin) * pitch) + 1)
      const n = b - a
      if (n < 2) continue
      const mean = (sums[b]! - sums[a]!) / n
      const variance = (squares[b]! - squares[a]!) / n - mean * mean
      spreads.push(Math.min(Math.sqrt(Math.max(0, variance)), WIDEST_WITHIN))
    }
    if (spreads.length < 3) return Number.POSITIVE_INFINITY
    spreads.sort((a, b) => a - b)
    const kept = Math.ceil(spreads.length * (1 - WORST_LEFT_OUT))
    let total = 0
    for (let i = 0; i < kept; i++) total += spreads[i]!
    return total / kept
  }
}

/**
 * The pitch and phase of equal steps on a profile: the widest pitch whose steps are flat inside.
 * Uses the flatness of every step, not single edges, so steps lost in noise, gaps and lines between steps,
 * and clear margins do no harm.
 * @param profile logarithm of light along the tablet, equally spaced samples
 * @param from first sample of the part that surely belongs to the tablet
 * @param to one past its last sample
 * @returns null when no pitch makes the steps flatter than a ramp would be
 */
export function stepLattice(profile: Float64Array, from: number, to: number): StepLattice | null {
  const length = to - from
  if (!(length >= 3 * NARROWEST_PITCH)) return null
  const within = spreadWithin(profile, from, to)
  const bestPhase = (pitch: number, margin: number, phases: number): { start: number; within: number } => {
    let best = { start: from, within: Number.POSITIVE_INFINITY }
    for (let p = 0; p < phases; p++) {
      const start = from + (p * pitch) / phases
      const value = within(pitch, start, margin)
      if (value < best.within) best = { start, within: value }
    }
    return best
  }

  const mostCells = Math.min(70, length / NARROWEST_PITCH)
  let best: StepLattice | null = null
  for (let cells = 3; cells <= mostCells; cells += 0.3) {
    const pitch = length / cells
    const found = bestPhase(pitch, COARSE_MARGIN, 24)
    if (best === null || found.within < best.within) best = { pitch, ...found }
  }
  if (best === null) return null
  best = refine(best)
  // A half, a third or a quarter of the true pitch is as flat: take the widest that stays flat.
  for (let again = true; again; ) {
    again = false
    for (const times of [5, 4, 3, 2]) {
      const pitch = best.pitch * times
      if (pitch > length / 2.5) continue
      const wider: StepLattice = refine({ pitch, ...bestPhase(pitch, COARSE_MARGIN, 24 * times) })
      const meanJump = jumpsWithin(best)
      // Refining may slip back towards the pitch it came from: only a truly wider one counts, or this would never end.
      if (wider.pitch > 1.4 * best.pitch && wider.within - best.within < 0.25 * meanJump) {
        best = wider
        again = true
        break
      }
    }
  }
  // A ramp cut in cells spreads by its rise a cell over the square root of 12, less the margins; steps must beat it clearly.
  const ramp = (jumpsWithin(best) * (1 - 2 * COARSE_MARGIN)) / Math.sqrt(12)
  const moved = alignToBoundaries(profile, from, to, best)
  const aligned = { ...moved, within: within(moved.pitch, moved.start, COARSE_MARGIN) }
  // Flatness hardly tells a small move: it is only taken back when it made the steps clearly less even.
  if (aligned.within <= 1.5 * best.within) best = aligned
  return best.within < 0.6 * ramp ? best : null

  function jumpsWithin(lattice: StepLattice): number {
    let low = Number.POSITIVE_INFINITY
    let high = Number.NEGATIVE_INFINITY
    for (let i = from; i < to; i++) {
      low = Math.min(low, profile[i]!)
      high = Math.max(high, profile[i]!)
    }
    return ((high - low) * lattice.pitch) / length
  }

  function refine(rough: StepLattice): StepLattice {
    let at = rough
    for (const [share, margin] of [
      [0.15, COARSE_MARGIN],
      [0.05, FINE_MARGIN],
    ] as const) {
      const cells = length / at.pitch
      const centre = at.start + Math.round((from + length / 2 - at.start) / at.pitch) * at.pitch
      let sumWeight = 0
      let sumPitch = 0
      let sumCentre = 0
      let least = Number.POSITIVE_INFINITY
      const tried: { pitch: number; centre: number; value: number }[] = []
      for (let i = -8; i <= 8; i++) {
        const pitch = length / (cells + (i * 2.5 * share) / 1.0)
        if (!(pitch > 0)) continue
        for (let j = -10; j <= 10; j++) {
          const moved = centre + j * 0.1 * share * 2 * at.pitch
          const value = within(pitch, moved, margin)
          tried.push({ pitch, centre: moved, value })
          least = Math.min(least, value)
        }
      }
      // The middle of the flat valley, not its first lowest place.
      const valley = Math.max(least * 1.05, least + 1e-6)
      for (const t of tried) {
        if (!(t.value <= valley)) continue
        sumWeight++
        sumPitch += t.pitch
        sumCentre += t.centre
      }
      if (sumWeight > 0) {
        const pitch = sumPitch / sumWeight
        const middle = sumCentre / sumWeight
        at = { pitch, start: middle, within: within(pitch, middle, COARSE_MARGIN) }
      }
    }
    return at
  }
}

/**
 * The lattice moved onto the boundaries between the steps: flatness leaves play of a margin's width and errors of pitch add up over many
 * steps. Each boundary is the centroid of the change near its expected place (a line or gap between steps changes there and back, evenly
 * about its middle); a straight line of boundaries is fitted without those far off it. Left as it was when fewer than four can be seen.
 */
function alignToBoundaries(
  profile: Float64Array,
  from: number,
  to: number,
  lattice: { readonly start: number; readonly pitch: number },
): { start: number; pitch: number } {
  const changes = new Float64Array(Math.max(0, profile.length - 1))
  for (let i = 0; i + 1 < profile.length; i++) changes[i] = Math.abs(profile[i + 1]! - profile[i]!)
  const inside = Float64Array.from(changes.subarray(from, Math.max(from + 1, to - 1))).sort()
  const usual = inside[Math.floor(inside.length / 2)]!
  let { start, pitch } = lattice
  for (let round = 0; round < BOUNDARY_ROUNDS; round++) {
    const reach = BOUNDARY_REACH * pitch
    const seen: { k: number; at: number; weight: number }[] = []
    for (let k = Math.ceil((from - start) / pitch); start + k * pitch <= to; k++) {
      const expected = start + k * pitch
      const a = Math.max(0, Math.ceil(expected - reach))
      const b = Math.min(changes.length - 1, Math.floor(expected + reach))
      let sum = 0
      let moment = 0
      for (let i = a; i <= b; i++) {
        const change = changes[i]! - 3 * usual
        if (!(change > 0)) continue
        sum += change
        moment += change * (i + 1)
      }
      if (sum > BOUNDARY_JUMP * usual) seen.push({ k, at: moment / sum, weight: 1 })
    }
    if (seen.length < FEWEST_BOUNDARIES) break
    let fit = { start, pitch }
    for (let pass = 0; pass < 4; pass++) {
      const line = boundaryLine(seen)
      if (line === null) break
      fit = line
      const wide = Math.max(BOUNDARY_OFF_SAMPLES, BOUNDARY_OFF * line.pitch)
      for (const s of seen) {
        const off = Math.abs(s.at - line.start - s.k * line.pitch) / wide
        s.weight = off > 1 ? 1 / off ** 2 : 1
      }
    }
    // A pitch far from where it began is another row of steps: flatness chose this one.
    if (!(Math.abs(fit.pitch / lattice.pitch - 1) < 0.08)) break
    const moved = Math.abs(fit.start - start) + Math.abs(fit.pitch - pitch) * seen.length
    start = fit.start
    pitch = fit.pitch
    if (moved < 0.02) break
  }
  return { start, pitch }
}

function boundaryLine(
  seen: readonly { readonly k: number; readonly at: number; readonly weight: number }[],
): { start: number; pitch: number } | null {
  let sw = 0
  let sk = 0
  let sa = 0
  for (const { k, at, weight } of seen) {
    sw += weight
    sk += weight * k
    sa += weight * at
  }
  let skk = 0
  let ska = 0
  for (const { k, at, weight } of seen) {
    skk += weight * (k - sk / sw) ** 2
    ska += weight * (k - sk / sw) * (at - sa / sw)
  }
  if (!(skk > 0)) return null
  const pitch = ska / skk
  return pitch > 0 ? { pitch, start: sa / sw - (pitch * sk) / sw } : null
}
