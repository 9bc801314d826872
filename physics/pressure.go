package physics

import (
	"fmt"
	"math"

	"soiljoule/materials"
)

// Pressure returns the pressure of the pore water at depth z [m], in Pa:
//
//	p = p_air − p_vacuum + ρ_w g max(0, z − z_table)
//
// that of the pore air, and below the water table the column of water above, at a
// constant density. It is that at the start where table or vacuum change with time; see
// At.
func (s Site) Pressure(z float64) float64 {
	return s.AirPressure - s.Vacuum + materials.RhoWater*materials.Gravity*math.Max(0, z-s.WaterTable)
}

// At returns the site as it is at time t [s], water table and vacuum constant.
func (s Site) At(t float64) Site {
	if s.TableAt != nil {
		s.WaterTable = s.TableAt(t)
	}
	if s.VacuumAt != nil {
		s.Vacuum = s.VacuumAt(t)
	}
	s.TableAt, s.VacuumAt = nil, nil
	return s
}

// varies reports whether the boiling point changes with time.
func (s *Site) varies() bool { return s.TableAt != nil || s.VacuumAt != nil }

// At sets the boiling point of all rows, and what their water and steam hold there, to
// those at time t [s]. Where neither water table nor vacuum change it does nothing; it
// remembers nothing, so times may come in any order, and allocates nothing. It panics
// where the pressure leaves the range of the steam tables: a broken invariant of the
// caller.
func (g *Ground) At(t float64) {
	if !g.site.varies() || !g.site.Boiling {
		return
	}
	site := g.site.At(t)
	for k := range g.Grid.NZ {
		if p := site.Pressure(g.Depth(k)); !g.Stores[k].boilUnder(p) {
			panic(fmt.Sprintf("physics: pressure of %g Pa at %g m and %g s, outside the steam tables", p, g.Depth(k), t))
		}
	}
}

// Begin is At for a time at which a step begins. It also sets which rows lie below the
// water table, and so what water comes in: that holds for all the step, as a cell's
// inflow is a switch, and its stages must solve one and the same equation. A table that
// moves passes a row up to a step too late.
func (g *Ground) Begin(t float64) {
	g.At(t)
	if g.site.TableAt == nil {
		return
	}
	table := g.site.TableAt(t)
	for k := range g.Grid.NZ {
		s, z := &g.Stores[k], g.Depth(k)
		s.Below = z > table
		s.supply(g.site.SupplyAt(g.Layer[k], z, table))
	}
}

// TableMoves reports whether the water table does.
func (g *Ground) TableMoves() bool { return g.site.TableAt != nil }

// boilUnder sets what follows from the pressure p [Pa] of the pore water; false, and
// nothing is set: it is outside the range of the steam tables.
func (s *Store) boilUnder(p float64) bool {
	tb := materials.SaturationTemperature(p)
	if math.IsNaN(tb) {
		return false
	}
	hb, _ := s.water.Enthalpy(tb)
	s.BoilingPoint = tb
	s.LiquidAtBoiling = hb - s.h0
	s.Steam = materials.VapourEnthalpy(tb) - s.h0
	return true
}

// supply sets how water comes in.
func (s *Store) supply(w WaterSupply) {
	s.Inflow, s.Refill = 0, w.Refill*s.Pores
	if s.Pores > 0 { // ∞·0 is no inflow
		s.Inflow = w.Inflow * s.Pores
		s.Refill = math.Min(w.Refill, w.Inflow) * s.Pores // what flows to a hot cell flows no faster to a cool one
	}
}

// Begin sets when the nodes above and below a slab boil to what holds at time t [s], at
// which a step begins: a node's part of the fringe is constant over a step, so its
// boiling point is too. A node hotter than its new boiling point keeps its heat, which is
// conducted on.
func (c *Columns) Begin(t float64) {
	if c.boilAt == nil {
		return
	}
	for s := range c.sides {
		for j, z := range c.sides[s].depth {
			c.sides[s].boil[j] = c.boilAt(z, t)
		}
	}
}
