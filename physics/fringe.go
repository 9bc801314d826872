package physics

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Fringe is the current that rods of finite length draw, over that of the same rods
// without end in their slab: what leaves through the ground above and below it comes on
// top.
type Fringe struct {
	Factor      float64 // [-] of power, all electrodes together
	Least, Most float64 // [-] of current, of single electrodes
}

// EndlessCurrents returns the currents of endless rods at 1 S/m [A/m], each at its phase's
// phasor [V] from one potential for all, so that they sum to zero.
func EndlessCurrents(rods []Rod, phase []complex128) ([]complex128, error) {
	return lineCurrents(endlessMatrix(rods), phase)
}

// FiniteCurrents returns the currents of rods from top to top + length [m] in level layers
// [A], each at its phase's phasor [V] from one potential for all, so that they sum to zero.
func FiniteCurrents(rods []Rod, phase []complex128, ground []Stratum, top, length float64) ([]complex128, error) {
	s, err := newStrata(rods, phase, ground, top, length)
	if err != nil {
		return nil, err
	}
	return lineCurrents(s.matrix(), phase)
}

// errTooClose is what potential coefficients that are not positive definite say.
var errTooClose = errors.New("rods stand too close for line currents on their axes")

// lineCurrents returns the currents of rods [A, or A/m] at 1 S/m with the potential
// coefficients p, that sum to zero.
func lineCurrents(p *mat.SymDense, phase []complex128) ([]complex128, error) {
	rhs := mat.NewDense(len(phase), 3, nil)
	for i, v := range phase {
		rhs.SetRow(i, []float64{real(v), imag(v), 1})
	}
	var chol mat.Cholesky
	var q mat.Dense
	if !chol.Factorize(p) || chol.SolveTo(&q, rhs) != nil {
		return nil, errTooClose
	}
	out := make([]complex128, len(phase))
	var all complex128
	one := 0.0
	for i := range out {
		out[i] = complex(q.At(i, 0), q.At(i, 1))
		all += out[i]
		one += q.At(i, 2)
	}
	for i := range out {
		out[i] -= all / complex(one, 0) * complex(q.At(i, 2), 0)
	}
	return out, nil
}

// endlessMatrix returns p_ij of rods without end, in a constant that makes it positive
// definite and that currents which sum to zero do not feel.
func endlessMatrix(rods []Rod) *mat.SymDense {
	p := mat.NewSymDense(len(rods), nil)
	size := 0.0
	for i := range rods {
		for j := range i {
			size = math.Max(size, math.Hypot(rods[i].X-rods[j].X, rods[i].Y-rods[j].Y))
		}
		size = math.Max(size, rods[i].Radius)
	}
	for i, r := range rods {
		for j := range i {
			p.SetSym(i, j, math.Log(10*size/math.Hypot(r.X-rods[j].X, r.Y-rods[j].Y))/(2*math.Pi))
		}
		p.SetSym(i, i, math.Log(10*size/r.Radius)/(2*math.Pi))
	}
	return p
}
