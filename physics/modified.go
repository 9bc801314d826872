package physics

import "math"

// ringMeans returns the means over a ring between two radii [m], a circle where both are
// one, of I₀(κr) and K₀(κr), and of K₀(κ|r − r′|) from one place of the ring to another,
//
//	⟨I₀⟩ = 2 [r I₁(κr)]/(κ(b² − a²)),  ⟨K₀⟩ = −2 [r K₁(κr)]/(κ(b² − a²))
//
// the last from φ″ + φ′/r − κ²φ = −s within the ring, by the Wronskian of I and K. Where κr
// is small they are those of ln r in the constant of K₀, for κ = 0 of ln(far/r). Where κb is
// so large that I₀ may be beyond all numbers nothing is seen from beyond the ring, and the last
// is 1/(2κb) of a circle, 2 (1 − 1/(κ(b − a)))/(κ²(b² − a²)) of a wide ring: then small is 1,
// for what it meets there is 0.
func ringMeans(kappa, a, b, far float64) (small, large, own float64) {
	const near = 1e-3 // the closed form loses 1e-16/(κb)², the logarithm (κb)²
	const most = 600
	if y := kappa * b; y > most {
		if a == b {
			return 1, 0, 1 / (2 * y)
		}
		x := kappa * a
		return 1, 0, 2 / (y*y - x*x) * (1 - 1/math.Max(y-x, 1))
	}
	if kappa*b < near {
		constant := math.Log(far)
		if kappa > 0 {
			constant = -math.Log(kappa/2) - eulerGamma
		}
		if a == b {
			return 1, constant - math.Log(b), constant - math.Log(b)
		}
		// In u = r², of which places are even: means of ln u, and of the larger of two.
		p, q := a*a, b*b
		log := func(u float64) (one, two float64) {
			if u == 0 {
				return 0, 0
			}
			return u*math.Log(u) - u, u*u/2*math.Log(u) - u*u/4
		}
		p1, p2 := log(p)
		q1, q2 := log(q)
		return 1, constant - (q1-p1)/(q-p)/2, constant - ((q2-p2)-p*(q1-p1))/((q-p)*(q-p))
	}
	if a == b {
		small, large = besselI0(kappa*b), besselK0(kappa*b)
		return small, large, small * large
	}
	x, y := kappa*a, kappa*b
	f := 2 / (y*y - x*x)
	ix, kx, iy, ky := 0.0, 1.0, y*besselI1(y), y*besselK1(y)
	if x > 0 {
		ix, kx = x*besselI1(x), x*besselK1(x)
	}
	return f * (iy - ix), f * (kx - ky), f * (1 - f*(ix*(kx-ky)+ky*(iy-ix)))
}

// besselI0 and besselI1 are the modified Bessel functions of the first kind, by their
// series: (x²/4)^k/(k!)² and (x/2)^(2k+1)/(k!(k+1)!).
func besselI0(x float64) float64 {
	q := x * x / 4
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= q / (k * k)
		sum += term
	}
	return sum
}

// besselI1 is I₁, see besselI0.
func besselI1(x float64) float64 {
	q := x * x / 4
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= q / (k * (k + 1))
		sum += term
	}
	return sum * x / 2
}

// besselK0 and besselK1 are those of the second kind: up to 2 by their series, beyond by
// Abramowitz & Stegun (1964) 9.8.6 and 9.8.8, good to 2e-7.
func besselK0(x float64) float64 {
	if x > 2 {
		y := 2 / x
		return math.Exp(-x) / math.Sqrt(x) * (1.25331414 + y*(-0.07832358+y*(0.02189568+y*(-0.01062446+y*(0.00587872+y*(-0.00251540+y*0.00053208))))))
	}
	q := x * x / 4
	log := -math.Log(x/2) - eulerGamma
	sum, term, harmonic := log, 1.0, 0.0
	for k := 1.0; k < 20; k++ {
		term *= q / (k * k)
		harmonic += 1 / k
		if term < 1e-18 {
			break
		}
		sum += term * (log + harmonic)
	}
	return sum
}

// besselK1 is K₁, see besselK0.
func besselK1(x float64) float64 {
	if x > 2 {
		y := 2 / x
		return math.Exp(-x) / math.Sqrt(x) * (1.25331414 + y*(0.23498619+y*(-0.03655620+y*(0.01504268+y*(-0.00780353+y*(0.00325614-y*0.00068245))))))
	}
	// K₁ = (1/x − I₁K₀)/I₀, the Wronskian.
	return (1/x - besselI1(x)*besselK0(x)) / besselI0(x)
}
