package physics

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// rowLayers says what resistivity a row's own drop meets, depth by depth. Near the
// rods' ends and near boundaries of layers that is not 1/σ of the depth: the current
// is uneven along the rods, and what converges on a rod comes from both sides.
//
// Harmonic n of the row, k = 2πn/s, is taken as f(z)·e^(−k|x|)·cos(ky). The least
// dissipation among such fields (Ritz's method in Kantorovich's form) is that of
//
//	−(σ f′)′/k + 2kσ f = 2 e^(−ka) J(z)
//
// with e^(−ka) the weight of the harmonic at the rods' wall and J the current per
// area of sheet. For a J that is right, Σ f/J is the drop's resistance at each depth.
// J is taken as σ(z)·j(z) along the rods, what a long rod sends into each layer times
// its shape in even ground: there j solves, for the row by itself far from its return,
//
//	−1/(2π)·∫ ln|z − z′| j dz′ + Σ f = constant,
//
// sheet and harmonics, with their images in the surface. The drop's resistance is
// Z(z)·met(z), with
//
//	met(z) = Σ f/(σ j Σ f₁)
//
// and f₁ that of an even current in even ground of 1 S/m: the closed form Z holds
// for that one. Harmonics beyond the last that is solved for fall off within
// s/(2π√2·24) and meet what is there.
//
// Two rows of rods from 7 radii and 0.23 s of length on draw 0.3 to 1.3 % less than a
// solution in three dimensions says in even ground, and within 2 % of it in layers of a
// ratio up to 10. Beyond longRods j stays even, which makes a jump of about 0.5 % there.
// What is left out: a flat end that lies on a boundary sends its current straight into a
// better layer beyond. Rods that just fill a resistive layer draw more for it, 4 % at a
// ratio of 2 and 16 % at 5. Where rods fill a conductive layer, j has more of the current
// at the ends than they carry, 2 % of the rod's at each. What lies on one side from a
// distance D on counts in series with that whole side: ground that hardly conducts
// doubles the drop wherever it begins, up to some 1.2 s, though it adds no more than its
// mirror image, −(s/2π)·ln(1 − e^(−4πD/s)) of Z. Bodies and inserts count for nothing;
// a wall of insert adds that.
//
// Source: Kantorovich & Krylov, Approximate Methods of Higher Analysis (1958), ch. IV
// (from memory). Errors: validation/rows_layered_test.go.
type rowLayers struct {
	met    []float64 // [Ω·m] by level, counted from the first
	ground []float64 // [Ω·m] by level, where the row's heat goes

	row     *Row
	rods    interval
	column  int          // of the row
	first   int          // level of the grid; the rods feel none beyond the first and last
	height  []float64    // [m] by level
	along   []float64    // [-] j by level, 1 on average over the rods; 0 beyond
	shares  [][2][]share // by level: the columns left and right that take the row's heat
	beside  [][2]float64 // [Ω·m] by level: of each side; +Inf where bodies fill it
	uniform []float64    // [m] Σ f₁ by level
	sigma   []float64    // [S/m] by level, as the row meets it

	diagonal, side, f, sum []float64 // of the solution
}

const (
	harmonics    = 24    // solved for
	shapePieces  = 96    // of the rods' length, the least that a piece of j may be
	reach        = 2     // [-] spacings beyond the rods: f falls off to 2e-8 there
	leastLayered = 1e-30 // [S/m] so that ground without any water is no hole
)

// newRowLayers returns the resistivities of one row, its shape j taken from one of
// the others of the same rods.
func newRowLayers(e *Electric, r *Row, column int, rods interval, others []*rowLayers) (*rowLayers, error) {
	g := e.Grid
	first, past := g.Row(rods.top-reach*r.Spacing), g.Row(rods.bottom+reach*r.Spacing)+1
	v := func() []float64 { return make([]float64, past-first) }
	l := &rowLayers{met: v(), ground: v(), row: r, rods: rods, column: column, first: first, height: v(), along: v(), uniform: v(), sigma: v(),
		beside: make([][2]float64, past-first), diagonal: v(), side: v(), f: v(), sum: v()}
	for i := range l.along {
		k := first + i
		l.height[i] = g.Z[k+1] - g.Z[k]
		l.along[i] = max(0, min(g.Z[k+1], rods.bottom)-max(g.Z[k], rods.top)) / l.height[i]
		if l.along[i] < 1e-6 { // the same depth, written in two units
			l.along[i] = 0
		}
		if base := k * g.NX; i > 0 && slices.Equal(e.closed[base:base+g.NX], e.closed[base-g.NX:base]) {
			l.shares = append(l.shares, l.shares[i-1])
		} else {
			l.shares = append(l.shares, r.spread(g, k, e.closed))
		}
		l.sigma[i] = 1
	}
	for _, o := range others {
		if o != nil && o.row.Spacing == r.Spacing && o.row.Radius == r.Radius && o.rods == rods {
			l.along, l.uniform = o.along, o.uniform
			return l, nil
		}
	}
	l.solve()
	copy(l.uniform, l.sum)
	if rods.length() > longRods*r.Spacing {
		return l, nil
	}
	return l, l.shape(g.Z[first : past+1])
}

// shape sets along to j, on the pieces of the rods that cuts gives, with levels'
// edges z.
func (l *rowLayers) shape(z []float64) error {
	cut := l.cuts(z)
	if len(cut) < 3 {
		return nil
	}
	n := len(cut) - 1
	in := append([]float64(nil), l.along...)
	a, j, one := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	line := func(u float64) float64 { return logTwice(u, 0) }
	// The sheet's potential counts from a distance outside of it, which changes j by
	// a factor only, and that is taken off again.
	outside := math.Log(4 * (l.row.Spacing + l.rods.length()))
	for c := range n {
		one.SetVec(c, 1)
		clear(l.along)
		copy(l.along[cut[c]:cut[c+1]], in[cut[c]:cut[c+1]])
		l.solve()
		source := interval{z[cut[c]], z[cut[c+1]]}
		mirror := interval{-source.bottom, -source.top}
		for b := range n {
			at := interval{z[cut[b]], z[cut[b+1]]}
			drop := 0.0
			for k := cut[b]; k < cut[b+1]; k++ {
				drop += l.sum[k] * l.height[k] / at.length()
			}
			sheet := outside*source.length() - (twice(source, at, line)+twice(mirror, at, line))/(2*at.length())
			a.Set(b, c, drop+sheet/math.Pi)
		}
	}
	if err := j.SolveVec(a, one); err != nil {
		return fmt.Errorf("current along rods %.4g m long and %.4g m apart: %w", l.rods.length(), l.row.Spacing, err)
	}
	copy(l.along, in)
	total, length := 0.0, 0.0
	for b := range n {
		for k := cut[b]; k < cut[b+1]; k++ {
			length += in[k] * l.height[k]
			l.along[k] *= j.AtVec(b)
			total += l.along[k] * l.height[k]
		}
	}
	for b := range n {
		if !(j.AtVec(b)/total > 0) {
			return fmt.Errorf("current along rods %.4g m long and %.4g m apart: not all of one sign", l.rods.length(), l.row.Spacing)
		}
	}
	for k := range l.along {
		l.along[k] *= length / total
	}
	return nil
}

// cuts returns the levels where pieces of the rods begin, and one past the last. From
// both ends inwards each piece is no shorter than the rods' radius, over which a flat end
// spreads its current: finer than that j would follow the sheet's edge, as d^(−½), which
// no rod has, into ever finer meshes.
func (l *rowLayers) cuts(z []float64) []int {
	first, past := 0, len(l.along)
	for first < past && l.along[first] == 0 {
		first++
	}
	for past > first && l.along[past-1] == 0 {
		past--
	}
	least := max(l.row.Radius, l.rods.length()/shapePieces) * (1 - 1e-9)
	above, below := []int{first}, []int{past}
	for {
		a, b := above[len(above)-1], below[len(below)-1]
		i, k := a, b
		for i < past && z[i]-z[a] < least {
			i++
		}
		for k > first && z[b]-z[k] < least {
			k--
		}
		if i >= k || z[k]-z[i] < least { // what is left in the middle is one piece
			break
		}
		above, below = append(above, i), append(below, k)
	}
	slices.Reverse(below)
	return append(above, below...)
}

// assemble sets met and ground from the ground's σ. Rings of ground round a rod are in
// series, so the resistivity of a side is the mean of its 1/σ, weighted as the row's
// heat; the two sides are in parallel.
func (l *rowLayers) assemble(e *Electric) {
	for i, sides := range l.shares {
		base := (l.first + i) * e.Grid.NX
		open, conductance := 0.0, 0.0
		for side, shares := range sides {
			sum := 0.0
			for _, s := range shares {
				sum += s.part / e.sigma[base+s.column]
			}
			l.beside[i][side] = math.Inf(1)
			if len(shares) > 0 {
				l.beside[i][side] = sum
				open++
				conductance += 1 / sum
			}
		}
		l.ground[i] = open / conductance
		if open == 0 { // bodies fill the level
			l.ground[i] = 1 / e.sigma[base+l.column]
		}
		l.sigma[i] = max(1/l.ground[i], leastLayered)
	}
	l.solve()
	for i, j := range l.along {
		l.met[i] = l.ground[i]
		if j > 0 {
			l.met[i] = l.sum[i] / (l.sigma[i] * j * l.uniform[i])
		}
	}
}

// deal adds a row's own heat at one level of the grid to the ground beside it: a side
// takes it as its conductance, and a side's columns take it as J²/σ.
func (l *rowLayers) deal(q []float64, e *Electric, level int, heat float64) {
	i, base := level-l.first, level*e.Grid.NX
	conductance := 1/l.beside[i][0] + 1/l.beside[i][1]
	for side, shares := range l.shares[i] {
		power := heat / l.beside[i][side] / conductance
		for _, s := range shares {
			q[base+s.column] += power * s.part / e.sigma[base+s.column] / l.beside[i][side]
		}
	}
}

// solve sets sum to Σ f by level, for J = σ·along.
func (l *rowLayers) solve() {
	s, last := l.row.Spacing, len(l.sum)-1
	rest := -s / (2 * math.Pi) * math.Log(-math.Expm1(-2*math.Pi*l.row.Radius/s)) // Σ e^(−ka)/k, all n
	clear(l.sum)
	for n := 1; n <= harmonics; n++ {
		k := 2 * math.Pi * float64(n) / s
		weight := math.Exp(-k * l.row.Radius)
		rest -= weight / k
		for i, h := range l.height {
			l.diagonal[i] = 2 * k * k * l.sigma[i] * h
			l.f[i] = 2 * k * weight * l.along[i] * l.sigma[i] * h
		}
		for i := range last {
			l.side[i] = 2 / (l.height[i]/l.sigma[i] + l.height[i+1]/l.sigma[i+1])
			l.diagonal[i] += l.side[i]
			l.diagonal[i+1] += l.side[i]
		}
		for i := 1; i <= last; i++ {
			m := l.side[i-1] / l.diagonal[i-1]
			l.diagonal[i] -= m * l.side[i-1]
			l.f[i] += m * l.f[i-1]
		}
		l.f[last] /= l.diagonal[last]
		for i := last - 1; i >= 0; i-- {
			l.f[i] = (l.f[i] + l.side[i]*l.f[i+1]) / l.diagonal[i]
		}
		for i, f := range l.f {
			l.sum[i] += f
		}
	}
	for i, j := range l.along {
		l.sum[i] += max(0, rest) * j
	}
}
