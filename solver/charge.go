package solver

import (
	"math"

	"soiljoule/physics"
	"soiljoule/solver/linear"
)

// charge is the potential of a run: what was solved for at some times, and what is
// to be expected at others.
type charge struct {
	law        *physics.Electric
	system     *linear.System
	pcg        *linear.PCG
	feed       *feed     // nil: all bodies are as the supply
	own        bool      // pcg is the charge's alone, not the heat's too
	iterations int       // of the last solve to the run's own tolerance; 0: it was to another
	new        int       // iterations of the first solve after a set-up; 0: none yet
	sigma      []float64 // [S/m]
	rhs        []float64 // [A/V]
	scale      float64   // [A/V] the largest that the last residuals were held to

	outside float64 // [-] as physics.Ends.SetOutside was told, of the last step begun with power on

	// Solved for: in the try under way, if it did; in steps taken, the last and the
	// one before it.
	trial, last, before *solution
	tried               bool
	known               int // of last and before, how many hold

	// How fast an extrapolated heat goes wrong, as the watched zone would warm: at a
	// time τ after solutions at a and b by bend·(τ−a)(τ−b) [K/s].
	bend, triedBend float64 // [K/s³]; +Inf: not known
	// And the power, as a share of itself, which is what a history shows.
	powerBend, triedPowerBend float64 // [1/s²]
}

// solution is a potential per volt of supply, and what follows from it.
type solution struct {
	time          float64      // [s]
	re, im, joule []float64    // [-], [-], [W/V²] by cell; im nil: no imaginary part; re too, of the one before the last, in a lean charge
	current       []complex128 // [A/V] by body
	power         float64      // [W/V²] at the electrodes
	beyond        float64      // [-] heat beyond the slab over that in it
	slab          float64      // [S/m] of the slab as its rods feel it, where something is beyond
	rim           complex128   // [A/V] that leaves through a held rim

	// By body; nil where all are as the supply.
	potential []complex128 // [-]
	fed       []float64    // [W/V²] power
	pickup    []float64    // [A/V] that buried metal picks up; nil: there is none
}

// newCharge returns the charge of a run. A lean one keeps the fields of the potential of
// two solutions and not of three: the guess at the next is then the last.
func newCharge(law *physics.Electric, supply []Setting, lean bool) *charge {
	g := law.Grid
	n := g.Cells()
	v := func() []float64 { return make([]float64, n) }
	k := &charge{law: law, feed: newFeed(law, supply, lean), outside: 1, bend: math.Inf(1), triedBend: math.Inf(1), powerBend: math.Inf(1), triedPowerBend: math.Inf(1)}
	held := make([]bool, n)
	for c, b := range law.BodyOf {
		held[c] = b >= 0
	}
	k.system = &linear.System{NX: g.NX, NZ: g.NZ, Across: law.Across, Down: law.Down, Held: held,
		Blocks: make([]linear.Block, len(law.Couples), len(law.Couples)+len(law.Rods))}
	if law.Outer {
		k.system.Diag = v()
	}
	for i := range law.Couples {
		c := &law.Couples[i]
		k.system.Blocks[i] = linear.Block{Cells: c.Cell, Y: c.Y}
	}
	for i := range law.Rods {
		c := &law.Rods[i]
		k.system.Blocks = append(k.system.Blocks, linear.Block{Cells: c.Cell, Part: c.Part, Y: c.Y})
	}
	for _, s := range []**solution{&k.trial, &k.last, &k.before} {
		*s = &solution{joule: v(), current: make([]complex128, len(law.Bodies))}
		if k.feed != nil {
			(*s).potential, (*s).fed = make([]complex128, len(law.Bodies)), make([]float64, len(law.Bodies))
		}
		if law.Buries() {
			(*s).pickup = make([]float64, len(law.Bodies))
		}
		if lean && s == &k.before {
			continue
		}
		(*s).re = v()
		if law.HasImaginary() {
			(*s).im = v()
		}
	}
	return k
}

// newest returns the two latest solutions, b the later; a is nil where there is one.
func (k *charge) newest() (a, b *solution) {
	switch {
	case k.tried && k.known > 0:
		return k.last, k.trial
	case k.tried:
		return nil, k.trial
	case k.known > 1:
		return k.before, k.last
	}
	return nil, k.last
}

// farthest is the largest number of spans by which an extrapolated heat is trusted: a bend that
// was measured over one span tells little of what comes after many. Beyond, what is
// extrapolated is a first guess for the solver.
const farthest = 2

// ahead returns how far time t [s] lies beyond solution b, in spans from a to b; 0 where
// there is no a, as what was last solved for is then all that is known. It goes no further
// than to where the power would have changed by half, beyond which a line says nothing.
// trusted says that neither that nor farthest is passed.
func ahead(a, b *solution, t float64) (spans float64, trusted bool) {
	if a == nil || b.time <= a.time {
		return 0, false
	}
	u := (t - b.time) / (b.time - a.time)
	if !(b.power > 0) { // rounding: nothing that is fed drives a current
		return 0, u <= farthest
	}
	if change := math.Abs(b.power - a.power); u*change > b.power/2 {
		return b.power / 2 / change, false
	}
	return u, u <= farthest
}

// since returns (t − a)(t − b) of the two latest solutions [s²], 0 where there is one.
func (k *charge) since(t float64) float64 {
	a, b := k.newest()
	if a == nil {
		return 0
	}
	return (t - a.time) * (t - b.time)
}

// expected returns the error that is to be expected at time t [s] in the extrapolated heat, as
// it would warm the watched zone [K/s], and in the power, as a share of it [-].
func (k *charge) expected(t float64) (heat, power float64) {
	a, b := k.newest()
	if _, trusted := ahead(a, b, t); !trusted {
		return math.Inf(1), math.Inf(1)
	}
	since := k.since(t)
	return k.triedBend * since, k.triedPowerBend * since
}

// take makes what a step solved for the run's own.
func (k *charge) take() {
	if !k.tried {
		return
	}
	// The set-up serves until it takes an iteration a part more than when it was new. It
	// is renewed here, for the matrix just solved: tries that do not stand leave it alone.
	parts := 1
	if k.trial.im != nil {
		parts = 2
	}
	switch {
	case !k.own || k.iterations == 0:
	case k.new == 0:
		k.new = k.iterations
	case k.iterations > k.new+parts-1:
		k.pcg.Factor(k.system)
		k.new = 0
	}
	if k.feed != nil {
		k.feed.take()
	}
	k.before, k.last, k.trial = k.last, k.trial, k.before
	if k.trial.re == nil { // lean
		k.trial.re, k.trial.im, k.before.re, k.before.im = k.before.re, k.before.im, nil, nil
	}
	k.known = min(k.known+1, 2)
	k.bend, k.powerBend = k.triedBend, k.triedPowerBend
	k.tried = false
}

// forget leaves the last solution alone: what came before it tells nothing of what
// comes.
func (k *charge) forget() {
	k.known = min(k.known, 1)
	k.bend, k.powerBend = math.Inf(1), math.Inf(1)
}
