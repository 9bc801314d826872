//go:build !validate

package figure

// long says that tests may take long: under make validate.
const long = false
