package physics

import (
	"math"
	"slices"

	"soiljoule/materials"
)

// Boil is when ground boils, and what its steam takes out.
type Boil struct {
	Point  float64 // [K] +Inf: it does not
	Steam  float64 // [J/kg] h_v(T_b) − h_w(T₀), water at ambient coming in for it
	Latent float64 // [J/kg] of that evaporation
}

// BoilAt returns when ground that holds water boils at a depth z [m]. It does not where
// boiling is off or the pressure outside the range of the steam tables.
// Source: IAPWS R7-97, as SaturationTemperature.
func (s Site) BoilAt(water *materials.Water, z float64) Boil {
	tb := materials.SaturationTemperature(s.Pressure(z))
	if !s.Boiling || math.IsNaN(tb) {
		return Boil{Point: math.Inf(1)}
	}
	found, _ := water.Enthalpy(s.Ambient)
	liquid, _ := water.Enthalpy(tb)
	vapour := materials.VapourEnthalpy(tb)
	return Boil{Point: tb, Steam: vapour - found, Latent: vapour - liquid}
}

// CapSteam is steam above and below a slab, of a cell's columns or of all.
type CapSteam struct {
	Mass   float64 // [kg]
	Heat   float64 // [J] from liquid water at ambient
	Latent float64 // [J] of that evaporation
}

// Plus returns a + w b.
func (a CapSteam) Plus(w float64, b CapSteam) CapSteam {
	return CapSteam{a.Mass + w*b.Mass, a.Heat + w*b.Heat, a.Latent + w*b.Latent}
}

// CapVapour is what steam did in the columns of a slab in a step. Water at ambient comes
// in for what boils. What condenses drains at once, at the temperature of the node it
// leaves.
type CapVapour struct {
	Boiled    CapSteam
	Captured  CapSteam
	Surface   CapSteam // that left there
	Condensed CapSteam // Heat: that the nodes took
	Drained   float64  // [J] enthalpy of the condensed water
}

// plus returns a + b.
func (a CapVapour) plus(b *CapVapour) CapVapour {
	return CapVapour{a.Boiled.Plus(1, b.Boiled), a.Captured.Plus(1, b.Captured), a.Surface.Plus(1, b.Surface),
		a.Condensed.Plus(1, b.Condensed), a.Drained + b.Drained}
}

// Boils reports whether ground above or below may.
func (c *Columns) Boils() bool { return c.boils }

// Expected is what a step is expected to bring to the columns.
type Expected struct {
	Time   float64   // [s] it takes
	Rates  *CapRates // at its start
	Cells  []float64 // [K] of the slab
	Fringe []float64 // [W/m²] by cell; nil: none
	Steam  []float64 // [W] latent heat by cell that rises out of the slab; nil: none
	Vapour *Vapour
	Again  bool // the step before was Short: its columns that were rely on none
}

// ExpectRows sets what is expected to boil and to condense in a step that begins at nodes
// at. A node needs, to be at its boiling point at the end,
//
//	n = c (T_b − T)/Δt − p Q − [T = T_b] (g_{j−1} (T_{j−1} − T_j) − g_j (T_j − T_{j+1}))
//
// Where that is below zero s = n boils; where it is above, s is what the steam expected
// from below has for it. It only serves that nodes keep near T_b within the step: what
// boils and condenses is found at its end. The slab's flux is that of the rates, or what
// the temperatures would drive through ground as found where that is less: a node that
// steam has warmed since draws less.
func (c *Columns) ExpectRows(at []float64, e *Expected, k0, k1 int) {
	middle := c.top + c.thickness/2
	for k := k0; k < k1; k++ {
		nx := c.grid.NX
		rest := rowOf(c.rest, nx, k)
		clear(rest)
		if !e.Again {
			clear(c.short[k*nx : (k+1)*nx])
		}
		from := math.Inf(1)
		for j := len(c.sides[lower].size) - 1; j >= 0; j-- {
			c.expectRow(at, e, rest, k, lower, j, from)
			from = c.sides[lower].depth[j]
		}
		if e.Steam != nil {
			share := 1 - e.Vapour.captured(middle, from)
			area := rowOf(c.area, nx, k)
			for i, q := range rowOf(e.Steam, nx, k) {
				below := share * rest[i]
				if q == 0 { // a slab that does not boil yet takes what comes from below
					below = 0
				}
				rest[i] = below + relied*q/area[i]
			}
		}
		from = middle
		for j := range c.sides[upper].size {
			c.expectRow(at, e, rest, k, upper, j, from)
			from = c.sides[upper].depth[j]
		}
	}
}

// relied is the share of the steam expected that is let into the columns before it is
// known: steam may become less in a step.
const relied = 0.8

// expectRow sets s of one node in a row, with what rises to it from a depth, rest [W/m²].
func (c *Columns) expectRow(at []float64, e *Expected, rest []float64, k, side, j int, from float64) {
	nx, v := c.grid.NX, &c.sides[side]
	source := c.node(c.source, k, v, j)
	boil, z := v.boil[j], v.depth[j]
	if share := e.Vapour.captured(z, from); share > 0 {
		for i := range rest {
			rest[i] *= 1 - share
		}
	}
	clear(source)
	if math.IsInf(boil.Point, 1) {
		return
	}
	rises := 0.0 // of what boils here
	if e.Vapour.Rising {
		rises = (1 - e.Vapour.captured(z, z)) * boil.Latent / boil.Steam
	}
	t, last := c.node(at, k, v, j), len(v.size)-1
	face, inner, outer := rowOf(e.Rates.Face[side], nx, k), t, t
	if j > 0 {
		inner = c.node(at, k, v, j-1)
	}
	if j < last {
		outer = c.node(at, k, v, j+1)
	}
	acts, through := false, c.through(side)
	for i, t := range t {
		need := v.capacity[j] * (boil.Point - t) / e.Time
		if e.Fringe != nil {
			need -= v.profile[j] * e.Fringe[k*nx+i]
		}
		if t >= boil.Point {
			if j == 0 { // the water that crosses the face is near enough as warm as the node
				conducted := face[i] - through*t
				if side == lower && e.Rates.Drain != nil {
					conducted -= e.Rates.Drain[k*nx+i]
				}
				need -= min(conducted, (e.Cells[k*nx+i]-t)/(v.first+c.found[k*nx+i])) + through*t
			} else {
				need -= v.back[j-1]*(inner[i]-t) + v.carry[j-1]*inner[i]
			}
			need += (v.carry[j] + v.leave[j]) * t
			if j < last {
				need += v.back[j] * (t - outer[i])
			} else {
				need += v.back[j] * (t - c.outsideOf(side, e.Rates.Air))
			}
		}
		if need < 0 {
			source[i] = need
			rest[i] -= relied * rises * need
		} else if !c.short[k*nx+i] {
			source[i] = min(need, rest[i])
			rest[i] -= source[i]
		}
		acts = acts || source[i] != 0
	}
	c.acts[k*c.perCell()+v.at+j] = acts
}

// RiseBelowRows ends a step of dt [s] in the columns below the slab, of nodes t: where
// heat has come beyond a node's boiling point, it boils, and by a vapour that rises its
// steam heats the nodes above, up to their boiling points. rise becomes what comes to the
// slab's bottom by cell. It begins the step's account (Vapour).
func (c *Columns) RiseBelowRows(t []float64, rise []CapSteam, v *Vapour, ambient, dt float64, k0, k1 int) {
	middle := c.top + c.thickness/2
	for k := k0; k < k1; k++ {
		c.vapour[k], c.shallow[k] = CapVapour{}, math.Inf(1)
		f := rise[k*c.grid.NX : (k+1)*c.grid.NX]
		clear(f)
		clear(rowOf(c.rest, c.grid.NX, k))
		side, from := &c.sides[lower], math.Inf(1)
		for j := len(side.size) - 1; j >= 0; j-- {
			c.riseRow(t, f, v, ambient, dt, k, side, j, from)
			from = side.depth[j]
		}
		c.captureRow(f, v, k, middle, from)
	}
}

// RiseAboveRows is RiseBelowRows above the slab, after it: rise is the steam that leaves
// the slab's top by cell, and becomes what leaves at the surface. Totals are then those of
// the nodes as they are left, r the rates of the step's last stage.
func (c *Columns) RiseAboveRows(t []float64, r *CapRates, rise []CapSteam, v *Vapour, ambient, dt float64, k0, k1 int) {
	for k := k0; k < k1; k++ {
		f := rise[k*c.grid.NX : (k+1)*c.grid.NX]
		clear(rowOf(c.rest, c.grid.NX, k))
		side, from := &c.sides[upper], c.top+c.thickness/2
		for j := range side.size {
			c.riseRow(t, f, v, ambient, dt, k, side, j, from)
			from = side.depth[j]
		}
		out := &c.vapour[k].Surface
		for _, steam := range f {
			*out = out.Plus(1, steam)
		}
		c.storeRow(t, ambient, k)
		c.endRow(t, r, k)
	}
}

// captured returns which share of the steam that comes to a depth [m] from another, or
// from = z forms there, is taken out.
func (v *Vapour) captured(z, from float64) float64 {
	in := func(z float64) bool { return v.Top < v.Bottom && v.Top <= z && z <= v.Bottom }
	if in(z) && (from == z || !in(from)) {
		return v.Capture
	}
	return 0
}

// captureRow takes out of steam f that comes from one depth to another.
func (c *Columns) captureRow(f []CapSteam, v *Vapour, k int, z, from float64) {
	share := v.captured(z, from)
	if share == 0 {
		return
	}
	for i := range f {
		c.vapour[k].Captured = c.vapour[k].Captured.Plus(share, f[i])
		f[i] = f[i].Plus(-share, f[i])
	}
}

// riseRow lets steam f come to node j of a side in row k from a depth. With the heat x
// beyond T_b that the node would have [J/m²] if nothing had boiled,
//
//	x = c (T − T_b) − s Δt,
//
// it boils where x ≥ 0, and where x < 0 a mass m of the steam condenses and drains, of
// heat H a kilogram,
//
//	m (H − h_w(T_b)) = −x A  to bring it to T_b, or all, to y below it:  c y A = x A + m (H − h_w(T_b) − c_w y)
func (c *Columns) riseRow(t []float64, f []CapSteam, v *Vapour, ambient, dt float64, k int, side *column, j int, from float64) {
	boil := side.boil[j]
	z, sum := side.depth[j], &c.vapour[k]
	c.captureRow(f, v, k, z, from)
	if math.IsInf(boil.Point, 1) {
		return
	}
	formed := 1.0 // share captured of what forms here
	if v.Rising {
		formed = v.captured(z, z)
	}
	liquid := boil.Steam - boil.Latent
	cw := liquid / (boil.Point - ambient) // the mean's, near enough for what drains
	area, capacity := rowOf(c.area, c.grid.NX, k), side.capacity[j]
	node, lack := c.node(t, k, side, j), rowOf(c.rest, c.grid.NX, k)
	for i, s := range c.node(c.source, k, side, j) {
		a := area[i]
		x := capacity*(node[i]-boil.Point) - s*dt
		if x >= 0 {
			node[i] = boil.Point
			if x > 0 {
				m := x * a / boil.Steam
				steam := CapSteam{m, x * a, m * boil.Latent}
				sum.Boiled = sum.Boiled.Plus(1, steam)
				sum.Captured = sum.Captured.Plus(formed, steam)
				f[i] = f[i].Plus(1-formed, steam)
				c.shallow[k] = min(c.shallow[k], z)
			}
			lack[i] += max(0, s) * dt
			continue
		}
		y, steam, taken := x/capacity, f[i], 0.0
		if steam.Mass > 0 {
			gives := steam.Heat/steam.Mass - liquid
			part := -x * a / (gives * steam.Mass)
			if part < 1 {
				y = 0
			} else {
				part = 1
				y = min(0, (x*a+steam.Mass*gives)/(capacity*a+steam.Mass*cw))
			}
			steam = CapSteam{part * steam.Mass, part * steam.Heat, part * steam.Latent}
			taken = capacity*a*y - x*a
			sum.Condensed = sum.Condensed.Plus(1, CapSteam{steam.Mass, taken, steam.Mass * boil.Latent})
			sum.Drained += steam.Heat - taken
			f[i] = f[i].Plus(-1, steam)
		}
		lack[i] += s*dt - taken/a
		if y < 0 && lack[i] > tooShort*capacity {
			c.short[k*c.grid.NX+i] = true
		}
		node[i] = boil.Point + y
	}
}

// storeRow sums what the columns of row k hold, and finds their hottest nodes.
func (c *Columns) storeRow(t []float64, ambient float64, k int) {
	area, stored := rowOf(c.area, c.grid.NX, k), 0.0
	for s := range c.sides {
		v, hottest := &c.sides[s], math.Inf(-1)
		for j, capacity := range v.capacity {
			sum := 0.0
			for i, t := range c.node(t, k, v, j) {
				hottest = max(hottest, t)
				sum += area[i] * (t - ambient)
			}
			stored += capacity * sum
		}
		v.hottest[k] = hottest
	}
	c.stored[k] = stored
}

// Vapour returns what steam did in the step that was ended last.
func (c *Columns) Vapour() CapVapour {
	var sum CapVapour
	for k := range c.vapour {
		sum = sum.plus(&c.vapour[k])
	}
	return sum
}

// Short reports whether the step that was ended last relied on steam that did not come to
// a column, of which a node is colder by more than 5 K: a thin one might be by hundreds.
func (c *Columns) Short() bool { return slices.Contains(c.short, true) }

// tooShort is that bound [K], a choice.
const tooShort = 5.0

// Hottest returns the temperature [K] of the hottest node above and below at the stage
// last closed or the step last ended, −Inf where there is none, and the least depth [m]
// at which ground there boiled in that step, +Inf: nowhere.
func (c *Columns) Hottest() (above, below, shallowest float64) {
	above, below, shallowest = math.Inf(-1), math.Inf(-1), math.Inf(1)
	for k := range c.stored {
		above, below = max(above, c.sides[upper].hottest[k]), max(below, c.sides[lower].hottest[k])
	}
	for _, z := range c.shallow {
		shallowest = min(shallowest, z)
	}
	return above, below, shallowest
}
