package physics

import "math"

// The row correction comes from one quantity: the potential of a row of equal
// line sources of finite length, less that of the sheet that carries the same
// current, on a line beside it at depth z, at distance D across the section and
// offset y along the row:
//
//	φ = Z·J/σ,  Z(z) = (1/π) ∫ h(√(D² + (z − z′)²), y) dz′  over the sources
//	h(ρ, y) = Σ_{n≥1} K₀(2πnρ/s)·cos(2πny/s)
//
// with J = I/(sℓ) the current per area of sheet, s the spacing, ℓ the length. Z
// falls towards the ends of the rods, about to half: there current leaves more
// easily. Halfway down a long rod it is (s/2π)·ln(s/(2πa)) at the wall of the row's own
// rods, and −(s/4π)·ln(1 − 2e^(−2πD/s)cos(2πy/s) + e^(−4πD/s)) beside
// another row; its mean over the row's own rods is
// (s/2π)·[ln(s/(2πa)) − s/(6ℓ)] + O(e^(−2πℓ/s)).
//
// Source: superposition of point sources; the sum over images is Gradshteyn &
// Ryzhik (1980), Table of Integrals, 8.526 (from memory).

// interval is a range of depth [m].
type interval struct{ top, bottom float64 }

func (i interval) length() float64 { return i.bottom - i.top }

// The ground's surface lets no current through: above it stands the row's mirror
// image, which the sheet's own equation has and the correction must have too.

// rowMutual returns the mean over depths at of Z [m] beside a row whose rods
// stand in the interval rods, at a distance above 0.
func rowMutual(s float64, rods, at interval, distance, y float64) float64 {
	if rods.length() > longRods*s {
		q := math.Exp(-2 * math.Pi * distance / s)
		return -s / (4 * math.Pi) * math.Log(1-2*q*math.Cos(2*math.Pi*y/s)+q*q)
	}
	return rowLessSheet(s, rods, at, distance, distance, y) + image(s, rods, at, distance, distance, y)
}

// rowSelf is rowMutual at the wall of the row's own rods, of radius a, against
// the sheet at the row itself.
func rowSelf(s float64, rods, at interval, a float64) float64 {
	if l := rods.length(); l > longRods*s {
		return s / (2 * math.Pi) * (math.Log(s/(2*math.Pi*a)) - s/(6*l))
	}
	return rowLessSheet(s, rods, at, a, 0, 0) + image(s, rods, at, a, 0, 0)
}

// image is rowLessSheet of the row's mirror image in the surface. What a row has
// beyond its sheet falls as e^(−2πρ/s), to 1e-6 at twice the spacing.
func image(s float64, rods, at interval, d, x, y float64) float64 {
	if rods.top+at.top > 2*s {
		return 0
	}
	return rowLessSheet(s, interval{-rods.bottom, -rods.top}, at, d, x, y)
}

// rowLessSheet sums the rods of a row at distance d and offset y, and takes away
// the sheet at distance x.
func rowLessSheet(s float64, rods, at interval, d, x, y float64) float64 {
	l, h := rods.length(), at.length()
	// (1/h)∫∫ of ½[γ + ln(ρ/2s)], then the rods, nearest first, each pair less what
	// the sheet has of it.
	sum := l*(eulerGamma-math.Log(2*s))/2 + twice(rods, at, func(u float64) float64 { return logTwice(u, x) })/(2*h)
	line := func(c float64) float64 {
		return twice(rods, at, func(u float64) float64 { return inverseTwice(u, c) }) / h
	}
	sum += s / 4 * line(math.Hypot(d, y))
	const pairs = 200
	for m := 1; m <= pairs; m++ {
		p := float64(m) * s
		before := line(math.Hypot(d, p-y))
		beyond := before
		if y != 0 {
			beyond = line(math.Hypot(d, p+y))
		}
		sum += s/4*(before+beyond) - l/(2*float64(m))
	}
	// The rest: each pair is l·(2y² − d² − ⟨(z−z′)²⟩)/(4m³s²) + O(m⁻⁵).
	middle := (rods.top+rods.bottom)/2 - (at.top+at.bottom)/2
	square := middle*middle + (l*l+h*h)/12
	sum += l * (2*y*y - d*d - square) / (4 * s * s) / (2 * (pairs + 0.5) * (pairs + 0.5))
	return sum / math.Pi
}

// longRods is the ratio of length to spacing beyond which the forms for long
// rods serve: there the ends hold less than 1/longRods of the current.
const longRods = 12

const eulerGamma = 0.57721566490153286061

// twice returns ∫∫ f″(z − z′) over two intervals, from f.
func twice(a, b interval, f func(u float64) float64) float64 {
	return f(b.bottom-a.top) - f(b.top-a.top) - f(b.bottom-a.bottom) + f(b.top-a.bottom)
}

// inverseTwice is the second integral of 1/√(u² + c²).
func inverseTwice(u, c float64) float64 { return u*math.Asinh(u/c) - math.Hypot(u, c) }

// logTwice is the second integral of ln √(u² + x²).
func logTwice(u, x float64) float64 {
	q := u*u + x*x
	if q == 0 {
		return 0
	}
	f := (u*u-x*x)/4*math.Log(q) - 3*u*u/4
	if x > 0 {
		f += x * u * math.Atan(u/x)
	}
	return f
}
