package physics

import (
	"math"
	"math/cmplx"
	"sort"
)

// Pace is the length of a step on the ground [m], by convention one metre.
const Pace = 1.0

// SurfacePotential reads the potential along the ground's surface of a section or an
// axisymmetric grid. The surface lets no current through, so in the first row, of
// conductivity σ₀ and down to z = f, the potential is a parabola without slope at the
// surface,
//
//	V(z) = V_s + b z²
//
// Below f the current goes on, σ₁ V′ = σ₀·2bf, and so does the curvature, V″ = 2b, as
// what it balances, that along the boundary, is the same on both sides. With nodes at
// z₀ and f + d,
//
//	V₀ = V_s + b z₀²
//	V₁ = V_s + b (f² + 2f·d·σ₀/σ₁ + d²)
//	V_s = V₀ − (V₁ − V₀) z₀²/D,   D = f² + 2f·d·σ₀/σ₁ + d² − z₀²
//
// In even ground D = z₁² − z₀², and what is left out is c·z₀²z₁² of the next term, c z⁴:
// fourth order in the cells. A body in the second row is at its potential at f, behind
// its contact resistance R″: D = f² + 2f·σ₀R″ − z₀². A body that reaches the surface
// counts at its own potential, and so do the columns of a row of rods that does.
//
// Between nodes Φ is straight, beyond the outermost level; a rim held at 0 V is a
// place of its own.
//
// Source: own derivation.
type SurfacePotential struct {
	X []float64 // [m] places along the surface, increasing: the nodes of the columns, and a held rim

	ground   *Ground
	electric *Electric
	sigma    []float64 // [S/m] of the two upper rows
	ends     []int     // by column: index of a row of rods that reaches the surface there, −1: none
}

// NewSurfacePotential returns the surface of a ground with electrodes, neither of them level.
func NewSurfacePotential(g *Ground, e *Electric) *SurfacePotential {
	m := g.Grid
	s := &SurfacePotential{X: m.XC, ground: g, electric: e, sigma: make([]float64, min(2, m.NZ)*m.NX), ends: make([]int, m.NX)}
	if e.Outer {
		s.X = append(append([]float64{}, m.XC...), m.X[m.NX])
	}
	for i := range s.ends {
		s.ends[i] = -1
	}
	for b := range e.Bodies {
		if z := e.Bodies[b].Zone; e.Bodies[b].Row != nil && !z.Empty() && z.K0 == 0 {
			for i := z.I0; i < z.I1; i++ {
				s.ends[i] = b
			}
		}
	}
	return s
}

// Electrode reports whether an electrode reaches the surface at place i.
func (s *SurfacePotential) Electrode(i int) bool {
	return i < len(s.ends) && (s.ends[i] >= 0 || s.electric.BodyOf[i] >= 0)
}

// PotentialTo sets phi, one value a place, to the phasor of the state's potential at
// the surface per volt of supply [-], from the supply's neutral. The state's T and W are
// those that its potential was solved for.
func (s *SurfacePotential) PotentialTo(phi []complex128, n *State) {
	g, e := s.ground.Grid, s.electric
	rows := min(2, g.NZ)
	s.ground.SaturationRows(s.sigma, n.W, 0, rows)
	s.ground.SigmaRows(s.sigma, n.T, s.sigma, 0, rows)
	f, z0 := g.Z[1]-g.Z[0], g.ZC[0]-g.Z[0]
	for i := range g.NX {
		v := complex(n.Re[i], imagAt(n.Im, i))
		switch b := s.ends[i]; {
		case b >= 0:
			v = e.Bodies[b].Phase
		case e.BodyOf[i] < 0 && rows == 2:
			c := g.Index(i, 1)
			var d, beyond float64 // beyond: resistance times area from f to the node below [Ω·m²]
			if b := e.BodyOf[c]; b >= 0 {
				beyond = e.Bodies[b].Contact
			} else {
				d = g.ZC[1] - g.Z[1]
				beyond = d / s.sigma[c]
			}
			below := f*f + 2*f*s.sigma[i]*beyond + d*d - z0*z0
			v -= (complex(n.Re[c], imagAt(n.Im, c)) - v) * complex(z0*z0/below, 0)
		}
		phi[i] = v
	}
	if e.Outer {
		phi[g.NX] = 0
	}
}

// at returns phi at x [m].
func (s *SurfacePotential) at(phi []complex128, x float64) complex128 {
	j := sort.SearchFloat64s(s.X, x)
	switch {
	case j == 0:
		return phi[0]
	case j == len(s.X):
		return phi[j-1]
	}
	u := (x - s.X[j-1]) / (s.X[j] - s.X[j-1])
	return phi[j-1] + complex(u, 0)*(phi[j]-phi[j-1])
}

// step returns |Φ(x + 1 m) − Φ(x)| [-].
func (s *SurfacePotential) step(phi []complex128, x float64) float64 {
	return cmplx.Abs(s.at(phi, x+Pace) - s.at(phi, x))
}

// StepTo sets dst, one value a place, to the step voltage from there to one metre
// further along, |Φ(x + 1 m) − Φ(x)|, in the unit of phi.
func (s *SurfacePotential) StepTo(dst []float64, phi []complex128) {
	for i, x := range s.X {
		dst[i] = s.step(phi, x)
	}
}

// MaxStep returns the largest step voltage of all places between the first and the
// last, not the nodes alone, and where it starts [m]. Between the places at which one
// of the feet passes a node the difference is straight, and so largest at such a place.
func (s *SurfacePotential) MaxStep(phi []complex128) (most, at float64) {
	at = s.X[0]
	for _, node := range s.X {
		for _, x := range [2]float64{node - Pace, node} {
			if x < s.X[0] {
				continue
			}
			if v := s.step(phi, x); v > most {
				most, at = v, x
			}
		}
	}
	return most, at
}

// GradientTo sets dst, one value a place, to |dΦ/dx| there, in the unit of phi a metre:
// that of the steeper side. It is what the step voltage tends to for shorter steps.
func (s *SurfacePotential) GradientTo(dst []float64, phi []complex128) {
	clear(dst)
	for i := range len(s.X) - 1 {
		v := cmplx.Abs(phi[i+1]-phi[i]) / (s.X[i+1] - s.X[i])
		dst[i], dst[i+1] = math.Max(dst[i], v), math.Max(dst[i+1], v)
	}
}

// MaxPotential returns the largest |Φ| of phi and where it is [m].
func (s *SurfacePotential) MaxPotential(phi []complex128) (most, at float64) {
	at = s.X[0]
	for i, p := range phi {
		if v := cmplx.Abs(p); v > most {
			most, at = v, s.X[i]
		}
	}
	return most, at
}
