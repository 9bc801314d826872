//go:build validate

//dossier:chapter Orders of convergence

package validation

import (
	"fmt"
	"testing"
)

// TestManufacturedSolutionsConvergeOnTheProgramsMeshes: the made solutions on meshes
// graded as the program grades them, its finest size and its growth refined
// together: conduction, potential, and the two together.
// Source: Salari & Knupp, SAND2000-1444 (2000).
func TestManufacturedSolutionsConvergeOnTheProgramsMeshes(t *testing.T) {
	allMade(t, asProgram)
}

// TestManufacturedSolutionsConvergeOnHalvedMeshes: the same where each cell of the
// program's coarsest mesh is cut in half, again and again, so that faces between
// unlike cells never come to lie midway between their nodes.
// Source: Salari & Knupp, SAND2000-1444 (2000).
func TestManufacturedSolutionsConvergeOnHalvedMeshes(t *testing.T) {
	allMade(t, halved)
}

// allMade holds every made solution on a family of meshes.
func allMade(t *testing.T, f family) {
	t.Helper()
	for _, c := range []struct {
		name  string
		run   func(t *testing.T, view string, f family) study
		scale map[string]float64
	}{
		{"conduction", conductionStudy, conductionScale},
		{"potential", potentialStudy, potentialScale},
		{"coupled", func(t *testing.T, view string, f family) study { return coupledStudy(t, view, f, 2, 2) }, coupledScale},
	} {
		var all []study
		for _, view := range []string{section, axial} {
			all = append(all, c.run(t, view, f))
		}
		drawStudies(t, fmt.Sprintf("manufactured-%s-%s", c.name, f.short), "Made solution, "+c.name+", "+f.name, all, c.scale)
	}
}

// TestManufacturedCoupledProblemConvergesSecondOrderInSpace: the coupled solution
// with 256 steps on every mesh. The order in time, measured alone, leaves 2e-5 K
// of error at 256 steps; on the finest mesh the whole is 7e-4 K or more, so time
// takes part in the last order with 3 %, 0.04 of order.
// Source: Salari & Knupp, SAND2000-1444 (2000).
func TestManufacturedCoupledProblemConvergesSecondOrderInSpace(t *testing.T) {
	var all []study
	for _, view := range []string{section, axial} {
		all = append(all, coupledStudy(t, view, stretched, 256, 1))
	}
	drawStudies(t, "manufactured-coupled-space", "Potential and heat with σ(T), cells halved at 256 steps", all, coupledScale)
}
