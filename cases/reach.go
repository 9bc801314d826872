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
	Heat      float64 // [m] 3√(αt) beyond all, α the largest of the layers
	Potential float64 // [m] plan: see sidesReach; section: see fieldReach; axisymmetric: below the rods, see rodsReach
	Middle    float64 // [m] section: x from which Potential is counted, at the surface
}

// Reach returns the case's.
func (c *Case) Reach() Reach {
	alpha := 0.0
	for _, l := range c.Layers {
		alpha = math.Max(alpha, l.ThermalConductivity/l.HeatCapacity)
	}
	r := Reach{Heat: 3 * math.Sqrt(alpha*c.span())}
	switch c.View {
	case Plan:
		r.Potential = c.sidesReach()
	case Section:
		r.Potential, r.Middle = c.fieldReach()
	default:
		r.Potential = c.rodsReach()
	}
	return r
}

// edgeShare is the share of the largest voltage along the surface of a section that closed
// edges of the ground may be expected to change it by, as edgeError has it.
const edgeShare = 0.03

// fieldReach returns how far from the middle of a section's electrodes, x [m] of the
// surface, closed edges must be, to both sides and down [m]; 0 without electrodes. Where
// phases follow one another from row to row an array is polarised: what its middle passes
// from row to row cancels, and it reaches out as far as two line currents ±q [A/m] at its
// ends do, W apart, at depth D, however near its rows stand. Above one of them the surface
// of even ground has at most
//
//	ρq/(2π) ln(1 + W²/D²)
//
// and a closed half circle of radius B about the middle adds that of the images, which is
// uniform near the middle and there
//
//	ρq/(2π) W²/B²
//
// so that B = W/√(ε ln(1 + W²/D²)) adds no more than ε of the largest, and D/√ε for rows
// one below the other. Edges at B to both sides and at depth B add 0.86 of what the circle
// does. D is the depth of the middle of the deepest electrode. Currents of the end rows
// change by some tenth of that, for the supply drives them through the ground near the rods
// first. At most farthestField. Source: own derivation, images of line currents in a plane
// and a circle.
func (c *Case) fieldReach() (reach, middle float64) {
	width, depth, middle := c.electrodesAcross()
	if depth == 0 {
		return 0, 0
	}
	b := depth / math.Sqrt(edgeShare)
	if width > 1e-6*depth {
		ratio := width / depth
		b = width / math.Sqrt(edgeShare*math.Log1p(ratio*ratio))
	}
	return math.Min(b, farthestField), middle
}

// farthestField [m] is the most that is asked for a field, that of an array of a kilometre:
// the boiling points that are known end 2.2 km below the water table.
const farthestField = 2000.0

// electrodesAcross returns the width from the first to the last electrode of a section
// [m], the depth of the middle of the deepest [m], and x halfway [m].
func (c *Case) electrodesAcross() (width, depth, middle float64) {
	left, right := inf, -inf
	for i := range c.Electrodes {
		e := &c.Electrodes[i]
		left, right = math.Min(left, e.X-e.Width/2), math.Max(right, e.X+e.Width/2)
		depth = math.Max(depth, (e.Top+e.Bottom)/2)
	}
	return right - left, depth, (left + right) / 2
}

// What the closed bottom alone and one closed side alone add, of what a closed half circle
// as far away does: the images in planes of a dipole along the surface, π²/12 of all those
// in bottom and surface, a quarter of that in one side.
const bottomShare, sideShare = math.Pi * math.Pi / 12, 0.25

// edgeError returns by what share of the largest voltage along a section's surface one
// closed edge at a distance [m] from where reach is counted may change it, at most all.
func edgeError(share, reach, distance float64) float64 {
	return math.Min(1, share*edgeShare*reach*reach/(distance*distance))
}

// rodsReach returns how far below its electrodes an axisymmetric case is modelled for
// their field [m]: twice the longest, and no less than the outer radius R. In a cylinder
// whose edge is held at 0 V a field falls with depth as e^(−2.405 z/R), and faster where it
// is closed (3.832): of what comes to a closed bottom R below, e^(−4.8) = 0.8 % is turned
// back to the rods. Source: own derivation, first zeros of J0 and J1.
func (c *Case) rodsReach() float64 {
	reach := 0.0
	for _, e := range c.Electrodes {
		reach = math.Max(reach, math.Max(2*(e.Bottom-e.Top), c.Extent.Radius))
	}
	return reach
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
