package physics

import "math"

// Buries says whether any body is buried metal (Body.Floating).
func (e *Electric) Buries() bool {
	for b := range e.Bodies {
		if e.Bodies[b].Floating {
			return true
		}
	}
	return false
}

// PickupTo sets pickup, by body, to the current [A] that buried metal picks up from the
// ground in one place and gives off in another, for the phasor re + i·im; 0 for bodies
// that are fed. Its net current is 0, so
//
//	I_through = ½ Σ_faces |I_face|
//
// over the faces between its cells and ground, |I_face| the size of a face's phasor. No cut
// through the body passes a larger net current: what its one side takes up the other gives
// off, and each is at most the sum of its faces' sizes. Where all faces are in phase or
// opposed it is what crosses the cut between those that take up and those that give off.
// Else it is more than any cut passes, by π/2 at most, as of a round body in a field that
// turns: at an angle α the faces with Re(I e^(−iα)) > 0 pass no less than half of
// Σ |Re(I e^(−iα))|, whose mean over α is 2/π of Σ |I|. Of metal that meets an edge of the
// ground no current goes through that edge; of a slab it is what the slab passes to it.
// Source: Kirchhoff's law and the triangle inequality; the mean over α, own derivation.
func (e *Electric) PickupTo(pickup, re, im []float64) {
	clear(pickup)
	for j, g := range [2][]float64{e.Across, e.Down} {
		for _, f := range e.surface[j] {
			if e.Bodies[f.body].Floating {
				pickup[f.body] += g[f.face] / 2 * math.Hypot(re[f.first]-re[f.second], imagAt(im, f.first)-imagAt(im, f.second))
			}
		}
	}
}
