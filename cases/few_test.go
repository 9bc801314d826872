//go:build !validate

package cases

// draws is how many times as many problems are drawn by lot, and runsDrawn whether any are
// run at all.
const (
	draws     = 1
	runsDrawn = false
)
