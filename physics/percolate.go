package physics

import (
	"math"

	"soiljoule/materials"
)

// Percolation is water that sinks through the ground above the water table in one step,
// at rates that are fixed as the step begins. From the surface down, each cell takes of
// the water that comes to it what it would lack of its field capacity at the step's end, if
// it went on boiling or condensing as it does; the rest goes on down with what the cell
// would hold beyond that capacity, and at the water table it leaves to the groundwater.
// Where the step goes otherwise than expected, the next one makes up for it. The heat of the
// water is carried by the Flow of the Heat, at the temperatures of the step.
type Percolation struct {
	Added []float64 // [kg/(m³·s)] by cell, put in from outside; nil: none
	Boils []float64 // [kg/(m³·s)] by cell, loss of water as the step begins, below zero where it gains
	Gain  []float64 // [kg/(m³·s)] by cell: what each comes to hold more. The result

	Rain    float64 // [kg/s] through the surface. The result
	Drained float64 // [kg/s] to the groundwater. The result
}

// Sinks lets water sink through the ground of a heat law, which need not Carry before.
func (h *Heat) Sinks(gr *Ground) {
	if h.flow == nil {
		h.Carry(gr, Flow{})
	}
	f := h.flow
	if f.seep == nil && !h.Grid.Level {
		f.entry, f.seep = make([]float64, h.Grid.NX), make([]float64, h.Grid.Cells())
	}
}

// Rains reports whether rain may come.
func (h *Heat) Rains() bool { return h.flow != nil && h.flow.Rain != nil }

// Moves reports whether water carries heat in the present step.
func (h *Heat) Moves() bool {
	f := h.flow
	return f != nil && (f.Across != nil || f.Down != 0 || f.sinks)
}

// Rest ends what Percolate has let sink.
func (h *Heat) Rest() {
	if h.flow != nil {
		h.flow.sinks = false
	}
}

// Percolate sets the water that sinks in a step from t of dt [s], where the ground holds
// w [kg/m³] of water, or nil where that does not change and all passes: p's results, and
// what the heat law carries. In a level grid nothing sinks but rain, which goes through the
// columns above, through its cells and the columns below (capRain). A cell above the water
// table takes of it what it lacks of its field capacity, as water at ambient: what the rain
// has of heat goes on.
func (h *Heat) Percolate(gr *Ground, p *Percolation, w []float64, t, dt float64) {
	g, f := h.Grid, h.flow
	p.Rain, p.Drained = 0, 0
	if p.Added != nil {
		copy(p.Gain, p.Added)
	} else {
		clear(p.Gain)
	}
	if g.Level {
		h.rainOnSlab(gr, p, w, t, dt)
		return
	}
	rain := 0.0
	if f.Rain != nil {
		rain = materials.RhoWater * f.Rain(t, t+dt)
	}
	for i := range f.entry {
		f.entry[i] = rain * g.Plan[i]
		p.Rain += f.entry[i]
	}
	f.sinks = p.Rain > 0
	f.rows = 0
	for f.rows < g.NZ && !gr.Stores[f.rows].Below {
		f.rows++
	}
	clear(f.seep[f.rows*g.NX:])
	from := f.entry
	for k := range f.rows {
		to := rowOf(f.seep, g.NX, k)
		for _, run := range gr.runs[k] {
			s := &gr.Stores[run.Store]
			for c := run.From; c < run.To; c++ {
				i, v := c-k*g.NX, g.Volume[c]
				in := from[i] + p.Gain[c]*v
				more, room := 0.0, 0.0 // [kg/m³] beyond its capacity, [kg/(m³·s)] that it takes
				if w != nil {
					more, room = s.beyond(w[c], dt, p.Boils[c])
				}
				to[i] = math.Max(0, in-room*v) + more/dt*v
				p.Gain[c] += (from[i] - to[i]) / v
				f.sinks = f.sinks || to[i] > 0
			}
		}
		from = to
	}
	for _, q := range from {
		p.Drained += q
	}
}

// rainOnSlab is Percolate of rain on a level grid.
func (h *Heat) rainOnSlab(gr *Ground, p *Percolation, w []float64, t, dt float64) {
	f, c := h.flow, h.Columns
	if f.Rain == nil {
		return
	}
	rain := materials.RhoWater * f.Rain(t, t+dt)
	c.setRain(Rain{rain * f.heat, gr.site.At(t).WaterTable})
	for _, a := range c.area {
		p.Rain += rain * a
	}
	p.Drained = p.Rain
	if w == nil || gr.Stores[0].Below {
		return
	}
	for k := range h.Grid.NZ {
		for _, run := range gr.runs[k] {
			s := &gr.Stores[run.Store]
			for i := run.From; i < run.To; i++ {
				_, room := s.beyond(w[i], dt, p.Boils[i])
				takes := math.Max(0, math.Min(room-p.Gain[i], rain/c.thickness))
				p.Gain[i] += takes
				p.Drained -= takes * h.Grid.Volume[i]
			}
		}
	}
}

// beyond returns what a cell with w [kg/m³] of water would hold beyond its field capacity
// at the end of a step of dt [s] in which it loses boils [kg/(m³·s)], or gains what it
// condenses, and the rate [kg/(m³·s)] at which it takes water that comes to it.
func (s *Store) beyond(w, dt, boils float64) (more, room float64) {
	more = math.Max(w-boils*dt, s.Dry) - s.Field
	if math.Abs(more) <= 1e-10*s.Pores { // rounding
		return 0, 0
	}
	// Not more than there is, should it gain nothing.
	return math.Min(math.Max(0, more), math.Max(0, w-s.Dry)), math.Max(0, -more) / dt
}

// SinkTo sets dst to the heat that sinking water brings to each cell less what it takes
// [W], at temperatures t [K].
func (h *Heat) SinkTo(dst, t []float64) {
	clear(dst)
	f := h.flow
	if !f.sinks {
		return
	}
	for k := range f.rows {
		f.addDown(rowOf(dst, h.Grid.NX, k), t, nil, k)
	}
}
