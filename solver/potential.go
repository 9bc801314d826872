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
	if err := r.solvePart(n.Re, func(z complex128) float64 { return real(z) }); err != nil {
		return err
	}
	if r.electric.HasImaginary() {
		if err := r.solvePart(n.Im, func(z complex128) float64 { return imag(z) }); err != nil {
			return err
		}
	}
	n.Power, n.Rim = r.electric.HeatTo(n.Joule, n.Current, n.Re, n.Im)
	r.stats.Potentials++
	r.loadWithin(n)
	return nil
}

func (r *run) solvePart(phi []float64, part func(complex128) float64) error {
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
	st, err := r.chargePCG.SolveTo(phi, sys, r.rhs, linear.Settings{Tolerance: r.set.Potential * math.Sqrt(scale), MaxIterations: 20000})
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
