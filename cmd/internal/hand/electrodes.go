package hand

import "math"

// Ring returns V/(ρI′) [-] of six line electrodes evenly on a ring of the given
// radius R [m], each of radius a [m], in endless even ground: volts (phase to
// neutral) over resistivity times current per metre of electrode,
//
//	six phases, 60° from one to the next   ln(2√3 R/a)/(2π)
//	three phases, A B C A B C              ln((√3/2) R/a)/(2π)
//
// Source: [RingLog]. Range a ≪ R: electrodes that touch are at a = R/2. NaN for other
// phases.
func Ring(radius, a float64, phases int) float64 {
	if phases != 3 && phases != 6 {
		return math.NaN()
	}
	return RingLog(6, phases, 2*radius, a) / (2 * math.Pi)
}

// RingLog returns 2πV/(ρI′) [-] of count line electrodes evenly on a ring of diameter D
// [m], each of radius a [m], in endless even ground, whose phases step by φ = 2π/poles
// from one to the next, over and over; count is a multiple of poles. All carry equal
// currents, so that of the logarithms of all
//
//	2πV/(ρI′) = −ln a − Σ_{j=1}^{count−1} cos(jφ) ln(D sin(πj/count))
//
// Source: own derivation, superposition of line currents. Range a ≪ D/count.
func RingLog(count, poles int, diameter, a float64) float64 {
	x := -math.Log(a)
	for j := 1; j < count; j++ {
		turn := 2 * math.Pi * float64(j%poles) / float64(poles)
		x -= math.Cos(turn) * math.Log(diameter*math.Sin(math.Pi*float64(j)/float64(count)))
	}
	return x
}

// RingArea is the area [m²] of the hexagon whose corners are six electrodes on a
// ring of radius R [m]: (3√3/2) R².
func RingArea(radius float64) float64 { return 1.5 * math.Sqrt(3) * radius * radius }

// TriangularFactor is c [-] of [Triangular]. The rows of one phase across the
// nearest neighbours, √3 s from rod to rod and s/2 apart, are sheets with
// harmonics; their sum is
//
//	c = (√3/2π) e^(π/3√3) Π_{j≥1} (1 − (−q)ʲ)^(−2 cos(2πj/3)),  q = e^(−π/√3)
//
// 0.56605 by this product, and to the last digit of double precision 2√3π/Γ(1/3)³.
// Source: row harmonics (Gradshteyn & Ryzhik 8.526, from memory) summed over the
// rows of a triangular grid; the form with Γ was found from the product's digits,
// and is proved nowhere here.
func TriangularFactor() float64 {
	q := math.Exp(-math.Pi / math.Sqrt(3))
	log := math.Pi / (3 * math.Sqrt(3))
	power := 1.0
	for j := 1; j <= 30; j++ { // q^30 is 2e-24
		power *= -q
		log -= 2 * math.Cos(2*math.Pi*float64(j)/3) * math.Log1p(-power)
	}
	return math.Sqrt(3) / (2 * math.Pi) * math.Exp(log)
}

// Triangular returns V/(ρI′) [-] of an interior electrode of an endless triangular
// three-phase grid, spacing s [m] between nearest neighbours, radius a [m]:
//
//	ln(c s/a)/(2π),  c = 0.566
//
// Source: [TriangularFactor]. Range a ≪ s.
func Triangular(spacing, a float64) float64 {
	return math.Log(TriangularFactor()*spacing/a) / (2 * math.Pi)
}

// Alternating returns V/(ρI′) [-] of endless rows of opposite poles, volts from a
// pole to the middle between them: distance d [m] from row to row, spacing s [m]
// of the rods in a row, radius a [m]:
//
//	d/(4s) + ln(s/(2πa))/(2π)
//
// the sheets' own field and the first row's harmonics. Source: row of line sources
// (Gradshteyn & Ryzhik 8.526, from memory). What the other rows' harmonics add is
// about e^(−2πd/s)/π: 1e-3 at d = 0.9 s.
func Alternating(distance, spacing, a float64) float64 {
	return distance/(4*spacing) + math.Log(spacing/(2*math.Pi*a))/(2*math.Pi)
}

// SurfaceRod is the resistance [Ω] of one rod from the surface down to length [m],
// radius a [m], to ground far away of resistivity rho [Ω·m]:
//
//	R = ρ/(2πL) · (ln(4L/a) − 1)
//
// Source: Dwight, Trans. AIEE 55, 1319 (1936), from memory. Range a ≪ L. Its current
// is 1.7 to 2.6 % below that of a fine solution for L = 1.8 to 12 m, a = 0.15 m.
func SurfaceRod(rho, length, a float64) float64 {
	return rho / (2 * math.Pi * length) * (math.Log(4*length/a) - 1)
}

// BuriedRod is the same for a rod from depth top to bottom [m], by the mean potential
// at its wall of an even line current and of its image in the surface, with
// L = bottom − top:
//
//	R = ρ/(4πL²) · {2f(L) − 2f(0) + f(2·bottom) − 2f(top + bottom) + f(2·top)}
//	f(u) = u asinh(u/a) − √(u² + a²)
//
// Source: Sunde, Earth Conduction Effects (1949), from memory; f is the second
// integral of 1/√(u² + a²). Range a ≪ L; from the surface it is [SurfaceRod] but for
// terms of a/L.
func BuriedRod(rho, top, bottom, a float64) float64 {
	l := bottom - top
	f := func(u float64) float64 { return u*math.Asinh(u/a) - math.Hypot(u, a) }
	return rho / (4 * math.Pi * l * l) * (2*f(l) - 2*f(0) + f(2*bottom) - 2*f(top+bottom) + f(2*top))
}
