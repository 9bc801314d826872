package physics

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Ends is what rods of finite length draw and heat beyond what the slab of a plan knows of
// them, in which they have no ends.
//
// Currents. With conductivities over the slab's mean, rods of finite length in the layers as
// found (strataRods), at potentials V from one of the ground far away, draw Y V [m·V], and
// rods without end through a slab of thickness b draw b Y_∞ V, both with rows that sum to
// zero. What is beyond the slab is the difference, a network between the rods in parallel to
// it. It is kept from taking less than no power whatever V (noLess): in even ground it never
// does, since opening two insulated planes only adds ways for the current (Rayleigh's
// monotonicity, from memory). The currents beyond are
//
//	I_f = σ̂ (Y − b Y_∞) V,   σ̂ = Re V†I / (V† b Y_∞ V)
//
// with I the slab's own currents and V the potentials of the moment. So what is beyond
// follows the slab's conductivity as a whole, and how the rods stand and what they are at
// shares it out; in even cold ground that is exact for any V but for what rods with a settled
// current along them leave out. In a slab that has become uneven σ̂ is not the same for
// every V, so currents are not quite linear in V there, nor responses quite reciprocal.
//
// Ground beyond that warms otherwise than the slab. Y is tabled for layers in which all
// ground above and below the slab conducts better than as found by a factor
//
//	outside = (σ/σ_found beyond the slab) / (σ̂/σ_found of the slab)
//
// of each of outsides, and is that between two of them (SetOutside). Beyond the least and
// the greatest of these it stays as it is there. Between two of them, where rods shorter than
// their slab have nothing beyond it, less power than the slab's may come out, by what the
// polynomial through the tables is off: then w below is less than 1, the slab's heat is w P_∞,
// and none is beyond.
//
// Rods that differ. A rod in ground that has dried beside it more than beside the others, or
// with a contact resistance, carries less through its slab and beyond, for both go through
// what is about it: Y and b Y_∞ are those with
//
//	ζ_i = σ_m (m_i/σ_i + c_i) − m_i [1/m]
//
// in series with rod i, where m_i/σ_i + c_i is the resistance at the head of its Z (Rod),
// contact included, σ_i the conductivity of the ground about it and σ_m the mean of those.
// Ground beside a rod that conducts more than twice as well as the mean counts as twice.
//
// Heat. With P_∞ = σ̂ V† b Y_∞ V the power of rods without end and w = V†YV / (V† b Y_∞ V),
// the power of the rods is w P_∞. Of what is added, (w − 1) P_∞, the part share heats the
// ground beyond the slab; all else heats the slab, where
//
//	q_c = f_c q_∞c + D Σ_i h_i w_ic/Σ h_i,   Σ_c q_c = (w − share max(0, w − 1)) P_∞
//
// with q_∞c the heat of cell c by rods without end, and the pattern f_c the power density at
// its middle, on average along the rods, over that of rods without end: above 1 near short
// rods, below it midway between them, and at most 4. D is what cells cannot show of that
// beside the rods: it lies there, by rod i's weights w_ic and own heat h_i (Rod), and makes the
// sum what it must be, so that a budget closes by construction. Where cells show more than
// there is, all are scaled instead. share is the power that passes the planes of the rods' ends
// outward (Passing) over what is added. Pattern, share and how heat beyond falls with depth are
// those of the layers as found with all rods at their phases' phasors (Spread); w alone is of
// the moment.
//
// Source: own derivation; strataRods for Y, its density and passing for the heat.
type Ends struct {
	rods        int
	whole, slab network
	body        []int     // by rod: of an Electric, or the rod's own number
	series      []float64 // [1/m] ζ by rod

	tables    [len(outsides)][]float64 // [1/m] whole.p by outside
	found     float64                  // [S/m] of the slab, as found
	thickness float64                  // [m] of it
	phase     []complex128             // by rod, that they are fed at
	strata    *strataRods              // as found, the slab's conductivity 1
	// solve returns rods and their network where the ground beyond the slab conducts so much
	// better than as found, the slab's conductivity 1.
	solve func(outside float64) (*strataRods, network, error)

	edges, power []float64 // [m] depths, and the power that passes them away from the rods [W], for Passing
	share        float64   // [-] of the power that short rods add, the part that heats the ground beyond; 1 without Spread
	density      *density  // of the slab; nil without Spread
	pattern      []float64 // [-] by cell: power density over that of rods without end; nil without Spread

	// By rod, of the potentials last laid.
	v, current, through []complex128
}

// network is rods with potential coefficients P [1/m], in ground whose conductivities are
// over the slab's mean, whose currents sum to zero.
type network struct {
	n      int
	p      []float64 // n × n
	factor []float64 // lower triangle L of P + diag(ζ) = L Lᵀ
	far    []float64 // [m] what a volt of the ground far away drives into each, and
	all    float64   // [m] into all
}

// outsides are how much better ground above and below a slab may conduct than as found,
// over how much better the slab does [-]. Between them potential coefficients are the
// polynomial in outside^(−1/4) through all: in layers of 1:10 within 0.4 % of a rod's
// current, and 0.2 % of the power (TestEndsBetweenOutsides).
var outsides = [...]float64{0.125, 0.25, 0.5, 1, 2, 4}

// NewEnds returns the ends of rods fed at phasors by rod, that all are length [m] long, from
// top [m] below the surface on, in a slab from slabTop [m] on, of a thickness [m], in level
// layers as found, those within the slab too; nil of fewer than two. What rods shorter than the slab is thick
// lack in it is left out: what is beyond only heats. It fails where rods stand so close that
// there is no answer. The time goes as the third power of their number, 0.2 s for 250.
func NewEnds(rods []Rod, phase []complex128, ground []Stratum, top, length, slabTop, thickness float64) (*Ends, error) {
	n := len(rods)
	if n < 2 {
		return nil, nil
	}
	v := func() []complex128 { return make([]complex128, n) }
	e := &Ends{rods: n, body: make([]int, n), series: make([]float64, n), v: v(), current: v(), through: v(),
		phase: phase, found: meanConductivity(ground, slabTop, slabTop+thickness), thickness: thickness, share: 1}
	slab := endlessMatrix(rods)
	slab.ScaleSym(1/thickness, slab)
	e.solve = func(outside float64) (*strataRods, network, error) {
		s, err := newStrata(rods, phase, besideSlab(ground, slabTop, slabTop+thickness, outside/e.found, 1/e.found), top, length)
		if err != nil {
			return nil, network{}, err
		}
		p, err := noLess(s.matrix(), slab)
		if err != nil {
			return nil, network{}, err
		}
		return s, newNetwork(p), nil
	}
	for i := range n {
		e.body[i] = i
	}
	var err error
	if e.strata, e.whole, err = e.solve(1); err != nil {
		return nil, err
	}
	e.slab = newNetwork(slab)
	if !e.whole.set(e.series) || !e.slab.set(e.series) {
		return nil, errTooClose
	}
	return e, nil
}

// tabulate solves for all outsides.
func (e *Ends) tabulate() error {
	for i, outside := range outsides {
		_, network, err := e.solve(outside)
		if err != nil {
			return err
		}
		e.tables[i] = network.p
	}
	return nil
}

// SetOutside says how much better the ground above and below the slab conducts than as
// found, over how much better the slab does [-], from the next Assemble of an Electric that they are joined to on; what is less
// than the first of outsides or more than the last counts as that.
func (e *Ends) SetOutside(outside float64) {
	at := func(x float64) float64 { return math.Pow(x, -0.25) }
	x := at(min(max(outside, outsides[0]), outsides[len(outsides)-1]))
	clear(e.whole.p)
	for i, table := range e.tables {
		w := 1.0
		for j, other := range outsides {
			if j != i {
				w *= (x - at(other)) / (at(outsides[i]) - at(other))
			}
		}
		for k, p := range table {
			e.whole.p[k] += w * p
		}
	}
}

// Found returns the conductivity of the slab as found [S/m].
func (e *Ends) Found() float64 { return e.found }

// alternating returns phasors; where these are all alike, with every second one fed the other
// way round.
func alternating(phase []complex128) []complex128 {
	v := slices.Clone(phase)
	if !slices.ContainsFunc(v, func(x complex128) bool { return x != v[0] }) {
		for i := 0; i < len(v); i += 2 {
			v[i]++
		}
	}
	return v
}

// fed returns the power and the currents at 1 S/m of the slab as found, with the ground beyond
// it and of rods without end, all at their phasors (alternating).
func (e *Ends) fed() (whole, slab float64, current, endless []complex128) {
	v := alternating(e.phase)
	find := func(p []float64) (float64, []complex128) {
		k := network{n: e.rods, p: p, factor: make([]float64, len(p)), far: make([]float64, e.rods)}
		k.set(make([]float64, e.rods))
		out := make([]complex128, e.rods)
		k.currentsTo(out, v)
		return powerOf(v, out), out
	}
	whole, current = find(e.whole.p)
	slab, endless = find(e.slab.p)
	return whole, slab, current, endless
}

// Spread finds where the heat of rods at their phasors lies in the ground as found: share, the
// pattern that JoinEnds lays on a plan, and what Passing goes by. Without it heat is as of rods
// without end, and all that short ones add is beyond.
func (e *Ends) Spread() {
	whole, slab, current, endless := e.fed()
	m, power := e.strata.modes, e.strata.passing(current)
	e.edges, e.power = m.edges, power
	if whole > slab {
		e.share = min(1, (power[m.wall[0]]+power[m.wall[1]])/(whole-slab))
	}
	for i := range endless {
		endless[i] /= complex(e.thickness, 0)
	}
	e.density = e.strata.newDensity(current, endless)
}

// Passing returns how much of the heat beyond the slab arises farther from it than a depth
// [m], above it and below, of the ground as found with all rods fed, in any unit: the power
// that passes the level there away from the rods, straight between edges of strataModes.
func (e *Ends) Passing(depth float64) float64 {
	i, exact := slices.BinarySearch(e.edges, depth)
	switch {
	case exact:
		return e.power[i]
	case i == 0:
		return e.power[0]
	case i == len(e.power):
		return e.power[i-1]
	}
	f := (depth - e.edges[i-1]) / (e.edges[i] - e.edges[i-1])
	return (1-f)*e.power[i-1] + f*e.power[i]
}

// beyond returns the share of all heat that arises beyond the slab, share (1 − 1/w), and all
// heat over that which rods without end put into the slab, w, at potentials by body.
func (e *Ends) beyond(potential []complex128) (share, whole float64) {
	more, slab := e.lay(potential)
	if slab == 0 {
		return 0, 1
	}
	whole = 1 + more/slab
	return e.share * math.Max(0, 1-1/whole), whole
}

// deal turns the heat q [W] by cell that rods without end put into the slab into what the
// rods at potentials by body put there: by pattern and D, in all w less what is beyond.
func (e *Ends) deal(q []float64, potential []complex128, rods []RodCouple) {
	share, whole := e.beyond(potential)
	before, after, own := 0.0, 0.0, 0.0
	for c := range q {
		before += q[c]
		if e.pattern != nil { // Spread was asked
			q[c] *= e.pattern[c]
		}
		after += q[c]
	}
	for i := range rods {
		own += rods[i].heat
	}
	want := (1 - share) * whole * before
	if rest := want - after; rest > 0 && own > 0 {
		for i := range rods {
			for j, c := range rods[i].Cell {
				q[c] += rest * rods[i].heat / own * rods[i].Part[0][j]
			}
		}
		return
	}
	if after > 0 && want != after {
		for c := range q {
			q[c] *= want / after
		}
	}
}

// admittance returns the currents that a volt on each drives out of all at 1 S/m, with the
// potential coefficients p, where currents sum to zero.
func admittance(p *mat.SymDense) (*mat.SymDense, error) {
	n := p.SymmetricDim()
	var chol mat.Cholesky
	var y mat.SymDense
	if !chol.Factorize(p) || chol.InverseTo(&y) != nil {
		return nil, errTooClose
	}
	far := mat.NewVecDense(n, nil) // that the ground far away at 1 V drives into each
	for i := range n {
		for j := range n {
			far.SetVec(i, far.AtVec(i)+y.At(i, j))
		}
	}
	y.SymRankOne(&y, -1/mat.Sum(far), far)
	return &y, nil
}

// noLess returns the potential coefficients of a network that is that of p where it takes
// more power than that of slab, whatever the potentials, and that of slab where less.
func noLess(p, slab *mat.SymDense) (*mat.SymDense, error) {
	within, err := admittance(slab)
	if err != nil {
		return nil, err
	}
	y, err := admittance(p)
	if err != nil {
		return nil, err
	}
	n := y.SymmetricDim()
	y.AddSym(y, scaled(-1, within))
	ones := mat.NewVecDense(n, nil)
	for i := range n {
		ones.SetVec(i, 1)
	}
	var raised mat.SymDense
	raised.SymRankOne(y, mat.Trace(y)/float64(n*n), ones) // where all are at one potential too
	var chol mat.Cholesky
	if mat.Trace(y) > 0 && chol.Factorize(&raised) {
		return p, nil
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(y, true) {
		return nil, errTooClose
	}
	var modes mat.Dense
	eigen.VectorsTo(&modes)
	for m, v := range eigen.Values(nil) {
		if v > 0 {
			within.SymRankOne(within, v, modes.ColView(m))
		}
	}
	within.SymRankOne(within, mat.Trace(within)/float64(n*n), ones) // the constant is free
	var out mat.SymDense
	if !chol.Factorize(within) || chol.InverseTo(&out) != nil {
		return nil, errTooClose
	}
	return &out, nil
}

func scaled(by float64, a *mat.SymDense) *mat.SymDense {
	var out mat.SymDense
	out.ScaleSym(by, a)
	return &out
}

func newNetwork(p *mat.SymDense) network {
	n := p.SymmetricDim()
	k := network{n: n, p: make([]float64, n*n), factor: make([]float64, n*n), far: make([]float64, n)}
	for i := range n {
		for j := range n {
			k.p[i*n+j] = p.At(i, j)
		}
	}
	return k
}

// set puts resistances [1/m] in series with the rods, and reports whether that is a network.
func (k *network) set(series []float64) bool {
	n := k.n
	for i := range n {
		row := k.factor[i*n : i*n+i+1]
		copy(row, k.p[i*n:i*n+i+1])
		row[i] += series[i]
		for j := range i {
			above := k.factor[j*n : j*n+j+1]
			v := row[j]
			for m, l := range above[:j] {
				v -= row[m] * l
			}
			row[j] = v / above[j]
		}
		d := row[i]
		for _, l := range row[:i] {
			d -= l * l
		}
		if !(d > 0) {
			return false
		}
		row[i] = math.Sqrt(d)
	}
	for i := range k.far {
		v := 1.0
		for j, l := range k.factor[i*n : i*n+i] {
			v -= l * k.far[j]
		}
		k.far[i] = v / k.factor[i*n+i]
	}
	k.all = 0
	for i := n - 1; i >= 0; i-- {
		k.far[i] /= k.factor[i*n+i]
		k.all += k.far[i]
		for j, l := range k.factor[i*n : i*n+i] {
			k.far[j] -= l * k.far[i]
		}
	}
	return true
}

// currentsTo sets dst to the rods' currents at 1 S/m [m·V] at potentials v.
func (k *network) currentsTo(dst, v []complex128) {
	n := k.n
	for i, a := range v {
		row := k.factor[i*n : i*n+i+1]
		for j, l := range row[:i] {
			a -= complex(l, 0) * dst[j]
		}
		dst[i] = a / complex(row[i], 0)
	}
	var sum complex128
	for i := n - 1; i >= 0; i-- {
		row := k.factor[i*n : i*n+i+1]
		dst[i] /= complex(row[i], 0)
		sum += dst[i]
		for j, l := range row[:i] {
			dst[j] -= complex(l, 0) * dst[i]
		}
	}
	for i, f := range k.far {
		dst[i] -= sum * complex(f/k.all, 0)
	}
}

// powerOf returns Re V†I.
func powerOf(v, current []complex128) float64 {
	sum := 0.0
	for i, a := range v {
		sum += real(a * cmplx.Conj(current[i]))
	}
	return sum
}

// lay finds the currents by rod for potentials by body, and returns the power at 1 S/m
// [m·V²] beyond the slab, and of the slab; 0 of both where the rods differ by no more than
// a part in a million, which is what a solve leaves. Potentials count from that of the first
// rod, so that where all are alike nothing is left over.
func (e *Ends) lay(potential []complex128) (beyond, slab float64) {
	largest, apart := 0.0, 0.0
	for i, b := range e.body {
		e.v[i] = potential[b] - potential[e.body[0]]
		largest, apart = math.Max(largest, cmplx.Abs(potential[b])), math.Max(apart, cmplx.Abs(e.v[i]))
	}
	if apart <= 1e-6*largest {
		clear(e.current)
		return 0, 0
	}
	e.whole.currentsTo(e.current, e.v)
	e.slab.currentsTo(e.through, e.v)
	for i, c := range e.through {
		e.current[i] -= c
	}
	return powerOf(e.v, e.current), powerOf(e.v, e.through)
}

// Sigma returns the conductivity σ̂ [S/m] of the slab as its rods feel it, for the potentials
// of all bodies and their currents through the slab [A], by which what is beyond is scaled;
// 0 where no two rods differ, and nothing flows.
func (e *Ends) Sigma(potential, current []complex128) float64 {
	_, slab := e.lay(potential)
	if slab == 0 {
		return 0
	}
	return math.Max(0, powerOf(potential, current)/slab)
}

// AddTo adds to currents by body [A] those beyond the slab at potentials by body [V], in
// a slab of conductivity sigma [S/m] (Ends.Sigma).
func (e *Ends) AddTo(current, potential []complex128, sigma float64) {
	e.lay(potential)
	for i, b := range e.body {
		current[b] += complex(sigma, 0) * e.current[i]
	}
}

// weigh puts in series with the rods what their blocks say.
func (e *Ends) weigh(law *Electric) {
	mean := 0.0
	for i := range law.Rods {
		mean += law.Rods[i].sigma / float64(e.rods)
	}
	for i := range law.Rods {
		r := &law.Rods[i]
		m := r.about.missing[0]
		e.series[i] = math.Max(mean*(m/r.sigma+r.contact[0]*law.Bodies[r.Body].Contact)-m, -m/2)
	}
	if !e.whole.set(e.series) || !e.slab.set(e.series) {
		// Rods closer than their cells: with what is about them left out nothing is between.
		for i, z := range e.series {
			e.series[i] = math.Max(0, z)
		}
		_, _ = e.whole.set(e.series), e.slab.set(e.series)
	}
}

// Fringe returns the fringe at potentials by rod in the layers as they were last told of
// (SetOutside; of new ones, as found), without contact resistances; 1 where nothing flows.
func (e *Ends) Fringe(potential []complex128) Fringe {
	f := Fringe{1, 1, 1}
	if e == nil {
		return f
	}
	bare := *e // of its series, and in fields of its own
	bare.body, bare.v = nil, slices.Clone(e.v)
	bare.current, bare.through, bare.series = slices.Clone(e.current), slices.Clone(e.through), make([]float64, e.rods)
	for i := range e.rods {
		bare.body = append(bare.body, i)
	}
	for _, k := range []*network{&bare.whole, &bare.slab} {
		k.factor, k.far = slices.Clone(k.factor), slices.Clone(k.far)
		k.set(bare.series)
	}
	beyond, slab := bare.lay(potential)
	if slab == 0 {
		return f
	}
	most := 0.0
	for _, i := range bare.through {
		most = math.Max(most, cmplx.Abs(i))
	}
	f = Fringe{1 + beyond/slab, math.Inf(1), 0}
	for i, c := range bare.through {
		if cmplx.Abs(c) > 0.01*most { // of less a ratio says nothing
			r := cmplx.Abs(c+bare.current[i]) / cmplx.Abs(c)
			f.Least, f.Most = math.Min(f.Least, r), math.Max(f.Most, r)
		}
	}
	return f
}

// JoinEnds joins ends to the rods of the bodies, which are as many and in the order of
// NewEnds; nil: there are none. Where Spread was not asked, all that ends add heats the ground
// beyond the slab, as the slab's heat lies in plan. It fails as NewEnds does.
func (e *Electric) JoinEnds(ends *Ends) error {
	if ends == nil {
		return nil
	}
	if len(e.Rods) != ends.rods {
		panic("physics: ends of other rods")
	}
	if err := ends.tabulate(); err != nil {
		return err
	}
	e.Ends, e.at = ends, make([]complex128, len(e.Bodies))
	for i := range e.Rods {
		ends.body[i] = e.Rods[i].Body
	}
	if ends.density != nil {
		ends.pattern = ends.density.over(e.Grid)
	}
	return nil
}

// potentials returns what the bodies are at.
func (e *Electric) potentials() []complex128 {
	for b := range e.at {
		e.at[b] = e.applied(b)
	}
	return e.at
}

// beyond makes currents of a slab those of rods that all fringe alike.
func (e *Electric) beyond(current []complex128) {
	if e.Fringe == 0 {
		return
	}
	for b := range current {
		current[b] *= complex(e.Fringe, 0)
	}
}

// Beyond returns the heat that finite rods put into the ground above and below their slab
// over that which they put into the slab [-], at the potentials applied. With it
//
//	Re Σ V·I* = (1 + Beyond) Σ q
func (e *Electric) Beyond() float64 {
	switch {
	case e.Ends != nil:
		share, _ := e.Ends.beyond(e.potentials())
		return share / (1 - share)
	case e.Fringe != 0:
		return e.Fringe - 1
	}
	return 0
}

// Slab returns the conductivity [S/m] of a slab as its rods felt it when heat was last found
// (Ends.Sigma); 0 where nothing is beyond.
func (e *Electric) Slab() float64 { return e.slab }

// Fringed returns the fringe in the layers as last told of with all bodies fed at their
// phases' phasors (Ends.Fringe).
func (e *Electric) Fringed() Fringe {
	if e.Ends == nil {
		f := 1 + e.Beyond()
		return Fringe{f, f, f}
	}
	phase := make([]complex128, e.Ends.rods)
	for i, b := range e.Ends.body {
		phase[i] = e.Bodies[b].Phase
	}
	return e.Ends.Fringe(phase)
}
