package physics

import (
	"fmt"
	"math"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// Ground is what the laws need to know of the site: which soil each row of the
// grid lies in, its water store and its boiling point. Layers are level, so a
// row has one soil. It does not change during a run.
type Ground struct {
	Grid    *mesh.Grid
	Water   *materials.Water
	Ambient float64 // [K] the ground at the start
	Soils   []*materials.Soil
	Layer   []int   // [row] index into Soils
	Stores  []Store // [row]

	BoilingPoint []float64 // [K] by cell; +Inf where boiling is off

	electric []*materials.Conductivity // by soil
	thermal  []*materials.Thermal
}

// WaterSupply says how a soil's boiling cells are supplied with water. Rates
// are pore volumes per second.
type WaterSupply struct {
	Removable float64 // [-] share of the pore water that boils away before inflow begins
	Inflow    float64 // [1/s] 0: none; +Inf: whatever boils is replaced
	Refill    float64 // [1/s] at which a cell that cooled below boiling fills again
}

// Site is the pressure that sets the boiling point.
type Site struct {
	Ambient     float64 // [K]
	AirPressure float64 // [Pa]
	WaterTable  float64 // [m] depth; +Inf: none
	Boiling     bool
}

// Pressure returns the pressure of the pore water at depth z [m], in Pa: that of
// the air, and below the water table the column of water above, at a constant
// density.
func (s Site) Pressure(z float64) float64 {
	return s.AirPressure + materials.RhoWater*materials.Gravity*math.Max(0, z-s.WaterTable)
}

// NewGround puts soils into the rows of a grid: bottoms [m] is each soil's lower
// face, the last +Inf. supply returns a soil's WaterSupply at a depth. It fails
// where a soil's capacity is less than its water's.
func NewGround(g *mesh.Grid, site Site, water *materials.Water, soils []*materials.Soil, bottoms []float64,
	supply func(soil int, z float64) WaterSupply) (*Ground, error) {
	gr := &Ground{Grid: g, Water: water, Ambient: site.Ambient, Soils: soils,
		Layer: make([]int, g.NZ), Stores: make([]Store, g.NZ), BoilingPoint: make([]float64, g.Cells())}
	for _, s := range soils {
		gr.electric = append(gr.electric, s.Conductivity(water))
		gr.thermal = append(gr.thermal, s.Thermal())
	}
	for k, z := range g.ZC {
		l := 0
		for l < len(bottoms)-1 && z > bottoms[l] {
			l++
		}
		gr.Layer[k] = l
		st, err := newStore(soils[l], supply(l, z), site, water, z)
		if err != nil {
			return nil, err
		}
		gr.Stores[k] = st
		for i := range g.NX {
			gr.BoilingPoint[g.Index(i, k)] = st.BoilingPoint
		}
	}
	return gr, nil
}

func newStore(s *materials.Soil, w WaterSupply, site Site, water *materials.Water, z float64) (Store, error) {
	solids, err := s.SolidsCapacity(water, site.Ambient)
	if err != nil {
		return Store{}, fmt.Errorf("layer %q: %w", s.Name, err)
	}
	h0, c0 := water.Enthalpy(site.Ambient)
	pores := s.Porosity * materials.RhoWater // [kg/m³] when full
	st := Store{
		water: water, t0: site.Ambient, h0: h0,
		Solids: solids, Capacity: solids + s.Porosity*s.Saturation*materials.RhoWater*c0,
		Pores: pores, Found: pores * s.Saturation,
		Refill:       w.Refill * pores,
		BoilingPoint: math.Inf(1),
	}
	if pores > 0 { // ∞·0 is no inflow
		st.Inflow = w.Inflow * pores
		st.Refill = math.Min(w.Refill, w.Inflow) * pores // what flows to a hot cell flows no faster to a cool one
	}
	st.Dry = math.Min(st.Found, pores*s.DrySaturation)
	st.Floor = math.Max(st.Dry, st.Found*(1-w.Removable))
	if site.Boiling {
		tb := materials.SaturationTemperature(site.Pressure(z))
		if math.IsNaN(tb) {
			return Store{}, fmt.Errorf("at %.3g m the water's pressure, %.3g Pa, is outside the range of the steam tables", z, site.Pressure(z))
		}
		hb, _ := water.Enthalpy(tb)
		st.BoilingPoint = tb
		st.LiquidAtBoiling = hb - h0
		st.Steam = materials.VapourEnthalpy(tb) - h0
	}
	return st, nil
}

// Row returns the row of cell c.
func (g *Ground) Row(c int) int { return c / g.Grid.NX }

// SaturationTo sets dst to the share of the pores that holds liquid, S = W/(φρ_w).
func (g *Ground) SaturationTo(dst, w []float64) {
	nx := g.Grid.NX
	for k := range g.Stores {
		inv := 0.0
		if p := g.Stores[k].Pores; p > 0 {
			inv = 1 / p
		}
		for c := k * nx; c < (k+1)*nx; c++ {
			dst[c] = w[c] * inv
		}
	}
}

// SigmaTo sets dst to the electrical conductivity [S/m] at temperature t [K] and
// saturation s [-].
func (g *Ground) SigmaTo(dst, t, s []float64) {
	nx := g.Grid.NX
	for k, l := range g.Layer {
		a, b := k*nx, (k+1)*nx
		g.electric[l].SigmaTo(dst[a:b], t[a:b], s[a:b], g.BoilingPoint[a:b])
	}
}

// LambdaTo sets dst to the thermal conductivity [W/(m·K)] at saturation s [-].
func (g *Ground) LambdaTo(dst, s []float64) {
	nx := g.Grid.NX
	for k, l := range g.Layer {
		a, b := k*nx, (k+1)*nx
		g.thermal[l].LambdaTo(dst[a:b], s[a:b])
	}
}

// Start sets s to the ground as found: ambient, E = 0, the found water.
func (g *Ground) Start(s *State) {
	nx := g.Grid.NX
	for k := range g.Stores {
		for c := k * nx; c < (k+1)*nx; c++ {
			s.T[c], s.E[c], s.W[c] = g.Ambient, 0, g.Stores[k].Found
		}
	}
}
