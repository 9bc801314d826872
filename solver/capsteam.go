package solver

import (
	"math"

	"soiljoule/physics"
)

// columnSteam is the steam in the columns above and below a level slab, and between them.
type columnSteam struct {
	slab []float64          // [kg] by cell, that boils in the slab in a step; nil: no column boils
	rise []physics.CapSteam // by cell, from one part of the ground to the next

	expected physics.Expected
	comes    []float64 // [W] latent heat by cell, of the steam expected

	// Of the step tried.
	columns   physics.CapVapour
	risen     physics.CapSteam // out of it
	condensed physics.CapSteam // in it, of what came from below; Heat: that the cells took
	inZone    physics.CapSteam // of that, in the first target
	drained   float64          // [J] enthalpy of the water that made
}

// expectBoil tells the columns what heat to expect in a step of dt [s]: that at its
// start, but of the fringe under a meter, whose power may rise from 0, its mean.
func (r *run) expectBoil(dt float64) {
	if r.steam.slab == nil {
		return
	}
	f := r.first
	if m := &r.meter; m.Meter != nil && r.beyond > 0 {
		f = &r.rate2 // not yet in use
		voltage, limit := r.state.Voltage, r.state.Limit
		m.now = m.mean
		r.predictPower(r.state)
		r.setFringe(f)
		r.state.Voltage, r.state.Limit = voltage, limit
	}
	s := &r.steam
	s.expected = physics.Expected{Time: dt, Rates: &r.first.caps, Cells: r.state.T, Fringe: f.caps.Fringe, Vapour: &r.ground.Vapour, Again: r.steam.expected.Again}
	if r.ground.Vapour.Rising && r.boils {
		s.expected.Steam = s.comes
		r.eachBoiling(func(store *physics.Store, c int) {
			s.comes[c] = r.first.steam[c] * r.volume[c] * store.Latent()
		})
	}
	r.columnLoop(r.do.expect)
}

func (r *run) expectRows(k0, k1 int) {
	r.columns.ExpectRows(r.state.Caps, &r.steam.expected, k0, k1)
}

// eachBoiling calls do for each cell that may boil.
func (r *run) eachBoiling(do func(store *physics.Store, c int)) {
	for k := range r.grid.NZ {
		for _, run := range r.ground.Runs(k) {
			store := &r.ground.Stores[run.Store]
			if math.IsInf(store.BoilingPoint, 1) {
				continue
			}
			for c := run.From; c < run.To; c++ {
				do(store, c)
			}
		}
	}
}

// keepSteam begins the sum of what boils in the slab in a step with the rates at its
// start and of the γ stage, of weight w [s].
func (r *run) keepSteam(w float64) {
	if r.steam.slab == nil || !r.boils {
		return
	}
	for c, v := range r.volume {
		r.steam.slab[c] = w * v * (r.first.steam[c] + r.rate2.steam[c])
	}
}

// raise ends a step of dt [s] in the columns: what is hotter than its boiling point boils
// off, and where steam rises, it goes from below the slab through its cells up to the
// surface, and condenses on the way in what is cooler. It reports whether the step stands:
// if steam that was relied on did not come, it is to be made again, once.
func (r *run) raise(dt float64) bool {
	s := &r.steam
	if s.slab == nil {
		return true
	}
	s.risen, s.condensed, s.inZone, s.drained = physics.CapSteam{}, physics.CapSteam{}, physics.CapSteam{}, 0
	r.columnLoop(r.do.below)
	if r.ground.Vapour.Rising && r.boils {
		r.crossSlab(dd * dt)
	}
	r.columnLoop(r.do.above)
	s.columns = r.columns.Vapour()
	return s.expected.Again || !r.columns.Short()
}

func (r *run) belowRows(k0, k1 int) {
	r.columns.RiseBelowRows(r.next.Caps, r.steam.rise, &r.ground.Vapour, r.ground.Ambient, r.steam.expected.Time, k0, k1)
}

func (r *run) aboveRows(k0, k1 int) {
	r.columns.RiseAboveRows(r.next.Caps, &r.rate2.caps, r.steam.rise, &r.ground.Vapour, r.ground.Ambient, r.steam.expected.Time, k0, k1)
}

// crossSlab lets steam from below heat the cells of the slab, up to their boiling point,
// and adds to what passes the cells' own of the step, the last stage's with weight w [s].
func (r *run) crossSlab(w float64) {
	s := &r.steam
	r.eachBoiling(func(store *physics.Store, c int) {
		r.condense(store, c)
		mass := s.slab[c] + w*r.volume[c]*r.rate2.steam[c]
		own := physics.CapSteam{Mass: mass, Heat: mass * store.Steam, Latent: mass * store.Latent()}
		s.risen = s.risen.Plus(1, own)
		s.rise[c] = s.rise[c].Plus(1, own)
	})
}

// condense lets steam from below the slab condense in cell c. The water, of which the
// pores have no more room, is displaced at the cell's temperature as the step has it.
func (r *run) condense(store *physics.Store, c int) {
	s, n := &r.steam, r.next
	f := s.rise[c]
	room := r.volume[c] * (store.Energy(store.BoilingPoint, n.W[c]) - n.E[c])
	if !(f.Mass > 0) || !(room > 0) || n.T[c] >= store.BoilingPoint {
		return
	}
	liquid, _ := r.ground.Water.Enthalpy(n.T[c])
	found, _ := r.ground.Water.Enthalpy(r.ground.Ambient)
	gives := f.Heat - f.Mass*(liquid-found)
	part := math.Min(1, room/gives)
	taken := part * gives
	n.E[c] += taken / r.volume[c]
	n.T[c] = math.Min(store.BoilingPoint, store.Respond(n.E[c], n.W[c], 1, n.T[c]).T)
	did := physics.CapSteam{Mass: part * f.Mass, Heat: taken, Latent: part * f.Mass * store.Latent()}
	s.condensed = s.condensed.Plus(1, did)
	s.drained += part*f.Heat - taken
	if len(r.targets) > 0 {
		s.inZone = s.inZone.Plus(r.targets[0].weight(c), did)
	}
	s.rise[c] = f.Plus(-part, f)
}

// settleColumns sets the losses at the columns' ends that the next step begins with, and what
// rain takes out of them, to those of the nodes as steam has left them.
func (r *run) settleColumns() {
	if r.columns != nil {
		_, r.rate0.surface, r.rate0.below = r.columns.Totals()
		_, r.rate0.drained = r.columns.Rained(&r.rate0.caps)
	}
}

// bookColumns adds what steam did in the columns, and on its way between them, in the step. The
// steam of the slab itself is booked already, as if all that left its top had left at the
// surface. The heat of steam that condenses in the zone counts as come through its bottom.
func (l *Ledger) bookColumns(r *run) {
	s := &r.steam
	if s.slab == nil {
		return
	}
	v := &s.columns
	left := v.Surface.Plus(-1, s.risen) // more than left the slab's top
	l.SteamMass.Captured += v.Captured.Mass
	l.SteamMass.Surface += left.Mass
	l.SteamHeat.Captured += v.Captured.Heat
	l.SteamHeat.Surface += left.Heat
	l.stepSteam.Captured += v.Captured.Mass
	l.stepSteam.Surface += left.Mass
	l.Latent += v.Captured.Latent + left.Latent
	l.SteamBeyond += v.Boiled.Heat
	l.Water.Recharge += v.Boiled.Mass
	condensed := v.Condensed.Mass + s.condensed.Mass
	l.stepCondensed += condensed
	l.Condensed += condensed
	l.CondensedLatent += v.Condensed.Latent + s.condensed.Latent
	l.CondensedOutside += v.Condensed.Latent + s.condensed.Latent - s.inZone.Latent
	l.ZoneBoiled -= s.inZone.Mass
	l.CarriedByWater += v.Drained + s.drained
	l.Water.ToGroundwater += condensed
	l.Zone.Bottom -= s.inZone.Heat
}
