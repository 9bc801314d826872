package hand

import "math"

// rodsAt is the rods of a pattern that stand at one distance [m] from the one looked at,
// at 0 this itself, and what they count: the share of its own current, with the sign of
// its phase, that they carry.
type rodsAt struct{ distance, weight float64 }

// onRing lists the rods of [Ring] as one of them sees them, in n phases.
func onRing(radius float64, n int) []rodsAt {
	out := []rodsAt{{0, 1}}
	for k := 1; k < 6; k++ {
		out = append(out, rodsAt{2 * radius * math.Sin(math.Pi*float64(k)/6), math.Cos(2 * math.Pi * float64(k) / float64(n))})
	}
	return out
}

// mostNear is how many rods of endless rows are summed at most.
const mostNear = 100_000

// inRows lists the rods of endless rows, one phase each, as one of them sees them:
// distance d [m] from row to row, s [m] from rod to rod, in n phases (1: two poles).
// They are cut off smoothly by exp(−(r/r₀)⁴), r₀ being three times the pattern's period:
// five times the period moves the current by 1e-4 at most. nil: more than mostNear.
func inRows(d, s float64, staggered bool, n int) []rodsAt {
	apart := 2 * math.Pi / float64(n) // of the phases of neighbouring rows
	if n == 1 {
		apart = math.Pi
	}
	cut := 3 * math.Max(2*math.Pi/apart*d, s)
	reach := 2.2 * cut // where 1e-10 are left
	if 4*reach*reach/(d*s) > mostNear {
		return nil
	}
	out := []rodsAt{{0, 1}}
	rows, rods := int(reach/d)+1, int(reach/s)+1
	for m := -rows; m <= rows; m++ {
		shift := 0.0
		if staggered && m%2 != 0 {
			shift = s / 2
		}
		for k := -rods; k <= rods; k++ {
			if r := math.Hypot(float64(m)*d, float64(k)*s+shift); r > 0 {
				out = append(out, rodsAt{r, math.Cos(apart*float64(m)) * math.Exp(-math.Pow(r/cut, 4))})
			}
		}
	}
	return out
}

// FiniteOverEndless returns the current of rods of length ℓ [m] and radius a [m] over that
// of endless ones of impedance V/(ρI′) = z, both in endless even ground:
//
//	I z/(σVℓ) = z (1, 1)·P⁻¹·(1, 1)/ℓ,   P_kl = Σ_rods w p_kl
//
// Along each rod the current lies even in two parts, the ends, 1.25 a each, and what is
// between, which must be at one potential; p_kl is the mean potential of l on k,
//
//	Σ ± f(z − z′)/(4π l_k l_l),   f(u) = √(u² + r²) − u·asinh(u/r)
//
// over the ends z of one and z′ of the other, r the rod's distance, on itself a. Source:
// Sunde, Earth Conduction Effects (1949), for the potentials of lines (from memory); the
// parts are as in the plan's factor. Range a ≤ ℓ/10; NaN for shorter rods or no list.
func FiniteOverEndless(z, length, a float64, rods []rodsAt) float64 {
	if !(a <= length/10) || rods == nil {
		return math.NaN()
	}
	half, end := length/2, 1.25*a
	outer, inner := [2]float64{-half, end - half}, [2]float64{end - half, half - end}
	other := [2]float64{half - end, half}
	potential := func(k, l [2]float64, r float64) float64 {
		f := func(u float64) float64 { u = math.Abs(u); return math.Hypot(u, r) - u*math.Asinh(u/r) }
		return (f(k[0]-l[0]) - f(k[0]-l[1]) - f(k[1]-l[0]) + f(k[1]-l[1])) / (4 * math.Pi * (k[1] - k[0]) * (l[1] - l[0]))
	}
	var ends, between, across float64
	for _, n := range rods {
		r := n.distance
		if r == 0 {
			r = a
		}
		ends += n.weight * (potential(outer, outer, r) + potential(outer, other, r)) / 2
		between += n.weight * potential(inner, inner, r)
		across += n.weight * potential(outer, inner, r)
	}
	return z / length * (ends + between - 2*across) / (ends*between - across*across)
}
