package cases

import "math"

// figure is a closed figure of a plan: the outline through its corners, or a circle.
type figure struct {
	outline [][2]float64 // [m]; nil: the circle
	center  [2]float64   // [m]
	radius  float64      // [m]
}

func (t *Target) figure() figure { return figure{t.Outline, t.Center, t.Radius} }
func (h *Heat) figure() figure   { return figure{h.Outline, h.Center, h.Radius} }

// box returns the sides [m] of the box round the figure; NaN where a value is missing.
func (f figure) box() (left, right, front, back float64) {
	if f.outline == nil {
		return f.center[0] - f.radius, f.center[0] + f.radius, f.center[1] - f.radius, f.center[1] + f.radius
	}
	left, right, front, back = inf, -inf, inf, -inf
	for _, p := range f.outline {
		left, right = math.Min(left, p[0]), math.Max(right, p[0])
		front, back = math.Min(front, p[1]), math.Max(back, p[1])
	}
	return left, right, front, back
}

// area returns the figure's area [m²], by the shoelace rule about its first corner.
func (f figure) area() float64 {
	if f.outline == nil {
		return math.Pi * f.radius * f.radius
	}
	o, sum := f.outline[0], 0.0
	for i, p := range f.outline {
		q := f.outline[(i+1)%len(f.outline)]
		sum += (p[0]-o[0])*(q[1]-o[1]) - (q[0]-o[0])*(p[1]-o[1])
	}
	return math.Abs(sum) / 2
}

// holds reports whether the place x, y [m] lies in the figure grown by margin [m] on
// all sides, its edge included.
func (f figure) holds(x, y, margin float64) bool {
	if f.outline == nil {
		return math.Hypot(x-f.center[0], y-f.center[1]) <= f.radius+margin
	}
	inside := false
	for i, p := range f.outline {
		q := f.outline[(i+1)%len(f.outline)]
		if fromSide(x, y, p, q) <= margin {
			return true
		}
		// A ray toward +x crosses the sides of a closed figure an odd number of times
		// from inside; of two sides that meet at its height one counts.
		if (p[1] > y) != (q[1] > y) && x < p[0]+(y-p[1])/(q[1]-p[1])*(q[0]-p[0]) {
			inside = !inside
		}
	}
	return inside
}

// fromSide returns the distance [m] of x, y from the side between p and q.
func fromSide(x, y float64, p, q [2]float64) float64 {
	dx, dy := q[0]-p[0], q[1]-p[1]
	along := 0.0
	if l2 := dx*dx + dy*dy; l2 > 0 {
		along = math.Max(0, math.Min(1, ((x-p[0])*dx+(y-p[1])*dy)/l2))
	}
	return math.Hypot(x-p[0]-along*dx, y-p[1]-along*dy)
}

// crossing returns two sides (from 1) of an outline that meet though they are not
// neighbours, or neighbours that fold back on each other; 0, 0: there are none.
func crossing(outline [][2]float64) (first, second int) {
	n := len(outline)
	side := func(i int) (p, q [2]float64) { return outline[i%n], outline[(i+1)%n] }
	for i := range n {
		a, b := side(i)
		// The next side folds back where it runs against this one on the same line.
		_, c := side(i + 1)
		if turn(a, b, c) == 0 && (b[0]-a[0])*(c[0]-b[0])+(b[1]-a[1])*(c[1]-b[1]) < 0 {
			return i + 1, (i+1)%n + 1
		}
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue // neighbours round the end
			}
			if p, q := side(j); meet(a, b, p, q) {
				return i + 1, j + 1
			}
		}
	}
	return 0, 0
}

// turn is twice the area of the triangle, positive where a, b, c turn left; 0 within
// the rounding of places that are meant to lie on one line.
func turn(a, b, c [2]float64) float64 {
	ux, uy, vx, vy := b[0]-a[0], b[1]-a[1], c[0]-a[0], c[1]-a[1]
	t := ux*vy - uy*vx
	if math.Abs(t) <= 1e-12*math.Hypot(ux, uy)*math.Hypot(vx, vy) {
		return 0
	}
	return t
}

// meet reports whether the sides a b and p q have a place in common.
func meet(a, b, p, q [2]float64) bool {
	sign := func(x float64) int {
		switch {
		case x > 0:
			return 1
		case x < 0:
			return -1
		}
		return 0
	}
	s1, s2 := sign(turn(a, b, p)), sign(turn(a, b, q))
	s3, s4 := sign(turn(p, q, a)), sign(turn(p, q, b))
	if s1*s2 < 0 && s3*s4 < 0 {
		return true
	}
	within := func(a, b, c [2]float64) bool { // c, on the line of a b, between them
		return math.Min(a[0], b[0]) <= c[0] && c[0] <= math.Max(a[0], b[0]) && math.Min(a[1], b[1]) <= c[1] && c[1] <= math.Max(a[1], b[1])
	}
	return s1 == 0 && within(a, b, p) || s2 == 0 && within(a, b, q) || s3 == 0 && within(p, q, a) || s4 == 0 && within(p, q, b)
}
