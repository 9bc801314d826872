//go:build !validate

package validation

// few is how many random cases a property is tried on.
const few = 4

// long says that tests may take long: under make validate.
const long = false
