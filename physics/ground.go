package physics

import (
	"fmt"
	"math"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// Ground is what the laws need to know of the site: which soil each row of the
// grid lies in, its water store and its boiling point. Layers are level, so a
// row has one soil, but for the inserts in it; a level grid has the first soil in all
// its rows, at the site's depth. During a run it changes only by Begin and At, and so
// not at all where water table and vacuum are constant; where they are not, runs of one
// ground must follow one another.
type Ground struct {
	Grid    *mesh.Grid
	Water   *materials.Water
	Ambient float64 // [K] the ground at the start
	Soils   []*materials.Soil
	Layer   []int   // [row] index into Soils
	Stores  []Store // [row], and after them one an insert
	Inserts []Insert
	Vapour  Vapour

	runs  [][]Run // by row
	depth float64 // [m] of a level grid
	site  Site

	electric []*materials.Conductivity // by soil
	thermal  []*materials.Thermal
}

// Run is neighbouring cells of one row with one store: those of the ground between
// inserts, or those of an insert.
type Run struct {
	From, To int // cells From to To−1
	Store    int // index into Stores
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
	Vacuum      float64 // [Pa] applied to the pore air, below AirPressure
	Boiling     bool
	Depth       float64 // [m] of the middle of a level grid

	// TableAt and VacuumAt return, in place of WaterTable and Vacuum, those at time t
	// [s]; nil: constant. SupplyAt goes with TableAt: it returns, in place of NewGround's
	// supply, a soil's at depth z [m] where the water table lies at a depth [m].
	TableAt, VacuumAt func(t float64) float64
	SupplyAt          func(soil int, z, table float64) WaterSupply
}

// NewGround puts soils into the rows of a grid: bottoms [m] is each soil's lower
// face, the last +Inf; in a level grid all rows have the first soil. supply returns a
// soil's WaterSupply at a depth. It fails where a soil's capacity is less than its water's.
func NewGround(g *mesh.Grid, site Site, water *materials.Water, soils []*materials.Soil, bottoms []float64,
	supply func(soil int, z float64) WaterSupply) (*Ground, error) {
	gr := &Ground{Grid: g, Water: water, Ambient: site.Ambient, Soils: soils,
		Layer: make([]int, g.NZ), Stores: make([]Store, g.NZ), runs: make([][]Run, g.NZ), depth: site.Depth, site: site}
	start := site.At(0)
	if site.TableAt != nil {
		supply = func(soil int, z float64) WaterSupply { return site.SupplyAt(soil, z, start.WaterTable) }
	}
	for _, s := range soils {
		gr.electric = append(gr.electric, s.Conductivity(water))
		gr.thermal = append(gr.thermal, s.Thermal())
	}
	for k := range g.ZC {
		z, l := gr.Depth(k), 0
		for l < len(bottoms)-1 && z > bottoms[l] && !g.Level {
			l++
		}
		gr.Layer[k] = l
		st, err := newStore(soils[l], supply(l, z), start, water, z)
		if err != nil {
			return nil, err
		}
		st.level = g.Level
		gr.Stores[k] = st
		gr.runs[k] = []Run{{g.Index(0, k), g.Index(0, k+1), k}}
	}
	return gr, nil
}

// newStore returns what ground of soil s holds at depth z [m], as the site is at the start.
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
		BoilingPoint: math.Inf(1),
		Below:        z > site.WaterTable, WasBelow: z > site.WaterTable,
	}
	st.supply(w)
	st.Dry = math.Min(st.Found, pores*s.DrySaturation)
	st.Field = st.Found
	if s.FieldCapacity > 0 {
		st.Field = math.Max(st.Dry, pores*s.FieldCapacity)
	}
	if !st.Below { // as found it does not drain
		st.Field = math.Max(st.Field, st.Found)
	}
	st.Floor = math.Max(st.Dry, st.Found*(1-w.Removable))
	if site.Boiling && !st.boilUnder(site.Pressure(z)) {
		return Store{}, fmt.Errorf("at %.3g m the water's pressure, %.3g Pa, is outside the range of the steam tables; model less depth, or let nothing boil (steam.boiling = false)", z, site.Pressure(z))
	}
	return st, nil
}

// Insert puts a body into the ground, into cells that it fills at least half. Where two
// overlap, the later one holds.
func (g *Ground) Insert(b Insert) {
	for k := b.Zone.K0; k < b.Zone.K1; k++ {
		for i := b.Zone.I0; i < b.Zone.I1; i++ {
			from := i
			for i < b.Zone.I1 && b.Zone.Contains(i, k) {
				i++
			}
			if i > from {
				g.insertRun(k, Run{g.Grid.Index(from, k), g.Grid.Index(i, k), len(g.Stores)})
			}
		}
	}
	g.Inserts = append(g.Inserts, b)
	h0, _ := g.Water.Enthalpy(g.Ambient)
	g.Stores = append(g.Stores, Store{water: g.Water, t0: g.Ambient, h0: h0,
		Solids: b.Capacity, Capacity: b.Capacity, BoilingPoint: math.Inf(1)})
}

// insertRun puts a run into row k.
func (g *Ground) insertRun(k int, in Run) {
	var runs []Run
	for _, r := range g.runs[k] {
		if r.From < in.From {
			runs = append(runs, Run{r.From, min(r.To, in.From), r.Store})
		}
		if r.From <= in.From && in.From < r.To {
			runs = append(runs, in)
		}
		if r.To > in.To {
			runs = append(runs, Run{max(r.From, in.To), r.To, r.Store})
		}
	}
	g.runs[k] = runs
}

// Depth returns the depth of the cells in row k [m].
func (g *Ground) Depth(k int) float64 {
	if g.Grid.Level {
		return g.depth
	}
	return g.Grid.ZC[k]
}

// Runs returns the runs of row k, from left to right; together they are the row.
func (g *Ground) Runs(k int) []Run { return g.runs[k] }

// insert returns the insert that a run lies in, nil: in none.
func (g *Ground) insert(r Run) *Insert {
	if r.Store < g.Grid.NZ {
		return nil
	}
	return &g.Inserts[r.Store-g.Grid.NZ]
}

// storeOf returns which store cell c has.
func (g *Ground) storeOf(c int) int {
	runs := g.runs[g.Row(c)]
	for runs[0].To <= c {
		runs = runs[1:]
	}
	return runs[0].Store
}

// Store returns the store of cell c.
func (g *Ground) Store(c int) *Store { return &g.Stores[g.storeOf(c)] }

// InInsert reports whether cell c lies in an insert.
func (g *Ground) InInsert(c int) bool { return g.storeOf(c) >= g.Grid.NZ }

// BoilingPoint returns the boiling point of the ground [K] in the row of cell c,
// an insert's too; +Inf where boiling is off.
func (g *Ground) BoilingPoint(c int) float64 { return g.Stores[g.Row(c)].BoilingPoint }

// Boils reports whether any ground has a boiling point: if not, there is no steam and
// no inflow, and water stays where it is.
func (g *Ground) Boils() bool {
	for i := range g.Stores {
		if !math.IsInf(g.Stores[i].BoilingPoint, 1) {
			return true
		}
	}
	return false
}

// Row returns the row of cell c.
func (g *Ground) Row(c int) int { return c / g.Grid.NX }

// SaturationTo sets dst to the share of the pores that holds liquid, S = W/(φρ_w).
// Ground without pores has no water to lose: it stays as found; an insert holds none.
func (g *Ground) SaturationTo(dst, w []float64) { g.SaturationRows(dst, w, 0, g.Grid.NZ) }

// SaturationRows is SaturationTo for some rows; see Balance for such methods.
func (g *Ground) SaturationRows(dst, w []float64, k0, k1 int) {
	for k := k0; k < k1; k++ {
		for _, r := range g.runs[k] {
			d := dst[r.From:r.To]
			pores := g.Stores[r.Store].Pores
			switch {
			case pores > 0:
				for i, w := range w[r.From:r.To] {
					d[i] = w / pores
				}
			case g.insert(r) != nil:
				clear(d)
			default:
				fill(d, g.Soils[g.Layer[k]].Saturation)
			}
		}
	}
}

// SigmaTo sets dst to the electrical conductivity [S/m] at temperature t [K] and
// saturation s [-]. dst may be s itself.
func (g *Ground) SigmaTo(dst, t, s []float64) { g.SigmaRows(dst, t, s, 0, g.Grid.NZ) }

// SigmaRows is SigmaTo for some rows.
func (g *Ground) SigmaRows(dst, t, s []float64, k0, k1 int) {
	for k := k0; k < k1; k++ {
		law := g.electric[g.Layer[k]]
		for _, r := range g.runs[k] {
			if g.insert(r) != nil {
				fill(dst[r.From:r.To], insertSigma)
				continue
			}
			law.SigmaTo(dst[r.From:r.To], t[r.From:r.To], s[r.From:r.To], g.Stores[r.Store].BoilingPoint)
		}
	}
}

// LambdaTo sets dst to the thermal conductivity [W/(m·K)] at saturation s [-]. dst may
// be s itself.
func (g *Ground) LambdaTo(dst, s []float64) {
	nx := g.Grid.NX
	for k := range g.Grid.NZ {
		g.lambdaRow(rowOf(dst, nx, k), s, k)
	}
}

// lambdaRow sets dst to the conductivity of row k, s the saturation of all the ground.
func (g *Ground) lambdaRow(dst, s []float64, k int) {
	base := k * g.Grid.NX
	for _, r := range g.runs[k] {
		d := dst[r.From-base : r.To-base]
		if b := g.insert(r); b != nil {
			fill(d, b.Conductivity)
			continue
		}
		g.thermal[g.Layer[k]].LambdaTo(d, s[r.From:r.To])
	}
}

func fill(dst []float64, v float64) {
	for i := range dst {
		dst[i] = v
	}
}

// Start sets s to the ground as found: ambient, E = 0, the found water.
func (g *Ground) Start(s *State) {
	fill(s.T, g.Ambient)
	clear(s.E)
	for _, runs := range g.runs {
		for _, r := range runs {
			fill(s.W[r.From:r.To], g.Stores[r.Store].Found)
		}
	}
}
