package solver

import (
	"fmt"
	"math"
	"math/cmplx"

	"soiljoule/physics"
	"soiljoule/solver/linear"
)

// predictPower sets the state's power, currents and voltage, r.power, the heat put into
// each cell [W], and r.beyond to what the potentials solved for lead to expect at its time. Its
// sum is the power at the electrodes, as it is where the potential is solved for.
func (r *run) predictPower(n *State) {
	if k := r.charge; k != nil {
		a, b := k.newest()
		r.loop.a, r.loop.b = a, b
		r.loop.u, _ = ahead(a, b, n.Time)
		r.rows(r.do.extrapolate)
		heat, _ := r.totals()
		n.Power, n.Rim, r.beyond = b.power, b.rim, b.beyond
		copy(n.Current, b.current)
		if u := r.loop.u; u != 0 {
			by := complex(u, 0)
			n.Power += u * (b.power - a.power)
			r.beyond = math.Max(0, b.beyond+u*(b.beyond-a.beyond))
			n.Rim += by * (b.rim - a.rim)
			for i := range n.Current {
				n.Current[i] += by * (b.current[i] - a.current[i])
			}
		}
		if k.feed != nil {
			copy(n.Potential, b.potential)
		}
		r.loadWithin(n)
		if k.feed != nil {
			r.tellBodies(n, a, b, r.loop.u)
		}
		r.loop.joule, r.loop.square = r.power, n.Voltage*n.Voltage
		if heat > 0 {
			r.loop.square *= n.Power / (heat * (1 + r.beyond)) // for the cells whose line went below 0
		}
	}
	r.rows(r.do.supply)
}

// extrapolateRows sets power to the heat expected per volt squared.
func (r *run) extrapolateRows(k0, k1 int) {
	u, nx := r.loop.u, r.grid.NX
	for k := k0; k < k1; k++ {
		q, b := r.row(r.power, k), r.loop.b.joule[k*nx:k*nx+nx]
		sum := 0.0
		if u == 0 {
			copy(q, b)
			for _, v := range b {
				sum += v
			}
		} else {
			a := r.loop.a.joule[k*nx : k*nx+nx]
			for i, v := range b {
				q[i] = math.Max(0, v+u*(v-a[i]))
				sum += q[i]
			}
		}
		r.part[k] = sum
	}
}

// supplyRows sets power to the heat of r.loop.joule and what is set.
func (r *run) supplyRows(k0, k1 int) {
	for k := k0; k < k1; k++ {
		p := r.row(r.power, k)
		if r.charge == nil {
			clear(p)
		} else {
			for i, q := range r.row(r.loop.joule, k) {
				p[i] = r.loop.square * q
			}
		}
		if r.sources.now != nil {
			for i, q := range r.row(r.sources.now, k) {
				p[i] += q
			}
		}
	}
}

// solvePotential solves ∇·(σ∇Φ) = 0 per volt of supply at the state's T and W,
// one real solve a part of the phasor with one matrix, and sets the Joule heat,
// the currents and the voltage that the limits allow.
func (r *run) solvePotential(n *State) error {
	k := r.charge
	if err := r.conduct(n); err != nil {
		return err
	}
	if !k.own || k.pcg.Serves() != k.system {
		k.pcg.Factor(k.system)
	}
	k.iterations = 0
	s := k.trial
	r.guess(n.Time)
	if k.feed != nil {
		r.guessBodies()
	}
	tol := r.set.Potential
	if r.stops(n.Time) || n.Time == r.setting.At {
		tol = math.Min(tol, shown)
	}
	for ; ; tol = tighter(tol) {
		if err := r.solveParts(s, tol); err != nil {
			return err
		}
		if k.feed != nil {
			if err := r.solveBodies(tol); err != nil {
				return err
			}
		}
		r.rows(r.do.joule)
		s.power, s.rim = k.law.HeatRest(s.joule, s.current, s.re, s.im)
		s.beyond, s.slab = k.law.Beyond(), k.law.Slab()
		if tol <= tightest || r.heatIsPower(s) {
			break
		}
	}
	r.stats.Potentials++
	k.tried, s.time = true, n.Time
	copy(n.Current, s.current)
	n.Power, n.Rim = s.power, s.rim
	if k.feed != nil {
		copy(n.Potential, s.potential)
	}
	r.loadWithin(n)
	if k.feed != nil {
		for b, v := range s.potential {
			s.fed[b] = real(v * cmplx.Conj(s.current[b]))
		}
		if s.pickup != nil {
			k.law.PickupTo(s.pickup, s.re, s.im)
		}
		r.tellBodies(n, nil, s, 0)
	}
	return nil
}

// conduct sets the conductances of charge for the state's T and W.
func (r *run) conduct(n *State) error {
	k := r.charge
	r.loop.state = n
	r.rows(r.do.saturation)
	r.rows(r.do.sigma)
	r.rows(r.do.conduct)
	if err := k.law.AssembleRest(k.sigma); err != nil {
		return fmt.Errorf("potential: %w", err)
	}
	if k.law.Outer {
		k.law.DiagonalTo(k.system.Diag)
	}
	return nil
}

// guess sets the trial's potential to what those before lead to expect at time t.
func (r *run) guess(t float64) {
	k := r.charge
	a, b := k.newest()
	if b == k.trial && (a == nil || b.time == t) || b == k.last && k.known == 0 {
		return // solved for at this time already, or nothing is known
	}
	r.loop.a, r.loop.b, r.loop.u = a, b, 0
	if a != nil && a.re != nil {
		r.loop.u, _ = ahead(a, b, t)
	}
	r.rows(r.do.guess)
}

// guessRows sets the trial's potential to that of solution b, or u spans from a to b beyond it.
func (r *run) guessRows(k0, k1 int) {
	nx, s := r.grid.NX, r.charge.trial
	from, to, u := k0*nx, k1*nx, r.loop.u
	part := func(dst []float64, of func(*solution) []float64) {
		if dst == nil {
			return
		}
		dst, b := dst[from:to], of(r.loop.b)[from:to]
		if u == 0 {
			copy(dst, b)
			return
		}
		a := of(r.loop.a)[from:to]
		for c, v := range b {
			dst[c] = v + u*(v-a[c])
		}
	}
	part(s.re, func(s *solution) []float64 { return s.re })
	part(s.im, func(s *solution) []float64 { return s.im })
}

func (r *run) saturationRows(k0, k1 int) {
	r.ground.SaturationRows(r.charge.sigma, r.loop.state.W, k0, k1)
}

func (r *run) sigmaRows(k0, k1 int) {
	s := r.charge.sigma
	r.ground.SigmaRows(s, r.loop.state.T, s, k0, k1)
}

func (r *run) conductRows(k0, k1 int) { r.charge.law.AssembleRows(r.charge.sigma, k0, k1) }

func (r *run) jouleRows(k0, k1 int) {
	s := r.charge.trial
	r.charge.law.HeatRows(s.joule, s.re, s.im, k0, k1)
}

// shown is the residual of a potential that is shown: where a setting begins and where a step must
// end. Others only heat.
const shown = 1e-10

// tightest is the residual of the potential below which all is rounding [-].
const tightest = 1e-14

// tighter returns a tenth of a tolerance, and the tightest for what lies near it:
// tenths of tenths end beside it, by rounding.
func tighter(tol float64) float64 {
	if tol < 20*tightest {
		return tightest
	}
	return tol / 10
}

// heatIsPower says whether the heat of all cells is Re Σ V·I* to within half of
// what the ledger may miss. A residual that is small beside solvePart's scale can be
// too large here: the scale, currents of the electrodes' own faces, grows without
// bound as cells shrink, while heat and power differ by Φ · residual.
func (r *run) heatIsPower(s *solution) bool {
	heat := 0.0
	for _, q := range s.joule {
		heat += q
	}
	heat *= 1 + s.beyond
	missing := math.Abs(heat - s.power)
	if missing <= 0.5*r.set.LedgerTolerance*s.power {
		return true
	}
	// Where all that feeds is off but one body, there is no power, and rounding is all.
	return r.charge.feed != nil && missing <= tightest*r.charge.scale
}

// solveParts solves for the real part of the phasor and for the imaginary part
// if it has one, to a residual of tol.
func (r *run) solveParts(s *solution, tol float64) error {
	r.charge.scale = 0
	if err := r.solvePart(s.re, tol, realPart); err != nil {
		return err
	}
	if s.im == nil {
		return nil
	}
	return r.solvePart(s.im, tol, imagPart)
}

// solvePart solves for one part of the phasor, the real or the imaginary one, into phi.
func (r *run) solvePart(phi []float64, tol float64, part func(complex128) float64) error {
	k := r.charge
	// The scale of the residual: the currents that the electrodes would drive
	// into ground at 0 V.
	clear(r.scratch)
	k.law.ImposeTo(r.scratch, k.rhs, part)
	scale := k.pcg.Residual(r.scratch, k.system, k.rhs, nil)
	k.scale = math.Max(k.scale, scale)
	if scale == 0 { // all at 0 V, and the ground with them
		clear(phi)
		return nil
	}
	k.law.ImposeTo(phi, k.rhs, part)
	st, err := k.pcg.SolveTo(phi, k.system, k.rhs, linear.Settings{Tolerance: tol * scale, MaxIterations: r.mostIterations})
	r.stats.PotentialIterations += st.Iterations
	if err != nil {
		return fmt.Errorf("potential: %w", err)
	}
	k.pcg.Balance(phi)
	if tol == r.set.Potential {
		k.iterations += st.Iterations
	}
	r.stats.LargestResidual = math.Max(r.stats.LargestResidual, st.Residual/scale)
	return nil
}

// loadWithin sets the state's voltage to the setting's reference, lowered by one factor
// for all electrodes where the power of all, the current of one rod or the apparent
// power would pass its limit.
func (r *run) loadWithin(n *State) {
	if r.charge == nil {
		return
	}
	n.Voltage, n.Limit = r.setting.Reference(), physics.NoLimit
	if r.decided(n) {
		return
	}
	if p := r.setting.PowerLimit; n.Power*n.Voltage*n.Voltage > p {
		n.Voltage, n.Limit = math.Sqrt(p/n.Power), physics.PowerLimit
	}
	if i, most := r.setting.CurrentLimit, r.rodCurrent(n); most*n.Voltage > i {
		n.Voltage, n.Limit = i/most, physics.CurrentLimit
	}
	r.apparentWithin(n)
}

// rodCurrent returns the largest current of one rod per volt [A/V].
func (r *run) rodCurrent(n *State) float64 {
	most := 0.0
	for b := range r.charge.law.Bodies {
		most = math.Max(most, cmplx.Abs(n.Current[b])/r.charge.law.Bodies[b].Rods)
	}
	return most
}
