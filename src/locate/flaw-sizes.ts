/** Largest equivalent diameter of a round flaw, um: artwork's own dots and counters begin there. */
export const LARGEST_UM = 600
/** No type has counters or stops as small: 0.15 mm is the counter of 3 point type. */
export const ALWAYS_UM = 150
/** Stops and dots of the smallest type are larger than this, um. */
export const LEAST_STOP_UM = 70
/** Dots and dashes in a row stand at most so far apart, um. */
export const LONGEST_STEP = 5000
/** So many more of one length and width so near are dashes, not scratches. */
export const LIKE_DASHES = 2
