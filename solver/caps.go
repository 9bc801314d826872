package solver

// The columns above and below a level slab go through the same stages as its cells:
// what a stage knows of them is eliminated once, their exchange with the cells is part
// of the heat that is solved for, and when that is found the nodes follow. They are
// second order and conserve to rounding as the cells do: a node's heat is the fluxes of
// the step's own quadrature, whatever the residual of a solve. Where they boil, or steam
// condenses in them, they are first order: that is found at the end of a step, for all of
// it (capsteam.go).

// columnLoop shares a loop over the nodes of all columns among the team.
func (r *run) columnLoop(do func(k0, k1 int)) {
	r.team.Rows(r.grid.NZ, r.columns.Size()/r.grid.NZ, 1, do)
}

// knownRows sets what the stage knows of the columns. The last stage has
//
//	y* = y_n + w Δt (f_n + f_γ) = y_n + (w/d) (y_γ − y_n)
//
// since y_γ − y_n = d Δt (f_n + f_γ): so no rates of nodes are kept.
func (r *run) knownRows(k0, k1 int) {
	blend := 0.0
	if r.loop.second {
		blend = ww / dd
	}
	r.columns.KnownRows(r.next.Caps, r.state.Caps, &r.first.caps, blend, k0, k1)
}

// outsideRows sets what the cells see of their columns, for the heat in r.power.
func (r *run) outsideRows(k0, k1 int) {
	r.columns.FringeRows(&r.rate2.caps, r.beyond, r.power, r.sources.now, k0, k1)
	r.columns.OutsideRows(r.next.Caps, &r.rate2.caps, k0, k1)
}

// columnRows sets the nodes and the rates of a stage's end, by the flux to the cells
// that is booked and the heat booked.
func (r *run) columnRows(k0, k1 int) {
	r.columns.FringeRows(&r.rate2.caps, r.beyond, r.power, r.sources.now, k0, k1)
	r.columns.CloseRows(r.next.Caps, &r.rate2.caps, r.next.T, r.ground.Ambient, k0, k1)
}

// setFringe sets the fringe of rates at the state from the heat in r.power.
func (r *run) setFringe(f *rates) {
	if r.columns != nil {
		r.columns.FringeRows(&f.caps, r.beyond, r.power, r.sources.now, 0, r.grid.NZ)
	}
}

// jumpFringe moves the fringe of rates at the state, which was so much [W], to that of the
// heat in r.power.
func (r *run) jumpFringe(f *rates, was float64) {
	by := r.fringe() - was
	f.joule += by
	f.power += by
	r.setFringe(f)
}

// fringe returns the Joule heat beyond the slab [W] that goes with the heat in r.power.
func (r *run) fringe() float64 {
	if r.columns == nil || r.beyond == 0 {
		return 0
	}
	joule := 0.0
	for _, q := range r.power {
		joule += q
	}
	for _, q := range r.sources.now {
		joule -= q
	}
	return r.beyond * joule
}

// warmEnds tells the ends of rods how well the ground beyond the slab conducts by now, over
// how much better the slab does: from the state, and the fringe and the potential of the rates
// that the next step begins with. While nothing flows it stays as it was.
func (r *run) warmEnds() {
	k := r.charge
	if r.columns == nil || k == nil || k.law.Ends == nil {
		return
	}
	if outside := r.columns.Outside(r.state.Caps, &r.rate0.caps); outside > 0 && k.last.slab > 0 {
		k.outside = outside * k.law.Ends.Found() / k.last.slab
	}
	k.law.Ends.SetOutside(k.outside)
}
