//go:build validate

//dossier:chapter Orders of convergence

package validation

import (
	"math"
	"testing"

	"soiljoule/mesh"
)

// asProgram are the program's own meshes: finest size and ln(growth) both halve.
var asProgram = family{"cells graded as the program does", "graded", true, func(t *testing.T, j int) (x, z []float64) { return gradedEdges(t, j+1) }}

func gradedEdges(t *testing.T, j int) (x, z []float64) {
	t.Helper()
	f := math.Pow(0.5, float64(j))
	inf := math.Inf(1)
	marks := func(fine, size, end float64) []float64 {
		m := []mesh.Mark{{At: 0, Size: inf}, {At: madeWall, Size: inf}, {At: end - madeWall, Size: inf}, {At: end, Size: inf}}
		e, err := mesh.Grade(append(m, mesh.Mark{At: fine, Size: size * f}), math.Pow(1.9, f), 10000)
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	return marks(0, 0.2, madeX), marks(madeLayer, 0.25, madeZ)
}

// halved are the program's coarsest mesh of these with every cell cut at its middle,
// again and again: where two of its cells differ they differ for ever, and a face
// there never comes to lie midway between its nodes.
var halved = family{"coarse graded cells cut in half", "halved", false, func(t *testing.T, j int) (x, z []float64) {
	x, z = gradedEdges(t, 0)
	for range j {
		x, z = cutInHalf(x), cutInHalf(z)
	}
	return x, z
}}

func cutInHalf(e []float64) []float64 {
	var out []float64
	for i := 1; i < len(e); i++ {
		out = append(out, e[i-1], (e[i-1]+e[i])/2)
	}
	return append(out, e[len(e)-1])
}

// TestManufacturedSolutionsConvergeOnTheProgramsMeshes: the made solutions converge as
// the square on meshes graded as the program grades them. The made solutions on meshes
// graded as the program grades them, its finest size and its growth refined together:
// conduction, potential, and the two together.
// Source: Salari & Knupp, SAND2000-1444 (2000).
func TestManufacturedSolutionsConvergeOnTheProgramsMeshes(t *testing.T) {
	allMade(t, asProgram)
}

// TestManufacturedSolutionsConvergeOnHalvedMeshes: the made solutions converge as the
// square where unlike cells are halved. The same where each cell of the program's
// coarsest mesh is cut in half, again and again, so that faces between unlike cells
// never come to lie midway between their nodes.
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

// TestManufacturedCoupledProblemConvergesSecondOrderInSpace: the coupled made solution
// converges as the square in the cells alone. The coupled solution with 256 steps on
// every mesh. The order in time, measured alone, leaves 2e-5 K of error at 256 steps;
// on the finest mesh the whole is 7e-4 K or more, so time takes part in the last order
// with 3 %, 0.04 of order.
// Source: Salari & Knupp, SAND2000-1444 (2000).
func TestManufacturedCoupledProblemConvergesSecondOrderInSpace(t *testing.T) {
	for _, view := range []string{section, axial} {
		s := coupledStudy(t, view, stretched, 256, 1)
		s.draw(t, "manufactured-coupled-space-"+view, "Potential and heat with σ(T) at 256 steps", coupledScale)
	}
}
