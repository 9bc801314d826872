package cases

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"soiljoule/mesh"
	"soiljoule/physics"
	"soiljoule/solver"
)

// started is a case at power-on.
type started struct {
	*solver.Problem
	state   *solver.State
	current []complex128 // [A] by body
	largest float64      // [A]
}

// start returns the case at power-on, and what refuses it.
func (c *lot) start() (*started, error) {
	p, err := c.build("")
	if err != nil {
		return nil, err
	}
	r, err := solver.Start(p)
	if err != nil {
		return nil, err
	}
	s := &started{Problem: p, state: r.State}
	for _, i := range r.State.Current {
		s.current = append(s.current, i*complex(r.State.Voltage, 0))
		s.largest = math.Max(s.largest, cmplx.Abs(i)*r.State.Voltage)
	}
	return s, nil
}

// potential returns that of body b per volt.
func (s *started) potential(b int) complex128 {
	if s.state.Potential != nil {
		return s.state.Potential[b]
	}
	return s.Electric.Bodies[b].Phase
}

// off returns by how much currents are off those of s, times a factor, over the largest
// there. at(b) is the body of s that is b of o.
func (s *started) off(o *started, factor complex128, at func(int) int) float64 {
	worst := 0.0
	for b, i := range o.current {
		worst = math.Max(worst, cmplx.Abs(i-factor*s.current[at(b)]))
	}
	return worst / (s.largest * cmplx.Abs(factor))
}

// beyond returns by how much the potential [-] goes beyond the convex hull of those of the
// bodies and of a rim at 0 V, in 24 directions.
func (s *started) beyond() float64 {
	worst := 0.0
	for k := range 24 {
		turn := cmplx.Rect(1, 2*math.Pi*float64(k)/24)
		most := math.Inf(-1)
		for b := range s.Electric.Bodies {
			most = math.Max(most, real(s.potential(b)*turn))
		}
		if s.Electric.Outer {
			most = math.Max(most, 0)
		}
		for c, re := range s.state.Re {
			im := 0.0
			if s.state.Im != nil {
				im = s.state.Im[c]
			}
			worst = math.Max(worst, real(complex(re, im)*turn)-most)
		}
	}
	return worst
}

// sameCells says whether one axis has the widths of another, or of its mirror image.
func sameCells(a, b []float64, mirrored bool) bool {
	n := len(a) - 1
	if len(b) != len(a) {
		return false
	}
	for i := range n {
		j := i
		if mirrored {
			j = n - 1 - i
		}
		if math.Abs(a[i+1]-a[i]-b[j+1]+b[j]) > 1e-9*(a[n]-a[0]) {
			return false
		}
	}
	return true
}

// TestDrawnCircuits: whatever plan, section or single electrode the lot draws, of one, three
// or six phases, in layers of 1 : 1000, with taps, contact resistances and buried metal: the
// currents at power-on sum to zero, with a rim's; volts times amperes are the heat; metal
// passes no net current; no potential lies beyond those of the bodies; currents go as the
// voltage, as the conductivity and as lengths; they do not know which phase is called A, in
// which order electrodes are listed, left from right, or x from y; and what a volt on one
// electrode drives through another, a volt on that drives through the first.
// Source: Kirchhoff, Tellegen, the maximum principle, the equations' scale and symmetry,
// Green's reciprocity.
// Tolerances: 1e-9 for what closes by algebra. A potential has a residual of 1e-10 of what
// the electrodes drive into ground at 0 V: currents are off by √n of it at most, 1e-8 on 1e4
// cells, and in layers of 1 : 1000 the potential by 1e-7. Where cells of a plan are the
// same, a rod's own patch may still have a column more, as rounding decides whether one that
// it only touches is in: 5e-4 of the current, TestPatchMargin.
// What flows past the ends of a plan's rods goes as a conductivity that follows from the
// potentials of the moment (physics.Ends.Sigma), so that reciprocity holds to the solve's 1e-8
// in the slab, and beyond it once the two conductivities are divided out. The slab of rods
// near insulated sides, with metal between or with rods coarse for their cells draws not just
// what the same rods do in endless even ground, by a share that depends on who is fed:
// conductivities of single electrodes differed by 8 % in 40 draws, and 15 % is allowed. Of the
// current of one electrode that leaves through another at most a tenth goes beyond: 1.5 % of
// all, of which 0.8 % was found.
func TestDrawnCircuits(t *testing.T) {
	if !runsDrawn {
		t.Skip("make validate runs what the lot draws")
	}
	const closed, solved, field, patch, alike, whole = 1e-9, 1e-8, 1e-7, 5e-4, 0.15, 1.5e-2
	same := func(b int) int { return b }
	seen := map[string]int{}
	for seed := range uint64(8 * draws) {
		c := drawCircuit(seed)
		a, err := c.start()
		if err != nil {
			if _, ok := err.(Faults); !ok {
				t.Errorf("seed %d: %v\n%s", seed, err, c.text())
			}
			continue // metal by a rod, a bottom that is too high
		}
		hold := func(what string, got, bar float64) {
			seen[what]++
			if !(got <= bar) {
				t.Errorf("seed %d, %s: %s %.3g, want %.2g at most\n%s", seed, c.view, what, got, bar, c.text())
			}
		}
		if !(a.state.Power > 1e-9) {
			continue // all on one phase: there is only rounding
		}
		net, power, heat := -a.state.Rim*complex(a.state.Voltage, 0), 0.0, 0.0
		for b, i := range a.current {
			net += i
			power += real(a.potential(b)*cmplx.Conj(i)) / a.state.Voltage
			if a.Electric.Bodies[b].Floating {
				hold("net current of metal", cmplx.Abs(i)/a.largest, closed)
			}
		}
		for _, q := range a.state.Joule {
			heat += q
		}
		heat *= 1 + a.Electric.Beyond()
		hold("sum of currents", cmplx.Abs(net)/a.largest, closed)
		hold("volts times amperes less heat", math.Abs(power/heat-1), closed)
		hold("volts times amperes less the power told", math.Abs(power/a.state.Power-1), closed)
		hold("potential beyond the bodies'", a.beyond(), field)

		try := func(what string, d *lot, factor complex128, bar float64, at func(int) int, alike func(*mesh.Grid) bool) {
			o, err := d.start()
			if err != nil {
				t.Errorf("seed %d, %s: %s: %v", seed, c.view, what, err)
				return
			}
			if alike == nil || alike(o.Electric.Grid) {
				hold(what, a.off(o, factor, at), bar)
			}
		}
		rods := solved
		if c.view == Plan {
			rods = patch
		}
		d := c.clone()
		d.voltage *= 3
		for i := range d.rods {
			d.rods[i].voltage *= 3
		}
		try("three times the voltage", d, 3, solved, same, nil)
		d = c.clone()
		for i := range d.layers {
			d.layers[i].resistivity /= 7
		}
		for i := range d.rods {
			d.rods[i].contact /= 7
		}
		try("seven times the conductivity", d, 7, solved, same, nil)
		const k = 1.7
		longer := complex(k, 0)
		if c.view == Section {
			longer = 1 // extent.length stays, so the rods in it are fewer
		}
		try("1.7 times as long", c.scaled(k), longer, rods, same, nil)
		if c.view != Axisymmetric { // whose rim is a phase too
			try("phases called otherwise", c.nextPhases(), physics.Phasor(c.phases, "B")/physics.Phasor(c.phases, "A"), solved, same, nil)
			try("left for right", c.mirrored(), 1, rods, same, func(g *mesh.Grid) bool { return sameCells(a.Electric.Grid.X, g.X, true) })
		}
		if c.view == Plan {
			try("x for y", c.turned(), 1, rods, same, func(g *mesh.Grid) bool {
				return sameCells(a.Electric.Grid.X, g.Z, false) && sameCells(a.Electric.Grid.Z, g.X, true)
			})
		}
		n := len(c.rods)
		try("electrodes listed backwards", c.backwards(), 1, solved, func(b int) int {
			if b < n {
				return n - 1 - b
			}
			return b
		}, nil)
		if n < 2 {
			continue
		}
		var through, within [2]complex128
		var sigma [2]float64 // [S/m] beyond the slab
		most := 0.0
		for one := range 2 {
			d := c.clone()
			for i := range d.rods {
				d.rods[i].voltage = 0
				if d.rods[i].phase == "N" {
					d.rods[i].phase = "A"
				}
			}
			d.rods[one].voltage = 10
			o, err := d.start()
			if err != nil {
				t.Fatalf("seed %d: %v", seed, err)
			}
			potential, beyond := make([]complex128, len(o.current)), make([]complex128, len(o.current))
			for b := range potential {
				potential[b] = o.potential(b) * complex(o.state.Voltage, 0)
			}
			if ends := o.Electric.Ends; ends != nil {
				sigma[one] = o.Electric.Slab()
				ends.AddTo(beyond, potential, sigma[one])
			}
			turn := physics.Phasor(c.phases, d.rods[one].phase)
			within[one] = (o.current[1-one] - beyond[1-one]) / turn
			through[one], most = o.current[1-one]/turn, o.largest
		}
		if a.Electric.Ends == nil {
			hold("one through another less the other through one", cmplx.Abs(through[0]-through[1])/most, solved)
			continue
		}
		hold("one through another less the other through one, in the slab", cmplx.Abs(within[0]-within[1])/most, solved)
		hold("the same beyond the slab, by its conductivity", cmplx.Abs(through[0]-within[0]-(through[1]-within[1])*complex(sigma[0]/sigma[1], 0))/most, solved)
		hold("conductivity beyond the slab for one less for another, of that of the mean", math.Abs(sigma[0]/sigma[1]-1), alike)
		hold("one through another less the other through one, slab and beyond", cmplx.Abs(through[0]-through[1])/most, whole)
	}
	for _, what := range []string{"net current of metal", "left for right", "x for y", "one through another less the other through one"} {
		if seen[what] < draws {
			t.Errorf("%q is held %d times: the lot is worth little", what, seen[what])
		}
	}
}

// TestDrawnOwnLimits: an electrode with a current limit of its own is at the largest share
// of its voltage that holds it, and refused where no share does, in whatever circuit.
// Source: currents are linear in one electrode's voltage: with those at 0 V and at the whole
// the share is looked for in steps of 1e-5, from the whole down. In a plan whose rods end in
// the ground the conductivity beyond the slab follows the potentials, and currents are
// linear but for that, 2 % of the current (TestDrawnCircuits, and as much again): there the
// share found is given to the electrode as a voltage, which has to drive the limit through
// it, and shares from 1 % above it on more than that.
func TestDrawnOwnLimits(t *testing.T) {
	if !runsDrawn {
		t.Skip("make validate runs what the lot draws")
	}
	const steps = 100000
	held, refused := 0, 0
	for seed := range uint64(16 * draws) {
		c := drawCircuit(seed)
		c.finest *= 1.6
		rng := rand.New(rand.NewPCG(seed, 33))
		b, part := rng.IntN(len(c.rods)), rng.Float64()
		whole, err := c.start()
		if err != nil || c.view == Axisymmetric || c.rods[b].phase == "N" || !(whole.state.Power > 1e-9) {
			continue
		}
		full := c.voltage
		if own := c.rods[b].voltage; !math.IsNaN(own) {
			full = own
		}
		rods := whole.Electric.Bodies[b].Rods
		limit := part * cmplx.Abs(whole.current[b]) / rods
		if full == 0 || limit < 1e-6 {
			continue
		}
		d := c.clone()
		d.rods[b].voltage = 0
		none, err := d.start()
		if err != nil {
			t.Fatal(err)
		}
		want := steps
		for want >= 0 && cmplx.Abs(none.current[b]+complex(float64(want)/steps, 0)*(whole.current[b]-none.current[b]))/rods > limit {
			want--
		}
		d = c.clone()
		d.rods[b].limit = limit
		got, err := d.start()
		is := fmt.Sprintf("seed %d, %s held to %.6g A", seed, c.rods[b].name, limit)
		ends := whole.Electric.Ends != nil
		least := math.Inf(1) // [A] at any share, were currents linear
		for n := 0; ends && n <= 100; n++ {
			least = math.Min(least, cmplx.Abs(none.current[b]+complex(float64(n)/100, 0)*(whole.current[b]-none.current[b]))/rods)
		}
		scale := (cmplx.Abs(none.current[b]) + cmplx.Abs(whole.current[b])) / rods
		switch {
		case ends && err == nil:
			held++
			share := cmplx.Abs(got.potential(b)) * got.state.Voltage / full
			if over := cmplx.Abs(got.current[b]) / rods / limit; math.Abs(over-1) > 1e-8 {
				t.Errorf("%s passes %.10g times that", is, over)
			}
			if least > limit+0.02*scale {
				t.Errorf("%s is not refused, though it passes %.6g A at least", is, least)
			}
			for _, more := range []float64{0, 0.01, 0.1, 0.4} {
				if share+more > 1 {
					break
				}
				d := c.clone()
				d.rods[b].voltage = (share + more) * full
				o, err := d.start()
				if err != nil {
					t.Fatal(err)
				}
				over := cmplx.Abs(o.current[b]) / rods / limit
				// The solver's own 1e-10 of the largest current, and the potential's.
				if more == 0 && math.Abs(over-1) > 1e-7 || more > 0 && !(over > 1) {
					t.Errorf("%s has %.6f of its voltage, and at %.6f passes %.9g times that", is, share, share+more, over)
				}
			}
		case ends && err != nil && least > limit-0.02*scale:
			refused++
		case err != nil && want >= 0:
			t.Errorf("%s is refused, though %.5f of its voltage holds that: %v", is, float64(want)/steps, err)
		case err != nil:
			refused++
		case want < 0:
			t.Errorf("%s is not refused, though no voltage of its own holds that", is)
		default:
			held++
			if share := cmplx.Abs(got.potential(b)) * got.state.Voltage / full; math.Abs(share-float64(want)/steps) > 2./steps {
				t.Errorf("%s has %.6f of its voltage, want %.5f", is, share, float64(want)/steps)
			}
			if over := cmplx.Abs(got.current[b]) / rods / limit; math.Abs(over-1) > 1e-8 { // of what the solves leave
				t.Errorf("%s passes %.10g times that", is, over)
			}
		}
	}
	if held < 3*draws || refused < 3*draws {
		t.Errorf("%d limits hold and %d are refused: the lot is worth little", held, refused)
	}
}
