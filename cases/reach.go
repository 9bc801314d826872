package cases

import (
	"math"
	"math/cmplx"
	"slices"

	"soiljoule/physics"
)

// farthestNeighbour returns the largest distance [m] of an electrode of a plan from the
// one nearest to it, 0 where there are no two.
func (c *Case) farthestNeighbour() float64 {
	most := 0.0
	for _, d := range c.Nearest() {
		if !math.IsInf(d, 1) {
			most = math.Max(most, d)
		}
	}
	return most
}

// sidesShare is the share of the power that a plan's insulated sides may take; in a
// square it is up to a third more, and below 1 %.
const sidesShare = 0.0075

// sidesReach returns how far beyond the outermost electrodes of a plan its insulated sides
// must be [m]: twice the distance of neighbours, and more where the electrodes together
// reach farther, as a ring's or a pair's do. Line currents q_i at z_i = x + iy [A/m, at
// 1 S/m], from the middle of a circle of insulated ground of radius B, have by their images
//
//	Σ_m (|Σ q_i z_i^m|² + |Σ q_i z̄_i^m|²) / (4π m B^{2m})
//
// less power than Σ Re(V_i q̄_i). Where phases mix closely the sums cancel. The circle is
// as large as the square of the same reach. Source: own derivation, images in a circle
// (Milne-Thomson's circle theorem, from memory). Of more electrodes than mostFringed the
// currents are not worked out: their sides stand at twice the distance.
func (c *Case) sidesReach() float64 {
	near := 2 * c.farthestNeighbour()
	n := len(c.Electrodes)
	if near == 0 || n > mostFringed {
		return near
	}
	left, right, front, back := inf, -inf, inf, -inf
	rods, phase := make([]physics.Rod, n), make([]complex128, n)
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		left, right, front, back = least(left, e.X), most(right, e.X), least(front, e.Y), most(back, e.Y)
		rods[i], phase[i] = physics.Rod{X: e.X, Y: e.Y, Radius: e.Radius}, physics.Phasor(c.Supply.Phases, e.Phase)
	}
	q, err := physics.EndlessCurrents(rods, phase)
	if err != nil {
		return near // rods too close for line currents, which Build tells of
	}
	radius, power := 0.0, 0.0
	z := make([]complex128, n)
	for i := range q {
		z[i] = complex(rods[i].X-(left+right)/2, rods[i].Y-(front+back)/2)
		radius = math.Max(radius, cmplx.Abs(z[i]))
		power += real(phase[i] * cmplx.Conj(q[i]))
	}
	const orders = 12
	var moments [orders + 1]float64 // over radius^{2m}
	raised := make([]complex128, n)
	for i := range raised {
		raised[i] = 1
	}
	for m := 1; m <= orders; m++ {
		var a, b complex128
		for i := range q {
			raised[i] *= z[i] / complex(radius, 0)
			a, b = a+q[i]*raised[i], b+q[i]*cmplx.Conj(raised[i])
		}
		moments[m] = (real(a*cmplx.Conj(a)) + real(b*cmplx.Conj(b))) / (4 * math.Pi * float64(m))
	}
	missing := func(reach float64) float64 {
		ratio, sum := radius/(radius+reach)*math.Sqrt(math.Pi)/2, 0.0
		for m := orders; m >= 1; m-- {
			sum = (sum + moments[m]) * ratio * ratio
		}
		return sum
	}
	low, high := near, near
	for missing(high) > sidesShare*power && high < 100*radius {
		low, high = high, 2*high
	}
	for range 30 {
		if mid := (low + high) / 2; missing(mid) > sidesShare*power {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// Reach is how far the ground is modelled beyond zone and electrodes, and why.
type Reach struct {
	Heat      float64 // [m] 3√(αt), α the largest of the layers
	Potential float64 // [m] twice the larger of active length and row distance; plan: see sidesReach
}

// Reach returns the case's.
func (c *Case) Reach() Reach {
	alpha := 0.0
	for _, l := range c.Layers {
		alpha = math.Max(alpha, l.ThermalConductivity/l.HeatCapacity)
	}
	r := Reach{Heat: 3 * math.Sqrt(alpha*c.span())}
	if c.View == Plan {
		r.Potential = c.sidesReach()
		return r
	}
	for _, e := range c.Electrodes {
		r.Potential = math.Max(r.Potential, 2*(e.Bottom-e.Top))
	}
	r.Potential = math.Max(r.Potential, 2*c.widestGap())
	return r
}

// widestGap returns the largest distance across between neighbouring electrodes
// of a section [m].
func (c *Case) widestGap() float64 {
	if c.View != Section {
		return 0
	}
	var x []float64
	for _, e := range c.Electrodes {
		x = append(x, e.X)
	}
	slices.Sort(x)
	gap := 0.0
	for i := 1; i < len(x); i++ {
		gap = math.Max(gap, x[i]-x[i-1])
	}
	return gap
}
