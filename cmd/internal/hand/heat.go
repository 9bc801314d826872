package hand

import "math"

// ierfc, i2erfc and i3erfc are the first three integrals of erfc from x to ∞.
// Source: Carslaw & Jaeger (1959), appendix II, from memory.
func ierfc(x float64) float64  { return math.Exp(-x*x)/math.Sqrt(math.Pi) - x*math.Erfc(x) }
func i2erfc(x float64) float64 { return (math.Erfc(x) - 2*x*ierfc(x)) / 4 }
func i3erfc(x float64) float64 { return (ierfc(x) - 2*x*i2erfc(x)) / 6 }

// LossShare is the share [-] of the heat put evenly into a slab of thickness H that
// has left it by conduction, in endless ground of the same kind, at fo = αt/H² [-]:
//
//	8√fo · [i³erfc(0) − i³erfc(1/(2√fo))]
//
// 0.752 √fo while small. Source: slab source, Carslaw & Jaeger (1959), §2.11 and
// §10.2, superposed and averaged over the slab (section numbers from memory).
// Range fo > 0.
func LossShare(fo float64) float64 { return 1 - KeptShare(fo) }

// KeptShare is 1 − [LossShare], to a few units of the last digit where it is small:
// there, with x = 1/(2√fo), by the series of i³erfc,
//
//	2x/√π − 2x²/3 + (4/x) Σ_{k≥0} (2/√π)(−1)ᵏ x^(2k+4) (2k)!/(k! (2k+4)!)
func KeptShare(fo float64) float64 {
	x := 1 / (2 * math.Sqrt(fo))
	if x > 0.5 {
		return 1 - 4/x*(i3erfc(0)-i3erfc(x))
	}
	sum, term := 0.0, 8/math.Sqrt(math.Pi)*x*x*x
	for k := range 20 {
		n := float64(2 * k)
		sum += term / ((n + 1) * (n + 2) * (n + 3) * (n + 4))
		term *= -x * x / float64(k+1)
	}
	return 2*x/math.Sqrt(math.Pi) - 2*x*x/3 + sum
}

// SlabRise is the temperature rise in that slab over the rise without loss qt/C [-],
// at y = (distance from its middle)/H, |y| ≤ ½:
//
//	1 − 2 i²erfc((½ − y)/(2√fo)) − 2 i²erfc((½ + y)/(2√fo))
//
// Source and range as [LossShare].
func SlabRise(y, fo float64) float64 {
	s := 2 * math.Sqrt(fo)
	return 1 - 2*i2erfc((0.5-y)/s) - 2*i2erfc((0.5+y)/s)
}

// HeatUpTime is the time [s] at which the mean of an evenly heated slab has risen by
// rise [K], with its losses: power q [W/m³], heat capacity C [J/(m³·K)],
// diffusivity alpha [m²/s], thickness H [m]. It is the t of
//
//	(q t/C) · KeptShare(αt/H²) = rise
//
// Source and range as [LossShare]. The mean goes on rising as √t without end, so
// there always is one.
func HeatUpTime(q, capacity, alpha, thickness, rise float64) float64 {
	bare := capacity * rise / q
	return solve(bare, func(t float64) float64 {
		return t/bare*KeptShare(alpha*t/(thickness*thickness)) - 1
	})
}

// CoolingMean is the mean temperature rise of a hot slab that cools in endless ground
// of the same kind, over its rise at the start [-], at fo = αt/H² [-]:
//
//	erf(x) − (1 − e^(−x²))/(x√π),  x = 1/(2√fo)
//
// Source: Carslaw & Jaeger (1959), §2.2 (from memory), averaged over the slab.
// Range fo > 0.
func CoolingMean(fo float64) float64 {
	x := 1 / (2 * math.Sqrt(fo))
	return math.Erf(x) + math.Expm1(-x*x)/(x*math.Sqrt(math.Pi))
}

// CoolingRise is the same at y = (distance from the middle)/H:
//
//	½ [erf((½ − y)/(2√fo)) + erf((½ + y)/(2√fo))]
//
// Source and range as [CoolingMean].
func CoolingRise(y, fo float64) float64 {
	s := 2 * math.Sqrt(fo)
	return (math.Erf((0.5-y)/s) + math.Erf((0.5+y)/s)) / 2
}

// CoolDownTime is the time [s] after which the mean rise of the hot slab has fallen
// to the share left [-], 0 < left < 1: diffusivity alpha [m²/s], thickness H [m].
// Source as [CoolingMean].
func CoolDownTime(alpha, thickness, left float64) float64 {
	scale := thickness * thickness / alpha
	return scale * solve(1e-6, func(fo float64) float64 { return left - CoolingMean(fo) })
}

// solve returns the root of a function that rises from below zero, by doubling
// from start and then bisection in the logarithm.
func solve(start float64, f func(float64) float64) float64 {
	hi := start
	for f(hi) < 0 && hi < math.MaxFloat64/4 {
		hi *= 2
	}
	lo := hi / 2
	for f(lo) > 0 && lo > math.SmallestNonzeroFloat64*1e10 {
		lo /= 2
	}
	for range 60 {
		if mid := math.Sqrt(lo) * math.Sqrt(hi); f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// SurfaceLoss is the steady heat flux [W/m²] from ground held at a temperature below
// resistances in series to the air: difference [K], film coefficient h [W/(m²·K)],
// cover R [m²·K/W], and the resistance of the layers between, Σ d/λ [m²·K/W]:
//
//	q = ΔT/(1/h + R + Σ d/λ)
//
// Source: conduction in series (textbook).
func SurfaceLoss(difference, film, cover, layers float64) float64 {
	return difference / (1/film + cover + layers)
}

// HeatedArea is the area [m²] of a layer held at a rise ΔT [K] that a constant heat
// rate Q [W] keeps hot at time t [s], with conduction into cap and base: the layer's
// thickness H [m] and heat capacity M [J/(m³·K)], the conductivity k [W/(m·K)] and
// the heat capacity C [J/(m³·K)] of cap and base; and the share [-] of the heat that is
// in the layer then.
//
//	A = Q M H/(4 k C ΔT) · G(t_D),  t_D = 4 k C t/(M H)²,  share = G/t_D
//	G = e^(t_D) erfc(√t_D) + 2√(t_D/π) − 1
//
// Source: Marx & Langenheim, Trans. AIME 216, 312 (1959), from memory. The layer is
// at one temperature across its thickness, no heat is conducted along it, and cap and
// base are endless.
func HeatedArea(power, rise, thickness, layerCapacity, conductivity, capacity, t float64) (area, share float64) {
	store := layerCapacity * thickness
	td := 4 * conductivity * capacity * t / (store * store)
	g := marx(td)
	return power * store / (4 * conductivity * capacity * rise) * g, g / td
}

// marx is G of [HeatedArea], to a few units of the last digit.
func marx(td float64) float64 {
	x := math.Sqrt(td)
	if x < 0.5 { // the closed form loses digits: e^(x²)erfc(x) = Σ (−x)ⁿ/Γ(n/2 + 1)
		sum, power := 0.0, 1.0
		for n := 0; n <= 30; n++ {
			if n >= 2 {
				sum += power / math.Gamma(float64(n)/2+1)
			}
			power *= -x
		}
		return sum
	}
	return scaledErfc(x) + 2*x/math.Sqrt(math.Pi) - 1
}

// scaledErfc is e^(x²)erfc(x) for x > 0; beyond 6, where the product would lose
// digits, by its continued fraction.
// Source: Abramowitz & Stegun (1964), 7.1.14, from memory.
func scaledErfc(x float64) float64 {
	if x < 6 {
		return math.Exp(x*x) * math.Erfc(x)
	}
	f := x
	for n := 40; n >= 1; n-- {
		f = x + float64(n)/2/f
	}
	return 1 / (f * math.Sqrt(math.Pi))
}
