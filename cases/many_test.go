//go:build validate

package cases

// draws is how many times as many problems are drawn by lot, and runsDrawn whether they are
// run, not only begun.
const (
	draws     = 4
	runsDrawn = true
)
