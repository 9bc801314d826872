//dossier:chapter Electrodes and rows

package validation

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"
)

// A reference for rods in three dimensions: boundary elements on their walls and
// flat ends, in ground whose layers enter through images. Nothing here is shared
// with the program.
//
// Each rod's surface is cut into panels, bands of its side and rings of its ends;
// a panel's current leaves it evenly. The unknown currents q make the mean
// potential over each panel that of its rod (Galerkin's form, whose current comes
// from below as the panels are refined):
//
//	Σ_q P_pq q + V₀ = V_p,   P_pq = Σ_images f/(4πσ) Σ_rods ⟨⟨1/R⟩⟩
//
// and Σ q = 0 settles V₀ where rows without end leave the earth no other return.
// A panel's current is even round the rod: the dipole that a neighbour at D raises
// is left out, which costs the current a share of at most (a/D)²/ln(D/a), as
// acosh(D/2a) less ln(D/a) says of two cylinders.
//
// Sources: ring of charge, Jackson, Classical Electrodynamics, §3 (from memory);
// images in layered ground, Tagg, Earth Resistances (1964); Sunde, Earth
// Conduction Effects in Transmission Systems (1949) (both from memory).

// earth is ground in level layers.
type earth struct {
	sigma  []float64 // [S/m] from the top
	bottom []int     // [unit] of each layer but the last
	unit   float64   // [m]
	whole  bool      // no surface: the first layer goes on upwards
}

// image stands for a unit source at depth z: factor [m/S] times a source at
// sign·z + at.
type image struct{ factor, sign, at float64 }

// series is a power series in u = exp(−2λ·unit), λ the horizontal wave number.
type series []float64

// terms is where series end. A layer of h units falls once every h terms by the product
// of the reflection factors above and below it: at a contrast of 10, by 0.82 below the
// surface and 0.67 between two boundaries.
const terms = 320

func one() series { s := make(series, terms); s[0] = 1; return s }

func (a series) times(b series) series {
	c := make(series, terms)
	for i, x := range a {
		if x == 0 {
			continue
		}
		for j, y := range b[:terms-i] {
			c[i+j] += x * y
		}
	}
	return c
}

func (a series) plus(x float64, b series) series { // a + x·b
	c := make(series, terms)
	for i := range c {
		c[i] = a[i] + x*b[i]
	}
	return c
}

func (a series) over(b series) series { // b[0] ≠ 0
	c := make(series, terms)
	for i := range c {
		v := a[i]
		for j := 1; j <= i; j++ {
			v -= b[j] * c[i-j]
		}
		c[i] = v / b[0]
	}
	return c
}

func (a series) shifted(n int) series { // a·uⁿ
	c := make(series, terms)
	if n < terms {
		copy(c[n:], a)
	}
	return c
}

// images returns what stands at layer observer for a unit source in layer source,
// at or above it. In the layer's own spectrum a wave e^(−λ|z−z′|)/(2λσ) meets the
// boundary above with reflection up and that below with down, each the fraction
// (k + r·u^h)/(1 + k·r·u^h) of the reflection r behind the next layer, h thick.
func (e *earth) images(observer, source int) []image {
	n := len(e.sigma)
	if e.whole {
		return []image{{1 / e.sigma[0], 1, 0}}
	}
	top := func(l int) int {
		if l == 0 {
			return 0
		}
		return e.bottom[l-1]
	}
	behind := func(k float64, r series, h int) series {
		r = r.shifted(h)
		return r.plus(k, one()).over(one().plus(k, r))
	}
	up, down := make([]series, n), make([]series, n)
	up[0] = one() // the surface lets nothing through
	for l := 1; l < n; l++ {
		up[l] = behind((e.sigma[l]-e.sigma[l-1])/(e.sigma[l]+e.sigma[l-1]), up[l-1], e.bottom[l-1]-top(l-1))
	}
	down[n-1] = make(series, terms)
	thick := func(l int) int {
		if l == n-1 {
			return terms // beyond the series
		}
		return e.bottom[l] - top(l)
	}
	for l := n - 2; l >= 0; l-- {
		down[l] = behind((e.sigma[l]-e.sigma[l+1])/(e.sigma[l]+e.sigma[l+1]), down[l+1], thick(l+1))
	}

	var out []image
	add := func(c series, sign float64, at, step int) {
		for i, v := range c {
			if math.Abs(v) > 1e-7 {
				out = append(out, image{v / e.sigma[source], sign, float64(at+2*i*step) * e.unit})
			}
		}
	}
	t, h := top(source), thick(source)
	again := one().over(one().plus(-1, up[source].times(down[source]).shifted(h)))
	if observer == source {
		out = append(out, image{1 / e.sigma[source], 1, 0})
		add(up[source].times(again), -1, 2*t, -1)
		if source < n-1 {
			add(down[source].times(again), -1, 2*e.bottom[source], 1)
			round := up[source].times(down[source]).times(again).shifted(h)
			add(round, 1, 0, -1)
			add(round, 1, 0, 1)
		}
		return out
	}
	through := again
	for l := source; l < observer; l++ {
		through = through.times(one().plus(1, down[l])).over(one().plus(1, down[l+1].shifted(thick(l+1))))
	}
	mirrored := through.times(up[source])
	add(through, 1, 0, -1)
	add(mirrored, -1, 2*t, -1)
	if observer < n-1 {
		b := e.bottom[observer]
		add(through.times(down[observer]), -1, 2*b, 1)
		add(mirrored.times(down[observer]), 1, 2*b-2*t, 1)
	}
	return out
}

// layer returns the layer that holds depth z.
func (e *earth) layer(z float64) int {
	l := 0
	for l < len(e.bottom) && z > float64(e.bottom[l])*e.unit {
		l++
	}
	return l
}

// panel is a band of a rod's side (r0 = r1) or a ring of one of its ends (z0 = z1).
type panel struct {
	r0, r1, z0, z1 float64 // [m]
	layer          int
}

func (p *panel) size() float64   { return p.r1 - p.r0 + p.z1 - p.z0 }
func (p *panel) at() float64     { return (p.z0 + p.z1) / 2 }
func (p *panel) square() float64 { return (p.r0*p.r0 + p.r1*p.r1) / 2 } // mean of r²
func (p *panel) width() float64  { return p.z1 - p.z0 }
func (p *panel) moved(m image) panel {
	q := *p
	q.z0, q.z1 = m.sign*p.z0+m.at, m.sign*p.z1+m.at
	return q
}

// ring returns the mean of 1/R [1/m] between two rings about one axis.
func ring(r, r2, z float64) float64 {
	s := (r+r2)*(r+r2) + z*z
	return 2 / math.Pi * mathext.CompleteK(min(4*r*r2/s, 1-1e-15)) / math.Sqrt(s)
}

// rule is a Gauss rule on 0 to 1.
type rule struct{ x, w []float64 }

func gauss(n int) rule {
	r := rule{make([]float64, n), make([]float64, n)}
	quad.Legendre{}.FixedLocations(r.x, r.w, 0, 1)
	return r
}

var outer, inner, plain = gauss(8), gauss(8), gauss(3)

// about returns the mean of 1/R between two panels about one axis.
func about(p, q panel) float64 {
	z := math.Abs(p.at() - q.at())
	size := p.size() + q.size()
	switch {
	case z > 4*size && z > 8*math.Sqrt(max(p.square(), q.square())):
		return apart(&p, &q, z, 0)
	case z > 1.5*size:
		return mean(p, plain, func(r, z float64) float64 {
			return mean(q, plain, func(r2, z2 float64) float64 { return ring(r, r2, z-z2) })
		})
	}
	// The kernel is a logarithm where rings meet: cut the source there and crowd the
	// points towards the cut, t = x³.
	return mean(p, outer, func(r, z float64) float64 {
		dr, dz := q.r1-q.r0, q.z1-q.z0
		cut := min(max(((r-q.r0)*dr+(z-q.z0)*dz)/(dr*dr+dz*dz), 0), 1)
		sum, weight := 0.0, 0.0
		for _, length := range []float64{-cut, 1 - cut} {
			for i, x := range inner.x {
				f := cut + length*x*x*x
				r2 := q.r0 + f*dr
				w := inner.w[i] * 3 * x * x * math.Abs(length) * r2
				weight += w
				sum += w * ring(r, r2, z-q.z0-f*dz)
			}
		}
		return sum / weight
	})
}

// mean averages f over a panel's area.
func mean(p panel, g rule, f func(r, z float64) float64) float64 {
	sum, weight := 0.0, 0.0
	for i, x := range g.x {
		r := p.r0 + x*(p.r1-p.r0)
		w := g.w[i] * r
		weight += w
		sum += w * f(r, p.z0+x*(p.z1-p.z0))
	}
	return sum / weight
}

// apart returns the mean of 1/R between panels whose middles are z apart in depth
// and √square across: its first two moments, from ∇²(1/R) = 0 across the axis.
func apart(p, q *panel, z, square float64) float64 {
	r2 := z*z + square
	r := math.Sqrt(r2)
	c := (p.square()+q.square())/4 - (p.width()*p.width()+q.width()*q.width())/24
	return 1/r + c*(1-3*z*z/r2)/(r2*r)
}

// array is rows of rods, every rod from top to top + length.
type array struct {
	earth            earth
	top, length, a   float64   // [m]
	s                float64   // [m] along each row; 0: one rod by itself
	x, offset, phase []float64 // [m], [m], [-] of each row
	cells            int       // panels from a rod's edge to its radius; 0: 6
}

// panels cuts a rod: the current crowds at the edge as the cube root of the
// distance and bends at boundaries of layers, where panels are small.
func (y *array) panels() []panel {
	n := y.cells
	if n == 0 {
		n = 6
	}
	fine := y.a / float64(2*n)
	const growth, widest = 1.5, 0.3
	largest := widest * 6 / float64(n)
	bottom := y.top + y.length
	var out []panel
	side := func(from, to float64, fineFrom, fineTo bool) {
		marks := []float64{from}
		lo, hi := from, to
		var tail []float64
		a, b := largest, largest
		if fineFrom {
			a = fine
		}
		if fineTo {
			b = fine
		}
		for hi-lo > 1.2*(a+b) {
			if a <= b {
				lo += a
				marks = append(marks, lo)
				a = min(a*growth, largest)
			} else {
				hi -= b
				tail = append(tail, hi)
				b = min(b*growth, largest)
			}
		}
		marks = append(marks, (lo+hi)/2)
		for i := len(tail) - 1; i >= 0; i-- {
			marks = append(marks, tail[i])
		}
		marks = append(marks, to)
		for i := range len(marks) - 1 {
			out = append(out, panel{y.a, y.a, marks[i], marks[i+1], y.earth.layer((marks[i] + marks[i+1]) / 2)})
		}
	}
	open := y.top > 0 || y.earth.whole // has an upper end
	cuts := []float64{y.top}
	for _, b := range y.earth.bottom {
		if z := float64(b) * y.earth.unit; z > y.top+1e-9 && z < bottom-1e-9 {
			cuts = append(cuts, z)
		}
	}
	cuts = append(cuts, bottom)
	for i := range len(cuts) - 1 {
		side(cuts[i], cuts[i+1], i > 0 || open, true)
	}
	disc := func(z float64, layer int) {
		r, h := y.a, fine
		for r > 1.6*h {
			out = append(out, panel{r - h, r, z, z, layer})
			r -= h
			h *= growth
		}
		out = append(out, panel{0, r, z, z, layer})
	}
	disc(bottom, y.earth.layer(bottom-1e-9))
	if open {
		disc(y.top, y.earth.layer(y.top+1e-9))
	}
	return out
}

// between fills the block of potentials [Ω] that a row, or a rod by itself, raises on
// another at x across and y along; x = y = 0 is the row itself.
//
// Of a row's rods those at −8 to 8 are summed and the rest integrated, with the
// first term of Euler and Maclaurin: the next is of order s³f‴/1000 at 8 spacings,
// 1e-7. What all rods of all rows share, the logarithm of the row's length, is
// left out: Σ q = 0.
func (y *array) between(panels []panel, x, along float64) *mat.Dense {
	const many = 8
	n := len(panels)
	own := x == 0 && along == 0
	out := mat.NewDense(n, n, nil)
	images := map[[2]int][]image{}
	for i := range n {
		for j := 0; j <= i; j++ {
			p, q := &panels[i], &panels[j]
			if p.layer < q.layer {
				p, q = q, p
			}
			key := [2]int{p.layer, q.layer}
			if images[key] == nil {
				images[key] = y.earth.images(p.layer, q.layer)
			}
			sum := 0.0
			for _, m := range images[key] {
				z := p.at() - m.sign*q.at() - m.at
				if far := math.Hypot(x, z); y.s > 0 && far > 3*y.s { // a sheet, to e^(−6π)
					sum += m.factor * 2 / y.s * math.Log(2*y.s/far)
					continue
				}
				v := 0.0
				if own {
					v = about(*p, q.moved(m))
				}
				if y.s == 0 && !own {
					v = apart(p, q, z, x*x+along*along)
				}
				if y.s > 0 {
					for k := -many; k <= many; k++ {
						if d := float64(k)*y.s - along; !own || k != 0 {
							v += apart(p, q, z, x*x+d*d)
						}
					}
					square := x*x + z*z
					for _, side := range []float64{-along, along} {
						d := (many+0.5)*y.s + side
						r := math.Sqrt(d*d + square)
						v += math.Log(2*y.s/(d+r))/y.s - y.s*d/(r*r*r)/24
					}
				}
				sum += m.factor * v
			}
			sum /= 4 * math.Pi
			out.Set(i, j, sum)
			out.Set(j, i, sum)
		}
	}
	return out
}

// currents returns the current [A] of one rod of each row at its phase in volts.
func (y *array) currents(t *testing.T) []float64 {
	t.Helper()
	q, _ := y.charges(t)
	out, n := make([]float64, len(y.x)), len(y.panels())
	for i := range out {
		for k := range n {
			out[i] += q[i*n+k]
		}
	}
	return out
}

// charges returns the current [A] of each panel of one rod of each row, row by row, and of
// rows the potential of the ground far away [V].
func (y *array) charges(t *testing.T) ([]float64, float64) {
	t.Helper()
	panels := y.panels()
	n, rows := len(panels), len(y.x)
	size := n * rows
	if y.s > 0 {
		size++
	}
	a, b, q := mat.NewDense(size, size, nil), mat.NewVecDense(size, nil), mat.NewVecDense(size, nil)
	blocks := map[[2]float64]*mat.Dense{}
	for i := range rows {
		for j := range rows {
			key := [2]float64{math.Round(math.Abs(y.x[i]-y.x[j])*1e9) / 1e9, math.Abs(y.offset[i] - y.offset[j])}
			if blocks[key] == nil {
				blocks[key] = y.between(panels, key[0], key[1])
			}
			a.Slice(i*n, (i+1)*n, j*n, (j+1)*n).(*mat.Dense).Copy(blocks[key])
		}
		for k := range n {
			b.SetVec(i*n+k, y.phase[i])
			if y.s > 0 {
				a.Set(i*n+k, size-1, 1)
				a.Set(size-1, i*n+k, 1)
			}
		}
	}
	if err := q.SolveVec(a, b); err != nil {
		t.Fatalf("boundary elements of %d panels: %v", size, err)
	}
	if y.s > 0 {
		return q.RawVector().Data[:size-1], q.AtVec(size - 1)
	}
	return q.RawVector().Data, 0
}
