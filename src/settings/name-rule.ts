/** Names of job types and scanners become file names: letters, digits, dot, dash, underscore; 1 to 64; no leading dot. */
export const namePattern = /^[A-Za-z0-9_-][A-Za-z0-9._-]{0,63}$/

export const NAME_RULE = 'it must be letters, digits, dot, dash or underscore, at most 64, and not begin with a dot'
