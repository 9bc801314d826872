//dossier:chapter The cost of a solve

//go:build validate

package validation

import "testing"

// TestIterationsDoNotGrowToAMillionCells: the iterations that a potential takes to a
// residual of 1e-10 grow by less than half from 10⁴ cells to 10⁶, in the grounds and
// cells of TestIterationsDoNotGrow.
// Source: multigrid's defining property, as in TestIterationsDoNotGrow.
// Bound: there.
func TestIterationsDoNotGrowToAMillionCells(t *testing.T) { holdIterations(t, 100, 316, 1000) }
