package solver

import (
	"math"
	"slices"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
)

// TestQuantile: the first time at which cells that hold the share of the volume
// have crossed.
func TestQuantile(t *testing.T) {
	no := math.NaN()
	crossing := []float64{30, 10, no, 20, 40, 5}
	volume := []float64{1, 2, 3, 4, 0, 100}
	cells := []int{0, 1, 2, 3, 4} // ten in all, the last of no volume, the sixth not of the zone
	for _, c := range []struct {
		share, want float64
	}{
		{0.1, 10}, {0.2, 10}, {0.2000001, 20}, {0.5, 20}, {0.6, 20}, {0.61, 30}, {0.7, 30}, {0.71, no}, {1, no},
		// Two tenths is not exact in binary: a share that is met but for rounding is met.
		{0.2 * (1 + 1e-15), 10},
	} {
		// A selection, not a computation: no tolerance.
		if got := Quantile(crossing, cells, volume, c.share); got != c.want && !(math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("Quantile of share %v is %v, want %v", c.share, got, c.want)
		}
	}
	if got := Quantile([]float64{3, 1, 2}, []int{0, 1, 2}, []float64{1, 1, 1}, 1); got != 3 {
		t.Errorf("Quantile of all cells is %v, want the last crossing, 3", got)
	}
	if got := Quantile([]float64{no, no}, []int{0, 1}, []float64{1, 1}, 0.5); !math.IsNaN(got) {
		t.Errorf("Quantile without a crossing is %v, want NaN", got)
	}
	cells = []int{4, 3, 2, 1, 0}
	if got := Quantile(crossing, cells, volume, 0.61); got != 30 || !slices.Equal(cells, []int{4, 3, 2, 1, 0}) {
		t.Errorf("Quantile with the cells in another order is %v, want 30, and the order as given", got)
	}
}

// TestTrackerFollows: crossings are interpolated in each cell and kept; the hold
// begins when the share is reached, and anew when it was lost.
func TestTrackerFollows(t *testing.T) {
	g := mesh.NewSection([]float64{0, 1, 2, 3, 4}, []float64{0, 1}, 1)
	gr := &physics.Ground{Grid: g, Stores: []physics.Store{{BoilingPoint: 373}}}
	k := newTracker(&Target{Zone: mesh.Zone{I1: 4, K1: 1}, Temperature: 350, Share: 0.5, Hold: 100}, gr)
	state := func(time float64, temperature ...float64) *State { return &State{Time: time, T: temperature} }
	s := []*State{
		state(0, 350, 300, 300, 300),   // one cell is there at the start
		state(100, 360, 340, 300, 300), // half of the volume needs a second
		state(200, 360, 360, 300, 300), // which crosses halfway: held from 150
		state(240, 340, 360, 300, 300), // lost before the 100 s are up
		state(300, 340, 360, 360, 300), // and won again: the third cell at 290
		state(380, 340, 360, 360, 300), // 90 s
		state(400, 340, 360, 360, 300), // 110 s
	}
	k.start(s[0])
	held := make([]float64, len(s))
	held[0] = k.held
	for i := 1; i < len(s); i++ {
		k.step(s[i-1], s[i])
		held[i] = k.held
	}
	// 200 + … by hand: cell 1 at 100 + 100·(350 − 340)/20, cell 2 at 240 + 60·50/60.
	for c, want := range []float64{0, 150, 290, math.NaN()} {
		if got := k.crossing[c]; math.Abs(got-want) > 1e-12*want || math.IsNaN(got) != math.IsNaN(want) { // one division and one product
			t.Errorf("cell %d crossed at %v s, want %v s", c, got, want)
		}
	}
	// The share steps from a quarter to a half between 240 and 300 s; that it began
	// at the end of the step is the linear share's day.
	if !math.IsNaN(held[5]) || math.Abs(held[6]-400) > 1e-9 { // sums of whole seconds
		t.Errorf("held after 90 s is %v, after 100 s %v s, want NaN and 400 s", held[5], held[6])
	}
	// Of the steps, the first at which half was there is that of 200 s.
	if st := k.status(s[6]); st.ShareMax != 0.5 || st.ShareMaxAt != 200 {
		t.Errorf("the largest share is %v from %v s on", st.ShareMax, st.ShareMaxAt)
	}
	if st := k.status(s[6]); st.Mean != 340 || st.Min != 300 || st.MinX != 3.5 || st.Share != 0.5 {
		t.Errorf("status is mean %v K, min %v K at %v m, share %v, want 340, 300, 3.5 and 0.5", st.Mean, st.Min, st.MinX, st.Share)
	}
}

// TestBoilingTarget: a target "boiling" counts a cell a hundredth of a kelvin
// below its own boiling point.
func TestBoilingTarget(t *testing.T) {
	gr := &physics.Ground{Grid: mesh.NewSection([]float64{0, 1}, []float64{0, 1, 2}, 1), Stores: []physics.Store{{BoilingPoint: 373}, {BoilingPoint: 377}}}
	target := Target{Temperature: math.NaN()}
	for c, want := range []float64{372.99, 376.99} {
		if got := target.Threshold(gr, c); got != want {
			t.Errorf("cell %d counts as boiling from %v K, want %v K", c, got, want)
		}
	}
}

// TestBoilingTargetMoves: where the boiling point changes a cell crosses it when the two
// straight lines meet, by hand at 5 s: 363 + 2 K/s·t and 374.01 − 0.2 K/s·t less 0.01 K.
func TestBoilingTargetMoves(t *testing.T) {
	gr := &physics.Ground{Grid: mesh.NewSection([]float64{0, 1}, []float64{0, 1}, 1), Stores: []physics.Store{{BoilingPoint: 374.01}}}
	k := newTracker(&Target{Zone: mesh.Zone{I1: 1, K1: 1}, Temperature: math.NaN(), Share: 0.5}, gr)
	a, b := &State{T: []float64{363}}, &State{Time: 10, T: []float64{383}}
	k.start(a)
	gr.Stores[0].BoilingPoint = 372.01
	k.step(a, b)
	if got := k.crossing[0]; math.Abs(got-5) > 1e-12 {
		t.Errorf("the cell crossed at %.15g s, want 5 s", got)
	}
	// Kept as the boiling point falls on and then rises past it.
	gr.Stores[0].BoilingPoint = 390
	c := &State{Time: 20, T: []float64{383}}
	k.step(b, c)
	if math.Abs(k.crossing[0]-5) > 1e-12 || k.share != 0 {
		t.Errorf("then it crossed at %.15g s and the share is %g, want 5 s and 0", k.crossing[0], k.share)
	}
}

// TestHoldEndsInsideAStep: a hold that was met before the share was lost counts,
// though both fell into one step.
func TestHoldEndsInsideAStep(t *testing.T) {
	g := mesh.NewSection([]float64{0, 1}, []float64{0, 1}, 1)
	gr := &physics.Ground{Grid: g, Stores: []physics.Store{{BoilingPoint: 373}}}
	k := newTracker(&Target{Zone: mesh.Zone{I1: 1, K1: 1}, Temperature: 350, Share: 0.5, Hold: 50}, gr)
	for _, s := range []*State{{Time: 0, T: []float64{300}}, {Time: 10, T: []float64{400}}, {Time: 100, T: []float64{340}}} {
		if s.Time == 0 {
			k.start(s)
			continue
		}
		k.step(&State{Time: s.Time - map[float64]float64{10: 10, 100: 90}[s.Time], T: []float64{map[float64]float64{10: 300, 100: 400}[s.Time]}}, s)
	}
	// The one cell crosses at 5 s; its share falls from 1 to 0 between 10 and 100 s,
	// through a half at 55 s: held at 55 s, on the last moment. Exact in binary
	// but for the rounding of two divisions.
	if math.Abs(k.held-55) > 1e-12 {
		t.Errorf("held at %v s, want 55", k.held)
	}
}

// TestShareAgreesWithQuantile: a share that days_to_target reaches starts the hold
// too, for every m of n equal cells.
func TestShareAgreesWithQuantile(t *testing.T) {
	for n := 1; n < 60; n++ {
		x := make([]float64, n+1)
		for i := range x {
			x[i] = float64(i)
		}
		g := mesh.NewSection(x, []float64{0, 1}, 1)
		gr := &physics.Ground{Grid: g, Stores: make([]physics.Store, 1)}
		for m := 1; m <= n; m++ {
			k := newTracker(&Target{Zone: mesh.Zone{I1: n, K1: 1}, Temperature: 350, Share: float64(m) / float64(n)}, gr)
			cold, hot := make([]float64, n), make([]float64, n)
			for i := range m {
				hot[i] = 400
			}
			k.start(&State{T: cold})
			k.step(&State{T: cold}, &State{Time: 1, T: hot})
			day := Quantile(k.crossing, k.cells, g.Volume, k.target.Share)
			if math.IsNaN(day) != math.IsNaN(k.held) {
				t.Errorf("%d of %d cells: reached at %v, held for no time at %v", m, n, day, k.held)
			}
		}
	}
}
