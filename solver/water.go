package solver

import "math"

// WaterLedger is the liquid water of the ground since the start [kg]:
//
//	Recharge + Rain + Added = Stored + Steam + ToGroundwater + Residual
type WaterLedger struct {
	Recharge      float64 // that flowed in for what boiled, or into what had cooled
	Rain          float64
	Added         float64 // at electrodes
	Stored        float64 // change in the ground
	Steam         float64 // that left the ground
	ToGroundwater float64 // drained to the water table, or displaced below it
	Residual      float64

	scale float64 // [kg] that the residual is compared with
}

// bookWater adds a step of dt [s] and its flows, summed over the step.
func (l *Ledger) bookWater(r *run, f *flows, dt float64) {
	l.stepSteam = f.mass
	l.SteamMass = l.SteamMass.plus(1, f.mass)
	l.SteamHeat = l.SteamHeat.plus(1, f.steamHeat)
	l.Latent += f.latent
	l.bookCondensed(r)
	l.CarriedByWater += f.overHeat
	w := &l.Water
	w.Recharge += f.inflow + dt*r.refilled
	w.ToGroundwater += f.over
	if s := r.seepage; s != nil {
		w.Rain += dt * s.Rain
		w.Added += dt * s.added
		w.ToGroundwater += dt * s.Drained
		l.WaterIn += dt * s.heat
		l.Zone.Water -= dt * s.zone
	}
}

// bookCondensed adds what condensed in a step, cell by cell what more steam came to it in
// the step than left it.
func (l *Ledger) bookCondensed(r *run) {
	l.stepCondensed = 0
	if r.rising == nil {
		return
	}
	for k := range r.grid.NZ {
		for _, run := range r.ground.Runs(k) {
			latent := r.ground.Stores[run.Store].Latent()
			for c := run.From; c < run.To; c++ {
				m := -r.rising.net[c] * r.volume[c]
				if m <= 0 {
					continue
				}
				l.stepCondensed += m
				l.CondensedLatent += m * latent
				w := 0.0
				if len(r.targets) > 0 {
					w = r.targets[0].weight(c)
				}
				l.CondensedOutside += (1 - w) * m * latent
			}
		}
	}
	l.Condensed += l.stepCondensed
}

// closeWater sets the steam and the residual of the water ledger.
func (l *Ledger) closeWater() {
	w := &l.Water
	w.Steam = l.Steam
	in := w.Recharge + w.Rain + w.Added
	w.Residual = in - w.Stored - w.Steam - w.ToGroundwater
	// A kilogram counts as what it takes to boil it.
	const boil = 2.6e6 // [J/kg]
	w.scale = math.Max(math.Max(in, math.Abs(w.Stored)), l.scale/boil)
}

// Share returns the residual as a share of the largest of the water in, the change stored,
// and what the energy ledger's scale would boil.
func (w *WaterLedger) Share() float64 {
	if w.scale == 0 {
		return 0
	}
	return w.Residual / w.scale
}
