package physics

import (
	"math"
	"slices"
	"testing"

	"soiljoule/mesh"
)

const testDay = 86400.0

// bare is the columns of one cell of 1 m² whose slab is so thin that it is its face:
// b/(6λ) of 1e-9 m²·K/W.
func bare(duration float64, above, below []Slice, b HeatBoundary) *Columns {
	const thickness = 1e-9
	b.Caps = NewCaps(thickness, duration, above, below)
	if b.Air == nil {
		b.Air = func(float64) float64 { return 0 }
	}
	h := NewHeat(mesh.NewPlan([]float64{0, 1}, []float64{0, 1}, thickness), b)
	h.SetAir(0, 0)
	for k := range h.Grid.NZ {
		h.Columns.joinRow([]float64{1.0 / 6}, k)
	}
	return h.Columns
}

// drive takes columns that are 0 K throughout at the start through equal TR-BDF2 steps
// under a face temperature, and calls at after each with the heat that has gone into
// each side [J/m²] by the steps' quadrature.
func drive(c *Columns, duration float64, steps int, face func(t float64) float64, fringe func(t float64) float64, at func(t float64, flux, heat [2]float64)) {
	const gamma, d, w = 2 - math.Sqrt2, 1 - math.Sqrt2/2, math.Sqrt2 / 4
	rows := c.grid.NZ
	now, next := make([]float64, c.Size()), make([]float64, c.Size())
	r0, r1 := c.NewRates(), c.NewRates()
	c.Start(now, &r0, 0)
	cells := make([]float64, c.grid.Cells())
	power := make([]float64, c.grid.Cells())
	dt := duration / float64(steps)
	var heat [2]float64
	for n := range steps {
		t := float64(n) * dt
		stage := func(t, blend float64) {
			fill(cells, face(t))
			if fringe != nil {
				fill(power, fringe(t))
			}
			c.Factor(&r1, d*dt)
			c.KnownRows(next, now, &r0, blend, 0, rows)
			c.FringeRows(&r1, power, nil, 0, rows)
			c.OutsideRows(next, &r1, 0, rows)
			c.CloseRows(next, &r1, cells, 0, 0, rows)
		}
		stage(t+gamma*dt, 0)
		for s := range heat {
			heat[s] += w * dt * (r0.Face[s][0] + r1.Face[s][0])
		}
		stage(t+dt, w/d)
		for s := range heat {
			heat[s] += d * dt * r1.Face[s][0]
		}
		now, next = next, now
		r0, r1 = r1, r0
		at(t+dt, [2]float64{r0.Face[0][0], r0.Face[1][0]}, heat)
	}
}

// TestColumnsFollowTheKernel: an endless column takes what endless ground takes from a
// face that warms, holds and cools, from a day to ten years.
// Source: Carslaw & Jaeger (1959), §2.5 and Duhamel's integral (from memory): a face
// that begins to rise by s K/s at t₀ takes 2 s (t−t₀)^½ λ/√(πα), whose integral is
// (4/3) s (t−t₀)^(3/2) λ/√(πα); what changes its slope again adds such a term.
// The bars are those of the design: 0.5 % of the heat, 2 % of the greatest flux.
func TestColumnsFollowTheKernel(t *testing.T) {
	const lambda, capacity = 2.0, 2.5e6
	ground := []Slice{{math.Inf(1), lambda, capacity}}
	kernel := lambda / math.Sqrt(math.Pi*lambda/capacity)
	for _, c := range []struct {
		name           string
		duration, span float64 // [d] that the columns are made for, of the history
	}{
		{"a day", 1, 1}, {"a week", 7, 7}, {"60 days", 60, 60}, {"a year", 365, 365}, {"ten years", 3650, 3650},
		{"a day of ten years", 3650, 1}, {"60 days of ten years", 3650, 60},
	} {
		span := c.span * testDay
		type bend struct{ at, slope float64 }
		bends := []bend{{0, 1}, {0.4 * span, -1}, {0.7 * span, -2}, {0.8 * span, 1.5}}
		face := func(t float64) (v float64) {
			for _, b := range bends {
				v += b.slope * math.Max(0, t-b.at)
			}
			return v
		}
		columns := bare(c.duration*testDay, nil, ground, HeatBoundary{})
		var mostFlux, mostHeat, fluxError, heatError float64
		drive(columns, span, 2000, face, nil, func(t float64, flux, heat [2]float64) {
			var f, q float64
			for _, b := range bends {
				x := math.Max(0, t-b.at)
				f += kernel * 2 * b.slope * math.Sqrt(x)
				q += kernel * 4 / 3 * b.slope * x * math.Sqrt(x)
			}
			mostFlux, mostHeat = math.Max(mostFlux, math.Abs(f)), math.Max(mostHeat, math.Abs(q))
			fluxError = math.Max(fluxError, math.Abs(flux[1]-f))
			heatError = math.Max(heatError, math.Abs(heat[1]-q))
		})
		_, nodes := columns.Nodes()
		t.Logf("%s: %d nodes, the first %.3g m long: %.3f %% of the greatest flux, %.3f %% of the heat", c.name, len(nodes), nodes[0], 100*fluxError/mostFlux, 100*heatError/mostHeat)
		if got := fluxError / mostFlux; !(got < 0.02) {
			t.Errorf("%s: the flux is wrong by %.3g of its greatest value, want below 0.02", c.name, got)
		}
		if got := heatError / mostHeat; !(got < 0.005) {
			t.Errorf("%s: the heat is wrong by %.3g of its greatest value, want below 0.005", c.name, got)
		}
	}
}
var _ = slices.Equal[[]int]
