package solver

import (
	"fmt"
	"math"
	"math/cmplx"

	"soiljoule/physics"
	"soiljoule/solver/linear"
)

// solvePotential solves ∇·(σ∇Φ) = 0 per volt of supply at the state's T and W,
// one real solve a part of the phasor with one matrix, and sets the Joule heat,
// the currents and the voltage that the limits allow.
func (r *run) solvePotential(n *State) error {
	r.ground.SaturationTo(r.saturation, n.W)
	r.ground.SigmaTo(r.sigma, n.T, r.saturation)
	if err := r.electric.Assemble(r.sigma); err != nil {
		return fmt.Errorf("potential: %w", err)
	}
	sys := r.chargeSystem
	r.electric.DiagonalTo(sys.Diag)
	for i := range r.electric.Couples {
		k := &r.electric.Couples[i]
		sys.Blocks[i] = linear.Block{Cells: k.Cell, Y: k.Y}
	}
	r.chargePCG.Factor(sys)
	for tol := r.set.Potential; ; tol = tighter(tol) {
		if err := r.solveParts(n, tol); err != nil {
			return err
		}
		n.Power, n.Rim = r.electric.HeatTo(n.Joule, n.Current, n.Re, n.Im)
		if tol <= tightest || r.heatIsPower(n) {
			break
		}
	}
	r.stats.Potentials++
	r.loadWithin(n)
	return nil
}

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
func (r *run) heatIsPower(n *State) bool {
	heat := 0.0
	for _, q := range n.Joule {
		heat += q
	}
	return math.Abs(heat-n.Power) <= 0.5*r.set.LedgerTolerance*n.Power
}

// solveParts solves for the real part of the phasor and for the imaginary part
// if it has one, to a residual of tol.
func (r *run) solveParts(n *State, tol float64) error {
	if err := r.solvePart(n.Re, tol, func(z complex128) float64 { return real(z) }); err != nil {
		return err
	}
	if !r.electric.HasImaginary() {
		return nil
	}
	return r.solvePart(n.Im, tol, func(z complex128) float64 { return imag(z) })
}

func (r *run) solvePart(phi []float64, tol float64, part func(complex128) float64) error {
	sys := r.chargeSystem
	// The scale of the residual: the currents that the electrodes would drive
	// into ground at 0 V.
	clear(r.scratch)
	r.electric.ImposeTo(r.scratch, r.rhs, part)
	sys.ResidualTo(r.net, r.rhs, r.scratch)
	scale := 0.0
	for _, v := range r.net {
		scale += v * v
	}
	r.electric.ImposeTo(phi, r.rhs, part)
	st, err := r.chargePCG.SolveTo(phi, sys, r.rhs, linear.Settings{Tolerance: tol * math.Sqrt(scale), MaxIterations: r.mostIterations})
	r.stats.PotentialIterations += st.Iterations
	if err != nil {
		return fmt.Errorf("potential: %w", err)
	}
	if scale > 0 {
		r.stats.LargestResidual = math.Max(r.stats.LargestResidual, st.Residual/math.Sqrt(scale))
	}
	return nil
}

// loadWithin sets the state's voltage to the setting's, lowered by one factor
// for all electrodes where the power of all or the current of one rod would pass
// its limit.
func (r *run) loadWithin(n *State) {
	if r.electric == nil {
		return
	}
	n.Voltage, n.Limit = r.setting.Voltage, physics.NoLimit
	if !r.setting.On {
		n.Voltage, n.Limit = 0, physics.Off
		return
	}
	if p := r.setting.PowerLimit; n.Power*n.Voltage*n.Voltage > p {
		n.Voltage, n.Limit = math.Sqrt(p/n.Power), physics.PowerLimit
	}
	if i, most := r.setting.CurrentLimit, r.rodCurrent(n); most*n.Voltage > i {
		n.Voltage, n.Limit = i/most, physics.CurrentLimit
	}
}

// rodCurrent returns the largest current of one rod per volt [A/V].
func (r *run) rodCurrent(n *State) float64 {
	most := 0.0
	for b := range r.electric.Bodies {
		most = math.Max(most, cmplx.Abs(n.Current[b])/r.electric.Bodies[b].Rods)
	}
	return most
}

// powerTo sets dst to the heat put into each cell [W].
func (r *run) powerTo(dst []float64, n *State) {
	v2 := n.Voltage * n.Voltage
	for c, q := range n.Joule {
		dst[c] = v2 * q
	}
	for c, q := range r.sources.now {
		dst[c] += q
	}
}
