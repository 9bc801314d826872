package solver

import "testing"

// alone leaves a test out of the short ones, those under the race detector, whose problems
// have too few cells to be shared: what it runs, it runs on one processor.
func alone(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("too few cells to be shared: nothing runs at the same time")
	}
}
