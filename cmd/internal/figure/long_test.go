//go:build validate

package figure

// long says that tests may take long.
const long = true
