package solver

// Rain on a level slab goes through its columns and the slab in the stages of a step, at a
// rate that is constant over the step. It is linear in the temperatures and of each cell with
// its own columns alone (physics.Columns), so the matrix of heat stays symmetric.

// columnWater is what rain carries at one stage, in watts.
type columnWater struct {
	rained, drained float64 // into the ground at the surface, and out of it to the groundwater
	zoneRained      float64 // out of the zone's bottom less in through its top
}

func (a columnWater) plus(w float64, b columnWater) columnWater {
	return columnWater{a.rained + w*b.rained, a.drained + w*b.drained, a.zoneRained + w*b.zoneRained}
}

// rainZone takes what rain carries through the top and the bottom of the first target's zone
// from what its cells give their columns, so that what is left is conduction.
func (f *flows) rainZone(r *run) {
	if r.columns == nil || !r.columns.Rains() {
		return
	}
	in, out := r.columns.RainedThrough(r.problem.Targets[0].Zone)
	f.zone.Top += in
	f.zone.Bottom -= out
	f.zoneRained = out - in
}

// moveRain moves the rates that a step begins with to the rain that comes in it.
func (r *run) moveRain(f *rates) {
	if r.columns == nil || !r.columns.Rerain(r.scratch, r.state.Caps, r.state.T, &f.caps) {
		return
	}
	for c, q := range r.scratch {
		f.heat[c] += q
	}
	_, f.surface, f.below = r.columns.Totals()
	f.rained, f.drained = r.columns.Rained(&f.caps)
	if len(r.targets) > 0 {
		zone := r.heat.ZoneOutflow(r.targets[0].target.Zone, r.state.T)
		f.zone.Top, f.zone.Bottom = zone.Top, zone.Bottom
		f.rainZone(r)
	}
}

// fillRain lets a run that goes on take up the rates of a plan on which rain did not come
// before, or comes no more, and returns what is to be done once they are taken up and the
// conductances stand; nil: nothing.
func (r *run) fillRain(from *Snapshot) (after func()) {
	had := from.Arrays["rates.caps.Drain"] != nil
	if r.columns == nil || had == r.columns.Rains() {
		return nil
	}
	if !had {
		for _, name := range []string{"Drain", "Join"} {
			from.Arrays["rates.caps."+name] = make([]float64, r.grid.Cells())
		}
		return func() { r.columns.JoinTo(r.rate0.caps.Join) }
	}
	r.columns.KeepRain(r.ground.Ambient)
	r.rate0.caps, r.rate2.caps = r.columns.NewRates(), r.columns.NewRates()
	return func() { r.moveRain(&r.rate0) }
}
