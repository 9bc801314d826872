package solver

import "math"

// Source adds to dst the set power of each cell [W]: its mean between two times
// [s], or where they are one, its value then. Means of adjoining intervals must
// add up, as those of one function do: then the ledger holds its integral.
type Source func(dst []float64, from, to float64)

// sources is the power that is set and not computed. Over a step the power of a
// cell is a line,
//
//	q(τ) = mean + slope·(τ − ½),  0 ≤ τ ≤ 1
//
// whose halves hold the heat of the source's own: the step's quadrature is exact
// for a line, so heat in is the source's integral, and second order is kept. What
// the line puts at the wrong time within the step goes to the error estimate, so
// that a source which swings faster than a step is not stepped over.
type sources struct {
	constant []float64 // [W] nil: none
	varying  Source    // nil: none

	now         []float64 // [W] at the stage being solved; nil: nothing is set
	shown       []float64 // [W] at the time last recorded
	start       []float64 // [W] at the state, as its rates have it
	mean, slope []float64 // [W]
	misplaced   []float64 // [J]
	quarter     [4][]float64
}

// newSources returns the sources of a problem at its start.
func newSources(p *Problem, cells int) sources {
	s := sources{constant: p.Imposed, varying: p.Varying}
	if s.varying == nil {
		s.now = s.constant
		return s
	}
	v := func() []float64 { return make([]float64, cells) }
	s.now, s.shown, s.start, s.mean, s.slope, s.misplaced = v(), v(), v(), v(), v(), v()
	for i := range s.quarter {
		s.quarter[i] = v()
	}
	s.at(0, s.now)
	copy(s.start, s.now)
	return s
}

// at sets dst to the power [W] at time t [s], by cell.
func (s *sources) at(t float64, dst []float64) {
	s.over(t, t, dst)
	for c, q := range s.constant {
		dst[c] += q
	}
}

// over sets dst to the mean power [W] that varies, between two times [s], by cell.
func (s *sources) over(from, to float64, dst []float64) {
	clear(dst)
	s.varying(dst, from, to)
}

// fit lays the line over a step of dt [s] from t, and finds the heat that it has
// misplaced when the first and the third quarter of the step are over.
func (s *sources) fit(t, dt float64) {
	var edge [5]float64
	for i := range edge {
		edge[i] = t + dt*float64(i)/4
	}
	for i, q := range s.quarter {
		s.over(edge[i], edge[i+1], q)
	}
	for c := range s.mean {
		a, b, d, e := s.quarter[0][c], s.quarter[1][c], s.quarter[2][c], s.quarter[3][c]
		s.mean[c] = (a + b + d + e) / 4
		s.slope[c] = d + e - a - b
		early := dt / 8 * (a - b + s.slope[c]/4)
		late := dt / 8 * (d - e + s.slope[c]/4)
		s.misplaced[c] = early
		if math.Abs(late) > math.Abs(early) {
			s.misplaced[c] = late
		}
	}
	for c, q := range s.constant {
		s.mean[c] += q
	}
}

// stage sets now to the line at τ [-].
func (s *sources) stage(tau float64) {
	for c := range s.now {
		s.now[c] = s.mean[c] + s.slope[c]*(tau-0.5)
	}
}

// settle makes the end of the step the start of the next.
func (s *sources) settle() { copy(s.start, s.now) }

// setSources lays the set power over a step of dt [s], and finds the rates that the
// step begins with. The state's own stay: what a try clips, as steam that cannot be
// less than none, the next must have again.
func (r *run) setSources(dt float64) {
	s := &r.sources
	if s.varying == nil {
		return
	}
	s.fit(r.state.Time, dt)
	s.stage(0)
	r.jump(r.beginAnew(), s.start, s.now)
}

// beginAnew returns the rates that the step begins with, to be changed: a copy of the
// state's own.
func (r *run) beginAnew() *rates {
	if r.first != &r.begun {
		r.begun.copyFrom(&r.rate0)
		r.first = &r.begun
	}
	return r.first
}

// stageSources sets the power of the stage at τ [-] of the step.
func (r *run) stageSources(tau float64) {
	if r.sources.varying != nil {
		r.sources.stage(tau)
	}
}

// jump moves the rates at the state from one heat put in [W] by cell to another,
// and with it the steam of cells that boil.
func (r *run) jump(f *rates, from, to []float64) {
	for c, p := range to {
		q := p - from[c]
		if q == 0 {
			continue
		}
		f.joule += q
		f.power += q
		if len(r.targets) > 0 {
			f.zoneJoule += r.targets[0].weight(c) * q
		}
		q /= r.volume[c]
		f.heat[c] += q
		if r.boils && r.rising == nil && f.steam[c] > 0 {
			store := r.ground.Store(c)
			cost := store.Latent()
			if f.inflow[c] > 0 {
				cost = store.Steam
			}
			steam, inflow := f.steam[c], f.inflow[c]
			f.steam[c] = math.Max(0, steam+q/cost)
			f.inflow[c] = math.Max(0, inflow+f.steam[c]-steam)
			more, in := f.steam[c]-steam, f.inflow[c]-inflow
			f.water[c] += in - more
			f.vapour[c] += more * store.Steam
			f.extract(r, store, c, more, in)
		}
	}
	if r.rising != nil {
		r.momentOf(f)
	}
}
