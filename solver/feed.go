package solver

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"

	"soiljoule/physics"
)

// feed finds the potentials of bodies that are not all as the supply: buried metal and
// electrodes switched off, whose net current is 0 (open), and electrodes with a current
// limit of their own (limited). These are the free bodies. With u_j the unit response of
// free body j and Y the admittance matrix (physics.Electric.ApplyUnit),
//
//	Φ = Φ₀ + Σ_j x_j u_j,   I_i = I_i⁰ + Σ_j Y_ij x_j
//
// Φ₀ solved with the free bodies at 0 V. What is solved is Φ with them as they were last:
// then x is a small correction, and what a response is wrong by counts as little.
type feed struct {
	law   *physics.Electric
	piece []int // by body: the piece of ground and conductors that it belongs to
	rim   int   // that of a held rim, −1: none
	known []bool

	// Of the setting in force.
	reference float64      // [V]
	full      []complex128 // [-] by body: potential per volt of reference, no limit reached; open: 0
	most      []float64    // [A] by body: its own limit, of all its rods
	off       []bool       // by body: switched off
	free      []int        // first the open bodies, then the limited
	open      int          // how many are open
	isFree    []bool

	// Unit responses, by body; nil: never free. kept are those of the last step taken, from
	// which a try starts; nil throughout where the run is lean: then it starts from 0.
	response, kept [][]float64

	admittance []float64    // [S] Y, bodies by free
	slab, ends []float64    // [S] of that what flows through a slab, and [m] beyond it in ground of 1 S/m
	inSlab     []complex128 // [A/V] by body; all three nil where nothing flows beyond (physics.Ends)
	current    []complex128 // [A/V] by body
	was        []complex128 // [-] potentials by body, before a correction
	delta      []complex128 // [-] by free body: what its potential changes by

	// With the open bodies eliminated: the currents with the limited at 0 V, and what each
	// volt on one adds; the limited's shares of their full potential.
	square, answer []float64
	pivot          []int
	alone          []complex128
	reduced        []float64
	share, next    []float64
	probe          State
}

// newFeed returns the feed of a run; nil: all bodies are as the supply, throughout.
func newFeed(law *physics.Electric, supply []Setting, lean bool) *feed {
	n := len(law.Bodies)
	own := false
	for i := range supply {
		own = own || len(supply[i].Bodies) > 0
	}
	for b := range law.Bodies {
		own = own || law.Bodies[b].Floating
	}
	law.Applied = nil
	if !own {
		return nil
	}
	law.Applied = make([]complex128, n)
	f := &feed{law: law, full: make([]complex128, n), most: make([]float64, n), off: make([]bool, n), isFree: make([]bool, n),
		response: make([][]float64, n), kept: make([][]float64, n),
		current: make([]complex128, n), was: make([]complex128, n), alone: make([]complex128, n)}
	f.piece, f.rim = law.Pieces()
	pieces := f.rim
	for _, p := range f.piece {
		pieces = max(pieces, p)
	}
	f.known = make([]bool, pieces+1)
	most := 0
	for _, s := range append([]Setting{{}}, supply...) { // the first where none is given
		f.set(&s)
		most = max(most, len(f.free))
		for _, b := range f.free {
			if f.response[b] == nil {
				f.response[b] = make([]float64, law.Grid.Cells())
				if !lean {
					f.kept[b] = make([]float64, law.Grid.Cells())
				}
			}
		}
	}
	f.admittance, f.reduced = make([]float64, n*most), make([]float64, n*most)
	if law.Ends != nil {
		f.slab, f.ends, f.inSlab = make([]float64, n*most), make([]float64, n*most), make([]complex128, n)
	}
	f.delta, f.pivot = make([]complex128, most), make([]int, most)
	f.square, f.answer = make([]float64, most*most), make([]float64, most*(most+2))
	f.share, f.next = make([]float64, most), make([]float64, most)
	f.probe.Current, f.probe.Potential = make([]complex128, n), make([]complex128, n)
	return f
}

// set puts a setting in force. An open body that nothing of known potential can reach
// has no potential of its own: it stays at 0 V, and no current flows there.
func (f *feed) set(s *Setting) {
	f.reference = s.Reference()
	clear(f.known)
	if f.rim >= 0 {
		f.known[f.rim] = true
	}
	for b := range f.law.Bodies {
		body, own := &f.law.Bodies[b], s.body(b)
		f.full[b], f.most[b], f.isFree[b] = 0, own.CurrentLimit*body.Rods, false
		f.off[b] = own.Off && !body.Floating
		if body.Floating || own.Off {
			continue
		}
		f.known[f.piece[b]] = true
		v, share := own.Voltage, 1.0
		if math.IsNaN(v) {
			v = s.Voltage
		}
		if f.reference > 0 {
			share = v / f.reference
		}
		f.full[b] = settled(complex(share*real(body.Phase), share*imag(body.Phase)))
	}
	f.free = f.free[:0]
	for b := range f.law.Bodies {
		if (f.law.Bodies[b].Floating || f.off[b]) && f.known[f.piece[b]] {
			f.free, f.isFree[b] = append(f.free, b), true
		}
	}
	f.open = len(f.free)
	for b, v := range f.full {
		if v != 0 && !math.IsInf(f.most[b], 1) {
			f.free, f.isFree[b] = append(f.free, b), true
		}
	}
}

// guessBodies applies to the trial the potentials that the setting gives, and those of
// free bodies as they were last.
func (r *run) guessBodies() {
	k := r.charge
	f, s := k.feed, k.trial
	_, b := k.newest()
	for i, v := range f.full {
		switch {
		case !f.isFree[i] || !k.tried && k.known == 0:
			s.potential[i] = v
		case b != s:
			s.potential[i] = b.potential[i]
		}
	}
	copy(k.law.Applied, s.potential)
	for _, b := range f.free {
		switch {
		case k.tried: // of this try, and near
		case f.kept[b] == nil:
			clear(f.response[b])
		default:
			copy(f.response[b], f.kept[b])
		}
	}
}

// solveBodies finds the free bodies' potentials and moves the trial's to them, to a
// residual of tol.
func (r *run) solveBodies(tol float64) error {
	k := r.charge
	f, s := k.feed, k.trial
	if len(f.free) == 0 {
		return nil
	}
	m, iterations := len(f.free), k.iterations
	for j, b := range f.free {
		k.law.ApplyUnit(b)
		if err := r.solvePart(f.response[b], tol, realPart); err != nil {
			return fmt.Errorf("response of %q: %w", k.law.Bodies[b].Name, err)
		}
		k.law.CurrentsTo(f.current, f.response[b], nil)
		for i, a := range f.current {
			f.admittance[i*m+j] = real(a)
		}
	}
	k.iterations = iterations // how far the set-up serves is told by the potential's own
	copy(k.law.Applied, s.potential)
	// Twice: what balances the potential moves the currents by what its residual was.
	for round := range 2 {
		k.law.CurrentsTo(f.current, s.re, s.im)
		copy(f.was, s.potential)
		if err := r.findWhole(s.potential); err != nil {
			return err
		}
		for j, b := range f.free {
			f.delta[j] = s.potential[b] - f.was[b]
		}
		copy(k.law.Applied, s.potential)
		r.rows(r.do.combine)
		if round == 0 {
			r.balance(s.re, realPart)
			if s.im != nil {
				r.balance(s.im, imagPart)
			}
		}
	}
	return nil
}

// balance corrects a part of the potential, as solvePart does after a solve.
func (r *run) balance(phi []float64, part func(complex128) float64) {
	k := r.charge
	k.law.ImposeTo(phi, k.rhs, part)
	k.pcg.Residual(phi, k.system, k.rhs, nil)
	k.pcg.Balance(phi)
}

// combineRows adds to the trial the free bodies' responses times what their potentials
// change by.
func (r *run) combineRows(k0, k1 int) {
	f, s, nx := r.charge.feed, r.charge.trial, r.grid.NX
	for j, b := range f.free {
		u, re, im := f.response[b][k0*nx:k1*nx], s.re[k0*nx:k1*nx], s.im
		dr, di := real(f.delta[j]), imag(f.delta[j])
		for c, v := range u {
			re[c] += dr * v
		}
		if im != nil {
			im = im[k0*nx : k1*nx]
			for c, v := range u {
				im[c] += di * v
			}
		}
	}
}

// findWhole is findBodies with what flows beyond a slab, where ground has the conductivity
// that follows from the potentials to be found (physics.Ends.Sigma): a fixed point, which is
// soon met, since that hardly depends on them, and in uniform ground not at all.
func (r *run) findWhole(potential []complex128) error {
	f := r.charge.feed
	ends, m := f.law.Ends, len(f.free)
	if ends == nil {
		return r.findBodies(potential)
	}
	const rounds, end = 100, 1e-12
	size := len(f.law.Bodies) * m
	copy(f.slab, f.admittance[:size])
	copy(f.inSlab, f.current)
	for j, b := range f.free {
		clear(f.alone)
		f.alone[b] = 1
		clear(f.current)
		ends.AddTo(f.current, f.alone, 1)
		for i, a := range f.current {
			f.ends[i*m+j] = real(a)
		}
	}
	for sigma, round := ends.Sigma(f.was, f.inSlab), 0; ; round++ {
		copy(f.current, f.inSlab)
		ends.AddTo(f.current, f.was, sigma)
		for i, a := range f.slab[:size] {
			f.admittance[i] = a + sigma*f.ends[i]
		}
		copy(potential, f.was)
		if err := r.findBodies(potential); err != nil {
			return err
		}
		copy(f.current, f.inSlab)
		for b := range f.current {
			for j, c := range f.free {
				f.current[b] += complex(f.slab[b*m+j], 0) * (potential[c] - f.was[c])
			}
		}
		next := ends.Sigma(potential, f.current)
		if math.Abs(next-sigma) <= end*next {
			break
		}
		if round == rounds {
			return fmt.Errorf("%w: the current above and below the slab and the potentials of electrodes do not settle", errRefused)
		}
		sigma = next
	}
	copy(f.admittance, f.slab[:size])
	return nil
}

// findBodies sets the free bodies' potentials from the currents and the admittances at
// the potentials given.
func (r *run) findBodies(potential []complex128) error {
	f := r.charge.feed
	m, o := len(f.free), f.open
	l := m - o
	w := 2 + l
	for b, i := range f.current {
		for j, c := range f.free {
			i -= complex(f.admittance[b*m+j], 0) * potential[c]
		}
		f.alone[b] = i
	}
	if o > 0 {
		// Columns: the real and the imaginary part at 0 V of the limited, then what each
		// volt on one of them does.
		for i, b := range f.free[:o] {
			copy(f.square[i*o:i*o+o], f.admittance[b*m:b*m+o])
			a := f.answer[i*w : i*w+w]
			a[0], a[1] = -real(f.alone[b]), -imag(f.alone[b])
			for j := range l {
				a[2+j] = -f.admittance[b*m+o+j]
			}
		}
		lu := blas64.General{Rows: o, Cols: o, Stride: o, Data: f.square[:o*o]}
		if !lapack64.Getrf(lu, f.pivot[:o]) {
			return errors.New("potential: floating conductors have no one potential") // held by set, but for rounding
		}
		lapack64.Getrs(blas.NoTrans, lu, blas64.General{Rows: o, Cols: w, Stride: w, Data: f.answer[:o*w]}, f.pivot[:o])
	}
	for b := range f.alone {
		y := f.admittance[b*m : b*m+m]
		for i := range o {
			f.alone[b] += complex(y[i]*f.answer[i*w], y[i]*f.answer[i*w+1])
		}
		for j := range l {
			v := y[o+j]
			for i := range o {
				v += y[i] * f.answer[i*w+2+j]
			}
			f.reduced[b*l+j] = v
		}
	}
	if l > 0 {
		if err := r.limitBodies(); err != nil {
			return err
		}
	}
	for j, b := range f.free[o:] {
		potential[b] = settled(complex(f.share[j], 0) * f.full[b])
	}
	for i, b := range f.free[:o] {
		x := complex(f.answer[i*w], f.answer[i*w+1])
		for j, c := range f.free[o:] {
			x += complex(f.answer[i*w+2+j], 0) * potential[c]
		}
		potential[b] = settled(x)
	}
	return nil
}

// settled returns a potential per volt without a part that is no more than rounding. A
// part of the phasor that nothing feeds would have such potentials alone, and be solved to
// ever smaller ones of them.
func settled(z complex128) complex128 {
	const rounding = 1e-13
	re, im := real(z), imag(z)
	if math.Abs(re) < rounding {
		re = 0
	}
	if math.Abs(im) < rounding {
		im = 0
	}
	return complex(re, im)
}

// errOwn is what an ownError is: a limit that a body's own voltage cannot hold.
var errOwn = errors.New("a current limit of one electrode cannot be held")

// ownError says which it is, and is errRefused as well: a shorter step may hold it.
type ownError struct{ body, text string } // body "": of several

func (e ownError) Error() string        { return e.text }
func (e ownError) Is(target error) bool { return target == errRefused || target == errOwn }

// limitBodies sets share so that each limited body's current is within its own limit at
// the voltage that the supply's limits then leave. That voltage is a fixed point: a
// bracket holds it, as the supply's limits allow less than the whole at its upper end and
// more than nothing at 0 V.
func (r *run) limitBodies() error {
	f := r.charge.feed
	for j := range f.share {
		f.share[j] = 1
	}
	low, high := 0.0, f.reference
	v := high
	for round := 0; ; round++ {
		if err := f.settle(v); err != nil {
			return err
		}
		f.load(&f.probe)
		r.loadWithin(&f.probe)
		got := f.probe.Voltage
		if !(got > 0) { // switched off: no current to hold
			return nil
		}
		if math.Abs(got-v) <= 1e-14*v || high-low <= 1e-15*high {
			return f.held(v)
		}
		if round == 300 {
			return ownError{"", fmt.Sprintf("the supply's limits and electrodes' own do not agree on a voltage between %.6g and %.6g V", low, high)}
		}
		if got < v {
			high = v
		} else {
			low = v
		}
		if v = got; !(low < got && got < high) || round%3 == 2 {
			v = (low + high) / 2
		}
	}
}

// load sets a state's currents and power per volt to those of the shares.
func (f *feed) load(n *State) {
	l := len(f.free) - f.open
	n.Power = 0
	for b, i := range f.alone {
		for j, c := range f.free[f.open:] {
			i += complex(f.reduced[b*l+j]*f.share[j], 0) * f.full[c]
		}
		n.Current[b] = i
		v := f.full[b]
		n.Potential[b] = v // of an open body 0: no current flows there
		if !f.isFree[b] {
			n.Power += real(v * cmplx.Conj(i))
		}
	}
	for j, b := range f.free[f.open:] {
		n.Potential[b] *= complex(f.share[j], 0)
		n.Power += f.share[j] * real(f.full[b]*cmplx.Conj(n.Current[b]))
	}
}

// settle sets share to the largest s_j in [0, 1] with |I_j|·v within j's own limit, all at
// once. Let a_j = I_j/(Y_jj Φ_j) − s_j be what the others do, over its own. Then
//
//	s_j = −Re a_j + √(λ_j² − Im² a_j),   λ_j = limit/(v Y_jj |Φ_j|)
//
// and a change of the others moves s_j by at most Σ_c |Y_jc Φ_c|/(Y_jj|Φ_j|)/cos θ_j times
// their largest, θ_j the angle between j's current and its voltage. Y is an M-matrix whose
// rows sum to no less than 0, so with voltages alike the sum is at most 1, less where any
// other body or a rim takes current: the map contracts while current and voltage are near
// in phase, as they are in an array. Where it only does not expand (θ = 0, the sum 1, as
// for two electrodes on their own), half steps converge still (Krasnoselskii 1955, from
// memory), and from equal shares they keep what is symmetric so. Else the step is refused.
func (f *feed) settle(v float64) error {
	const rounds, end = 5000, 1e-14
	limited := f.free[f.open:]
	l := len(limited)
	for range rounds {
		worst := 0.0
		for j, b := range limited {
			f.next[j] = 1
			own := f.reduced[b*l+j]
			if !(own > 1e-12*f.admittance[b*len(f.free)+f.open+j]) {
				continue // it stands alone: no current
			}
			a := f.alone[b]
			for i, c := range limited {
				if i != j {
					a += complex(f.reduced[b*l+i]*f.share[i], 0) * f.full[c]
				}
			}
			a /= complex(own, 0) * f.full[b]
			lambda := f.most[b] / (v * own * cmplx.Abs(f.full[b]))
			f.next[j] = math.Max(0, math.Min(1, math.Sqrt(math.Max(0, lambda*lambda-imag(a)*imag(a)))-real(a)))
		}
		for j := range limited {
			d := (f.next[j] - f.share[j]) / 2
			f.share[j] += d
			worst = math.Max(worst, math.Abs(d))
		}
		if worst <= end {
			return nil
		}
	}
	return ownError{"", fmt.Sprintf("the own limits of electrodes do not settle at %.6g V", v)}
}

// held returns an error where a body passes more than its own limit at v [V], whatever
// its own voltage.
func (f *feed) held(v float64) error {
	for j, b := range f.free[f.open:] {
		if i := cmplx.Abs(f.probe.Current[b]) * v; i > f.most[b]*(1+1e-9) {
			rods := f.law.Bodies[b].Rods
			return ownError{f.law.Bodies[b].Name, fmt.Sprintf("electrode %q passes %.4g A a rod with its own voltage lowered to %.4g V, driven by the others, and its current_limit is %.4g A: lower the others too, or switch it off",
				f.law.Bodies[b].Name, i/rods, math.Round(1e6*cmplx.Abs(f.full[b])*v*f.share[j])/1e6, f.most[b]/rods)}
		}
	}
	return nil
}

// tellBodies sets what the state says of each body beside its potential, which the limits
// need to know first: powers so many spans beyond solution b, what holds it down, and what
// buried metal picks up.
func (r *run) tellBodies(n *State, a, b *solution, spans float64) {
	copy(n.Pickup, b.pickup)
	for i := range n.Fed {
		n.Fed[i] = b.fed[i]
		if spans != 0 {
			n.Fed[i] += spans * (b.fed[i] - a.fed[i])
		}
	}
	r.charge.feed.bind(n)
}

// bind sets what holds each body's voltage down, by the state's voltage and limit.
func (f *feed) bind(n *State) {
	for i := range n.Bound {
		switch {
		case f.law.Bodies[i].Floating:
			n.Bound[i] = physics.NoLimit
		case f.off[i]:
			n.Bound[i] = physics.Off
		case n.Voltage == 0:
			n.Bound[i] = n.Limit
		case f.isFree[i] && cmplx.Abs(n.Potential[i]) < cmplx.Abs(f.full[i])*(1-1e-9):
			n.Bound[i] = physics.OwnLimit
		default:
			n.Bound[i] = n.Limit
		}
	}
}

// take keeps the responses of a step that stands for the next to start from.
func (f *feed) take() {
	for _, b := range f.free {
		if f.kept[b] != nil {
			f.response[b], f.kept[b] = f.kept[b], f.response[b]
		}
	}
}

func realPart(z complex128) float64 { return real(z) }
func imagPart(z complex128) float64 { return imag(z) }
