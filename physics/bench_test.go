package physics

import (
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// plates is four plates in a section of two soils, n by n cells, at 12 to 90 °C with
// water lost near the boiling point.
func plates(b *testing.B, n int, boiling bool) (*Ground, *Electric, *Heat, *State) {
	b.Helper()
	edges := func(to float64) []float64 {
		e := make([]float64, n+1)
		for i := range e {
			e[i] = to * float64(i) / float64(n)
		}
		return e
	}
	g := mesh.NewSection(edges(30), edges(25), 1)
	soil := func(rho, saturation float64) *materials.Soil {
		return &materials.Soil{Name: "soil", Resistivity: rho, ResistivityAt: 298.15, TemperatureCoeff: 0.0187, SaturationExponent: 2, ResidualConductivity: 0.05,
			Porosity: 0.4, Saturation: saturation, DrySaturation: 0.05, ThermalConductivity: 1.5, ThermalConductivityDry: 0.4, HeatCapacity: 2.8e6}
	}
	gr, err := NewGround(g, Site{Ambient: 285.15, AirPressure: 101325, WaterTable: 2, Boiling: boiling}, materials.NewWater(),
		[]*materials.Soil{soil(125, 0.5), soil(40, 1)}, []float64{3, math.Inf(1)},
		func(int, float64) WaterSupply { return WaterSupply{Removable: 0.3, Inflow: 1e-6} })
	if err != nil {
		b.Fatal(err)
	}
	var bodies []Body
	for i, x := range []float64{6, 12, 18, 24} {
		bodies = append(bodies, Body{Name: string(rune('1' + i)), Phase: complex(1-2*float64(i%2), 0), Rods: 1, Zone: g.Box("", x-0.125, x+0.125, 3.5, 8.5)})
	}
	e, err := NewElectric(g, bodies, false)
	if err != nil {
		b.Fatal(err)
	}
	h := NewHeat(g, HeatBoundary{Film: 10, Air: func(float64) float64 { return 285.15 }, Below: Held{On: true, Temperature: 285.15}})
	s := NewState(g.Cells(), len(bodies))
	s.Re, s.Joule = make([]float64, len(s.T)), make([]float64, len(s.T))
	gr.Start(s)
	for c := range s.T {
		x, z := g.XC[c%n], g.ZC[c/n]
		s.T[c] += 78 * math.Sin(math.Pi*x/30) * math.Sin(math.Pi*z/25)
		s.E[c] = gr.Store(c).Energy(s.T[c], s.W[c])
		s.Re[c] = math.Cos(2 * math.Pi * x / 12)
	}
	return gr, e, h, s
}

// perCell runs f and reports its time per cell.
func perCell(b *testing.B, cells int, f func()) {
	b.ReportAllocs()
	for b.Loop() {
		f()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(cells), "ns/cell")
}

const benchSide = 1000 // cells each way: 8 MB a field, beyond the caches

func BenchmarkConductivities(b *testing.B) {
	gr, _, _, s := plates(b, benchSide, true)
	wet, dst := make([]float64, len(s.T)), make([]float64, len(s.T))
	b.Run("SaturationTo", func(b *testing.B) { perCell(b, len(s.T), func() { gr.SaturationTo(wet, s.W) }) })
	b.Run("SigmaTo", func(b *testing.B) { perCell(b, len(s.T), func() { gr.SigmaTo(dst, s.T, wet) }) })
	b.Run("LambdaTo", func(b *testing.B) { perCell(b, len(s.T), func() { gr.LambdaTo(dst, wet) }) })
}

func BenchmarkHeat(b *testing.B) {
	gr, _, h, s := plates(b, benchSide, true)
	wet, dst := make([]float64, len(s.T)), make([]float64, len(s.T))
	gr.SaturationTo(wet, s.W)
	b.Run("Assemble", func(b *testing.B) { perCell(b, len(s.T), func() { h.Assemble(gr, wet) }) })
	b.Run("NetTo", func(b *testing.B) { perCell(b, len(s.T), func() { h.NetTo(dst, s.T) }) })
}

func BenchmarkElectric(b *testing.B) {
	gr, e, _, s := plates(b, benchSide, true)
	wet, sigma := make([]float64, len(s.T)), make([]float64, len(s.T))
	gr.SaturationTo(wet, s.W)
	gr.SigmaTo(sigma, s.T, wet)
	b.Run("Assemble", func(b *testing.B) {
		perCell(b, len(s.T), func() {
			if err := e.Assemble(sigma); err != nil {
				b.Fatal(err)
			}
		})
	})
	b.Run("HeatTo", func(b *testing.B) { perCell(b, len(s.T), func() { e.HeatTo(s.Joule, s.Current, s.Re, s.Im) }) })
}

// The guess is off by a step's change, 0.3 K, or by what a Newton round leaves.
func BenchmarkRespond(b *testing.B) {
	for _, c := range []struct {
		name    string
		off     float64 // [K]
		boiling bool
	}{{"step", 0.3, true}, {"settled", 1e-6, true}, {"step without boiling", 0.3, false}} {
		gr, _, _, s := plates(b, benchSide, c.boiling)
		n := len(s.T)
		guess, sum := make([]float64, n), 0.0
		for i, t := range s.T {
			guess[i] = t + c.off
		}
		b.Run(c.name+"/cells", func(b *testing.B) {
			perCell(b, n, func() {
				for i, e := range s.E {
					sum += gr.Store(i).Respond(e, s.W[i], 3600, guess[i]).T
				}
			})
		})
		v := func() []float64 { return make([]float64, n) }
		r := Responses{T: v(), Slope: v()}
		if c.boiling {
			r.W, r.Steam, r.Inflow = v(), v(), v()
		}
		b.Run(c.name+"/rows", func(b *testing.B) {
			perCell(b, n, func() {
				copy(r.T, guess)
				gr.RespondRows(r, s.E, s.W, 3600, 0, benchSide)
			})
		})
	}
}
