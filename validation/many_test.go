//go:build validate

package validation

// few is how many random cases a property is tried on.
const few = 20

// long says that tests may take long.
const long = true
