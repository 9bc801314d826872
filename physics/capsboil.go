package physics

import (
	"math"

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

// CapSteam is what the fringe boils above and below a slab: rates, or over a time.
type CapSteam struct {
	Mass   float64 // [kg/s] or [kg], and as much water at ambient comes in for it
	Heat   float64 // [W] or [J] that the steam takes out
	Latent float64 // [W] or [J] of that evaporation
}

// Plus returns a + w b.
func (a CapSteam) Plus(w float64, b CapSteam) CapSteam {
	return CapSteam{a.Mass + w*b.Mass, a.Heat + w*b.Heat, a.Latent + w*b.Latent}
}

// Expect tells the columns how long the step to be tried is, dt [s], and by r the fringe
// that is expected in it. What each node takes of it follows from the two and the state
// (partRow), so it is the same in all stages.
func (c *Columns) Expect(r *CapRates, dt float64) {
	copy(c.expected, r.Fringe)
	c.dt = dt
}

// partRow sets the part of the fringe that node j of a side takes up in row k, p_j a,
// from the temperatures at, and adds to the row's steam that of the rest of a fringe q
// [W/m²]. A node whose expected heat would bring it past its boiling point takes
//
//	a = C_j (T_b − T_j)/(p_j Q Δt),  0 ≤ a ≤ 1
//
// of it, so heat that spreads on by conduction leaves it below its boiling point by up
// to that of one step. Where the step's heat is as expected, no node passes the highest
// of its side's boiling points and the slab's temperature, but for the step's own error.
func (c *Columns) partRow(q, at []float64, k int, v *column, j int) []float64 {
	nx := c.grid.NX
	part, p, boil := rowOf(c.part, nx, k)[:nx], v.profile[j], v.boil[j]
	fill(part, p)
	if math.IsInf(boil.Point, 1) {
		return part
	}
	area, whole, rest := rowOf(c.area, nx, k)[:nx], p*c.dt, 0.0
	q = q[:nx]
	t := c.node(at, k, v, j)[:nx]
	for i, e := range rowOf(c.expected, nx, k)[:nx] {
		heat, room := whole*e, v.capacity[j]*(boil.Point-t[i])
		if heat <= room {
			continue
		}
		part[i] = 0
		if room > 0 {
			part[i] = p * room / heat
		}
		rest += area[i] * (p - part[i]) * q[i]
	}
	if rest != 0 {
		c.steam[k] = c.steam[k].Plus(1, CapSteam{rest / boil.Steam, rest, rest / boil.Steam * boil.Latent})
		c.shallow[k] = min(c.shallow[k], v.depth[j])
	}
	return part
}

// feedRow adds to the fed of row k, from node j+1, that of node j.
func (c *Columns) feedRow(part []float64, k int, v *column, j int) {
	fed := rowOf(v.fed, c.grid.NX, k)[:len(part)]
	if j == len(v.size)-1 {
		copy(fed, part)
		return
	}
	pass := v.pass[j]
	for i, p := range part {
		fed[i] = p + pass*fed[i]
	}
}

// takeRow adds to the r_j of row k in t what the fringe q gives them.
func (c *Columns) takeRow(t, q, at []float64, k int, v *column) {
	nx := c.grid.NX
	for j := len(v.size) - 1; j >= 0; j-- {
		c.feedRow(c.partRow(q, at, k, v, j), k, v, j)
		d, fed := c.node(t, k, v, j)[:nx], rowOf(v.fed, nx, k)[:nx]
		for i, q := range q[:nx] {
			d[i] += fed[i] * q
		}
	}
}

// clearSteam forgets the steam of row k.
func (c *Columns) clearSteam(k int) { c.steam[k], c.shallow[k] = CapSteam{}, math.Inf(1) }

// Steam returns what the fringe boils [kg/s, W] at the stage last closed, or after
// KnownRows of a first stage at the state it starts from.
func (c *Columns) Steam() CapSteam {
	var sum CapSteam
	for _, s := range c.steam {
		sum = sum.Plus(1, s)
	}
	return sum
}

// Hottest returns the temperature [K] of the hottest node above and below at the stage
// last closed, −Inf where there is none, and the least depth [m] at which the fringe
// boiled then, +Inf: nowhere.
func (c *Columns) Hottest() (above, below, shallowest float64) {
	above, below, shallowest = math.Inf(-1), math.Inf(-1), math.Inf(1)
	for k := range c.shallow {
		above, below = max(above, c.sides[upper].hottest[k]), max(below, c.sides[lower].hottest[k])
		shallowest = min(shallowest, c.shallow[k])
	}
	return above, below, shallowest
}
