package solver

import (
	"math"
	"testing"
)

// TestPotentialIsSolvedWhereItMoves: a run solves for fewer potentials than one that has
// one a stage, and what it leaves out moves the mean of the watched zone by no more than
// the share of the tolerance a step that it may; at outputs the potential shown is that
// time's.
func TestPotentialIsSolvedWhereItMoves(t *testing.T) {
	alone(t)
	for _, c := range []struct {
		name string
		make func() *Problem
	}{
		{"a cell that boils", func() *Problem { return cell(t, 20, far) }},
		{"a section", func() *Problem { return section(t, 20, far) }},
	} {
		mean := func(r *run) float64 {
			z, sum := r.problem.Watched, 0.0
			for _, i := range z.Cells(r.grid) {
				sum += r.volume[i] * r.state.T[i]
			}
			return sum / r.watchedVolume
		}
		sparse, always := begun(t, c.make()), begun(t, c.make())
		for sparse.state.Time < sparse.problem.Duration {
			steps(t, sparse, 1)
			if sparse.atOutput() && sparse.state.SolvedAt != sparse.state.Time {
				t.Errorf("%s: at an output on day %.3f the potential is that of day %.3f", c.name, sparse.state.Time/day, sparse.state.SolvedAt/day)
			}
		}
		for always.state.Time < always.problem.Duration {
			always.charge.forget() // what it knows, so it expects any error
			steps(t, always, 1)
		}
		if got, of := sparse.stats.Potentials, always.stats.Potentials; got > of*95/100 {
			t.Errorf("%s: %d potentials where one a stage takes %d, want at most 95 %%", c.name, got, of)
		}
		if got, stages := always.stats.Potentials, 2*always.stats.Steps; got < stages {
			t.Errorf("%s: a run that expects nothing solves for %d potentials in %d stages, want one a stage at least", c.name, got, stages)
		}
		if got, of := sparse.stats.Steps, always.stats.Steps; float64(got) > 1.1*float64(of) {
			t.Errorf("%s: %d steps where a potential a stage takes %d, want at most a tenth more", c.name, got, of)
		}
		want := left * sparse.set.Tolerance * float64(sparse.stats.Steps)
		if d := math.Abs(mean(sparse) - mean(always)); d > want {
			t.Errorf("%s: the mean differs by %.3g K from that of a run with a potential a stage, want at most %.3g K", c.name, d, want)
		} else {
			t.Logf("%s: %d potentials in %d steps against %d in %d; means differ by %.2g K", c.name, sparse.stats.Potentials, sparse.stats.Steps, always.stats.Potentials, always.stats.Steps, d)
		}
	}
}

// TestLean: a lean run is another way to the same: no trace of refused tries, the same
// steps to within two in a hundred, and temperatures within the tolerance that each solve
// has of the step's.
func TestLean(t *testing.T) {
	alone(t)
	for _, c := range []struct {
		name string
		make func() *Problem
	}{
		{"a cell that boils", func() *Problem { return cell(t, 20, far) }},
		{"a cell that dries", func() *Problem { return cell(t, 10, 0) }},
		{"a section", func() *Problem { return section(t, 20, far) }},
	} {
		lean := c.make()
		lean.Settings.Lean = true
		plain, err := Run(t.Context(), c.make(), nil)
		if err != nil {
			t.Fatal(err)
		}
		r := begun(t, lean)
		for r.state.Time < lean.Duration {
			before := snap(r)
			_, _ = r.step(3 * r.control.dt)
			if d := before.differs(snap(r)); d != "" {
				t.Fatalf("%s: on day %.3f a step that was tried and not taken has changed %s", c.name, r.state.Time/day, d)
			}
			steps(t, r, 1)
		}
		if a, b := r.stats.Steps, plain.Stats.Steps; math.Abs(float64(a-b)) > 0.02*float64(b)+1 {
			t.Errorf("%s takes %d steps lean and %d else, want them alike", c.name, a, b)
		}
		worst := 0.0
		for i, v := range r.state.T {
			worst = math.Max(worst, math.Abs(v-plain.State.T[i]))
		}
		// Solves end at a thousandth of the tolerance or less; where steps then part, by
		// the tolerance itself.
		if worst > r.set.Tolerance {
			t.Errorf("%s: lean, a temperature differs by %.3g K, want at most %.3g K", c.name, worst, r.set.Tolerance)
		}
	}
}

// TestExtrapolation: a power is extrapolated on the line through the last two
// solutions, no further than by half of itself, and is trusted over two spans.
func TestExtrapolation(t *testing.T) {
	at := func(time, power float64) *solution { return &solution{time: time, power: power} }
	for _, c := range []struct {
		a, b    *solution
		t       float64
		want    float64
		trusted bool
	}{
		{nil, at(10, 5), 20, 0, false},       // one solution: as it was
		{at(10, 5), at(10, 5), 20, 0, false}, // of one time: no line
		{at(0, 5), at(10, 5), 15, 0.5, true},
		{at(0, 5), at(10, 5), 30, 2, true},
		{at(0, 5), at(10, 5), 31, 2.1, false},
		{at(0, 4), at(10, 5), 30, 2, true},           // to 7
		{at(0, 2), at(10, 5), 30, 2.5 / 3, false},    // would be 11, more than 7.5
		{at(0, 9), at(10, 5), 30, 2.5 / 4, false},    // would be below 0, less than 2.5
		{at(0, -1e-17), at(10, -1e-17), 15, 0, true}, // one electrode alone: what rounding left
	} {
		// Sums and quotients of whole numbers: some roundings.
		got, trusted := ahead(c.a, c.b, c.t)
		if math.Abs(got-c.want) > 1e-15*4 || math.IsNaN(got) || trusted != c.trusted {
			t.Errorf("from %v and %v to t = %g it goes %g spans, trusted %v; want %g, %v", c.a, c.b, c.t, got, trusted, c.want, c.trusted)
		}
	}
}
