package physics

import (
	"math"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// Flow is water that moves through the ground at a given rate and carries the heat of
// liquid,
//
//	∂E/∂t = … − ∇·(ρ_w q [h_w(T_f) − h_w(T₀)])
//
// T_f the temperature at the face that it passes (path.face). q is a Darcy flux [m/s],
// volume of water over area of ground, even along its way: what flows into a cell flows
// out, so the ground's water stays as it is. Neither heat, steam nor a body in the way
// changes q. What comes in at the sides is at T₀ and brings nothing; rain comes in at
// the temperature of the air. What leaves has the temperature of the last cell.
//
// The zero value is water at rest.
type Flow struct {
	Across []float64 // [m/s] towards the next column, by row; nil: none, as round an axis
	Down   float64   // [m/s] towards the next row, in all columns: of a level grid
	// Rain returns the mean rate [m/s] of water that sinks into the surface between two
	// times [s], at one time the rate then; 0 or more; nil: none. On a level grid it goes
	// through the columns and the slab (capRain), and is not part of NetTo.
	Rain func(from, to float64) float64

	grid   *mesh.Grid
	water  *materials.Water
	t0, h0 float64
	heat   float64 // [J/(kg·K)] of water at T₀
	inlet  float64 // [K] of water that enters at the top
	rows   int     // that water towards the next row passes, from the first on

	// Water that sinks in the step, see Percolate.
	sinks  bool      // there is some
	entry  []float64 // [kg/s] through the surface, by column
	seep   []float64 // [kg/s] through the lower face of each cell
	buffer []float64
}

// Carry lets water flow through the ground of a heat law: from now on its heat is part
// of NetTo and NetRows. It panics where water would flow across round an axis, or rain on
// a level grid without columns.
func (h *Heat) Carry(gr *Ground, f Flow) {
	if h.Grid.Cylindrical && f.Across != nil {
		panic("physics: water that flows across round an axis")
	}
	if f.Rain != nil && h.Grid.Level && h.Columns == nil {
		panic("physics: rain on a level slab without ground above or below")
	}
	f.grid, f.water, f.t0 = h.Grid, gr.Water, gr.Ambient
	f.h0, f.heat = gr.Water.Enthalpy(gr.Ambient)
	f.inlet, f.rows = gr.Ambient, h.Grid.NZ
	f.buffer = make([]float64, h.Grid.NX)
	h.flow = &f
	if f.Rain != nil && h.Grid.Level {
		h.Columns.carryRain(&f)
	}
}

// Flows reports whether water carries heat.
func (h *Heat) Flows() bool { return h.flow != nil }

// MayMove reports whether water may ever carry heat from cell to cell: rain on a level grid
// does not.
func (h *Heat) MayMove() bool {
	f := h.flow
	return f != nil && (!h.Grid.Level || f.Across != nil || f.Down != 0)
}

// NetTo is Balance.NetTo, with the heat that water brings to each cell less what it
// takes.
func (h *Heat) NetTo(dst, u []float64) { h.NetRows(dst, u, 0, h.Grid.NZ) }

// NetRows is NetTo for some rows.
func (h *Heat) NetRows(dst, u []float64, k0, k1 int) {
	h.Balance.NetRows(dst, u, k0, k1)
	if h.flow == nil {
		return
	}
	for k := k0; k < k1; k++ {
		h.flow.addRow(rowOf(dst, h.Grid.NX, k), u, nil, k)
	}
}

// CarriedRows adds to rows of dst what the water that flows takes from each cell more,
// net, where temperatures are by x [K] other than u [K]: the derivative of the flow's
// part of NetRows, with the sign of a matrix and the heat capacity of water at T₀.
func (h *Heat) CarriedRows(dst, u, x []float64, k0, k1 int) {
	for k := k0; k < k1; k++ {
		h.flow.addRow(rowOf(dst, h.Grid.NX, k), u, x, k)
	}
}

// across returns the path of row k, and the water's mass flux along it
// [kg/(m·s)], per metre of edge.
func (f *Flow) across(k int) (l path, mass float64) {
	if f.Across == nil || f.Across[k] == 0 {
		return path{}, 0
	}
	g := f.grid
	q := f.Across[k]
	return path{cells: g.NX, first: k * g.NX, stride: 1, edge: g.X, node: g.XC, back: q < 0, inlet: f.t0},
		materials.RhoWater * q * g.Height[k]
}

// along returns the path of column i that water towards the next row passes.
func (f *Flow) along(i int) path {
	g := f.grid
	return path{cells: f.rows, first: i, stride: g.NX, edge: g.Z, node: g.ZC, back: f.Down < 0, inlet: f.inlet}
}

// mass returns the mass flux [kg/s] along the path of column i at edge j.
func (f *Flow) mass(i, j int) float64 {
	switch {
	case !f.sinks:
		return materials.RhoWater * f.Down * f.grid.Plan[i]
	case j == 0:
		return f.entry[i]
	}
	return f.seep[(j-1)*f.grid.NX+i]
}

// addRow adds to d, of the cells of row k, the heat that water brings less what it takes
// [W] at temperatures t [K]; where x is not nil, what it takes less what it brings more
// [W] for temperatures that are x [K] higher.
func (f *Flow) addRow(d, t, x []float64, k int) {
	if l, mass := f.across(k); mass != 0 {
		west := mass * f.grid.Outline[0] * f.carried(&l, t, x, 0)
		for i := range d {
			east := mass * f.grid.Outline[i+1] * f.carried(&l, t, x, i+1)
			d[i] += west - east
			west = east
		}
	}
	f.addDown(d, t, x, k)
}

// addDown is addRow for water towards the next row alone.
func (f *Flow) addDown(d, t, x []float64, k int) {
	if k >= f.rows || !f.sinks && f.Down == 0 {
		return
	}
	for i := range d {
		above, below := f.mass(i, k), f.mass(i, k+1)
		if above == 0 && below == 0 {
			continue
		}
		l := f.along(i)
		d[i] += above*f.carried(&l, t, x, k) - below*f.carried(&l, t, x, k+1)
	}
}

// carried returns the enthalpy [J/kg] above that at T₀ of the water that passes edge j
// of a path, or, where x is not nil, by how much less it is for temperatures x higher.
func (f *Flow) carried(l *path, t, x []float64, j int) float64 {
	if x != nil {
		return -f.heat * l.change(t, x, j)
	}
	h, _ := f.water.Enthalpy(l.face(t, j))
	return h - f.h0
}

// CarriedBy returns the heat that flowing water brings into the ground at its edges,
// as rain, and the heat that it takes out of it [W], at temperatures t [K].
func (h *Heat) CarriedBy(t []float64) (in, out float64) {
	f := h.flow
	if f == nil {
		return 0, 0
	}
	add := func(l path, first, last float64) {
		if l.back {
			first, last = -last, -first
		}
		in += first
		out += last
	}
	for k := range f.grid.NZ {
		if l, mass := f.across(k); mass != 0 {
			add(l, mass*f.grid.Outline[0]*f.carried(&l, t, nil, 0), mass*f.grid.Outline[l.cells]*f.carried(&l, t, nil, l.cells))
		}
	}
	if f.sinks || f.Down != 0 {
		for i := range f.grid.NX {
			l := f.along(i)
			if l.cells == 0 {
				continue
			}
			add(l, f.mass(i, 0)*f.carried(&l, t, nil, 0), f.mass(i, l.cells)*f.carried(&l, t, nil, l.cells))
		}
	}
	return in, out
}

// CarriedFrom returns the heat that flowing water takes out of a zone less what it
// brings into it [W], at temperatures t [K].
func (h *Heat) CarriedFrom(z mesh.Zone, t []float64) float64 {
	if h.flow == nil {
		return 0
	}
	out := 0.0
	for k := z.K0; k < z.K1; k++ {
		clear(h.flow.buffer)
		h.flow.addRow(h.flow.buffer, t, nil, k)
		for i := z.I0; i < z.I1; i++ {
			out -= z.Weight(i, k) * h.flow.buffer[i]
		}
	}
	return out
}

// path is cells in a row, in a column or a part of one, with the edges between and
// beyond them. Water passes it from the first cell to the last, or back.
type path struct {
	cells         int
	first, stride int // cell j of the path is cell first + j·stride of the grid
	edge, node    []float64
	back          bool
	inlet         float64 // [K] of the water that comes in
}

// face returns the temperature [K] at edge j, of the water that passes it: from the cell
// c that it comes from, with the slope of van Albada's mean of those to the cell before
// and to the cell after,
//
//	T_f = T_c + (x_f − x_c) φ(s₁, s₂),  φ = s₁s₂(s₁ + s₂)/(s₁² + s₂²), 0 where s₁s₂ ≤ 0
//
// Where T is smooth φ is dT/dx to first order of the distances and T_f to second order,
// on graded cells too, for s₁ and s₂ are slopes, not differences. φ is at most
// (1 + √2)/2 = 1.207 times either. So T_f lies between T_c and the next cell's T as long
// as that cell is longer than 0.207 times this one, and a cell's temperature is drawn by
// water towards that before it alone, by 1 + (x_f − x_c)φ/(T_c − T_before) −
// (what the face before has of it already) ≥ 0 times as much as without slopes: no new
// extremum arises.
// Source: van Albada, van Leer & Roberts, Astron. Astrophys. 108, 76 (1982) (from memory).
func (l *path) face(t []float64, j int) float64 {
	c, in := l.from(j)
	if in {
		return l.inlet
	}
	tc := t[l.first+c*l.stride]
	f := l.faceSlopes(t, j, c)
	if !(f.before*f.after > 0) {
		return tc
	}
	return tc + f.arm*f.mean()
}

// change returns by how much face changes [K] where temperatures do by x [K].
func (l *path) change(t, x []float64, j int) float64 {
	c, in := l.from(j)
	if in {
		return 0
	}
	xc := x[l.first+c*l.stride]
	f := l.faceSlopes(t, j, c)
	if !(f.before*f.after > 0) {
		return xc
	}
	a, b := f.before, f.after
	sum, phi := a*a+b*b, f.mean()
	still := *l
	still.inlet = 0
	dx := still.faceSlopes(x, j, c)
	return xc + f.arm*((2*a*b+b*b-2*a*phi)/sum*dx.before+(2*a*b+a*a-2*b*phi)/sum*dx.after)
}

// from returns the cell that water comes from at edge j; in: from outside.
func (l *path) from(j int) (c int, in bool) {
	if l.back {
		return j, j == l.cells
	}
	return j - 1, j == 0
}

// faceSlopes is the slopes [K/m] before and after the cell that water comes from, and
// how far its node is from the face [m], along the flow.
type faceSlopes struct{ before, after, arm float64 }

func (f faceSlopes) mean() float64 {
	a, b := f.before, f.after
	return a * b * (a + b) / (a*a + b*b)
}

// faceSlopes returns those of edge j and cell c. Before the first cell is the water that
// comes in, at its edge; after the last there is nothing, and the slope is 0.
func (l *path) faceSlopes(t []float64, j, c int) faceSlopes {
	before, after, outer := c-1, c+1, c
	if l.back {
		before, after, outer = c+1, c-1, c+1
	}
	if after < 0 || after >= l.cells {
		return faceSlopes{}
	}
	at := l.node[c]
	tc := t[l.first+c*l.stride]
	f := faceSlopes{arm: math.Abs(l.edge[j] - at), after: (t[l.first+after*l.stride] - tc) / math.Abs(l.node[after]-at)}
	if before < 0 || before >= l.cells {
		f.before = (tc - l.inlet) / math.Abs(at-l.edge[outer])
	} else {
		f.before = (tc - t[l.first+before*l.stride]) / math.Abs(at-l.node[before])
	}
	return f
}
