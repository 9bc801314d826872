package physics

import (
	"math"
	"math/rand/v2"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
)

// streams is a grid of cells that grow and shrink, its heat law with water flowing
// through it, and temperatures without order.
func streams(t *testing.T, rng *rand.Rand, f stream, round bool) (*Heat, []float64) {
	t.Helper()
	edges := func(n int) []float64 {
		e := make([]float64, n+1)
		d := 0.3
		for i := range n {
			e[i+1] = e[i] + d
			d *= 0.77 + 0.53*rng.Float64()
		}
		return e
	}
	g := mesh.NewSection(edges(9), edges(7), 3)
	if round {
		g = mesh.NewAxisymmetric(edges(9), edges(7), 3)
	}
	soil := &materials.Soil{Name: "sand", Resistivity: 50, ResistivityAt: 298.15, SaturationExponent: 2, Porosity: 0.4, Saturation: 1,
		ThermalConductivity: 2, ThermalConductivityDry: 0.4, HeatCapacity: 3e6}
	gr, err := NewGround(g, Site{Ambient: 285, AirPressure: 101325, WaterTable: f.table}, materials.NewWater(), []*materials.Soil{soil}, []float64{math.Inf(1)},
		func(int, float64) WaterSupply { return WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	h := NewHeat(g, HeatBoundary{Film: 10, Air: func(float64) float64 { return 290 }})
	h.Carry(gr, f.Flow)
	h.SetAir(0, 0)
	if f.Rain != nil {
		h.Sinks(gr)
		h.Percolate(gr, &Percolation{Gain: make([]float64, g.Cells())}, nil, f.at, f.dt)
	}
	temps := make([]float64, g.Cells())
	for c := range temps {
		temps[c] = 285 + 80*rng.Float64()
	}
	return h, temps
}

// byRow returns n fluxes between −1e-6 and 1e-6 m/s.
func byRow(rng *rand.Rand, n int) []float64 {
	q := make([]float64, n)
	for k := range q {
		q[k] = 2e-6*rng.Float64() - 1e-6
	}
	return q
}

// stream is a flow above a water table [m], and the step that its rain falls in [s].
type stream struct {
	Flow
	table, at, dt float64
}

func flowsOf(rng *rand.Rand) map[string]stream {
	rain := func(from, to float64) float64 { return 1e-7 }
	return map[string]stream{
		"across": {Flow: Flow{Across: byRow(rng, 7)}}, "down": {Flow: Flow{Down: 4e-7}}, "up": {Flow: Flow{Down: -4e-7}}, "both": {Flow: Flow{Across: byRow(rng, 7), Down: 3e-7}},
		"rain":             {Flow{Rain: rain}, math.Inf(1), 0, 1},
		"rain and across":  {Flow{Across: byRow(rng, 7), Rain: rain}, 0.7, 0, 1},
		"rain on water":    {Flow{Across: byRow(rng, 7), Rain: rain}, 0, 0, 1},
		"rain, wide water": {Flow{Rain: rain}, 1e4, 0, 1},
	}
}

// TestFlowKeepsHeat: what water brings to all cells is what it brings into the ground
// less what it carries out; what it takes from a zone and from the rest is the same. A
// ground at rest, at the temperature of all that flows in, gains nothing.
// Source: conservation of energy. Sums of some 300 terms, each rounded to 1e-16 of the
// largest, 1e5 J/kg.
func TestFlowKeepsHeat(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for name, f := range flowsOf(rng) {
		for _, round := range []bool{false, true} {
			if round && f.Across != nil {
				continue
			}
			h, temps := streams(t, rng, f, round)
			net, still := make([]float64, len(temps)), make([]float64, len(temps))
			h.NetTo(net, temps)
			h.Balance.NetTo(still, temps)
			sum, size := 0.0, 0.0
			for c := range net {
				sum += net[c] - still[c]
				size += math.Abs(net[c] - still[c])
			}
			in, out := h.CarriedBy(temps)
			if d := sum - (in - out); math.Abs(d) > 1e-12*size {
				t.Errorf("%s, round an axis %v: cells gain %.12g W, the ground %.12g W", name, round, sum, in-out)
			}
			whole := h.CarriedFrom(mesh.Zone{I1: 9, K1: 7}, temps)
			if d := whole - (out - in); math.Abs(d) > 1e-12*size {
				t.Errorf("%s, round an axis %v: the whole as a zone loses %.12g W, the ground %.12g W", name, round, whole, out-in)
			}
			// At the temperature of the ground at the start, and rain as warm as that.
			fill(temps, 285)
			h.flow.inlet = 285
			h.NetTo(net, temps)
			h.Balance.NetTo(still, temps)
			for c := range net {
				if net[c] != still[c] {
					t.Errorf("%s: water at the ground's temperature brings cell %d %.3g W", name, c, net[c]-still[c])
				}
			}
		}
	}
}

// TestRainLeavesAtTheTable: rain passes the cells whose middle lies above the water table
// and no other, and its heat follows the air.
func TestRainLeavesAtTheTable(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	h, temps := streams(t, rng, stream{Flow{Rain: func(from, to float64) float64 { return from * 1e-12 }}, 0.8, 9e4, 2e4}, false)
	h.SetAir(9e4, 2e4)
	for c := range temps {
		temps[c] = 300 + float64(c/9)
	}
	in, out := h.CarriedBy(temps)
	last := 0
	for k, z := range h.Grid.ZC {
		if z < 0.8 {
			last = k
		}
	}
	enthalpy := func(kelvin float64) float64 {
		a, _ := h.flow.water.Enthalpy(kelvin)
		b, _ := h.flow.water.Enthalpy(285)
		return a - b
	}
	mass := materials.RhoWater * 9e-8 * h.Grid.X[9] * 3
	for _, c := range []struct {
		what      string
		got, want float64
	}{{"brings", in, mass * enthalpy(290)}, {"takes out", out, mass * enthalpy(300+float64(last))}} {
		if !(math.Abs(c.got-c.want) <= 1e-12*c.want) {
			t.Errorf("rain %s %.12g W, want %.12g W", c.what, c.got, c.want)
		}
	}
}

// TestFlowSlope: CarriedRows is the derivative of what NetRows has of the water, but for
// the heat capacity of water, which it takes at the ground's temperature at the start:
// 4.193 kJ/(kg·K) at 12 °C, and 4.178 to 4.206 up to 92 °C (steam tables, from memory),
// 0.4 % of it. Where a difference crosses a kink of the limiter, neither side is meant:
// temperatures rise along the rows and columns here. The step of 1e-3 K leaves 1e-5 of
// differences of 5 K.
func TestFlowSlope(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	for name, f := range flowsOf(rng) {
		h, temps := streams(t, rng, f, false)
		for c := range temps {
			i, k := c%9, c/9
			temps[c] = 291 + 4*float64(i) + 5*float64(k) + 2*rng.Float64()
		}
		x, slope := make([]float64, len(temps)), make([]float64, len(temps))
		for c := range x {
			x[c] = rng.NormFloat64()
		}
		h.CarriedRows(slope, temps, x, 0, 7)
		const step = 1e-3
		net := func(sign float64) []float64 {
			at, out := make([]float64, len(x)), make([]float64, len(x))
			for c := range x {
				at[c] = temps[c] + sign*step*x[c]
			}
			h.NetTo(out, at)
			still := make([]float64, len(x))
			h.Balance.NetTo(still, at)
			for c := range out {
				out[c] -= still[c]
			}
			return out
		}
		more, less := net(1), net(-1)
		most := 0.0
		for _, s := range slope {
			most = math.Max(most, math.Abs(s))
		}
		if name == "rain on water" && most == 0 {
			t.Error("water that flows across has no slope")
		}
		for c := range slope {
			if want := (less[c] - more[c]) / (2 * step); !(math.Abs(slope[c]-want) <= 0.01*most) {
				t.Errorf("%s: what cell %d loses changes by %.6g W/K, want %.6g W/K", name, c, slope[c], want)
			}
		}
	}
}

// TestFaceTemperature: a face's temperature lies between that of the cell that water
// comes from and the next one's, whatever the cells' sizes within a factor of 4.8, is
// exact where T is a line, and that of the cell at a top or a bottom.
// Source: the bounds of van Albada's mean, (1 + √2)/2 of either slope.
func TestFaceTemperature(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 18))
	for range 20000 {
		e := []float64{0, 0, 0, 0}
		d := 1.0
		for i := range 3 {
			e[i+1] = e[i] + d
			d *= math.Pow(4.8, 2*rng.Float64()-1)
		}
		l := path{cells: 3, stride: 1, edge: e, node: []float64{(e[0] + e[1]) / 2, (e[1] + e[2]) / 2, (e[2] + e[3]) / 2}, back: rng.IntN(2) == 0, inlet: 300}
		temps := []float64{300 + rng.NormFloat64(), 300 + rng.NormFloat64(), 300 + rng.NormFloat64()}
		j, c, next := 2, 1, 2
		if l.back {
			j, next = 1, 0
		}
		got := l.face(temps, j)
		lo, hi := math.Min(temps[c], temps[next]), math.Max(temps[c], temps[next])
		if got < lo-1e-12*300 || got > hi+1e-12*300 {
			t.Fatalf("edges %.4g, T %.5g, back %v: the face has %.6g K, want between %.6g and %.6g K", e, temps, l.back, got, lo, hi)
		}
		if (temps[1]-temps[0])*(temps[2]-temps[1]) < 0 && got != temps[c] {
			t.Fatalf("T %.5g: beside a top or a bottom the face has %.6g K, want the cell's", temps, got)
		}
		for i, x := range l.node {
			temps[i] = 300 + 5*x
		}
		if got, want := l.face(temps, j), 300+5*e[j]; math.Abs(got-want) > 1e-11 {
			t.Fatalf("a line of temperatures has %.12g K at edge %d, want %.12g K", got, j, want)
		}
	}
}
