/**
 * Names of job types and scanners become file names: letters, digits, dot, dash, underscore; 1 to 64; a letter or digit
 * first; no dot last. Two underscores part a scanner from its setting in scanners/, so none may hold them.
 */
export const namePattern = /^(?!.*(__|\.\.))[A-Za-z0-9][A-Za-z0-9._-]{0,63}(?<!\.)$/

export const NAME_RULE =
  'it must be letters, digits, dot, dash or underscore, at most 64, a letter or digit first, no dot last, no `..` or `__`'
