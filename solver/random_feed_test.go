package solver

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"soiljoule/physics"
)

// powered is a drawn problem with electrodes: two plates, rods of a plan, or elements on the
// axis, metal between them, taps, own limits, one switched off, an outage, a thermostat; nil
// where they do not suit the cells.
func powered(t testing.TB, seed uint64) (p *Problem, what string) {
	t.Helper()
	p, what = drawn(t, seed)
	g := p.Ground.Grid
	lot := rand.New(rand.NewPCG(seed, 8))
	between := func(a, b float64) float64 { return a + (b-a)*lot.Float64() }
	chance := func(p float64) bool { return lot.Float64() < p }
	phase := func(i int) complex128 { return physics.Phasor(3, string(rune('A'+i))) }
	var bodies []physics.Body
	if g.Level {
		for i, at := range [][2]float64{{0.8, 1}, {3.1, 0.9}, {2, 3.2}} {
			bodies = append(bodies, physics.Body{Name: fmt.Sprint("E", i), Phase: phase(i), Rods: 1, Rod: &physics.Rod{X: at[0], Y: at[1], Radius: between(0.03, 0.2)}})
		}
	} else {
		left, right := 0.0, g.X[1]
		if !g.Cylindrical {
			left, right = 0.4, 0.9
		}
		bodies = append(bodies, physics.Body{Name: "E0", Phase: phase(0), Rods: 2, Zone: g.Box("", left, right, 1, 2.5), Contact: between(0, 0.5)})
		if !g.Cylindrical {
			left, right = 3, 3.6
		}
		bodies = append(bodies, physics.Body{Name: "E1", Phase: phase(1), Rods: 1, Zone: g.Box("", left, right, 3.4, 5)},
			physics.Body{Name: "metal", Rods: 1, Zone: g.Box("", 1.6, 2.4, 2, 3), Floating: true})
	}
	e, err := physics.NewElectric(g, bodies, false)
	if err != nil {
		return nil, what
	}
	p.Electric = e
	first := Setting{Voltage: math.Exp(between(2, 4.5)), PowerLimit: far, CurrentLimit: far, On: true}
	if chance(0.4) {
		first.PowerLimit = math.Exp(between(5, 9))
	}
	if chance(0.7) {
		first.Bodies = own(len(bodies), func(b []BodySetting) {
			if chance(0.5) {
				b[1].Voltage = first.Voltage * between(0.3, 1.5)
			}
			if chance(0.3) {
				b[0].CurrentLimit = math.Exp(between(-1, 4))
			}
		})
	}
	later, outage, after := first, first, first
	later.At, outage.At, after.At = between(1, 4)*day, between(4, 6)*day, between(6, 7)*day
	if g.Level && chance(0.5) {
		later.Bodies = own(len(bodies), func(b []BodySetting) { b[2].Off = true })
	}
	outage.Outage = true
	p.Supply = []Setting{first, later, outage, after}
	if chance(0.4) {
		c := g.Index(g.Column(1.2), g.Row(2))
		p.Thermostat = &Thermostat{Setpoint: p.Ground.Ambient + between(2, 40), Deadband: between(0.2, 2), Follow: func(s *State) float64 { return s.T[c] }}
	}
	return p, what
}

// lasting returns what a run keeps, but for how much work its tries were.
func lasting(r *run) *Snapshot {
	s := copied(r.snapshot())
	for _, work := range []string{"RefusedError", "RefusedCoupling", "RefusedHeat", "Redone", "Newton", "Potentials", "HeatIterations", "PotentialIterations", "LargestResidual"} {
		delete(s.Values, "stats."+work)
	}
	return s
}

// TestDrawnTriesLeaveNoTrace: in whatever ground, water and supply the lot draws, tries of
// 30, 1 and 0.1 times a step that are not taken leave all that a run keeps as it was, to the
// bit, and a run goes on from there as one without them.
// Source: a step that is refused must not show.
func TestDrawnTriesLeaveNoTrace(t *testing.T) {
	alone(t)
	ran := 0
	for seed := range uint64(24) {
		p, what := powered(t, seed)
		if p == nil {
			continue
		}
		again, _ := powered(t, seed)
		plain, tried := newRun(p), newRun(again)
		defer plain.done()
		defer tried.done()
		if err := plain.begin(); err != nil {
			if !errors.Is(err, errOwn) {
				t.Errorf("problem %d: %v (%s)", seed, err, what)
			}
			continue
		}
		if err := tried.begin(); err != nil {
			t.Fatal(err)
		}
		ran++
		for range 8 {
			var err error
			for n := 0; n < 6 && err == nil && plain.state.Time < p.Duration; n++ {
				err = plain.advance()
				if other := tried.advance(); (err == nil) != (other == nil) {
					t.Fatalf("problem %d: %v, with tries %v (%s)", seed, err, other, what)
				}
			}
			if err != nil { // ground that melts, limits that no voltage holds
				break
			}
			if d := unlike(lasting(plain), lasting(tried)); d != "" {
				t.Fatalf("problem %d: on day %.3f a run with tries in between differs in %s (%s)", seed, tried.state.Time/day, d, what)
			}
			before := lasting(tried)
			for _, factor := range []float64{30, 1, 0.1} {
				_, _ = tried.step(factor * tried.control.dt)
				if d := unlike(before, lasting(tried)); d != "" {
					t.Fatalf("problem %d: on day %.3f a step that was tried at %g times the planned length and not taken has changed %s (%s)", seed, tried.state.Time/day, factor, d, what)
				}
			}
		}
	}
	if ran < 16 {
		t.Errorf("%d problems ran: the lot is worth little", ran)
	}
}
