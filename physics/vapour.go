package physics

import (
	"math"

	"soiljoule/mesh"
)

// Vapour says where the steam goes that boils off. The zero value takes it out of the
// ground where it forms.
//
// Steam that rises goes straight up its column of cells. A cell below its boiling point
// takes of it what brings it there, as water; what is left goes on, and a cell at its
// boiling point adds its own:
//
//	0 ≤ F ⟂ T_b − T ≥ 0,  F − F_in = boiling rate, below zero where steam condenses
//
// with F the steam that leaves a cell, at the cell's own boiling point, and F_in that of
// the cell below. Steam flows at once: neither its own mass nor its pressure count.
type Vapour struct {
	Rising bool

	// Of the steam that comes to the interval from Top to Bottom [m], or forms in it,
	// the share Capture [-] is taken out there. Top = Bottom: there is no interval.
	Top, Bottom, Capture float64

	// Bores are where electrodes stand, through whose fill steam passes a barrier.
	Bores []mesh.Zone
}

// Added is water that is let into the ground at an electrode.
type Added struct {
	Name        string    // of the electrode
	Cells       []int     // that take it
	Share       []float64 // [-] of the rate, by those; together 1
	Rate        float64   // [kg/s] on all that the grid stands for
	Temperature float64   // [K]
	From, To    float64   // [s] To +Inf: to the end
}

// Ascent is the steam that rises in one stage, and what the cells do with it. It holds
// the workspace of a ground's methods Rise and Lift, so a stage allocates nothing.
type Ascent struct {
	Cost        []float64 // Response.Cost by cell
	Arrived     []float64 // [kg/m³] by cell, of steam that came to it
	ArrivedHeat []float64 // [J/m³] that it brought
	Captured    []float64 // [kg/m³] by cell, of the steam that left it, or passed beside it, taken out by extraction
	Taken       []float64 // [J/m³] heat of that
	Held        []float64 // [kg] by row, of steam that found no way from under a barrier
	HeldHeat    []float64 // [J]

	mass, heat []float64 // [kg], [J] by column, on the way up
	barrier    []bool    // by row: steam does not leave it upwards, but in bores
	barred     bool      // some row is such
	bore       [][]int8  // by row that is barred and column: 0 the bore itself, −1 and 1 towards the nearest, 2 there is none
	inside     []bool    // by row, in the extraction interval
}

// NewAscent returns the workspace for a ground whose steam rises.
func (g *Ground) NewAscent() *Ascent {
	grid := g.Grid
	v := func() []float64 { return make([]float64, grid.Cells()) }
	a := &Ascent{Cost: v(), Arrived: v(), ArrivedHeat: v(), Captured: v(), Taken: v(), Held: make([]float64, grid.NZ), HeldHeat: make([]float64, grid.NZ),
		mass: make([]float64, grid.NX), heat: make([]float64, grid.NX), barrier: make([]bool, grid.NZ), bore: make([][]int8, grid.NZ), inside: make([]bool, grid.NZ)}
	for k := range grid.NZ {
		z := g.Depth(k)
		a.inside[k] = !grid.Level && z > g.Vapour.Top && z < g.Vapour.Bottom
		if k > 0 && !grid.Level && g.Soils[g.Layer[k-1]].SteamBarrier && g.Layer[k] != g.Layer[k-1] {
			a.barrier[k], a.barred = true, true
			a.bore[k] = g.bores(k)
		}
	}
	return a
}

// bores returns, for steam under a barrier in row k, where the nearest bore is that
// crosses its lower face.
func (g *Ground) bores(k int) []int8 {
	grid := g.Grid
	way := make([]int8, grid.NX)
	var open []int
	for i := range way {
		for _, b := range g.Vapour.Bores {
			if b.Contains(i, k) && b.Contains(i, k-1) {
				open = append(open, i)
				break
			}
		}
	}
	for i := range way {
		way[i] = 2
		nearest := math.Inf(1)
		for _, o := range open {
			if d := math.Abs(grid.XC[o] - grid.XC[i]); d < nearest {
				nearest = d
				way[i] = int8(sign(o - i))
			}
		}
	}
	return way
}

// sign returns −1, 0 or 1.
func sign(i int) int {
	switch {
	case i < 0:
		return -1
	case i > 0:
		return 1
	}
	return 0
}

// Leaving returns the steam that leaves the top row upwards [kg], and its heat [J], after
// Rise.
func (a *Ascent) Leaving() (mass, heat float64) {
	for i, m := range a.mass {
		mass += m
		heat += a.heat[i]
	}
	return mass, heat
}

// Barred reports whether a barrier stands in the steam's way: then columns are not
// independent of each other.
func (a *Ascent) Barred() bool { return a.barred }

// Rise sets r and a to what the cells of columns i0 ≤ i < i1 do in a stage of dt [s] that
// steam rises in, with e and w as of Respond, without the steam from below. Columns may
// be shared among workers unless a is Barred, in which case all are to be given at once.
func (g *Ground) Rise(a *Ascent, r Responses, e, w []float64, dt float64, i0, i1 int) {
	clear(a.mass[i0:i1])
	clear(a.heat[i0:i1])
	for k := g.Grid.NZ - 1; k >= 0; k-- {
		base := k * g.Grid.NX
		for _, run := range g.runs[k] {
			s := &g.Stores[run.Store]
			for c := max(run.From, base+i0); c < min(run.To, base+i1); c++ {
				g.riseThrough(a, r, s, e, w, dt, c, k)
			}
		}
		if a.barrier[k] {
			g.spread(a, r, e, w, dt, k)
		}
		if g.Grid.Level { // nothing lies above a cell
			clear(a.mass[i0:i1])
			clear(a.heat[i0:i1])
		}
	}
}

// riseThrough lets the steam of the column of cell c, in row k, come to the cell, and
// takes on what leaves it.
func (g *Ground) riseThrough(a *Ascent, r Responses, s *Store, e, w []float64, dt float64, c, k int) {
	i, v := c-k*g.Grid.NX, g.Grid.Volume[c]
	insert := math.IsInf(s.BoilingPoint, 1) // steam passes beside it
	if insert || a.mass[i] == 0 && e[c] <= s.atBoiling(w[c]) && w[c] >= s.Dry && w[c] <= s.Brim() {
		r.T[c], r.Slope[c] = s.temperature(e[c], w[c], r.T[c])
		r.W[c], r.Steam[c], r.Inflow[c], r.Over[c], r.Taken[c] = w[c], 0, 0, 0, 0
		a.Cost[c], a.Arrived[c], a.ArrivedHeat[c], a.Captured[c], a.Taken[c] = 0, 0, 0, 0, 0
		if part := a.passing(g, k); part > 0 && insert {
			a.Captured[c], a.Taken[c] = part*a.mass[i]/v, part*a.heat[i]/v
			a.mass[i] -= part * a.mass[i]
			a.heat[i] -= part * a.heat[i]
		}
		return
	}
	a.Arrived[c], a.ArrivedHeat[c] = a.mass[i]/v, a.heat[i]/v
	g.respondRising(a, r, s, e, w, dt, c)
	out := r.Steam[c]
	a.Captured[c] = a.capture(g, k, out, a.Arrived[c])
	a.Taken[c] = a.Captured[c] * s.Steam
	out -= a.Captured[c]
	a.mass[i], a.heat[i] = out*v, out*v*s.Steam
}

// respondRising sets the response of cell c with the steam that has arrived in it.
func (g *Ground) respondRising(a *Ascent, r Responses, s *Store, e, w []float64, dt float64, c int) {
	m := s.Respond(e[c]+a.ArrivedHeat[c], w[c]+a.Arrived[c], dt, r.T[c])
	r.T[c], r.W[c], r.Steam[c], r.Inflow[c], r.Over[c], r.Slope[c] = m.T, m.W, m.Steam, m.Inflow, m.Over, m.Slope
	r.Taken[c] = s.taken(m) - a.ArrivedHeat[c]
	a.Cost[c] = m.Cost
}

// capture returns what extraction takes [kg/m³] of the steam that leaves a cell of row k:
// in the interval a share of what forms there; just below it, of all.
func (a *Ascent) capture(g *Ground, k int, out, in float64) float64 {
	switch {
	case a.inside[k]:
		return g.Vapour.Capture * math.Max(0, out-math.Max(0, in))
	}
	return a.passing(g, k) * out
}

// passing returns which share [-] extraction takes of the steam that passes row k on its
// way into the interval.
func (a *Ascent) passing(g *Ground, k int) float64 {
	if k > 0 && a.inside[k-1] && !a.inside[k] {
		return g.Vapour.Capture
	}
	return 0
}

// spread leads the steam that row k gives off, under a barrier, sideways through the row:
// towards the nearest bore, or where there is none half of it to either side, round an
// axis all of it outwards. What comes to the end of the row is held.
func (g *Ground) spread(a *Ascent, r Responses, e, w []float64, dt float64, k int) {
	nx, way := g.Grid.NX, a.bore[k]
	a.Held[k], a.HeldHeat[k] = 0, 0
	for _, to := range [2]int{1, -1} {
		carry, heat := 0.0, 0.0
		for n := range nx {
			i := n
			if to < 0 {
				i = nx - 1 - n
			}
			c := k*nx + i
			if way[i] == 0 {
				a.mass[i] += carry
				a.heat[i] += heat
				carry, heat = 0, 0
				continue
			}
			if s := g.Store(c); carry != 0 && !math.IsInf(s.BoilingPoint, 1) { // it passes beside an insert
				v, before := g.Grid.Volume[c], r.Steam[c]
				a.Arrived[c] += carry / v
				a.ArrivedHeat[c] += heat / v
				g.respondRising(a, r, s, e, w, dt, c)
				carry = (r.Steam[c] - before) * v
				heat = carry * s.Steam
			}
			part := g.towards(way[i], to)
			carry += part * a.mass[i]
			heat += part * a.heat[i]
		}
		a.Held[k] += carry
		a.HeldHeat[k] += heat
	}
	for i, to := range way {
		if to != 0 {
			a.mass[i], a.heat[i] = 0, 0
		}
	}
}

// towards returns which share [-] of a column's steam goes to one side.
func (g *Ground) towards(way int8, to int) float64 {
	switch {
	case way == 2 && g.Grid.Cylindrical:
		return float64(max(0, to))
	case way == 2:
		return 0.5
	case int(way) == to:
		return 1
	}
	return 0
}

// Lift sets dst to the heat that steam brings more to the cells that take it [W], of
// columns i0 ≤ i < i1, where cells at their boiling point get q more [W], others none:
// the derivative of Rise. Columns are shared as in Rise.
func (g *Ground) Lift(a *Ascent, dst, q, t []float64, i0, i1 int) {
	clear(a.mass[i0:i1])
	clear(a.heat[i0:i1])
	nx := g.Grid.NX
	for k := g.Grid.NZ - 1; k >= 0; k-- {
		base := k * nx
		for _, run := range g.runs[k] {
			s := &g.Stores[run.Store]
			for c := max(run.From, base+i0); c < min(run.To, base+i1); c++ {
				i := c - base
				dst[c] = 0
				if math.IsInf(s.BoilingPoint, 1) {
					part := a.passing(g, k)
					a.mass[i] -= part * a.mass[i]
					a.heat[i] -= part * a.heat[i]
					continue
				}
				in := a.mass[i]
				out := a.lift(s, dst, q, t, c, in, a.heat[i])
				out -= a.captureMore(g, k, c, out, in)
				a.mass[i], a.heat[i] = out, out*s.Steam
			}
		}
		if a.barrier[k] {
			g.liftSideways(a, dst, t, k)
		}
		if g.Grid.Level {
			clear(a.mass[i0:i1])
			clear(a.heat[i0:i1])
		}
	}
}

// lift returns by how much the steam changes that leaves cell c [kg/s] where that coming
// to it does by in and the heat it brings by heat [W], and sets what the cell takes.
func (a *Ascent) lift(s *Store, dst, q, t []float64, c int, in, heat float64) float64 {
	switch cost := a.Cost[c]; {
	case math.IsInf(cost, 1):
		return 0
	case cost > 0:
		more := heat - (s.Steam-cost)*in
		if q != nil {
			more += q[c]
		}
		return more / cost
	case cost < 0:
		dst[c] += heat - in*s.Steam
		return in
	}
	if in != 0 || heat != 0 {
		dst[c] += heat - in*s.Liquid(t[c])
	}
	return 0
}

// captureMore is the derivative of capture.
func (a *Ascent) captureMore(g *Ground, k, c int, out, in float64) float64 {
	switch {
	case a.inside[k]:
		if a.Captured[c] > 0 {
			return g.Vapour.Capture * (out - in)
		}
	}
	return a.passing(g, k) * out
}

// liftSideways is spread for Lift.
func (g *Ground) liftSideways(a *Ascent, dst, t []float64, k int) {
	nx, way := g.Grid.NX, a.bore[k]
	for _, to := range [2]int{1, -1} {
		carry, heat := 0.0, 0.0
		for n := range nx {
			i := n
			if to < 0 {
				i = nx - 1 - n
			}
			c := k*nx + i
			if way[i] == 0 {
				a.mass[i] += carry
				a.heat[i] += heat
				carry, heat = 0, 0
				continue
			}
			if s := g.Store(c); carry != 0 && !math.IsInf(s.BoilingPoint, 1) {
				carry = a.lift(s, dst, nil, t, c, carry, heat)
				heat = carry * s.Steam
			}
			part := g.towards(way[i], to)
			carry += part * a.mass[i]
			heat += part * a.heat[i]
		}
	}
	for i, to := range way {
		if to != 0 {
			a.mass[i], a.heat[i] = 0, 0
		}
	}
}
