//dossier:chapter Potential and heat together

package validation

import (
	"context"
	"math"
	"testing"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// The coaxial pair of the table: σ = 0.02 S/m, 200 V between r = 0.15 and 5 m.
const (
	coaxInner, coaxOuter = 0.15, 5.0 // [m]
	coaxVolts            = 200.0
	coaxSigma            = 0.02 // [S/m]
)

// on is a supply of a voltage without limits.
func on(volts float64) []solver.Setting {
	return []solver.Setting{{Voltage: volts, PowerLimit: math.Inf(1), CurrentLimit: math.Inf(1), On: true}}
}

// TestCoaxialPower: the power between coaxial electrodes is P = 2πσV²/ln(r₂/r₁) per
// metre. The radial distances are
// logarithmic, so the scheme carries this field exactly, on any mesh.
// Source: elementary; value A12p.
func TestCoaxialPower(t *testing.T) {
	g := mesh.NewAxisymmetric(demoAxis(t, 1, coaxOuter, coaxInner), []float64{0, 1}, 1)
	e, err := physics.NewElectric(g, []physics.Body{{Name: "rod", Phase: 1, Rods: 1, Zone: g.Box("rod", 0, coaxInner, 0, 1)}}, true)
	if err != nil {
		t.Fatal(err)
	}
	c := conduction{grid: g, boundary: insulated, zone: g.Box("zone", 0, coaxOuter, 0, 1), duration: 1}
	p := c.problem(t)
	p.Electric, p.Supply = e, on(coaxVolts)
	rep, err := solver.Start(p)
	if err != nil {
		t.Fatal(err)
	}
	want, unit, source := closedForm(t, "A12p", "coaxial electrodes: power per length")
	// Ten digits printed; the potential's residual is 1e-10 of the currents, ten
	// times that in power.
	hold(t, check{"coaxial electrodes, power per metre", source, rep.State.Power * coaxVolts * coaxVolts, want, unit, (5e-10 + 1e-9) * want})
}

// plateWidth is how thick the electrodes' own cells are where a wall held at T₀
// stands behind them [m]: what they add to the ground's temperature is the wall's
// heat flux times plateWidth/k. Much thinner and the rounding of fluxes through
// them, G·T·ε, would show in kelvin.
const plateWidth = 3e-5

// TestCoaxialSteadyTemperature: ground between coaxial electrodes at 200 and 0 V,
// both held at T₀, comes to the temperature that the potential dictates:
//
//	T − T₀ = σφ(V − φ)/(2k),  φ = V ln(r₂/r)/ln(r₂/r₁)
//
// Source: Kohlrausch's relation; Carslaw & Jaeger (1959), §4.10 (from memory);
// values A12.
func TestCoaxialSteadyTemperature(t *testing.T) {
	got := refined(t, 1e-3*50, func(f float64) []float64 {
		wall, err := mesh.Grade([]mesh.Mark{{At: coaxInner, Size: coaxInner / 10 * f}, {At: coaxOuter, Size: math.Inf(1)}}, math.Pow(demoGrowth, f/2), 1000)
		if err != nil {
			t.Fatal(err)
		}
		r := append([]float64{coaxInner - plateWidth}, wall...)
		g := mesh.NewAxisymmetric(r, []float64{0, 1}, 1)
		c := conduction{grid: g, boundary: insulated, zone: g.Box("zone", coaxInner, coaxOuter, 0, 1), duration: 1e8, fixed: 1e6}
		c.boundary.Sides = physics.Held{On: true, Temperature: atStart}
		p := c.problem(t)
		// The inner wall too: the same exchange on the faces of the least radius.
		p.Heat.Exchanges = append(p.Heat.Exchanges, physics.Exchange{Name: physics.Sides, Cell: g.Left.Cell, Faces: &g.Left, G: make([]float64, 1), Outside: atStart})
		e, err := physics.NewElectric(g, []physics.Body{{Name: "rod", Phase: 1, Rods: 1, Zone: mesh.Zone{I1: 1, K1: 1}}}, true)
		if err != nil {
			t.Fatal(err)
		}
		p.Electric, p.Supply = e, on(coaxVolts)
		// The slowest mode, α(π/4.85 m)², decays by e^(−33).
		rep, err := solver.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		u := rises(rep.State)[1:]
		ln := make([]float64, g.NX-1)
		for i := range ln {
			ln[i] = math.Log(g.XC[i+1])
		}
		return []float64{along(ln, u, math.Log(0.5)), along(ln, u, 0), along(ln, u, math.Log(3))}
	})
	got.names = [2]string{"a/10 at the wall, growth 1.1", "half of these cells"}
	// Half of the power leaves at the inner wall, through the electrode's cells.
	power, _, _ := closedForm(t, "A12p", "coaxial electrodes: power per length")
	wall := power / 2 / (2 * math.Pi * coaxInner) * plateWidth / conductivity
	got.demoTol += wall
	got.halfTol += wall
	const what = "coaxial r1=0.15 m r2=5 m, 200 V, 0.02 S/m, "
	got.holdClosedForms(t, "A12", 0, what+"r=0.5 m, steady, both walls at T0", what+"r=1.0 m, steady, both walls at T0", what+"r=3.0 m, steady, both walls at T0")
}

// plates is a section of n equal cells between two plates of a width, at the applied
// voltage and at 0 V, walls behind them held at T₀ or not.
func plates(t *testing.T, n int, length, width float64, s materials.Soil, walls bool, duration, step, tolerance, volts float64) *solver.Problem {
	t.Helper()
	x := []float64{-width}
	for i := range n + 1 {
		x = append(x, length*float64(i)/float64(n))
	}
	x = append(x, length+width)
	g := mesh.NewSection(x, []float64{0, 1}, 1)
	c := conduction{grid: g, soil: s, boundary: insulated, zone: mesh.Zone{I0: 1, I1: n + 1, K1: 1}, duration: duration, fixed: step, tolerance: tolerance}
	c.boundary.Sides = physics.Held{On: walls, Temperature: atStart}
	p := c.problem(t)
	e, err := physics.NewElectric(g, []physics.Body{
		{Name: "live", Phase: 1, Rods: 1, Zone: mesh.Zone{I1: 1, K1: 1}},
		{Name: "neutral", Phase: 0, Rods: 1, Zone: mesh.Zone{I0: n + 1, I1: n + 2, K1: 1}},
	}, false)
	if err != nil {
		t.Fatal(err)
	}
	p.Electric, p.Supply = e, on(volts)
	return p
}

// TestPlatesSteadyTemperatureToRounding: ground of constant σ between plates held at
// T₀ comes to the scheme's own steady temperature to the last digits. The heat q = σV²/L² is even, and on equal cells of length h the scheme's answer is
// known to the last digit:
//
//	T − T₀ = q x(L − x)/(2k) + q h²/(8k) + (qL/2) w/k
//
// the second term from summing fluxes over cells, the third from plates of
// thickness w in the way to the walls. The first is Kohlrausch's σφ(V − φ)/(2k).
// Source: Carslaw & Jaeger (1959), §4.10 (from memory), with the scheme's own terms.
func TestPlatesSteadyTemperatureToRounding(t *testing.T) {
	const n, length, width, volts, sigma = 20, 4.0, 0.05, 200.0, 0.02
	p := plates(t, n, length, width, plainSoil(conductivity, capacity, 1/sigma, 0), true, 1e8, 1e6, 1e-3, volts)
	rep, err := solver.Run(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	const q, h = sigma * volts * volts / (length * length), length / n
	worst := 0.0
	for i, u := range rises(rep.State)[1 : n+1] {
		x := h * (float64(i) + 0.5)
		worst = math.Max(worst, math.Abs(u-(q*x*(length-x)/2+q*h*h/8+q*length*width/2)/conductivity))
	}
	// The heat solve leaves 1e-4 of the tolerance, rms by volume, and 100 times that
	// in one cell; the potential's 1e-10 is far below.
	hold(t, check{"largest error of the steady temperature between plates, peak 50 K", "Kohlrausch's relation with the scheme's own terms", worst, 0, "K", 1e-2 * 1e-3})
}

// TestPlatesSteadyTemperatureWithRisingConductivity: ground with σ = σ₀[1 + a(T − T₀)]
// between electrodes at T₀ comes to the temperature that the potential dictates. All
// else is insulated. Multiply charge by φ and add heat: ψ =
// ∫(k/σ)dT + φ²/2 obeys ∇·(σ∇ψ) = 0, as φ does, and equals φ²/2 on electrodes; so
// ψ = Vφ/2 and
//
//	T − T₀ = (1/a) [exp(aσ₀ φ(V − φ)/(2k)) − 1]
//
// in any shape; the hottest, at φ = V/2, has exponent aσ₀V²/(8k), here 1. This is
// potential, heat and conduction at once, with a feedback that matters: constant σ
// would give 53 K.
// Source: Kohlrausch's relation between temperature and potential; Carslaw & Jaeger
// (1959), §4.10 (from memory); derived above.
func TestPlatesSteadyTemperatureWithRisingConductivity(t *testing.T) {
	const length, sigma, a = 4.0, 0.02, 0.0187
	volts := math.Sqrt(8 * conductivity / (a * sigma))
	peak := math.Expm1(1) / a
	got := refined(t, 1e-3*peak, func(f float64) []float64 {
		p := plates(t, int(64/f), length, plateWidth, plainSoil(conductivity, capacity, 1/sigma, a), true, 1e8, 1e6, 0.01, volts)
		rep, err := solver.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		g, u := p.Ground.Grid, rises(rep.State)
		nodes, u, phi := g.XC[1:g.NX-1], u[1:g.NX-1], rep.State.Re[1:g.NX-1]
		out := []float64{along(nodes, u, length/2)}
		for _, x := range []float64{length / 8, length / 4, 3 * length / 4} {
			v := volts * along(nodes, phi, x)
			out = append(out, along(nodes, u, x)-math.Expm1(a*sigma*v*(volts-v)/(2*conductivity))/a)
		}
		return out
	})
	got.names = [2]string{"64 cells", "128 cells"}
	// Half of the power leaves at each wall through the plate. It is at most σ at
	// the peak times V²/L.
	wall := sigma * math.E * volts * volts / length / 2 * plateWidth / conductivity
	// Temperatures that agree to a tenth of the tolerance with their potentials: the
	// coupled solve's own bound.
	got.demoTol += wall + 1e-3
	got.halfTol += wall + 1e-3
	const source = "Kohlrausch's relation, σ rising with temperature"
	got.hold(t, 0, "hottest point between plates at T0, σ rising 1.87 %/K", source, peak, "K", 0)
	for i, at := range []string{"L/8", "L/4", "3L/4"} {
		got.hold(t, i+1, "temperature less that of its potential at "+at, source, 0, "K", 0)
	}
}

// TestGroundBetweenPlatesWarmsAsAnExponential: insulated ground whose σ rises with T
// warms at constant voltage as an exponential:
//
//	T − T₀ = (1/a) [exp(aσ₀V²t/(CL²)) − 1]
//
// with σ = σ₀[1 + a(T − T₀)] and k almost 0, so that the plates stay out of it.
// Source: the heat equation without conduction, integrated.
func TestGroundBetweenPlatesWarmsAsAnExponential(t *testing.T) {
	peak := math.Expm1(1) / runawayCoefficient
	coarse, fine := runaway(t, 32), runaway(t, 64)
	// Richardson at order 2, which the order tests measure, with a safety factor of 1.25.
	hold(t, check{"ground warmed evenly at constant voltage, σ rising, 64 steps", "ordinary differential equation", fine, peak, "K", 1.25 / 3 * math.Abs(coarse-fine)})
	// Steps chosen by the program at its default tolerance of 0.1 K: the project
	// promises the final mean within that.
	hold(t, check{"ground warmed evenly at constant voltage, σ rising, default steps", "ordinary differential equation", runaway(t, 0), peak, "K", 0.1})
}

const runawayCoefficient = 0.0187 // [1/K]

// runaway warms the ground of TestGroundBetweenPlatesWarmsAsAnExponential for the
// time that the closed form's exponent takes to reach 1, in so many equal steps (0:
// the program's own at default settings), and returns the rise [K].
func runaway(t *testing.T, steps int) float64 {
	t.Helper()
	const length, sigma, volts = 4.0, 0.02, 200.0
	const duration = capacity * length * length / (runawayCoefficient * sigma * volts * volts)
	tolerance, step := 0.0, 0.0
	if steps > 0 {
		tolerance, step = 1e-6, duration/float64(steps)
	}
	p := plates(t, 10, length, plateWidth, plainSoil(1e-9, capacity, 1/sigma, runawayCoefficient), false, duration, step, tolerance, volts)
	p.Settings.MaxCoupled = 100
	rep, err := solver.Run(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	return rises(rep.State)[5]
}
