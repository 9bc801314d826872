package solver

import "math"

// What the ground does at once, whatever the time there is for it, has no rate to go on
// with: the quadrature would take what a step of a second did for hours of the next. Two
// things are such. Water beyond the brim is displaced in the stage that has it. And rows
// that come to lie below a water table which moves may be hotter than their boiling
// point, dry, and water comes to them without a limit: all of that is left to a step's
// last stage, whose weight is its own, for the two others would overdo it by a fifth.

// keepOut keeps water from the rows where that holds, until letIn.
func (r *run) keepOut() {
	r.drowned = r.drowned[:0]
	if !r.boils || !r.ground.TableMoves() {
		return
	}
	for k := range r.grid.NZ {
		if math.IsInf(r.ground.Stores[k].Inflow, 1) && r.superheated(k) {
			r.drowned = append(r.drowned, k)
			r.ground.Stores[k].Inflow = 0
		}
	}
}

func (r *run) letIn() {
	for _, k := range r.drowned {
		r.ground.Stores[k].Inflow = math.Inf(1)
	}
}

// superheated reports whether ground in row k is hotter than its boiling point.
func (r *run) superheated(k int) bool {
	for _, run := range r.ground.Runs(k) {
		boiling := r.ground.Stores[run.Store].BoilingPoint
		for c := run.From; c < run.To; c++ {
			if r.state.T[c] > boiling+missed {
				return true
			}
		}
	}
	return false
}

// settleRates takes from the rates at the end of a step of dt [s] what has none.
func (r *run) settleRates(dt float64) {
	switch {
	case !r.boils:
	case len(r.drowned) > 0:
		r.momentOf(&r.rate0)
		r.drowned = r.drowned[:0]
	default:
		r.dropOver(&r.rate0, r.state.T, dd*dt)
	}
}

// dropOver takes from rates what was displaced, at temperatures t [K], in a time of h [s].
func (r *run) dropOver(f *rates, t []float64, h float64) {
	if f.over == 0 {
		return
	}
	rises := r.rising != nil && !r.grid.Level
	for c, over := range r.over {
		if !(over > 0) {
			continue
		}
		f.water[c] += over / h
		if s := r.ground.Store(c); rises {
			f.vapour[c] -= over * s.Liquid(t[c]) / h
		} else { // steam from below a slab may have warmed the cell since
			f.vapour[c] = f.steam[c] * s.Steam
		}
	}
	f.over, f.overHeat, f.zoneOver = 0, 0, 0
}
