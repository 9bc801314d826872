package solver

import (
	"math"

	"soiljoule/physics"
)

// seepage is the water that comes to cells in a step whatever its stages do: what is
// added at electrodes, at its own temperature, and what sinks (physics.Percolation).
// Both are fixed as the step begins, and end with it: the rates between two steps have
// none of what sinks, for what a cell holds too much sinks in one step, however short.
type seepage struct {
	physics.Percolation
	warm  []float64 // [W/m³] enthalpy of added water
	loss  []float64 // [kg/(m³·s)] net loss of water by cell, as the step begins
	added float64   // [kg/s]
	heat  float64   // [W] of added water
	zone  float64   // [W] of that, in the first target
}

// newSeepage makes it ready where water is added, rains, condenses, or a cell may come to
// hold more than its field capacity.
func (r *run) newSeepage() {
	p := r.problem
	if len(p.Added) == 0 && !r.heat.Rains() && r.rising == nil && !(r.boils && r.ground.TableMoves()) {
		return
	}
	v := func() []float64 { return make([]float64, r.grid.Cells()) }
	s := &seepage{loss: v()}
	s.Boils, s.Gain = s.loss, v()
	if len(p.Added) > 0 {
		s.Added, s.warm = v(), v()
	}
	r.heat.Sinks(r.ground)
	r.seepage = s
}

// setSeepage fixes the water that comes in a step of dt [s], after refillFor, and moves
// the rates that the step begins with to it.
func (r *run) setSeepage(dt float64) {
	s := r.seepage
	if s == nil {
		return
	}
	var w []float64
	if r.boils {
		w = r.state.W
		for c, q := range r.first.water {
			s.loss[c] = -q
		}
	}
	r.addWater(r.state.Time, dt)
	r.heat.SetAir(r.state.Time, dt)
	r.heat.Rest()
	still := r.carriedAt()
	r.heat.Percolate(r.ground, &s.Percolation, w, r.state.Time, dt)
	if r.boils {
		for c, q := range s.Gain {
			r.given[c] += q
		}
	}
	f := r.beginAnew()
	r.heat.SinkTo(r.scratch, r.state.T)
	for c, q := range r.scratch {
		f.heat[c] += q / r.volume[c]
	}
	f.flows = f.flows.plus(1, r.carriedAt()).plus(-1, still)
	r.moveRain(f)
}

// carriedAt returns what water carries at the state.
func (r *run) carriedAt() (f flows) {
	f.brought, f.carried = r.heat.CarriedBy(r.state.T)
	if len(r.targets) > 0 {
		f.zoneCarried = r.heat.CarriedFrom(r.targets[0].target.Zone, r.state.T)
	}
	return f
}

// addWater sets what is added at electrodes in a step of dt [s] from time t on. What the
// ground at the electrode has no room for soaks on along its row, to the nearest cell that
// has; where none has, it stays to sink or to be displaced.
func (r *run) addWater(t, dt float64) {
	s := r.seepage
	if s.Added == nil {
		return
	}
	clear(s.Added)
	clear(s.warm)
	s.added, s.heat, s.zone = 0, 0, 0
	for i := range r.problem.Added {
		a := &r.problem.Added[i]
		if t < a.From || t >= a.To {
			continue
		}
		for j, c := range a.Cells {
			r.soak(c, a.Rate*a.Share[j], a.Temperature, dt)
		}
	}
}

// soak adds water [kg/s] of a temperature [K] at cell c.
func (r *run) soak(c int, rate, temperature, dt float64) {
	if !r.boils {
		r.wet(c, rate, temperature)
		return
	}
	nx := r.grid.NX
	first := c / nx * nx
	at, left, right := c, c-1, c+1
	for rate > 0 {
		take := math.Min(rate, r.room(at, dt))
		if take > 0 {
			r.wet(at, take, temperature)
			rate -= take
		}
		l, rr := left >= first, right < first+nx
		switch {
		case !l && !rr:
			r.wet(c, rate, temperature)
			return
		case !rr || l && r.grid.XC[c-first]-r.grid.XC[left-first] <= r.grid.XC[right-first]-r.grid.XC[c-first]:
			at = left
			left--
		default:
			at = right
			right++
		}
	}
}

// room returns how much more water [kg/s] than is added already cell c takes in a step of
// dt [s]: what it would lack at its end, of what stays in it.
func (r *run) room(c int, dt float64) float64 {
	store := r.ground.Store(c)
	if store.Pores == 0 {
		return 0
	}
	full := store.Brim()
	if math.IsInf(full, 1) {
		full = store.Field
	}
	s := r.seepage
	lacks := (full - r.state.W[c]) / dt
	return math.Max(0, lacks+s.loss[c]-r.given[c]-s.Added[c]) * r.volume[c]
}

// wet adds water [kg/s] of a temperature [K] to cell c.
func (r *run) wet(c int, rate, temperature float64) {
	s := r.seepage
	heat := rate * r.ground.Store(c).Liquid(temperature)
	s.Added[c] += rate / r.volume[c]
	s.warm[c] += heat / r.volume[c]
	s.added += rate
	s.heat += heat
	if len(r.targets) > 0 {
		s.zone += r.targets[0].weight(c) * heat
	}
}

// settleSeepage takes from the rates at the end of a step what sank in it.
func (r *run) settleSeepage() {
	if r.seepage == nil || !r.heat.Moves() {
		return
	}
	sinking := r.carriedAt()
	r.heat.SinkTo(r.scratch, r.state.T)
	for c, q := range r.scratch {
		r.rate0.heat[c] -= q / r.volume[c]
	}
	r.heat.Rest()
	r.rate0.flows = r.rate0.flows.plus(-1, sinking).plus(1, r.carriedAt())
}

// warmRows adds the heat of added water to what a stage knows.
func (r *run) warmRows(k0, k1 int) {
	if r.seepage == nil || r.seepage.warm == nil {
		return
	}
	since := gamma * r.loop.dt
	if r.loop.second {
		since = r.loop.dt
	}
	for c := k0 * r.grid.NX; c < k1*r.grid.NX; c++ {
		q := r.seepage.warm[c]
		r.eStar[c] += since * q
		r.next.E[c] += since * q
	}
}

// nextAdded returns the next time after t at which water begins or ends to be added.
func (r *run) nextAdded(t float64) float64 {
	next := math.Inf(1)
	for i := range r.problem.Added {
		for _, at := range [2]float64{r.problem.Added[i].From, r.problem.Added[i].To} {
			if at > t {
				next = math.Min(next, at)
			}
		}
	}
	return next
}
