package physics

import "math/cmplx"

// ApparentPower returns the apparent power of the bodies per volt of supply squared
// [VA/V²], from their potentials [-] and currents [A/V] per volt: the sum over the phases of
// the absolute value of the phase's complex power,
//
//	S = Σ_phases |Σ_bodies of the phase V_b I_b*|
//
// with V_b the body's own potential; where potential is nil, all bodies are at their phase.
// Where the bodies of each phase share one voltage it is Σ |V_phase| |Σ I|, what the windings
// that feed the phases must be rated for. It is never less than the power Re Σ V I*, and equal
// to it where each phase's current is in phase with its voltage. The neutral, at 0 V, takes
// none.
// Source: IEEE Std 1459, arithmetic apparent power (from memory).
func ApparentPower(bodies []Body, potential, current []complex128) float64 {
	total := 0.0
	for b := range bodies {
		if phaseBefore(bodies, b) {
			continue
		}
		var phase complex128
		for i := b; i < len(bodies); i++ {
			if bodies[i].Label == bodies[b].Label {
				v := bodies[i].Phase
				if potential != nil {
					v = potential[i]
				}
				phase += v * cmplx.Conj(current[i])
			}
		}
		total += cmplx.Abs(phase)
	}
	return total
}

// LineCurrent returns the largest current of a phase, all its bodies together, |Σ I| [A/V] for
// their currents per volt, and the first body of that phase: what the conductor that feeds
// them carries. Of phases alike but for rounding it is the first. The neutral counts as a
// phase of its own, buried metal as none; -1: there is no current.
func LineCurrent(bodies []Body, current []complex128) (amps float64, first int) {
	first = -1
	for b := range bodies {
		if bodies[b].Floating || phaseBefore(bodies, b) {
			continue
		}
		var sum complex128
		for i := b; i < len(bodies); i++ {
			if bodies[i].Label == bodies[b].Label && !bodies[i].Floating {
				sum += current[i]
			}
		}
		if a := cmplx.Abs(sum); a > amps*(1+1e-9) {
			amps, first = a, b
		}
	}
	return amps, first
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
