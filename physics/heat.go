package physics

import (
	"math"

	"soiljoule/mesh"
)

// HeatBoundary is what the heat meets at the edges of the ground.
type HeatBoundary struct {
	Film  float64                 // [W/(m²·K)] surface film coefficient
	Cover float64                 // [m²·K/W] thermal resistance laid on the surface
	Air   func(t float64) float64 // [K] at t seconds after power-on
	// AirMean returns the mean of the air temperature [K] between two times [s]; nil
	// where the air changes slowly against a step.
	AirMean func(from, to float64) float64

	Below, Sides Held // an axis is never a side

	// Caps is the ground above and below a level slab, up to the surface and down to
	// Below; nil: a slab that nothing leaves up or down. Grids that stand have none.
	Caps *Caps
}

// Held is an outer boundary held at a temperature; the zero value is insulated.
type Held struct {
	On          bool
	Temperature float64 // [K]
}

// Heat fills a Balance with conduction,
//
//	∂E/∂t = ∇·(λ∇T) + q,
//
// with exchanges through the surface film and cover and with held boundaries, or in a
// level grid with the columns above and below.
type Heat struct {
	Balance
	Columns *Columns // of a level grid's caps; nil: none

	boundary HeatBoundary
	buffer   []float64 // of Assemble
	flow     *Flow     // nil: no water carries heat
}

// NewHeat returns the heat law on a grid.
func NewHeat(g *mesh.Grid, b HeatBoundary) *Heat {
	h := &Heat{Balance: newBalance(g), boundary: b, buffer: make([]float64, 2*g.NX)}
	add := func(name string, f *mesh.BoundaryFaces, outside, beyond float64) {
		h.Exchanges = append(h.Exchanges, Exchange{Name: name, Cell: f.Cell, G: make([]float64, len(f.Cell)), Outside: outside, Faces: f, beyond: beyond})
	}
	if !g.Level {
		add(Surface, &g.Top, 0, b.Cover+1/b.Film)
		if b.Below.On {
			add(Below, &g.Bottom, b.Below.Temperature, 0)
		}
	}
	if b.Sides.On {
		add(Sides, &g.Right, b.Sides.Temperature, 0)
		if !g.Cylindrical {
			add(Sides, &g.Left, b.Sides.Temperature, 0)
		}
		if g.Level {
			add(Sides, &g.Top, b.Sides.Temperature, 0)
			add(Sides, &g.Bottom, b.Sides.Temperature, 0)
		}
	}
	if b.Caps != nil {
		if !g.Level {
			panic("physics: caps on a grid that stands")
		}
		h.Columns = newColumns(h, b)
	}
	return h
}

// Assemble sets the conductances for saturation s [-].
// Through the surface, film, cover and half a cell are in series:
//
//	G = A / (d/λ + R_cover + 1/h)
func (h *Heat) Assemble(gr *Ground, s []float64) { h.AssembleRows(gr, s, h.buffer, 0, h.Grid.NZ) }

// AssembleRows is Assemble for some rows and the faces below each, see Balance for
// such methods. Calls at one time each need a buffer of their own, of 2·NX values.
func (h *Heat) AssembleRows(gr *Ground, s, buffer []float64, k0, k1 int) {
	if k0 >= k1 {
		return
	}
	g := h.Grid
	here, below := buffer[:g.NX], buffer[g.NX:2*g.NX]
	gr.lambdaRow(here, s, k0)
	for k := k0; k < k1; k++ {
		acrossHarmonic(h.acrossRow(k), here, g, g.Height[k])
		h.exchangeRow(here, k)
		if h.Columns != nil {
			h.Columns.joinRow(here, k)
		}
		if k < g.NZ-1 {
			gr.lambdaRow(below, s, k+1)
			downHarmonic(h.downRow(k), here, below, g, k)
		}
		here, below = below, here
	}
}

// exchangeRow sets the exchanges' conductances of the cells of row k, of
// conductivity lambda.
func (h *Heat) exchangeRow(lambda []float64, k int) {
	nx := h.Grid.NX
	for j := range h.Exchanges {
		e := &h.Exchanges[j]
		f := e.Faces
		if f == nil {
			continue
		}
		for i, to := e.within(nx, k, k+1); i < to; i++ {
			e.G[i] = f.Area[i] / (f.Distance[i]/lambda[e.Cell[i]-k*nx] + e.beyond)
		}
	}
}

// SetAir sets the air temperature to that at time t [s], in a step of length dt
// [s]: where the air may swing within a step, to its mean over dt round t, so that
// a swing is neither missed nor taken for the whole; rain comes at that temperature.
func (h *Heat) SetAir(t, dt float64) {
	var air float64
	if h.boundary.AirMean != nil && dt > 0 {
		air = h.boundary.AirMean(math.Max(0, t-dt/2), t+dt/2)
	} else {
		air = h.boundary.Air(t)
	}
	switch {
	case h.Columns != nil:
		h.Columns.air = air
	case !h.Grid.Level:
		h.Exchanges[0].Outside = air
	}
	if h.flow != nil && h.flow.Rain != nil && !h.Grid.Level {
		h.flow.inlet = air
	}
}
