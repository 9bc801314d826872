//go:build validate

//dossier:chapter Orders of convergence

package validation

import "testing"

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
	for _, view := range []string{section, axial} {
		conductionStudy(t, view, f)
		potentialStudy(t, view, f)
		s := coupledStudy(t, view, f, 2, 2)
		s.draw(t, "manufactured-coupled-"+f.short+"-"+view, "Potential and heat with σ(T)", coupledScale)
	}
}

// TestManufacturedCoupledProblemConvergesSecondOrderInSpace: the coupled solution
// with 256 steps on every mesh. The order in time, measured alone, leaves 2e-5 K
// of error at 256 steps; on the finest mesh the whole is 7e-4 K or more, so time
// takes part in the last order with 3 %, 0.04 of order.
// Source: Salari & Knupp, SAND2000-1444 (2000).
func TestManufacturedCoupledProblemConvergesSecondOrderInSpace(t *testing.T) {
	for _, view := range []string{section, axial} {
		s := coupledStudy(t, view, stretched, 256, 1)
		s.draw(t, "manufactured-coupled-space-"+view, "Potential and heat with σ(T) at 256 steps", coupledScale)
	}
}
