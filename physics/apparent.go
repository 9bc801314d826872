package physics

import "math/cmplx"

// ApparentPower returns the apparent power of the bodies per volt of supply squared
// [VA/V²] for their currents [A/V]: over the phases, the absolute value of a phase's
// complex power,
//
//	S = Σ_phases |Σ_bodies of the phase V_b I_b*|
//
// with V_b the body's own potential. For bodies of one phase on one voltage that is
// Σ |V_phase| |Σ I|, what the windings that feed the phases must be rated for. It is no
// less than the power Re Σ V I*, and the same where each phase's current is in phase
// with its voltage. The neutral, at 0 V, takes none.
// Source: IEEE Std 1459, arithmetic apparent power (from memory).
func ApparentPower(bodies []Body, current []complex128) float64 {
	total := 0.0
	for b := range bodies {
		if phaseBefore(bodies, b) {
			continue
		}
		var phase complex128
		for i := b; i < len(bodies); i++ {
			if bodies[i].Label == bodies[b].Label {
				phase += bodies[i].Phase * cmplx.Conj(current[i])
			}
		}
		total += cmplx.Abs(phase)
	}
	return total
}

// phaseBefore says whether an earlier body is on the phase of body b.
func phaseBefore(bodies []Body, b int) bool {
	for i := range bodies[:b] {
		if bodies[i].Label == bodies[b].Label {
			return true
		}
	}
	return false
}
