//dossier:chapter A measured test: a heated rod in sand

//go:build validate

package validation

import (
	"fmt"
	"math"
	"testing"
)

// TestHeatedRodConverges: on cells half as long the rod's wall comes to what boundary
// elements say.
// Source: rod_boundary.csv, as in TestHeatedRodWarmsAsMeasured.
// Tolerance: the flux is singular at the edges of the rod's ends, so the mesh's error
// is of first order: that of the finer mesh is the difference of the two, times the
// safety factor of 1.25 (Roache, J. Fluids Eng. 133(11), 2011, 115501); five times the
// tolerance of a step, 0.1 K, for global error against local (common practice); and
// what fewer rings change in the boundary elements.
func TestHeatedRodConverges(t *testing.T) {
	coarse := heatedRod(t, coarseRod...)
	fine := heatedRod(t, "mesh.finest=0.6 mm", "mesh.growth=1.14")
	rings := readColumns(t, "testdata/field/rod_boundary.csv")
	var a, b curve
	a.Label, b.Label = "cells from 1.2 mm", "cells from 0.6 mm"
	for i, hour := range rings["time_h"] {
		if math.IsInf(hour, 0) {
			continue
		}
		want, got, before := rings["rise_K"][i], fine.at(t, hour), coarse.at(t, hour)
		tol := 1.25*math.Abs(got-before) + 0.1 + math.Abs(want-rings["other_K"][i])
		hold(t, check{fmt.Sprintf("rise of the rod's wall at %g h, finer mesh", hour), ringsOf, got, want, "K", tol})
		a.X, a.Y = append(a.X, hour), append(a.Y, before-want)
		b.X, b.Y = append(b.X, hour), append(b.Y, got-want)
	}
	draw(t, "heated-rod-mesh", "Program less boundary elements: the wall of a heated rod", "time [h]", "difference [K]", false, a, b)
}

// TestSurfaceCoolsTheHeatedRodAllWeek: insulating the surface warms the rod's wall by
// what boundary elements say, for the whole week. TestSurfaceCoolsTheHeatedRod for 168
// h, when the surface takes a fifth of the rise.
// Source and tolerance: there.
// Source: as TestSurfaceCoolsTheHeatedRod.
func TestSurfaceCoolsTheHeatedRodAllWeek(t *testing.T) { holdSurface(t, 168) }
