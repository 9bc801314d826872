package physics

import (
	"cmp"
	"errors"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"

	"soiljoule/mesh"
)

// Stratum is a level layer of ground as upright rods meet it.
type Stratum struct {
	Bottom       float64 // [m] depth; of the last +Inf
	Conductivity float64 // [S/m]
}

// meanConductivity returns the mean of layers between two depths [m].
func meanConductivity(ground []Stratum, top, bottom float64) float64 {
	sum, above := 0.0, 0.0
	for _, s := range ground {
		sum += s.Conductivity * max(0, min(s.Bottom, bottom)-max(above, top))
		above = s.Bottom
	}
	return sum / (bottom - top)
}

// besideSlab returns layers with their conductivities times one factor beside a slab from
// top to bottom [m], and times another within.
func besideSlab(ground []Stratum, top, bottom, beside, within float64) []Stratum {
	var out []Stratum
	above := 0.0
	for _, s := range ground {
		for _, part := range []struct{ from, to, by float64 }{{0, top, beside}, {top, bottom, within}, {bottom, math.Inf(1), beside}} {
			if end := min(s.Bottom, part.to); end > max(above, part.from) {
				out = append(out, Stratum{end, s.Conductivity * part.by})
			}
		}
		above = s.Bottom
	}
	return out
}

// strataModes takes the potential of upright rods in level layers apart into modes of
// depth. In ground whose conductivity changes with depth only,
//
//	−(σ Z′)′ = κ² σ Z,  Z′ = 0 at the surface and far below,  ∫ σ Z_m Z_n dz = δ_mn
//
// and a current I that leaves at depth z′ has, at depth z and a distance r,
//
//	φ = I/(2π) Σ_m Z_m(z) Z_m(z′) K₀(κ_m r)
//
// where K₀(κr) is −ln r of the mode without depth, κ = 0, in a constant that currents
// which sum to zero do not feel. Layers enter by Z alone, and what is round enters by
// means of K₀ over circles. Depth is cut into finite volumes, finest at the rods' ends,
// whose modes are the eigenvectors of a small matrix.
//
// Source: separation of variables; Sunde (1949), Earth Conduction Effects in Transmission
// Systems, for layered earth (from memory).
type strataModes struct {
	kappa []float64   // [1/m] rising; the first is 0
	z     *mat.Dense  // [1/√S] Z by level and mode
	edges []float64   // [m] of the levels
	sigma []float64   // [S/m] of the levels
	face  []float64   // [S/m²] from each level to the next
	wall  [2]int      // levels along the rods, from the first to past the last
	ends  []strataEnd // of the rods in the ground
	far   float64     // [m] where the mode without depth is zero
}

// strataEnd is the plane of the rods' flat ends between two levels.
type strataEnd struct {
	mode  []float64 // [1/√S] Z there
	apart float64   // [m/S] what a current per area raises there beside what levels show
}

const (
	endCells   = 24  // of a rod's radius, of the levels at its ends
	endGrowth  = 1.3 // of levels from there on
	wallLevels = 16  // along a rod at least
	endRings   = 4   // of a flat end
	farAway    = 30  // times the size of what stands in the ground, where it is closed below
	deepModes  = 40  // [-] κr beyond which K₀(κr) is nothing, 5e-19
)

// newStrataModes returns the modes for rods from top to top + length [m], the thinnest
// and the thickest of radius [m], in an area of a size [m] across.
func newStrataModes(strata []Stratum, top, length, thin, thick, size float64) (*strataModes, error) {
	bottom := top + length
	fine := max(thin/endCells, thick/200)
	marks := []float64{bottom}
	if top > 0 {
		marks = []float64{top, bottom}
	}
	deepest := bottom + farAway*(size+length+thick)
	forced := []float64{0, bottom, deepest}
	if top > 0 {
		forced = append(forced, top)
	}
	for _, s := range strata {
		if s.Bottom < deepest {
			forced = append(forced, s.Bottom)
		}
	}
	slices.Sort(forced)
	edges := levels(forced, marks, fine, top, bottom, length/wallLevels)
	n := len(edges) - 1
	sigma, height := make([]float64, n), make([]float64, n)
	for i, l := 0, 0; i < n; i++ {
		height[i] = edges[i+1] - edges[i]
		for l < len(strata)-1 && strata[l].Bottom <= (edges[i]+edges[i+1])/2 {
			l++
		}
		sigma[i] = max(strata[l].Conductivity, leastLayered)
	}
	a, face := mat.NewSymDense(n, nil), make([]float64, n-1)
	for i := range face {
		g := 2 / (height[i]/sigma[i] + height[i+1]/sigma[i+1])
		face[i] = g
		mi, mj := sigma[i]*height[i], sigma[i+1]*height[i+1]
		a.SetSym(i, i, a.At(i, i)+g/mi)
		a.SetSym(i+1, i+1, g/mj)
		a.SetSym(i, i+1, -g/math.Sqrt(mi*mj))
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(a, true) {
		return nil, errors.New("no modes of depth")
	}
	m := &strataModes{kappa: eigen.Values(nil), z: new(mat.Dense), edges: edges, sigma: sigma, face: face, far: farAway * (size + length + thick)}
	eigen.VectorsTo(m.z)
	for i := range n {
		for k := range n {
			m.z.Set(i, k, m.z.At(i, k)/math.Sqrt(sigma[i]*height[i]))
		}
	}
	for k, v := range m.kappa {
		m.kappa[k] = math.Sqrt(max(0, v))
	}
	m.kappa[0] = 0              // but for rounding
	at := func(z float64) int { // edges nearer than a billionth are one
		i, _ := slices.BinarySearch(edges, z)
		if i > n || i > 0 && z-edges[i-1] < edges[i]-z {
			i--
		}
		return i
	}
	m.wall = [2]int{at(top), at(bottom)}
	for _, z := range marks {
		i := at(z)
		up, down := 2*sigma[i-1]/height[i-1], 2*sigma[i]/height[i]
		e := strataEnd{mode: make([]float64, n), apart: 1 / (up + down)}
		for k := range n {
			e.mode[k] = (up*m.z.At(i-1, k) + down*m.z.At(i, k)) / (up + down)
		}
		m.ends = append(m.ends, e)
	}
	return m, nil
}

// levels cuts depth at the forced edges, and between them so that a level is at most as
// high as fine + (endGrowth − 1) times its distance from the nearest mark, and between
// top and bottom as most.
func levels(forced, marks []float64, fine, top, bottom, most float64) []float64 {
	allowed := func(z float64) float64 {
		near := math.Inf(1)
		for _, m := range marks {
			near = min(near, math.Abs(z-m))
		}
		h := fine + (endGrowth-1)*near
		if z > top && z < bottom {
			h = min(h, most)
		}
		return h
	}
	edges := []float64{forced[0]}
	for i := range len(forced) - 1 {
		a, b := forced[i], forced[i+1]
		if b-a < 1e-9*max(1, b) {
			continue
		}
		// As many levels as ∫ dz/allowed asks for, each with the same part of it.
		const points = 400
		sum := make([]float64, points+1)
		for p := range points {
			z := place(a, b, float64(p)+0.5, points)
			sum[p+1] = sum[p] + (place(a, b, float64(p+1), points)-place(a, b, float64(p), points))/allowed(z)
		}
		n := max(1, int(math.Ceil(sum[points])))
		p := 0
		for j := 1; j < n; j++ {
			want := sum[points] * float64(j) / float64(n)
			for sum[p+1] < want {
				p++
			}
			f := (want - sum[p]) / (sum[p+1] - sum[p])
			edges = append(edges, place(a, b, float64(p)+f, points))
		}
		edges = append(edges, b)
	}
	return edges
}

// place returns the p-th of n points from a to b, which crowd towards both.
func place(a, b, p, n float64) float64 {
	t := p / n
	// t³(10 − 15t + 6t²) is flat to second order at both ends.
	return a + (b-a)*t*t*t*(10+t*(6*t-15))
}

// rodPieces are rings of a rod's surface: the wall at its levels, then the rings of its flat
// ends, from inside out. A piece's current leaves it evenly.
type rodPieces struct {
	radius float64
	z      *mat.Dense // [1/√S] Z by piece and mode
	inner  []float64  // [m] radii of each piece; of the wall both are the rod's
	outer  []float64
}

// pieces returns those of a rod.
func (m *strataModes) pieces(radius float64) *rodPieces {
	n := len(m.kappa)
	p := &rodPieces{radius: radius}
	count := m.wall[1] - m.wall[0] + endRings*len(m.ends)
	p.z = mat.NewDense(count, n, nil)
	add := func(z []float64, inner, outer float64) {
		p.z.SetRow(len(p.inner), z)
		p.inner, p.outer = append(p.inner, inner), append(p.outer, outer)
	}
	for i := m.wall[0]; i < m.wall[1]; i++ {
		add(m.z.RawRowView(i), radius, radius)
	}
	for _, e := range m.ends {
		inner := 0.0
		for r := range endRings { // the current crowds towards the edge
			f := float64(endRings-1-r) / endRings
			outer := radius * (1 - f*f)
			add(e.mode, inner, outer)
			inner = outer
		}
	}
	return p
}

// means calls do with the means of K₀(κr) between pieces i ≥ j of a rod. Between rings of
// radii in turn it is I₀(κr) of the inner times K₀(κr) of the outer, by the addition
// theorem.
func (p *rodPieces) means(kappa, far float64, do func(i, j int, mean float64)) {
	n := len(p.inner)
	small, large, own := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		if i > 0 && p.inner[i] == p.inner[i-1] && p.outer[i] == p.outer[i-1] {
			small[i], large[i], own[i] = small[i-1], large[i-1], own[i-1]
			continue
		}
		small[i], large[i], own[i] = ringMeans(kappa, p.inner[i], p.outer[i], far)
	}
	for i := range n {
		for j := range i + 1 {
			mean := own[i]
			if p.inner[i] != p.inner[j] || p.outer[i] != p.outer[j] {
				in, out := i, j
				if p.outer[i] > p.outer[j] || p.inner[i] > p.inner[j] {
					in, out = j, i
				}
				mean = small[in] * large[out]
			}
			do(i, j, mean)
		}
	}
}

// self returns the mean potential [V/A] over each piece of a rod that a current of each
// raises.
func (m *strataModes) self(p *rodPieces) *mat.SymDense {
	out := mat.NewSymDense(len(p.inner), nil)
	for k, kappa := range m.kappa {
		p.means(kappa, m.far, func(i, j int, mean float64) {
			out.SetSym(i, j, out.At(i, j)+p.z.At(i, k)*p.z.At(j, k)*mean/(2*math.Pi))
		})
	}
	first := m.wall[1] - m.wall[0]
	for e := range m.ends {
		for r := range endRings {
			i := first + e*endRings + r
			out.SetSym(i, i, out.At(i, i)+m.ends[e].apart/(math.Pi*(p.outer[i]*p.outer[i]-p.inner[i]*p.inner[i])))
		}
	}
	return out
}

// outward returns, by mode, Z of a rod whose pieces have shares of a current, as it is
// seen from beyond the rod: times I₀(κr), which no distance changes.
func (m *strataModes) outward(p *rodPieces, shares []float64) []float64 {
	w := make([]float64, len(m.kappa))
	for k, kappa := range m.kappa {
		small := 0.0
		for i, s := range shares {
			if i == 0 || p.inner[i] != p.inner[i-1] || p.outer[i] != p.outer[i-1] {
				small, _, _ = ringMeans(kappa, p.inner[i], p.outer[i], m.far)
			}
			w[k] += s * small * p.z.At(i, k)
		}
	}
	return w
}

// between returns the potential [V/A] that rods, or pieces, of outward Z raise on each
// other at a distance d [m].
func (m *strataModes) between(a, b []float64, d float64) float64 {
	sum := a[0] * b[0] * math.Log(m.far/d)
	for k := 1; k < len(a) && m.kappa[k]*d < deepModes; k++ {
		sum += a[k] * b[k] * besselK0(m.kappa[k]*d)
	}
	return sum / (2 * math.Pi)
}

// around is what other rods raise on rods, by mode, over what a current of those does:
// Σ_j K₀(κ d_j) times current j over the rod's own.
type around []float64

// count counts a current at a distance d [m], so many times the rod's own.
func (a around) count(m *strataModes, d, times float64) {
	a[0] += times * math.Log(m.far/d)
	for k := 1; k < len(a) && m.kappa[k]*d < deepModes; k++ {
		a[k] += times * besselK0(m.kappa[k]*d)
	}
}

// shares returns the shares of a rod's current by piece that give all pieces one
// potential among others around it that have the same shares, nil where there are none;
// self is as it returns it.
func (m *strataModes) shares(p *rodPieces, self *mat.SymDense, others around) []float64 {
	n := len(p.inner)
	each := make([][]float64, n)
	one := make([]float64, n)
	for i := range n {
		clear(one)
		one[i] = 1
		each[i] = m.outward(p, one)
	}
	a, ones := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		ones.SetVec(i, 1)
		for j := range i + 1 {
			v := self.At(i, j)
			for k, of := range others {
				if of != 0 { // as where κ is large: there each may be beyond all numbers
					v += each[i][k] * each[j][k] * of / (2 * math.Pi)
				}
			}
			a.SetSym(i, j, v)
		}
	}
	var chol mat.Cholesky
	var q mat.VecDense
	if !chol.Factorize(a) || chol.SolveVecTo(&q, ones) != nil {
		return nil
	}
	q.ScaleVec(1/mat.Sum(&q), &q)
	return q.RawVector().Data
}

// strataRods is upright rods from one depth to another in level layers, each with the
// shape of its current along it settled.
//
// Rods of one kind, as thick and as far from the nearest, have one shape: that which takes
// least power with the currents of rods without end, all others having it too. Where all are
// of one kind that is Thomson's principle, held to what rods alike can do: so their currents
// are second order in what the shape is off, and none beyond the true.
type strataRods struct {
	modes   *strataModes
	rods    []Rod
	outward [][]float64 // by rod and mode
	self    []float64   // [V/A] by rod
	shape   []*rodShape // by rod, of one kind the same
}

// rodShape is a rod's pieces and their shares of its current.
type rodShape struct {
	pieces *rodPieces
	shares []float64
}

// rodKind is what rods of one shape have in common.
type rodKind struct{ radius, near float64 } // [m]

// rodPair is all pairs of rods that are equally far apart.
type rodPair struct {
	apart   float64 // [m]
	current float64 // [A²] the sum of Re I_i* I_j
}

// pairsOf returns the pairs of which one rod is of a kind, those of which both are counted
// twice, by rising distance: in an array few distances differ.
func pairsOf(rods []Rod, current []complex128, of func(i int) bool) []rodPair {
	var all []rodPair
	for i, r := range rods {
		for j, o := range rods[:i] {
			times := 0.0
			for _, k := range [2]int{i, j} {
				if of(k) {
					times++
				}
			}
			if times > 0 {
				all = append(all, rodPair{math.Hypot(r.X-o.X, r.Y-o.Y), times * real(current[i]*cmplx.Conj(current[j]))})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b rodPair) int { return cmp.Compare(a.apart, b.apart) })
	out := all[:0]
	for _, p := range all {
		if n := len(out); n > 0 && p.apart <= out[n-1].apart*(1+1e-9) { // but for rounding
			out[n-1].current += p.current
			continue
		}
		out = append(out, p)
	}
	return out
}

// newStrata returns rods from top to top + length [m] in layers, whose shapes are those of the
// phasors by rod (alternating).
func newStrata(rods []Rod, phase []complex128, strata []Stratum, top, length float64) (*strataRods, error) {
	thin, thick, size := math.Inf(1), 0.0, 0.0
	kind := make([]rodKind, len(rods))
	for i, r := range rods {
		thin, thick = min(thin, r.Radius), max(thick, r.Radius)
		kind[i] = rodKind{r.Radius, math.Inf(1)}
		for j, o := range rods[:i] {
			d := math.Hypot(r.X-o.X, r.Y-o.Y)
			kind[i].near, kind[j].near, size = min(kind[i].near, d), min(kind[j].near, d), max(size, d)
		}
	}
	m, err := newStrataModes(strata, top, length, thin, thick, size)
	if err != nil {
		return nil, err
	}
	var kinds []rodKind // in the order of the rods
	of := make([]int, len(rods))
	for i, k := range kind {
		k.near = math.Round(k.near/k.radius*100) * k.radius / 100 // the shape hardly feels it
		if of[i] = slices.Index(kinds, k); of[i] < 0 {
			of[i], kinds = len(kinds), append(kinds, k)
		}
	}
	current, err := lineCurrents(endlessMatrix(rods), alternating(phase))
	if err != nil {
		return nil, err
	}
	others, own := make([]around, len(kinds)), make([]float64, len(kinds)) // these over those
	for c := range kinds {
		others[c] = make(around, len(m.kappa))
		for _, p := range pairsOf(rods, current, func(i int) bool { return of[i] == c }) {
			others[c].count(m, p.apart, p.current)
		}
	}
	for i, c := range of {
		own[c] += squared(current[i])
	}
	pieces, selves := map[float64]*rodPieces{}, map[float64]*mat.SymDense{}
	s := &strataRods{modes: m, rods: rods, outward: make([][]float64, len(rods)), self: make([]float64, len(rods)), shape: make([]*rodShape, len(rods))}
	for c, k := range kinds {
		p, self := pieces[k.radius], selves[k.radius]
		if p == nil {
			p = m.pieces(k.radius)
			self = m.self(p)
			pieces[k.radius], selves[k.radius] = p, self
		}
		var shares []float64
		if own[c] > 0 {
			shares = m.shares(p, self, add(make(around, len(m.kappa)), 1/own[c], others[c]))
		}
		if shares == nil { // they hardly carry any: as with the nearest fed the other way round
			nearest := make(around, len(m.kappa))
			if !math.IsInf(k.near, 1) {
				nearest.count(m, k.near, -1)
			}
			if shares = m.shares(p, self, nearest); shares == nil {
				return nil, errTooClose
			}
		}
		v := mat.NewVecDense(len(shares), shares)
		outward, alone, shape := m.outward(p, shares), mat.Inner(v, self, v), &rodShape{p, shares}
		for i := range rods {
			if of[i] == c {
				s.outward[i], s.self[i], s.shape[i] = outward, alone, shape
			}
		}
	}
	return s, nil
}

// matrix returns p_ij [V/A], in a constant that makes it positive definite and that currents
// which sum to zero do not feel.
func (s *strataRods) matrix() *mat.SymDense {
	p := mat.NewSymDense(len(s.rods), nil)
	for i, r := range s.rods {
		for j, o := range s.rods[:i] {
			p.SetSym(i, j, s.modes.between(s.outward[i], s.outward[j], math.Hypot(r.X-o.X, r.Y-o.Y)))
		}
		p.SetSym(i, i, s.self[i])
	}
	return p
}

// rodField is the potential that one ampere of a rod raises at the levels along it and one
// beyond each end, and its slope, by distance: tabled at radii that grow by a factor.
type rodField struct {
	first, factor float64     // ln of the first radius, and of one over the next
	phi, slope    [][]float64 // [V/A], [V/(A·m)] by radius and level
}

// fieldRadii are the radii of a table to a factor of ten: straight between them the slope of
// a line current is 0.05 % off.
const fieldRadii = 36

// field returns that of a rod of outward Z, from its wall to a distance [m].
func (m *strataModes) field(outward []float64, radius, distance float64) *rodField {
	f := &rodField{first: math.Log(radius), factor: math.Ln10 / fieldRadii}
	from, past := max(0, m.wall[0]-1), min(m.wall[1]+1, len(m.sigma))
	for n := range int(math.Log(max(1, distance/radius))/f.factor) + 3 {
		r := math.Exp(f.first + float64(n)*f.factor)
		phi, slope := make([]float64, past-from), make([]float64, past-from)
		for k := 0; k < len(outward) && m.kappa[k]*r < deepModes; k++ {
			a, b := math.Log(m.far/r), -1/r
			if k > 0 {
				a, b = besselK0(m.kappa[k]*r), -m.kappa[k]*besselK1(m.kappa[k]*r)
			}
			for i := range phi {
				z := m.z.At(from+i, k) * outward[k] / (2 * math.Pi)
				phi[i] += a * z
				slope[i] += b * z
			}
		}
		f.phi, f.slope = append(f.phi, phi), append(f.slope, slope)
	}
	return f
}

// density is the power density of a slab's rods in the ground as found: where it lies in
// plan, whatever its scale.
type density struct {
	strata  *strataRods
	fields  []*rodField // by rod
	current []complex128
	endless []complex128 // of rods without end

	phi, gx, gy []complex128 // by level, of a place
}

// newDensity returns that of rods of the currents given.
func (s *strataRods) newDensity(current, endless []complex128) *density {
	m := s.modes
	d := &density{strata: s, fields: make([]*rodField, len(s.rods)), current: current, endless: endless}
	n := min(m.wall[1]+1, len(m.sigma)) - max(0, m.wall[0]-1)
	d.phi, d.gx, d.gy = make([]complex128, n), make([]complex128, n), make([]complex128, n)
	return d
}

// table makes the rods' fields up to a distance [m] from them.
func (d *density) table(distance float64) {
	known := map[*rodShape]*rodField{}
	for i, r := range d.strata.rods {
		shape := d.strata.shape[i]
		if known[shape] == nil {
			known[shape] = d.strata.modes.field(d.strata.outward[i], r.Radius, distance)
		}
		d.fields[i] = known[shape]
	}
}

// mostPlaces is at how many places of a plan the density is worked out: where there are more
// cells it lies straight between them, as it varies over a part of the rods' length.
const mostPlaces = 8000

// over returns the ratio by cell of a plan, at most mostRatio.
func (d *density) over(g *mesh.Grid) []float64 {
	const mostRatio = 4 // where rods without end hardly heat, it says nothing
	stride := 1
	for (g.NX/stride+2)*(g.NZ/stride+2) > mostPlaces && stride < min(g.NX, g.NZ) {
		stride++
	}
	places := func(n int) (at []int) {
		for i := 0; i < n-1; i += stride {
			at = append(at, i)
		}
		return append(at, n-1)
	}
	xs, zs := places(g.NX), places(g.NZ)
	d.table(math.Hypot(g.X[g.NX]-g.X[0], g.Z[g.NZ]-g.Z[0]))
	coarse := make([]float64, len(xs)*len(zs))
	for b, k := range zs {
		for a, i := range xs {
			coarse[b*len(xs)+a] = min(mostRatio, d.ratio(g.XC[i], g.ZC[k]))
		}
	}
	if stride == 1 {
		return coarse
	}
	out := make([]float64, g.Cells())
	b := 0
	for k := range g.NZ {
		for b < len(zs)-2 && zs[b+1] <= k {
			b++
		}
		v, a := between(g.ZC[zs[b]], g.ZC[zs[b+1]], g.ZC[k]), 0
		for i := range g.NX {
			for a < len(xs)-2 && xs[a+1] <= i {
				a++
			}
			u := between(g.XC[xs[a]], g.XC[xs[a+1]], g.XC[i])
			row, next := coarse[b*len(xs)+a:], coarse[(b+1)*len(xs)+a:]
			out[k*g.NX+i] = (1-v)*((1-u)*row[0]+u*row[1]) + v*((1-u)*next[0]+u*next[1])
		}
	}
	return out
}

// between returns how far x is from a to b [-].
func between(a, b, x float64) float64 { return (x - a) / (b - a) }

// ratio returns the power density at a place, on average along the rods, over that of rods
// without end.
func (d *density) ratio(x, y float64) float64 {
	m := d.strata.modes
	clear(d.phi)
	clear(d.gx)
	clear(d.gy)
	var ex, ey complex128
	for i, r := range d.strata.rods {
		dx, dy := x-r.X, y-r.Y
		dist := math.Hypot(dx, dy)
		if dist < r.Radius { // as at the wall
			if dist == 0 {
				dx, dist = 1, 1
			}
			dx, dy, dist = dx/dist*r.Radius, dy/dist*r.Radius, r.Radius
		}
		ux, uy := dx/dist, dy/dist
		e := d.endless[i] * complex(-1/(2*math.Pi*dist), 0)
		ex, ey = ex+e*complex(ux, 0), ey+e*complex(uy, 0)
		f := d.fields[i]
		at := (math.Log(dist) - f.first) / f.factor
		n := min(int(at), len(f.phi)-2)
		w := at - float64(n)
		current := d.current[i]
		cx, cy := current*complex(ux, 0), current*complex(uy, 0)
		p0, p1, s0, s1 := f.phi[n], f.phi[n+1], f.slope[n], f.slope[n+1]
		for l := range p0 {
			slope := complex((1-w)*s0[l]+w*s1[l], 0)
			d.phi[l] += current * complex((1-w)*p0[l]+w*p1[l], 0)
			d.gx[l] += cx * slope
			d.gy[l] += cy * slope
		}
	}
	from := max(0, m.wall[0]-1)
	power := 0.0
	for i := m.wall[0]; i < m.wall[1]; i++ {
		l := i - from
		power += (m.edges[i+1] - m.edges[i]) * m.sigma[i] * (squared(d.gx[l]) + squared(d.gy[l]))
		if l > 0 { // half of what is between two levels is each one's
			power += m.face[i-1] * squared(d.phi[l]-d.phi[l-1]) / 2
		}
		if l+1 < len(d.phi) {
			power += m.face[i] * squared(d.phi[l+1]-d.phi[l]) / 2
		}
	}
	own := (m.edges[m.wall[1]] - m.edges[m.wall[0]]) * (squared(ex) + squared(ey))
	if !(own > 0) {
		return 1
	}
	return power / own
}

func squared(z complex128) float64 { return square(real(z), imag(z)) }

// passing returns the power [W] that passes the edges of levels away from rods of the
// currents [A], which sum to zero: upward above their top, downward below their bottom, 0
// along them. Over a whole plane
//
//	Re ∫ φ* σ ∂φ/∂z dA = Σ_ij Re I_i* I_j/(2π) Σ_mn Z_m σ Z_n′ Σ_pq s_p Z_m s_q Z_n (G_pq(κ_m) − G_pq(κ_n))/(κ_n² − κ_m²)
//
// with G_pq the mean of K₀ from piece p of rod i, of a share s_p of its current, to piece q
// of rod j, and −dG/dκ² where both modes are one.
// Source: Parseval's theorem of the Hankel transform, in which K₀(κ_m r) is 1/(k² + κ_m²)
// (from memory).
func (s *strataRods) passing(current []complex128) []float64 {
	m := s.modes
	n := len(m.kappa)
	both := mat.NewDense(n, n, nil) // the sum over pieces and rods, by modes m and n
	counts := map[*rodShape]float64{}
	alone := map[*rodShape]float64{}
	for i := range s.rods {
		counts[s.shape[i]]++
		alone[s.shape[i]] += squared(current[i])
	}
	mean := mat.NewDense(n, n, nil) // of shapes, as seen from outside: Σ_p s_p Z_pm I₀(κ_k a)
	var more, less [2][]float64     // of what G changes by with κ: shape, and Σ_ij Re I_i* I_j K₀(κ d_ij)
	for b := range more {
		more[b], less[b] = make([]float64, n), make([]float64, n)
	}
	for i := range s.rods { // in their order, each shape once
		if shape := s.shape[i]; counts[shape] > 0 {
			part := counts[shape] / float64(len(s.rods))
			counts[shape] = 0
			m.addAlone(both, shape, alone[shape])
			for k, kappa := range m.kappa {
				mean.SetCol(k, add(mat.Col(nil, k, mean), part, shape.seen(kappa)))
				more[0][k] += part * shape.seen(kappa * (1 + kappaStep))[k]
				less[0][k] += part * shape.seen(kappa * (1 - kappaStep))[k]
			}
		}
	}
	pairs := make([]float64, n)
	for i, r := range s.rods {
		for j, o := range s.rods[:i] {
			by := 2 * real(current[i]*cmplx.Conj(current[j]))
			d := math.Hypot(r.X-o.X, r.Y-o.Y)
			pairs[0] += by * math.Log(logarithm/d)
			for k := 1; k < n && m.kappa[k]*d < deepModes; k++ {
				pairs[k] += by * besselK0(m.kappa[k]*d)
				more[1][k] += by * besselK0(m.kappa[k]*d*(1+kappaStep))
				less[1][k] += by * besselK0(m.kappa[k]*d*(1-kappaStep))
			}
		}
	}
	for k, a := range m.kappa {
		for l, b := range m.kappa {
			switch {
			case a == b && k != l: // both 0 but for rounding, of layers that hardly join
			case k != l:
				v := seenFrom(pairs[k], mean.At(k, k), mean.At(l, k)) - seenFrom(pairs[l], mean.At(k, l), mean.At(l, l))
				both.Set(k, l, both.At(k, l)+v/(b*b-a*a))
			case k > 0:
				v := seenFrom(less[1][k], less[0][k], less[0][k]) - seenFrom(more[1][k], more[0][k], more[0][k])
				both.Set(k, k, both.At(k, k)+v/(4*kappaStep*a*a))
			}
		}
	}
	power := make([]float64, len(m.edges))
	for i, g := range m.face {
		if i+1 >= m.wall[0] && i+1 <= m.wall[1] { // flat ends inject in their planes
			continue
		}
		down := 0.0
		for k := range n {
			sum := 0.0
			for l, v := range both.RawRowView(k) {
				sum += v * (m.z.At(i, l) - m.z.At(i+1, l))
			}
			down += sum * g * (m.z.At(i, k) + m.z.At(i+1, k)) / 2
		}
		power[i+1] = down / (2 * math.Pi)
		if i+1 <= m.wall[0] {
			power[i+1] = -power[i+1]
		}
	}
	// Through the planes of the ends goes what goes through the next edges, and what heats
	// the levels between, straight on.
	for end, out := range [2]int{-1, 1} {
		plane := m.wall[end]
		one, two := plane+out, plane+2*out
		if plane == 0 || one == 0 || two < 0 || two >= len(power) {
			continue
		}
		slope := (power[one] - power[two]) / math.Abs(m.edges[two]-m.edges[one])
		power[plane] = power[one] + max(0, slope)*math.Abs(m.edges[plane]-m.edges[one])
	}
	return power
}

// seenFrom returns what two rods of outward Z pass at distances that sum up to pairs; 0 where
// they are too far apart to see each other, though I₀ in Z may be beyond all numbers there.
func seenFrom(pairs, one, other float64) float64 {
	if pairs == 0 {
		return 0
	}
	return pairs * one * other
}

const (
	kappaStep = 1e-3                 // of κ, for what changes with it
	logarithm = 1.122918967133770317 // [m] 2e^(−γ): where the mode without depth is zero in the constant of K₀
)

// add returns a + by·b, in a.
func add(a []float64, by float64, b []float64) []float64 {
	for i, v := range b {
		a[i] += by * v
	}
	return a
}

// seen returns Σ_p s_p Z_pm ⟨I₀(κr)⟩_p by mode m.
func (s *rodShape) seen(kappa float64) []float64 {
	_, n := s.pieces.z.Dims()
	out := make([]float64, n)
	small := 0.0
	for i, share := range s.shares {
		if p := s.pieces; i == 0 || p.inner[i] != p.inner[i-1] || p.outer[i] != p.outer[i-1] {
			small, _, _ = ringMeans(kappa, p.inner[i], p.outer[i], logarithm)
		}
		add(out, share*small, s.pieces.z.RawRowView(i))
	}
	return out
}

// addAlone adds what a rod has by itself to the sum of passing, by times.
func (m *strataModes) addAlone(both *mat.Dense, shape *rodShape, by float64) {
	p, n := shape.pieces, len(m.kappa)
	weighted := mat.NewDense(len(p.inner), n, nil)
	for i, share := range shape.shares {
		weighted.SetRow(i, add(make([]float64, n), share, p.z.RawRowView(i)))
	}
	var product mat.Dense
	at := func(k int, kappa float64) []float64 { // Σ_pq s_p Z_pk G_pq(κ) s_q Z_ql by l
		column := mat.NewDense(1, len(p.inner), nil)
		p.means(kappa, logarithm, func(i, j int, mean float64) {
			column.Set(0, j, column.At(0, j)+weighted.At(i, k)*mean)
			if i != j {
				column.Set(0, i, column.At(0, i)+weighted.At(j, k)*mean)
			}
		})
		product.Mul(column, weighted)
		return slices.Clone(product.RawRowView(0))
	}
	g := make([][]float64, n)
	for k, kappa := range m.kappa {
		g[k] = at(k, kappa)
		if k > 0 {
			more, less := at(k, kappa*(1+kappaStep))[k], at(k, kappa*(1-kappaStep))[k]
			both.Set(k, k, both.At(k, k)+by*(less-more)/(4*kappaStep*kappa*kappa))
		}
	}
	for k, a := range m.kappa {
		for l, b := range m.kappa {
			if a != b {
				both.Set(k, l, both.At(k, l)+by*(g[k][l]-g[l][k])/(b*b-a*a))
			}
		}
	}
}
