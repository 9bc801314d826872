package solver

import (
	"context"
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

// wave is a power that runs straight from row to row.
type wave struct{ t, q []float64 }

func (w wave) at(t float64) float64 {
	i := min(max(sort.SearchFloat64s(w.t, t), 1), len(w.t)-1)
	return w.q[i-1] + (w.q[i]-w.q[i-1])*(t-w.t[i-1])/(w.t[i]-w.t[i-1])
}

// integral from the first row to t.
func (w wave) integral(t float64) float64 {
	sum := 0.0
	for i := 1; i < len(w.t) && w.t[i-1] < t; i++ {
		b := math.Min(t, w.t[i])
		sum += (b - w.t[i-1]) * (w.q[i-1] + w.at(b)) / 2
	}
	return sum
}

// source puts the wave into one cell.
func (w wave) source(cell int) Source {
	return meanOf(cell, w.at, w.integral)
}

func meanOf(cell int, at, integral func(float64) float64) Source {
	return func(dst []float64, from, to float64) {
		if to > from {
			dst[cell] += (integral(to) - integral(from)) / (to - from)
		} else {
			dst[cell] += at(from)
		}
	}
}

// dry is ground without water, C = 2e6 J/(m³·K), k = 2 W/(m·K), under a film.
func dry(t *testing.T, g *mesh.Grid, film float64) *Problem {
	t.Helper()
	soil := &materials.Soil{Name: "dry", Resistivity: 50, ResistivityAt: 298.15, SaturationExponent: 2, ThermalConductivity: 2, HeatCapacity: 2e6}
	gr, err := physics.NewGround(g, physics.Site{Ambient: 288.15, AirPressure: 101325, WaterTable: far}, materials.NewWater(),
		[]*materials.Soil{soil}, []float64{far}, func(int, float64) physics.WaterSupply { return physics.WaterSupply{} })
	if err != nil {
		t.Fatal(err)
	}
	whole := mesh.Zone{I1: g.NX, K1: g.NZ}
	return &Problem{Ground: gr, Heat: physics.NewHeat(g, physics.HeatBoundary{Film: film, Air: func(float64) float64 { return 288.15 }}),
		Targets: []Target{{Zone: whole, Temperature: 1e4, Share: 1}}, Watched: whole}
}

// TestSetPowerIsBookedAsItsIntegral: a power of 400 random rows, in steps of all
// lengths and beside boiling ground, comes into the ledger as the trapezoids of its
// rows. The sums of some thousand steps and rows round to 1e-13; 1e-12 leaves ten
// times that.
func TestSetPowerIsBookedAsItsIntegral(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	w := wave{t: []float64{0}, q: []float64{0}}
	for len(w.t) < 400 {
		w.t = append(w.t, w.t[len(w.t)-1]+day*rng.ExpFloat64()/40)
		w.q = append(w.q, 2e3*rng.Float64())
	}
	end := w.t[len(w.t)-1]
	p := cell(t, end/day, 0)
	p.Electric, p.Supply = nil, nil
	p.Varying = w.source(p.Ground.Grid.Index(0, p.Ground.Grid.Row(3)))
	boiled := false
	rep, err := Run(context.Background(), p, each(func(r *Report) {
		boiled = boiled || r.SteamRate > 0
		if got, want := r.Imposed[p.Ground.Grid.Index(0, p.Ground.Grid.Row(3))], w.at(r.State.Time); got != want {
			t.Errorf("the power reported at %.6g s is %v W, want %v W", r.State.Time, got, want)
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	if !boiled {
		t.Error("the ground did not boil: the test asks less than it says")
	}
	if got, want := rep.Ledger.In, w.integral(end); math.Abs(got-want) > 1e-12*want {
		t.Errorf("the ledger of %d steps holds %.15g J, want the trapezoids' %.15g J to 1e-12", rep.Stats.Steps, got, want)
	}
}

// TestChangingPowerIsSecondOrder: one cell under a film, heated by q = sin² and
// cooling with its time constant τ, against the closed form
//
//	T − T₀ = (Q/2CV) [τ(1 − e^(−t/τ)) − Re(e^{iωt} − e^{−t/τ})/(1/τ + iω)]
//
// for a τ longer than the steps, and for one a hundred times shorter, where the
// cell follows the power and a step's mean alone would come late by half a step
// (first order). Source: Newton's law of cooling, integrated. The band of 0.15 is
// for the next term of the error on steps of 1/45 of the period.
func TestChangingPowerIsSecondOrder(t *testing.T) {
	const depth, power, period = 0.5, 1000.0, 10 * day
	g := mesh.NewSection([]float64{0, 1}, []float64{0, depth}, 1)
	omega := 2 * math.Pi / period
	for _, film := range []float64{1, 1e6} {
		p := dry(t, g, film)
		tau := 2e6 * depth * (1/film + depth/4)
		if film > 1 {
			// The half cell of ground is the time constant then: thin it.
			tau = 2e6 * 0.01 * (1/film + 0.01/4)
			p = dry(t, mesh.NewSection([]float64{0, 1}, []float64{0, 0.01}, 1), film)
		}
		volume := p.Ground.Grid.Volume[0]
		p.Duration = 0.7 * period
		p.Varying = meanOf(0, func(s float64) float64 { return power * (1 - math.Cos(omega*s)) / 2 },
			func(s float64) float64 { return power * (s - math.Sin(omega*s)/omega) / 2 })
		at := func(s float64) float64 {
			k := complex(1/tau, omega)
			e := complex(math.Cos(omega*s)-math.Exp(-s/tau), math.Sin(omega*s))
			return power / (2 * 2e6 * volume) * (tau*-math.Expm1(-s/tau) - real(e/k))
		}
		var errs []float64
		for _, n := range []int{32, 64, 128, 256} {
			p.Settings = Settings{FixedStep: p.Duration / float64(n), Tolerance: 1e-6}
			rep, err := Run(context.Background(), p, nil)
			if err != nil {
				t.Fatal(err)
			}
			errs = append(errs, math.Abs(rep.State.T[0]-288.15-at(p.Duration)))
		}
		for i := 2; i < len(errs); i++ {
			if order := math.Log2(errs[i-1] / errs[i]); math.Abs(order-2) > 0.15 {
				t.Errorf("with τ = %.3g s the observed order is %.3f (errors %.3g K), want 2 ± 0.15", tau, order, errs)
			}
		}
	}
}

// TestRippleIsNotSteppedOver: ten days of a power that is drawn and given by turns,
// so that whole days and their halves hold none. The longest step is a day, a tenth of the
// run, and a run that looked only at means and slopes would take ten of them and
// report ground that never warmed; with a time constant of some hours it is warm at
// midnight. Against the same with 1/50 of the tolerance, the end is not wrong by more
// than five times the tolerance: global error against local, common practice.
func TestRippleIsNotSteppedOver(t *testing.T) {
	const days = 10
	w := wave{t: []float64{0}, q: []float64{0}}
	for d := range days {
		for i, q := range []float64{400, 0, -400, 0, -400, 0, 400, 0} {
			w.t, w.q = append(w.t, (float64(d)+float64(i+1)/8)*day), append(w.q, q)
		}
	}
	g := mesh.NewSection([]float64{0, 1}, []float64{0, 0.05, 0.1, 0.15, 0.2}, 1)
	end := func(tolerance float64) (rise float64, steps int) {
		p := dry(t, g, 20)
		p.Varying, p.Duration = w.source(1), days*day
		p.Settings.Tolerance = tolerance
		rep, err := Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		return rep.State.T[1] - 288.15, rep.Stats.Steps
	}
	want, _ := end(0.002)
	got, n := end(0.1)
	if math.Abs(got-want) > 0.5 {
		t.Errorf("at the end the heated cell is %.3f K warmer than at the start, want %.3f ± 0.5 K (%d steps)", got, want, n)
	}
	if math.Abs(want) < 2 {
		t.Errorf("the cell ends %.3g K warm: the test asks nothing", want)
	}
}
