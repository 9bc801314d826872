package physics

import (
	"fmt"
	"math"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// Ground is what the laws need to know of the site: which soil each row of the
// grid lies in, its water store and its boiling point. Layers are level, so a
// row has one soil, but for the inserts in it. It does not change during a run.
type Ground struct {
	Grid    *mesh.Grid
	Water   *materials.Water
	Ambient float64 // [K] the ground at the start
	Soils   []*materials.Soil
	Layer   []int   // [row] index into Soils
	Stores  []Store // [row], and after them one an insert
	Inserts []Insert

	BoilingPoint []float64 // [K] of the ground, by cell; +Inf where boiling is off

	storeOf []int32 // by cell, index into Stores

	electric []*materials.Conductivity // by soil
	thermal  []*materials.Thermal
}

// Insert is a solid body in the ground with a material of its own. It holds no
// water, so it does not boil, and is an electrical insulator.
type Insert struct {
	Name         string
	Zone         mesh.Zone
	Conductivity float64 // [W/(m·K)]
	Capacity     float64 // [J/(m³·K)]
}

// insertSigma is the electrical conductivity of an insert [S/m]: above nothing, so
// that its potential is defined, and ten million times below that of the poorest
// ground a case may have, 1e7 Ω·m, as found: the heat of a current in it is beyond the
// digits of a history. Such ground dried out or frozen may conduct as little.
const insertSigma = 1e-14

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
		Layer: make([]int, g.NZ), Stores: make([]Store, g.NZ), BoilingPoint: make([]float64, g.Cells()), storeOf: make([]int32, g.Cells())}
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
			gr.storeOf[g.Index(i, k)] = int32(k)
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
			return Store{}, fmt.Errorf("at %.3g m the water's pressure, %.3g Pa, is outside the range of the steam tables; model less depth, or let nothing boil (steam.boiling = false)", z, site.Pressure(z))
		}
		hb, _ := water.Enthalpy(tb)
		st.BoilingPoint = tb
		st.LiquidAtBoiling = hb - h0
		st.Steam = materials.VapourEnthalpy(tb) - h0
	}
	return st, nil
}

// Insert puts a body into the ground. Where two overlap, the later one holds.
func (g *Ground) Insert(b Insert) {
	g.Inserts = append(g.Inserts, b)
	h0, _ := g.Water.Enthalpy(g.Ambient)
	for _, c := range b.Zone.Cells(g.Grid) {
		g.storeOf[c] = int32(len(g.Stores))
	}
	g.Stores = append(g.Stores, Store{water: g.Water, t0: g.Ambient, h0: h0,
		Solids: b.Capacity, Capacity: b.Capacity, BoilingPoint: math.Inf(1)})
}

// Store returns the store of cell c.
func (g *Ground) Store(c int) *Store { return &g.Stores[g.storeOf[c]] }

// InInsert reports whether cell c lies in an insert.
func (g *Ground) InInsert(c int) bool { return int(g.storeOf[c]) >= g.Grid.NZ }

// fill sets dst to a value of each insert in its cells.
func (g *Ground) fill(dst []float64, value func(*Insert) float64) {
	for j := range g.Inserts {
		b := &g.Inserts[j]
		v := value(b)
		for k := b.Zone.K0; k < b.Zone.K1; k++ {
			for i := b.Zone.I0; i < b.Zone.I1; i++ {
				dst[g.Grid.Index(i, k)] = v
			}
		}
	}
}

// Row returns the row of cell c.
func (g *Ground) Row(c int) int { return c / g.Grid.NX }

// SaturationTo sets dst to the share of the pores that holds liquid, S = W/(φρ_w).
// Ground without pores has no water to lose: it stays as found; an insert holds none.
func (g *Ground) SaturationTo(dst, w []float64) {
	for c := range dst {
		if p := g.Store(c).Pores; p > 0 {
			dst[c] = w[c] / p
		} else if g.InInsert(c) {
			dst[c] = 0
		} else {
			dst[c] = g.Soils[g.Layer[g.Row(c)]].Saturation
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
	g.fill(dst, func(*Insert) float64 { return insertSigma })
}

// LambdaTo sets dst to the thermal conductivity [W/(m·K)] at saturation s [-].
func (g *Ground) LambdaTo(dst, s []float64) {
	nx := g.Grid.NX
	for k, l := range g.Layer {
		a, b := k*nx, (k+1)*nx
		g.thermal[l].LambdaTo(dst[a:b], s[a:b])
	}
	g.fill(dst, func(b *Insert) float64 { return b.Conductivity })
}

// Start sets s to the ground as found: ambient, E = 0, the found water.
func (g *Ground) Start(s *State) {
	for c := range s.T {
		s.T[c], s.E[c], s.W[c] = g.Ambient, 0, g.Store(c).Found
	}
}
