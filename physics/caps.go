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

	thickness, duration float64
	slices              [2][]Slice
}

// The columns of a slab.
const (
	upper = iota
	lower
)

// Resolution of a column near the slab and away from it.
const (
	briefest    = 86400.0 // [s] what takes longer is resolved
	surfaceNode = 0.2     // [√(αt)] of the same at the surface
	firstNode   = 0.04    // [√(αt)] of the briefest time
	columnRatio = 1.2     // of neighbouring nodes
	columnDepth = 4.0     // [√(αt)] of the duration, where the ground is endless
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

// Columns is the caps of a level grid at work: over and under each cell one implicit
// column of nodes,
//
//	c_j dT_j/dt = g_{j−1} (T_{j−1} − T_j) − g_j (T_j − T_{j+1}) + p_j Q + s_j,
//
// node 0 next to the slab, p its part of the fringe's heat Q and s what is expected to
// condense in it, below zero to boil, constant over a step (ExpectRows); what did is found
// at its end (RiseBelowRows, RiseAboveRows). Within the slab heat spreads as the parabola between two faces that take F
// upward and F′ downward, so that its mean temperature T_c and the face above differ by
//
//	T_c − T_face = J (2 F − F′),  J = b/(6λ),
//
// and alike below: J F where both sides draw alike, 3 J across the slab and 2 J where one
// side alone draws. Between face and node 0 lies Δz_0/(2λ_0).
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
// primes the other side. They are part of the cell's own equation and cost the linear
// solver nothing. Once T_c is known the nodes follow from F, outward.
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
	held  float64 // [K] outside of the far end below
	air   float64 // [K] outside of the surface
	area  []float64
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

	// By row, of the stage last closed.
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

// Columns that a Heat has.
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

// newColumn cuts slices into nodes; beyond [m²·K/W] lies between the last one's end and
// the outside, which is the air where the column ends at the surface.
//
// Nodes grow from the slab outward in ζ = ∫dz/√α [s^½], in which heat spreads alike in
// all ground: a node at ζ is (ratio − 1)ζ longer than the first; and so from the surface
// inward. Slices begin and end between nodes.
func newColumn(slices []Slice, duration, beyond float64, surface bool) column {
	first, last := firstNode*math.Sqrt(min(duration, briefest)), math.Inf(1)
	whole := 0.0 // [s^½] the column's length
	for _, s := range slices {
		whole += s.Thickness / math.Sqrt(s.Conductivity/s.Capacity)
	}
	half := math.Inf(1) // where nodes begin to shrink again
	if surface && !math.IsInf(whole, 1) {
		last = surfaceNode * math.Sqrt(briefest)
		half = (whole + (last-first)/(columnRatio-1)) / 2
	}
	size := func(zeta float64) float64 {
		return min(first+(columnRatio-1)*zeta, last+(columnRatio-1)*(whole-zeta))
	}
	var k column
	var resistance []float64 // [m²·K/W] of half a node
	cut := func(s Slice, from, to float64) {
		root, growth := math.Sqrt(s.Conductivity/s.Capacity), size(to)/size(from)
		n := max(1, math.Ceil(math.Abs(math.Log(growth))/math.Log(columnRatio)-1e-9))
		place := func(j float64) float64 {
			if j == 0 || j == n {
				return (to - from) * j / n
			}
			return (to - from) * (math.Pow(growth, j/n) - 1) / (growth - 1)
		}
		for j := range int(n) {
			dz := root * (place(float64(j+1)) - place(float64(j)))
			k.size = append(k.size, dz)
			k.capacity = append(k.capacity, s.Capacity*dz)
			resistance = append(resistance, dz/(2*s.Conductivity))
		}
	}
	from := 0.0
	for _, s := range slices {
		to := from + s.Thickness/math.Sqrt(s.Conductivity/s.Capacity)
		if math.IsInf(to, 1) {
			to = max(columnDepth*math.Sqrt(duration), from+first)
		}
		if from < half && half < to {
			cut(s, from, half)
			from = half
		}
		cut(s, from, to)
		from = to
	}
	n := len(k.size)
	k.end, k.beyond = 1/beyond, beyond
	if n > 0 {
		k.first, k.half = resistance[0], resistance[n-1]
		k.end = 1 / (resistance[n-1] + beyond)
	}
	for j := range max(0, n-1) {
		k.g = append(k.g, 1/(resistance[j]+resistance[j+1]))
	}
	v := func() []float64 { return make([]float64, n) }
	k.ch, k.pass, k.inverse, k.fed, k.profile, k.depth, k.boil = v(), v(), v(), v(), v(), v(), make([]Boil, n)
	k.back, k.carry, k.leave = v(), v(), v()
	k.dry()
	return k
}

// place sets the nodes' depths and when they boil.
func (c *Columns) place(caps *Caps) {
	for s := range c.sides {
		k, z := &c.sides[s], 0.0
		for j, dz := range k.size {
			k.depth[j] = c.top - z - dz/2
			if s == lower {
				k.depth[j] = c.top + c.thickness + z + dz/2
			}
			k.boil[j] = Boil{Point: math.Inf(1)}
			if caps.Boil != nil {
				k.boil[j] = caps.Boil(k.depth[j])
			}
			c.boils = c.boils || !math.IsInf(k.boil[j].Point, 1)
			z += dz
		}
	}
}

// share gives each node of both sides its part of the fringe's heat: from one end of the
// node to the other Passing falls by so much.
func (c *Columns) share(passing func(depth float64) float64) {
	sum := 0.0
	for s := range c.sides {
		k := &c.sides[s]
		for j, dz := range k.size {
			out := dz / 2
			if s == upper {
				out = -out
			}
			k.profile[j] = max(0, passing(k.depth[j]-out)-passing(k.depth[j]+out))
			sum += k.profile[j]
		}
	}
	if !(sum > 0) { // ends too close to the slab for what falls with depth to differ
		for s := range c.sides {
			k := &c.sides[s]
			copy(k.profile, k.size)
			for _, dz := range k.size {
				sum += dz
			}
		}
	}
	if !(sum > 0) {
		panic("physics: heat of a fringe, and no ground above or below that takes it")
	}
	for s := range c.sides {
		for j := range c.sides[s].profile {
			c.sides[s].profile[j] /= sum
		}
	}
}

// Outside returns the conductivity of the ground above and below the slab over that as
// found [-], as current that spreads there meets it in nodes t, a State's Caps, and as it
// lies in plan by the fringe of r; 0 where r has none. It is the mean of its logarithm over
// the fringe's heat,
//
//	ln σ/σ₀ = Σ_j p_j ln(σ_j/σ₀)
//
// since a network's power changes with the conductivity of a part as with that part's heat:
// to first order exact.
func (c *Columns) Outside(t []float64, r *CapRates) float64 {
	if !c.fringes || c.conducts == nil {
		return 1
	}
	nx, n := c.grid.NX, c.perCell()
	clear(c.warmth[:n])
	heat := 0.0
	for k := range c.grid.NZ { // in one order, whoever else works
		area, fringe := rowOf(c.area, nx, k), rowOf(r.Fringe, nx, k)
		row := 0.0
		for i, q := range fringe {
			row += area[i] * q
		}
		if row == 0 {
			continue
		}
		heat += row
		for s := range c.sides {
			v := &c.sides[s]
			for j := range v.size {
				sum := 0.0
				for i, t := range c.node(t, k, v, j)[:nx] {
					sum += area[i] * fringe[i] * t
				}
				c.warmth[v.at+j] += sum
			}
		}
	}
	if !(heat > 0) {
		return 0
	}
	log := 0.0
	for s := range c.sides {
		v := &c.sides[s]
		for j, p := range v.profile {
			if p > 0 {
				log += p * math.Log(c.conducts(v.depth[j], c.warmth[v.at+j]/heat))
			}
		}
	}
	return math.Exp(log)
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

// Factor sets the elimination for a stage of length h [s] whose rates go to r, under the
// air as it stands (Heat.SetAir).
func (c *Columns) Factor(r *CapRates, h float64) {
	r.Air = c.air
	if c.rain != nil {
		r.Rain = c.rain.Rain
	}
	for s := range c.sides {
		k := &c.sides[s]
		n := len(k.size)
		if n == 0 {
			k.rest = 1 / k.end
			continue
		}
		d := 0.0
		for j := n - 1; j >= 0; j-- {
			k.ch[j] = k.capacity[j] / h
			k.fed[j] = k.profile[j]
			own := k.ch[j] + k.leave[j]
			if j == n-1 {
				d = own + k.out(j)
			} else {
				k.inverse[j+1] = 1 / (d + k.back[j])
				k.pass[j] = k.back[j] * k.inverse[j+1]
				k.fed[j] += k.pass[j] * k.fed[j+1]
				d = own + k.out(j)*k.inverse[j+1]*d
			}
		}
		k.inverse[0] = 1 / d
		k.rest = k.near + k.ratio*k.inverse[0]
	}
}

// KnownRows eliminates what a stage knows, and sets dst to the r_j of rows k0 ≤ k < k1
// without the stage's own fringe, see Balance for such methods:
//
//	T* = T + h dT/dt, where blend is 0: from the rates r at a state of nodes at, or
//	T* = T + blend·(T_γ − T), where dst holds the nodes T_γ of the stage before.
func (c *Columns) KnownRows(dst, at []float64, r *CapRates, blend float64, k0, k1 int) {
	for k := k0; k < k1; k++ {
		for s := range c.sides {
			if blend == 0 {
				c.startRow(dst, at, r, k, s)
			} else {
				c.blendRow(dst, at, blend, k, s)
			}
		}
	}
}

// startRow is KnownRows from the rates at a state, of one row and side.
func (c *Columns) startRow(dst, at []float64, r *CapRates, k, s int) {
	nx, v := c.grid.NX, &c.sides[s]
	last := len(v.size) - 1
	for j := last; j >= 0; j-- {
		d, t := c.node(dst, k, v, j)[:nx], c.node(at, k, v, j)[:nx]
		ch := v.ch[j]
		if j == 0 {
			for i, f := range rowOf(r.Face[s], nx, k)[:nx] {
				d[i] = ch*t[i] + f
			}
			if s == lower && r.Drain != nil {
				for i, q := range rowOf(r.Drain, nx, k)[:nx] {
					d[i] -= q
				}
			}
		} else {
			g, in := v.back[j-1], c.node(at, k, v, j-1)[:nx]
			for i, t := range t {
				d[i] = ch*t + g*(in[i]-t)
			}
		}
		if j == last {
			then, now := c.outsideOf(s, r.Air), c.outsideOf(s, c.air)
			for i, t := range t {
				d[i] += v.back[j] * (now - t + then)
			}
		} else {
			g, pass, out, next := v.back[j], v.pass[j], c.node(at, k, v, j+1)[:nx], c.node(dst, k, v, j+1)[:nx]
			for i, t := range t {
				d[i] += pass*next[i] - g*(t-out[i])
			}
		}
		if r.Fringe != nil {
			p := v.profile[j]
			for i, q := range rowOf(r.Fringe, nx, k)[:nx] {
				d[i] += p * q
			}
		}
		c.addCarried(d, at, k, v, j)
		c.addSource(d, 2, k, v, j) // of the rates, and the stage's own
	}
}

// addSource adds w times what is expected to condense in a node to d.
func (c *Columns) addSource(d []float64, w float64, k int, v *column, j int) {
	if c.boils && c.acts[k*c.perCell()+v.at+j] {
		for i, s := range c.node(c.source, k, v, j)[:len(d)] {
			d[i] += w * s
		}
	}
}

// blendRow is KnownRows from the stage before, of one row and side.
func (c *Columns) blendRow(dst, at []float64, blend float64, k, s int) {
	nx, v := c.grid.NX, &c.sides[s]
	last := len(v.size) - 1
	for j := last; j >= 0; j-- {
		d, ch := c.node(dst, k, v, j)[:nx], v.ch[j]
		if j == last {
			out := v.back[j] * c.outsideOf(s, c.air)
			for i, t := range c.node(at, k, v, j)[:nx] {
				d[i] = ch*(t+blend*(d[i]-t)) + out
			}
			c.addSource(d, 1, k, v, j)
			continue
		}
		pass, next := v.pass[j], c.node(dst, k, v, j+1)[:nx]
		for i, t := range c.node(at, k, v, j)[:nx] {
			d[i] = ch*(t+blend*(d[i]-t)) + pass*next[i]
		}
		c.addSource(d, 1, k, v, j)
	}
}

// FringeRows sets the fringe of r, the heat that the two columns of a cell get, ratio times
// the cell's own Joule heat (Electric.Beyond): so it lies in plan as the slab's does. It
// takes the heat put into the slab [W] by cell, of which set is no Joule heat (nil: all is).
func (c *Columns) FringeRows(r *CapRates, ratio float64, power, set []float64, k0, k1 int) {
	if r.Fringe == nil {
		return
	}
	for j := k0 * c.grid.NX; j < k1*c.grid.NX; j++ {
		q := power[j]
		if set != nil {
			q -= set[j]
		}
		r.Fringe[j] = ratio * q / c.area[j]
	}
}

// OutsideRows sets the exchanges of rows k0 ≤ k < k1 to what KnownRows made of the
// nodes and the fringe of r.
func (c *Columns) OutsideRows(known []float64, r *CapRates, k0, k1 int) {
	nx := c.grid.NX
	for k := k0; k < k1; k++ {
		for s := range c.sides {
			v := &c.sides[s]
			theta := rowOf(v.outside, nx, k)
			if len(v.size) == 0 {
				fill(theta, v.ratio*c.outsideOf(s, c.air))
				continue
			}
			for i, known := range c.node(known, k, v, 0) {
				theta[i] = known * v.inverse[0]
			}
			if r.Fringe != nil {
				fed := v.fed[0] * v.inverse[0]
				for i, q := range rowOf(r.Fringe, nx, k) {
					theta[i] += fed * q
				}
			}
			if v.ratio != 1 {
				for i := range theta {
					theta[i] *= v.ratio
				}
			}
		}
		c.exchangeRow(k)
	}
}

// exchangeRow turns the θ that row k has outside each face into its exchanges.
func (c *Columns) exchangeRow(k int) {
	if c.rain != nil && c.rain.crosses {
		c.rainedRow(k)
		return
	}
	nx := c.grid.NX
	a, b := &c.sides[upper], &c.sides[lower]
	ga, ta := rowOf(a.conductance, nx, k), rowOf(a.outside, nx, k)
	gb, tb := rowOf(b.conductance, nx, k)[:nx], rowOf(b.outside, nx, k)[:nx]
	area := rowOf(c.area, nx, k)[:nx]
	for i, j := range rowOf(c.join, nx, k) {
		fa, fb := j/(2*j+a.rest), j/(2*j+b.rest)
		ga[i] = area[i] * (1 + fb) / (2*j + a.rest - j*fb)
		gb[i] = area[i] * (1 + fa) / (2*j + b.rest - j*fa)
		t, u := ta[i], tb[i]
		ta[i], tb[i] = (t+fb*u)/(1+fb), (u+fa*t)/(1+fa)
	}
}

// CloseRows turns the r_j in t of rows k0 ≤ k < k1 into the nodes' temperatures for
// cells of temperature cells [K], and sets r to the rates there.
func (c *Columns) CloseRows(t []float64, r *CapRates, cells []float64, ambient float64, k0, k1 int) {
	nx := c.grid.NX
	for k := k0; k < k1; k++ {
		area := rowOf(c.area, nx, k)
		if c.rain != nil {
			c.passRow(r, cells, k)
		}
		for s := range c.sides {
			v := &c.sides[s]
			if r.Fringe != nil {
				for j, fed := range v.fed {
					d := c.node(t, k, v, j)[:nx]
					for i, q := range rowOf(r.Fringe, nx, k)[:nx] {
						d[i] += fed * q
					}
				}
			}
			face, slab := rowOf(r.Face[s], nx, k), rowOf(cells, nx, k)
			g, theta := rowOf(v.conductance, nx, k), rowOf(v.outside, nx, k)
			for i := range face {
				face[i] = g[i] / area[i] * (slab[i] - theta[i])
			}
			before := face
			for j := range v.size {
				by := 1.0
				if j > 0 {
					by = v.out(j - 1)
				} else if s == lower && r.Drain != nil {
					for i, q := range rowOf(r.Drain, nx, k)[:nx] {
						c.node(t, k, v, 0)[i] -= q
					}
				}
				d, inverse := c.node(t, k, v, j)[:nx], v.inverse[j]
				for i, x := range before[:nx] {
					d[i] = (d[i] + by*x) * inverse
				}
				before = d
			}
		}
		c.storeRow(t, ambient, k)
		c.endRow(t, r, k)
	}
}

// endRow sums what leaves the columns of row k at their far ends.
func (c *Columns) endRow(t []float64, r *CapRates, k int) {
	nx := c.grid.NX
	area := rowOf(c.area, nx, k)
	for s, sum := range [2][]float64{upper: c.surface, lower: c.below} {
		v := &c.sides[s]
		n := len(v.size)
		sum[k] = 0
		if n == 0 {
			for i, f := range rowOf(r.Face[s], nx, k) {
				sum[k] += area[i] * f
			}
			if c.rain != nil {
				sum[k] += c.edgeRow(r, k, s)
			}
			continue
		}
		outside, end := c.outsideOf(s, r.Air), v.out(n-1)
		for i, t := range c.node(t, k, v, n-1) {
			sum[k] += area[i] * end * (t - outside)
		}
	}
	if c.rain != nil {
		c.leaveRow(t, r, k)
	}
}

// Totals returns, of the stage last closed or the step last ended, what the columns hold beyond the ground as
// found [J], and what leaves them at the surface and below [W].
func (c *Columns) Totals() (stored, surface, below float64) {
	for k := range c.stored {
		stored += c.stored[k]
		surface += c.surface[k]
		below += c.below[k]
	}
	return
}
