package physics

import (
	"math"

	"soiljoule/mesh"
)

// Slice is level ground of one kind over or under a slab.
type Slice struct {
	Thickness    float64 // [m] +Inf: endless, the last one of its side
	Conductivity float64 // [W/(m·K)]
	Capacity     float64 // [J/(m³·K)]
}

// Caps is the ground above and below a level slab, slices from the slab outward.
type Caps struct {
	// Passing returns how much of the heat of current that spreads past the ends of short
	// electrodes arises farther from the slab than a depth [m], above it or below, in any
	// unit: 0 far away, and at the slab's two faces what each side takes (Ends.Passing). A
	// node of the columns gets the difference between its two ends; how much that is in all
	// FringeRows says. nil: none spreads. What would arise beyond the columns' ends is
	// dealt to the rest.
	Passing func(depth float64) float64
	// Conducts returns the electrical conductivity at a depth [m] and a temperature [K]
	// over that of the ground as found [-], for Columns.Outside; nil: 1.
	Conducts func(z, t float64) float64

	// Boil returns when the ground boils at a depth [m]; nil: nowhere. Top is the depth of
	// the slab's top [m].
	Boil func(z float64) Boil
	Top  float64
	// BoilAt returns it at time t [s], where it changes; nil: Boil holds.
	BoilAt func(z, t float64) Boil

	thickness, duration float64 // [m] of the slab, [s] of the run
	slices              [2][]Slice
}

// The columns of a slab.
const (
	upper = iota
	lower
)

// NewCaps returns the caps of a slab of a thickness [m] for runs of up to a duration
// [s]. above ends at the ground surface; without it the slab lies there itself, under
// its film. below ends at a depth that is held (HeatBoundary.Below) or insulated;
// without it the slab is insulated beneath. It panics unless every slice has a
// thickness, a conductivity and a capacity above 0 and none but the last of a side is
// endless: a broken invariant of the caller.
//
// Conductivity and capacity are those of the ground as found, and no heat goes sideways.
// Heat beyond a node's boiling point, of the fringe, conducted or of steam, makes steam,
// for which water at ambient comes in without a limit.
func NewCaps(thickness, duration float64, above, below []Slice) *Caps {
	if !(thickness > 0) || !(duration > 0) {
		panic("physics: caps of a slab without thickness or a run without duration")
	}
	for _, slices := range [][]Slice{above, below} {
		for i, s := range slices {
			if !(s.Thickness > 0) || !(s.Conductivity > 0) || !(s.Capacity > 0) || i < len(slices)-1 && math.IsInf(s.Thickness, 1) {
				panic("physics: a slice of a cap without thickness, conductivity or capacity, or one beyond an endless one")
			}
		}
	}
	return &Caps{thickness: thickness, duration: duration, slices: [2][]Slice{above, below}}
}

// Columns is the caps of a level grid at work. Over and under each cell stands a column of
// nodes, implicit in time,
//
//	c_j dT_j/dt = g_{j−1} (T_{j−1} − T_j) − g_j (T_j − T_{j+1}) + p_j Q + s_j,
//
// where node 0 is next to the slab, p_j is the node's part of the fringe's heat Q, and s_j the
// heat of the steam that is expected to condense in it, below zero where it is to boil. s_j is
// constant over a step (ExpectRows); what really boiled and condensed is found at the step's
// end (RiseBelowRows, RiseAboveRows).
//
// Within the slab the temperature is the parabola between two faces through which heat leaves,
// F upward and F′ downward [W/m²], so that its mean T_c and the face above differ by
//
//	T_c − T_face = J (2 F − F′),  J = b/(6λ),
//
// and the face below by J (2 F′ − F). Between face and node 0 lies Δz_0/(2λ_0).
//
// All columns of a side have the same nodes, so over a stage of length h one
// elimination, from the far end to the slab,
//
//	D_j = c_j/h + g_j D_{j+1}/(D_{j+1} + g_j),  r_j = c_j T*_j/h + p_j Q + s_j + g_j r_{j+1}/(D_{j+1} + g_j)
//
// serves all: a face sees θ = r_0/D_0 through R = Δz_0/(2λ_0) + 1/D_0, and a cell both
// its columns as exchanges, above
//
//	F = (1 + a′)/(2J + R − J a′) (T_c − (θ + a′ θ′)/(1 + a′)),  a′ = J/(2J + R′),
//
// with primes for the other side. They are part of the cell's own equation and cost the
// linear solver nothing. Once T_c is known the nodes follow from F, outward.
//
// Source: the parabola is λT″ = const with its slopes at the faces, integrated; the
// elimination is Thomas's of a tridiagonal system.
//
// State.Caps holds the nodes' temperatures row by row of the grid, in a row those
// above before those below, there node by node from the slab outward, and of a node
// cell by cell.
type Columns struct {
	grid  *mesh.Grid
	sides [2]column
	held  float64   // [K] outside of the far end below
	air   float64   // [K] outside of the surface
	area  []float64 // [m²] by cell, seen from above
	join  []float64 // [m²·K/W] by cell: J = b/(6λ)
	bulk  float64   // [m] b/6: join is bulk/λ

	top, thickness float64 // [m] of the slab
	boils          bool    // some node may
	fringes        bool    // some current spreads into them
	conducts       func(z, t float64) float64
	warmth         []float64 // [K·W] by node, of where the fringe heats

	source []float64 // [W/m²] s, as State.Caps, of the step being tried; nil: nothing boils
	acts   []bool    // by row and node: some cell has one
	rest   []float64 // by cell, of the steam expected as it rises [W/m²], then what came short [J/m²]
	found  []float64 // [m²·K/W] join of the ground as found

	boilAt func(z, t float64) Boil // nil: constant
	rain   *capRain                // nil: none ever comes

	// By row, of the stage last closed: held beyond the ground as found [J], out at the
	// surface and below [W].
	stored, surface, below []float64

	// By row, of the step last taken.
	vapour  []CapVapour
	shallow []float64 // [m] least depth that boils; +Inf: none
	short   []bool    // by cell: see Short
}

// column is the nodes of one side, from the slab outward.
type column struct {
	at       int       // of a row's nodes the first
	size     []float64 // [m]
	capacity []float64 // [J/(m²·K)] c
	g        []float64 // [W/(m²·K)] to the next node
	half     float64   // [m²·K/W] of half the last node
	beyond   float64   // [m²·K/W] from its end to the outside
	first    float64   // [m²·K/W] from the slab's face to the first node; without nodes 0
	end      float64   // [W/(m²·K)] from the last node to the outside, or without nodes from the slab's face
	profile  []float64 // [-] p
	depth    []float64 // [m] of its middle
	boil     []Boil

	columnRain

	// Of a stage.
	ch      []float64 // [W/(m²·K)] c/h
	pass    []float64 // [-] g_j/(D_{j+1} + g_j)
	inverse []float64 // [m²·K/W] 1/(D_j + g_{j−1}), of the first node 1/D_0
	fed     []float64 // [-] p_j + pass_j·fed_{j+1}
	rest    float64   // [m²·K/W] between the slab's face and θ: R

	// The exchange with the slab.
	conductance, outside []float64

	hottest []float64 // [K] by row, of the stage last closed
}

// CapRates is what drives the columns at one time.
type CapRates struct {
	Face   [2][]float64 // [W/m²] by cell: out of the slab, up and down
	Fringe []float64    // [W/m²] by cell: into its two columns; nil: none
	Air    float64      // [K]
	Rain   Rain
	// Where rain may come, by cell.
	Drain []float64 // [W/m²] of Face downward, what rain takes that leaves there
	Join  []float64 // [m²·K/W] of the slab
}

// newColumns returns the columns of a level grid and gives h its exchanges with them.
func newColumns(h *Heat, b HeatBoundary) *Columns {
	g, caps := h.Grid, b.Caps
	n := g.Cells()
	v := func(n int) []float64 { return make([]float64, n) }
	c := &Columns{grid: g, held: b.Below.Temperature, fringes: caps.Passing != nil, area: v(n), join: v(n), bulk: caps.thickness / 6,
		top: caps.Top, thickness: caps.thickness, stored: v(g.NZ), surface: v(g.NZ), below: v(g.NZ)}
	cells := make([]int, n)
	for j := range cells {
		cells[j] = j
		c.area[j] = g.Volume[j] / caps.thickness
	}
	ends := [2]float64{upper: b.Cover + 1/b.Film, lower: math.Inf(1)}
	if b.Below.On {
		ends[lower] = 0
	}
	for s, name := range []string{upper: Above, lower: Beneath} {
		k := newColumn(caps.slices[s], caps.duration, ends[s], s == upper)
		k.conductance, k.outside, k.hottest = v(n), v(n), v(g.NZ)
		c.sides[s] = k
		h.Exchanges = append(h.Exchanges, Exchange{Name: name, Cell: cells, G: k.conductance, OutsideAt: k.outside})
	}
	c.sides[lower].at = len(c.sides[upper].size)
	c.place(caps)
	c.boilAt = caps.BoilAt
	if c.fringes {
		c.share(caps.Passing)
		c.conducts, c.warmth = caps.Conducts, make([]float64, c.perCell())
	}
	if c.boils {
		c.source, c.acts, c.rest, c.found = v(c.Size()), make([]bool, g.NZ*c.perCell()), v(n), v(n)
		c.vapour, c.shallow, c.short = make([]CapVapour, g.NZ), v(g.NZ), make([]bool, n)
	}
	return c
}

// Nodes returns the sizes of the nodes of each side [m], from the slab outward.
func (c *Columns) Nodes() (above, below []float64) { return c.sides[upper].size, c.sides[lower].size }

// Size returns how many values State.Caps has.
func (c *Columns) Size() int { return c.grid.Cells() * c.perCell() }

func (c *Columns) perCell() int { return len(c.sides[upper].size) + len(c.sides[lower].size) }

// NewRates returns rates of 0.
func (c *Columns) NewRates() CapRates {
	n := c.grid.Cells()
	r := CapRates{Face: [2][]float64{make([]float64, n), make([]float64, n)}}
	if c.fringes {
		r.Fringe = make([]float64, n)
	}
	if c.rain != nil {
		r.Drain, r.Join = make([]float64, n), make([]float64, n)
	}
	return r
}

// CopyFrom makes r's values those of from.
func (r *CapRates) CopyFrom(from *CapRates) {
	for s := range r.Face {
		copy(r.Face[s], from.Face[s])
	}
	copy(r.Fringe, from.Fringe)
	copy(r.Drain, from.Drain)
	copy(r.Join, from.Join)
	r.Air, r.Rain = from.Air, from.Rain
}

// node returns node j of a side over or under the cells of row k.
func (c *Columns) node(t []float64, k int, s *column, j int) []float64 {
	nx := c.grid.NX
	from := (k*c.perCell() + s.at + j) * nx
	return t[from : from+nx : from+nx]
}

// Profile returns the temperatures [K] of t, a State's Caps, above and below cell (i,
// k), from the slab outward.
func (c *Columns) Profile(t []float64, i, k int) (above, below []float64) {
	out := [2][]float64{}
	for s := range c.sides {
		for j := range c.sides[s].size {
			out[s] = append(out[s], c.node(t, k, &c.sides[s], j)[i])
		}
	}
	return out[upper], out[lower]
}

// Start sets t to the ground as found, at an ambient temperature [K] throughout, and
// the exchanges to let nothing through there; the air's temperature stands already
// (Heat.SetAir). It sets r to the rates then.
func (c *Columns) Start(t []float64, r *CapRates, ambient float64) {
	fill(t, ambient)
	copy(c.found, c.join)
	r.Air, r.Rain = c.air, Rain{}
	c.setRain(Rain{})
	clear(r.Drain)
	copy(r.Join, c.join)
	clear(c.stored)
	for s := range c.sides {
		k := &c.sides[s]
		k.rest = k.first
		fill(k.outside, ambient)
		if len(k.size) == 0 {
			k.rest = 1 / k.end
			fill(k.outside, c.outsideOf(s, c.air))
		}
	}
	for k := range c.grid.NZ {
		c.exchangeRow(k)
		for s := range c.sides {
			face, area := rowOf(r.Face[s], c.grid.NX, k), rowOf(c.area, c.grid.NX, k)
			g, theta := rowOf(c.sides[s].conductance, c.grid.NX, k), rowOf(c.sides[s].outside, c.grid.NX, k)
			for i := range face {
				face[i] = g[i] / area[i] * (ambient - theta[i])
			}
		}
		c.endRow(t, r, k)
	}
}

// Restate sets r.Air and Totals' flows out to those of the columns t with the outside as
// it is now. A slab that has no node on a side keeps there the flux of r.
func (c *Columns) Restate(t []float64, r *CapRates) {
	r.Air = c.air
	c.setRain(r.Rain)
	for k := range c.grid.NZ {
		c.endRow(t, r, k)
	}
}

// joinRow sets the resistance between the slab's mean and its faces in row k, of
// conductivity lambda.
func (c *Columns) joinRow(lambda []float64, k int) {
	join := rowOf(c.join, c.grid.NX, k)
	for i, l := range lambda {
		join[i] = c.bulk / l
	}
}

// outsideOf returns what lies beyond a side's last node [K].
func (c *Columns) outsideOf(s int, air float64) float64 {
	if s == upper {
		return air
	}
	return c.held
}

// Totals returns what the columns hold beyond the ground as found [J], and what leaves them at
// the surface and below [W], at the end of the stage last closed or of the step last ended.
func (c *Columns) Totals() (stored, surface, below float64) {
	for k := range c.stored {
		stored += c.stored[k]
		surface += c.surface[k]
		below += c.below[k]
	}
	return
}
