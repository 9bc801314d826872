package physics

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// mixed is a small site with all that a law may meet: two soils, one without pores,
// inserts that overlap, bodies that touch each other, the edges and each other's
// inserts, with contact resistance and without, a row of rods in a section and a held
// rim round an axis; its fields are random.
func mixed(t *testing.T, rng *rand.Rand, axial bool) (*Ground, *Electric, *Heat, *State) {
	t.Helper()
	edges := func(n int) []float64 {
		e := []float64{0}
		for range n {
			e = append(e, e[len(e)-1]+0.1+0.4*rng.Float64())
		}
		return e
	}
	g := mesh.NewSection(edges(18), edges(24), 6)
	if axial {
		g = mesh.NewAxisymmetric(g.X, g.Z, 6)
	}
	soil := func(porosity float64, law materials.TemperatureLaw) *materials.Soil {
		return &materials.Soil{Name: "soil", Resistivity: 40, ResistivityAt: 298.15, TemperatureLaw: law, TemperatureCoeff: 0.02, SaturationExponent: 2, ResidualConductivity: 0.05,
			Porosity: porosity, Saturation: 0.9, DrySaturation: 0.05, ThermalConductivity: 1.5, ThermalConductivityDry: 0.4, HeatCapacity: 2.8e6}
	}
	gr, err := NewGround(g, Site{Ambient: 285.15, AirPressure: 101325, WaterTable: 2, Boiling: true}, materials.NewWater(),
		[]*materials.Soil{soil(0.4, materials.LawLinear), soil(0, materials.LawViscosity)}, []float64{4, math.Inf(1)},
		func(int, float64) WaterSupply { return WaterSupply{Removable: 0.3, Inflow: 1e-6} })
	if err != nil {
		t.Fatal(err)
	}
	for i, z := range []mesh.Zone{{I0: 12, I1: 15, K0: 2, K1: 6}, {I0: 13, I1: 18, K0: 4, K1: 9}, {I0: 11, I1: 18, K0: 5, K1: 6}} {
		gr.Insert(Insert{Name: "body", Zone: z, Conductivity: float64(10 * (i + 1)), Capacity: 3e6})
	}
	bodies := []Body{
		{Name: "A", Phase: 1, Rods: 1, Zone: mesh.Zone{I1: 2, K0: 8, K1: 14}},
		{Name: "B", Phase: Phasor(3, "B"), Rods: 1, Contact: 0.05, Zone: mesh.Zone{I0: 8, I1: 9, K1: 10}},
		{Name: "B2", Phase: Phasor(3, "B"), Rods: 1, Zone: mesh.Zone{I0: 9, I1: 11, K0: 8, K1: 12}},
		{Name: "N", Rods: 1, Zone: mesh.Zone{I0: 16, I1: 18, K0: 20, K1: 24}},
	}
	if !axial {
		bodies = append(bodies, Body{Name: "row", Phase: Phasor(3, "C"), Rods: 2, Zone: mesh.Zone{I0: 4, I1: 5, K0: 6, K1: 16},
			Row: &Row{X: g.XC[4], Spacing: 3, Radius: 0.05, Top: g.Z[6], Bottom: g.Z[16]}})
	}
	e, err := NewElectric(g, bodies, axial, gr.Inserts...)
	if err != nil {
		t.Fatal(err)
	}
	h := NewHeat(g, HeatBoundary{Film: 10, Air: func(float64) float64 { return 280 }, Below: Held{true, 285}, Sides: Held{true, 286}})
	h.SetAir(0, 0)
	s := NewState(g.Cells(), len(bodies))
	s.Re, s.Im, s.Joule = make([]float64, len(s.T)), make([]float64, len(s.T)), make([]float64, len(s.T))
	gr.Start(s)
	for c := range s.T {
		s.T[c] = 273 + 110*rng.Float64()
		s.W[c] *= 0.02 + 0.98*rng.Float64() // below Dry too
		s.E[c] = 5e8 * (rng.Float64() - 0.1)
		s.Re[c], s.Im[c] = rng.NormFloat64(), rng.NormFloat64()
	}
	return gr, e, h, s
}

// TestRowsDoNotDependOnTheirSharing: what a law says of the whole ground is the same
// to the last bit when its rows are done in any parts, all at once. By definition: a row has
// one owner, which sums in one order.
func TestRowsDoNotDependOnTheirSharing(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for trial := range 20 {
		gr, e, h, s := mixed(t, rng, trial%2 == 1)
		g := gr.Grid
		n := g.Cells()
		field := func() []float64 { return make([]float64, n) }
		type results struct {
			fields [][]float64
			power  complex128
			rim    complex128
		}
		all := func(parts func(do func(k0, k1 int))) results {
			wet, sigma, net, diagonal, joule := field(), field(), field(), field(), field()
			answer := Responses{slices.Clone(s.T), field(), field(), field(), field(), field(), field()}
			parts(func(k0, k1 int) { gr.SaturationRows(wet, s.W, k0, k1) })
			parts(func(k0, k1 int) { gr.SigmaRows(sigma, s.T, wet, k0, k1) })
			parts(func(k0, k1 int) { h.AssembleRows(gr, wet, make([]float64, 2*g.NX), k0, k1) })
			parts(func(k0, k1 int) { h.NetRows(net, s.T, k0, k1) })
			parts(func(k0, k1 int) { h.DiagonalRows(diagonal, k0, k1) })
			parts(func(k0, k1 int) { e.AssembleRows(sigma, k0, k1) })
			if err := e.AssembleRest(sigma); err != nil {
				t.Fatal(err)
			}
			parts(func(k0, k1 int) { e.HeatRows(joule, s.Re, s.Im, k0, k1) })
			power, rim := e.HeatRest(joule, s.Current, s.Re, s.Im)
			parts(func(k0, k1 int) { gr.RespondRows(answer, s.E, s.W, 3600, k0, k1) })
			r := results{power: complex(power, 0), rim: rim}
			for _, f := range [][]float64{wet, sigma, net, diagonal, joule, h.Across, h.Down, e.Across, e.Down, answer.T, answer.W, answer.Steam, answer.Inflow, answer.Slope} {
				r.fields = append(r.fields, slices.Clone(f))
			}
			return r
		}
		whole := all(func(do func(k0, k1 int)) { do(0, g.NZ) })
		shared := all(func(do func(k0, k1 int)) {
			cuts := []int{0, g.NZ}
			for range rng.IntN(8) {
				cuts = append(cuts, rng.IntN(g.NZ+1))
			}
			slices.Sort(cuts)
			var at sync.WaitGroup
			for i := range len(cuts) - 1 {
				at.Go(func() { do(cuts[i], cuts[i+1]) })
			}
			at.Wait()
		})
		if whole.power != shared.power || whole.rim != shared.rim {
			t.Errorf("trial %d: power and rim's current in parts are %v and %v, want %v and %v", trial, shared.power, shared.rim, whole.power, whole.rim)
		}
		for j, f := range whole.fields {
			for c, v := range f {
				if shared.fields[j][c] != v {
					t.Fatalf("trial %d: field %d at %d in parts is %v, want %v as of all rows at once", trial, j, c, shared.fields[j][c], v)
				}
			}
		}
	}
}

// TestHeatIsThePowerOfTheFaces: the heat of all cells is Σ G|ΔΦ|² of all faces and
// exchanges, and real potentials may leave their imaginary part out.
// Rounding of two sums of some 1000 terms, none negative: 1e-13.
func TestHeatIsThePowerOfTheFaces(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	_, e, _, s := mixed(t, rng, true)
	g := e.Grid
	n := g.Cells()
	sigma := make([]float64, n)
	for c := range sigma {
		sigma[c] = math.Pow(10, -4+6*rng.Float64())
	}
	if err := e.Assemble(sigma); err != nil {
		t.Fatal(err)
	}
	clear(s.Im)
	e.HeatTo(s.Joule, s.Current, s.Re, s.Im)
	got, want := 0.0, 0.0
	for _, q := range s.Joule {
		got += q
	}
	for k := range g.NZ {
		for i := range g.NX {
			c := g.Index(i, k)
			if i < g.NX-1 {
				want += e.Across[k*(g.NX-1)+i] * (s.Re[c] - s.Re[c+1]) * (s.Re[c] - s.Re[c+1])
			} else {
				want += e.Exchanges[0].G[k] * s.Re[c] * s.Re[c]
			}
			if k < g.NZ-1 {
				want += e.Down[c] * (s.Re[c] - s.Re[c+g.NX]) * (s.Re[c] - s.Re[c+g.NX])
			}
		}
	}
	if math.Abs(got-want) > 1e-13*want {
		t.Errorf("heat of all cells is %.17g W, want that of all faces, %.17g W", got, want)
	}
	q, current := make([]float64, n), make([]complex128, len(s.Current))
	power, rim := e.HeatTo(q, current, s.Re, nil)
	if p, r := e.HeatTo(s.Joule, s.Current, s.Re, s.Im); p != power || r != rim || !slices.Equal(q, s.Joule) || !slices.Equal(current, s.Current) {
		t.Errorf("without an imaginary part the power is %v and the rim's current %v, want %v and %v as with zeros, and so each cell's heat", power, rim, p, r)
	}
}

// TestRunsAreTheRow: runs of a row follow one another from its first cell to its last,
// and each cell has the store of the last insert that holds it.
func TestRunsAreTheRow(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	for range 200 {
		gr, _, _, _ := mixed(t, rng, false)
		g := gr.Grid
		for range rng.IntN(6) {
			i, k := rng.IntN(g.NX), rng.IntN(g.NZ)
			gr.Insert(Insert{Zone: mesh.Zone{I0: i, I1: i + rng.IntN(g.NX-i+1), K0: k, K1: k + rng.IntN(g.NZ-k+1)}, Capacity: 1e6})
		}
		for k := range g.NZ {
			at := g.Index(0, k)
			for _, r := range gr.Runs(k) {
				if r.From != at || r.To <= r.From {
					t.Fatalf("row %d has runs %v, want them to follow one another", k, gr.Runs(k))
				}
				at = r.To
				for c := r.From; c < r.To; c++ {
					want := k
					for j, b := range gr.Inserts {
						if b.Zone.Contains(c%g.NX, k) {
							want = g.NZ + j
						}
					}
					if r.Store != want || gr.Store(c) != &gr.Stores[want] || gr.InInsert(c) != (want >= g.NZ) {
						t.Fatalf("cell %d of row %d has store %d, want %d", c%g.NX, k, r.Store, want)
					}
				}
			}
			if at != g.Index(0, k+1) {
				t.Fatalf("the runs of row %d end at cell %d, want %d", k, at, g.Index(0, k+1))
			}
		}
	}
}

// TestRespondRowsIsRespond: a field's answer is that of each cell, where nothing boils
// also with temperatures and slopes alone. The same arithmetic: no tolerance.
func TestRespondRowsIsRespond(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 18))
	for _, boils := range []bool{true, false} {
		gr, _, _, s := mixed(t, rng, false)
		if !boils {
			for k := range gr.Stores {
				st := &gr.Stores[k]
				st.BoilingPoint, st.LiquidAtBoiling, st.Steam = math.Inf(1), 0, 0
			}
			for c := range s.W {
				s.W[c] = gr.Store(c).Found
			}
		}
		if gr.Boils() != boils {
			t.Fatalf("the ground boils: %v, want %v", gr.Boils(), boils)
		}
		v := func() []float64 { return make([]float64, len(s.T)) }
		r, bare := Responses{slices.Clone(s.T), v(), v(), v(), v(), v(), v()}, Responses{T: slices.Clone(s.T), Slope: v()}
		gr.RespondRows(r, s.E, s.W, 3600, 0, gr.Grid.NZ)
		if !boils {
			gr.RespondRows(bare, s.E, s.W, 3600, 0, gr.Grid.NZ)
		}
		for c, e := range s.E {
			want := gr.Store(c).Respond(e, s.W[c], 3600, s.T[c])
			want.Cost = 0
			if got := (Response{r.T[c], r.W[c], r.Steam[c], r.Inflow[c], r.Over[c], r.Slope[c], 0}); got != want {
				t.Fatalf("RespondRows at cell %d is %+v, want %+v", c, got, want)
			}
			if !boils && (bare.T[c] != want.T || bare.Slope[c] != want.Slope) {
				t.Fatalf("RespondRows without steam at cell %d is %v K, %v, want %v K, %v", c, bare.T[c], bare.Slope[c], want.T, want.Slope)
			}
		}
	}
}
