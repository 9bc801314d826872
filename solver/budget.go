package solver

import (
	"fmt"
	"math"

	"soiljoule/physics"
)

// flows is what crosses boundaries at one stage, in watts.
type flows struct {
	power                 float64 // at the electrodes, and imposed
	surface, below, sides float64 // out of the ground
	zone                  physics.ZoneFlux
	zoneJoule             float64
	joule                 float64 // heat of all cells: the power by another road
	brought, carried      float64 // into the ground and out of it, by water that flows
	zoneCarried           float64 // out of the zone less in, by water that flows
	columnWater                   // of rain on a level slab
	boiling
}

// boiling is what boils, condenses, flows in and is displaced at one stage.
type boiling struct {
	mass, steamHeat SteamFate // [kg/s], [W] of steam that leaves the ground
	latent          float64   // [W] the part of that heat spent on evaporation
	inflow          float64   // [kg/s]
	zoneSteamHeat   float64   // [W] of steam that leaves the zone less what comes to it
	zoneBoiled      float64   // [kg/s] net, in the zone
	over, overHeat  float64   // [kg/s], [W] displaced to the groundwater
	zoneOver        float64   // [W] of that, from the zone
}

// plus returns f + w·o.
func (f SteamFate) plus(w float64, o SteamFate) SteamFate {
	return SteamFate{f.Captured + w*o.Captured, f.Surface + w*o.Surface, f.Held + w*o.Held}
}

// Total returns the three together.
func (f SteamFate) Total() float64 { return f.Captured + f.Surface + f.Held }

// plus returns b + w·o.
func (b boiling) plus(w float64, o boiling) boiling {
	b.mass, b.steamHeat = b.mass.plus(w, o.mass), b.steamHeat.plus(w, o.steamHeat)
	b.latent += w * o.latent
	b.inflow += w * o.inflow
	b.zoneSteamHeat += w * o.zoneSteamHeat
	b.zoneBoiled += w * o.zoneBoiled
	b.over += w * o.over
	b.overHeat += w * o.overHeat
	b.zoneOver += w * o.zoneOver
	return b
}

// plus returns f + w·o.
func (f flows) plus(w float64, o flows) flows {
	f.power += w * o.power
	f.surface += w * o.surface
	f.below += w * o.below
	f.sides += w * o.sides
	f.zone.Top += w * o.zone.Top
	f.zone.Bottom += w * o.zone.Bottom
	f.zone.Sides += w * o.zone.Sides
	f.zoneJoule += w * o.zoneJoule
	f.joule += w * o.joule
	f.brought += w * o.brought
	f.carried += w * o.carried
	f.zoneCarried += w * o.zoneCarried
	f.columnWater = f.columnWater.plus(w, o.columnWater)
	f.boiling = f.boiling.plus(w, o.boiling)
	return f
}

// boilingAt sums what a stage of h [s] came to, from the amounts in rates that respond
// has set.
func (r *run) boilingAt(f *rates, h float64) boiling {
	var b boiling
	for k := range r.grid.NZ {
		for _, run := range r.ground.Runs(k) {
			s := &r.ground.Stores[run.Store]
			for c := run.From; c < run.To; c++ {
				steam, inflow := f.steam[c]/h, f.inflow[c]/h
				if r.rising != nil {
					b.rise(r, s, c, steam, h)
					b.inflow += inflow * r.volume[c]
				} else {
					b.extract(r, s, c, steam, inflow)
				}
				if over := r.over[c]; over > 0 {
					b.displace(r, s, c, over/h, r.next.T[c])
				}
			}
		}
	}
	if r.rising == nil {
		return b
	}
	if !r.grid.Level {
		mass, heat := r.rising.Leaving()
		b.leave(&b.mass.Surface, &b.steamHeat.Surface, &r.ground.Stores[0], mass/h, heat/h)
	}
	for k, held := range r.rising.Held {
		if held != 0 {
			b.leave(&b.mass.Held, &b.steamHeat.Held, &r.ground.Stores[k], held/h, r.rising.HeldHeat[k]/h)
		}
	}
	return b
}

// leave counts steam [kg/s] and its heat [W] that leave the ground from a row with the
// boiling point of store s.
func (b *boiling) leave(mass, heat *float64, s *physics.Store, steam, q float64) {
	*mass += steam
	*heat += q
	b.latent += steam * s.Latent()
}

// extract counts steam and inflow [kg/(m³·s)] of one cell, the steam taken out there.
func (b *boiling) extract(r *run, s *physics.Store, c int, steam, inflow float64) {
	if steam == 0 && inflow == 0 {
		return
	}
	steam *= r.volume[c]
	b.inflow += inflow * r.volume[c]
	b.leave(&b.mass.Captured, &b.steamHeat.Captured, s, steam, steam*s.Steam)
	if len(r.targets) > 0 {
		w := r.targets[0].weight(c)
		b.zoneSteamHeat += w * steam * s.Steam
		b.zoneBoiled += w * steam
	}
}

// rise counts the steam [kg/(m³·s)] that leaves a cell in a stage of h [s] in which steam
// rises.
func (b *boiling) rise(r *run, s *physics.Store, c int, steam, h float64) {
	u := r.rising
	in := u.Arrived[c] / h
	v := r.volume[c]
	if out := u.Captured[c] / h * v; out != 0 {
		b.leave(&b.mass.Captured, &b.steamHeat.Captured, &r.ground.Stores[r.ground.Row(c)], out, u.Taken[c]/h*v)
	} else if r.grid.Level {
		b.leave(&b.mass.Surface, &b.steamHeat.Surface, s, steam*v, steam*v*s.Steam)
	}
	if steam == 0 && in == 0 {
		return
	}
	if len(r.targets) > 0 {
		w := r.targets[0].weight(c)
		b.zoneSteamHeat += w * v * (steam*s.Steam - u.ArrivedHeat[c]/h)
		b.zoneBoiled += w * v * (steam - in)
	}
}

// displace counts water [kg/(m³·s)] that a cell gives to the groundwater at t [K].
func (b *boiling) displace(r *run, s *physics.Store, c int, over, t float64) {
	m := over * r.volume[c]
	q := m * s.Liquid(t)
	b.over += m
	b.overHeat += q
	if len(r.targets) > 0 {
		b.zoneOver += r.targets[0].weight(c) * q
	}
}

// flowsAt returns the flows for a state's temperatures and the heat in r.power.
func (r *run) flowsAt(n *State) flows {
	f := flows{
		surface: r.heat.Outflow(physics.Surface, n.T),
		below:   r.heat.Outflow(physics.Below, n.T),
		sides:   r.heat.Outflow(physics.Sides, n.T),
	}
	if r.columns != nil {
		_, f.surface, f.below = r.columns.Totals()
		f.rained, f.drained = r.columns.Rained(&r.rate2.caps)
	}
	if len(r.problem.Targets) > 0 {
		f.zone = r.heat.ZoneOutflow(r.problem.Targets[0].Zone, n.T)
		f.zoneCarried = r.heat.CarriedFrom(r.problem.Targets[0].Zone, n.T)
		f.rainZone(r)
	}
	f.brought, f.carried = r.heat.CarriedBy(n.T)
	return f.withPowerOf(r, n)
}

// withPowerOf sets the power: what the electrodes take, V·I, not the heat of the
// cells, so that a ledger that closes also says that the two are one, in stages that
// solve for the potential; in others they are by construction.
func (f flows) withPowerOf(r *run, n *State) flows {
	f.power, f.zoneJoule, f.joule = 0, 0, 0
	for _, q := range r.power {
		f.joule += q
	}
	f.joule += r.fringe()
	if r.charge != nil {
		f.power = n.Power * n.Voltage * n.Voltage
	}
	for _, q := range r.sources.now {
		f.power += q
	}
	if len(r.targets) > 0 {
		z := r.targets[0].target.Zone
		for k := z.K0; k < z.K1; k++ {
			for i, q := range r.row(r.power, k)[z.I0:max(z.I0, z.I1)] {
				f.zoneJoule += z.Weight(z.I0+i, k) * q
			}
		}
	}
	return f
}

// Ledger is the energy of a run since its start, in joules, counted from the
// ground as found:
//
//	In + WaterIn = StoredTarget + StoredOutside + SteamOut + LossSurface
//	             + LossBelow + LossSides + CarriedByWater + Residual
//
// Each flux is integrated by the step's own quadrature.
type Ledger struct {
	In, WaterIn                       float64 // [J] at the electrodes and of set power; with added water and rain
	StoredTarget, StoredOutside       float64
	SteamOut                          float64 // enthalpy of the steam extracted, Latent included
	LossSurface, LossBelow, LossSides float64
	CarriedByWater                    float64
	Latent                            float64   // the part of SteamOut spent on evaporation
	SteamBeyond                       float64   // [J] steam that formed above and below a level slab: taken out there, or risen
	Residual                          float64   // [J] what the equation leaves open
	SteamHeat                         SteamFate // [J] SteamOut, by where it went
	SteamMass                         SteamFate // [kg]
	Condensed                         float64   // [kg] of steam in the ground, cell by cell
	CondensedLatent                   float64   // [J] latent heat that it gave up there; a part of what is stored or lost
	CondensedOutside                  float64   // [J] of that, outside the first target
	Steam                             float64   // [kg] out of the ground
	ZoneBoiled                        float64   // [kg] of water that boiled in the first target, net of what condensed there
	Water                             WaterLedger
	Zone                              ZoneLedger
	scale                             float64   // [J] that the residual is compared with
	stepSteam                         SteamFate // [kg]
	stepCondensed                     float64   // [kg]
	joule                             float64   // [J] heat of all cells
	kelvin                            float64   // [J] that warm the zone by 1 K
}

// ZoneLedger is the first target's own energy since the start, in joules:
//
//	Joule = Stored + Steam + Top + Bottom + Sides + Water + Residual
//
// Top, Bottom and Sides are conduction through its faces, Water is what flowing water
// takes out of it less what it brings.
type ZoneLedger struct {
	Joule, Stored, Steam, Top, Bottom, Sides, Water, Residual float64
}

// SteamFate is steam that left the ground, by where: mass or heat, or their rates.
type SteamFate struct {
	Captured float64 // by extraction
	Surface  float64 // at the surface, not captured
	Held     float64 // at the end of the ground under a barrier, with no way out
}

// newLedger returns the ledger of a run at its start.
func newLedger(r *run) Ledger {
	var l Ledger
	z := r.problem.Watched
	if len(r.targets) > 0 {
		z = r.targets[0].target.Zone
	}
	volume := z.Volumes(r.grid)
	for _, c := range z.Cells(r.grid) {
		l.kelvin += volume[c] * r.ground.Store(c).Capacity
	}
	return l
}

// book adds the step from r.state to r.next.
func (l *Ledger) book(r *run, dt float64) {
	f := flows{}.plus(ww*dt, r.first.flows).plus(ww*dt, r.rate1).plus(dd*dt, r.rate2.flows)
	l.In += f.power
	l.joule += f.joule
	l.LossSurface += f.surface
	l.LossBelow += f.below
	l.LossSides += f.sides
	l.WaterIn += f.brought + f.rained
	l.CarriedByWater += f.carried + f.drained
	z := &l.Zone
	z.Joule += f.zoneJoule
	z.Top += f.zone.Top
	z.Bottom += f.zone.Bottom
	z.Sides += f.zone.Sides
	z.Water += f.zoneCarried + f.zoneRained + f.zoneOver
	z.Steam += f.zoneSteamHeat
	l.ZoneBoiled += f.zoneBoiled
	l.bookWater(r, &f, dt)
	l.bookColumns(r)
	l.Steam, l.SteamOut = l.SteamMass.Total(), l.SteamHeat.Total()

	// What is stored is taken from temperature and water, not from the fluxes.
	l.StoredTarget, l.StoredOutside, l.Water.Stored = 0, 0, 0
	for k := range r.grid.NZ {
		for _, run := range r.ground.Runs(k) {
			s := &r.ground.Stores[run.Store]
			for c := run.From; c < run.To; c++ {
				stored := r.volume[c] * s.Energy(r.next.T[c], r.next.W[c])
				l.Water.Stored += r.volume[c] * (r.next.W[c] - s.Found)
				w := 0.0 // of the cell in the target
				if len(r.targets) > 0 {
					w = r.targets[0].target.Zone.Weight(c-k*r.grid.NX, k)
				}
				l.StoredTarget += w * stored
				l.StoredOutside += (1 - w) * stored
			}
		}
	}
	if r.columns != nil {
		beyond, _, _ := r.columns.Totals()
		l.StoredOutside += beyond
	}
	z.Stored = l.StoredTarget
	l.Residual = l.In + l.WaterIn - l.StoredTarget - l.StoredOutside - l.SteamOut - l.LossSurface - l.LossBelow - l.LossSides - l.CarriedByWater
	z.Residual = z.Joule - z.Stored - z.Steam - z.Top - z.Bottom - z.Sides - z.Water
	l.scale = math.Max(math.Max(l.In, math.Abs(l.StoredTarget+l.StoredOutside)), l.kelvin)
	l.closeWater()
}

// Share returns the ledger's residual as a share of the largest of the energy in,
// the change stored and 1 K in the zone.
func (l *Ledger) Share() float64 {
	if l.scale == 0 {
		return 0
	}
	return l.Residual / l.scale
}

// check returns an error that names what is open.
func (l *Ledger) check(tolerance float64) error {
	kWh := func(j float64) float64 { return j / 3.6e6 }
	if !(math.Abs(l.Residual) <= tolerance*l.scale) {
		term := "stored in the ground, or lost at its edges"
		if math.Abs(l.In-l.joule) > tolerance*l.scale {
			term = "energy in: volts times amperes are not the heat of the cells"
		} else if zone := l.Zone.Residual; !(math.Abs(zone) <= tolerance*l.scale) {
			term = "stored in the target"
		}
		return fmt.Errorf("%w: %.6g kWh of %.6g kWh in are missing, share %.2g, allowed %.0g (term: %s)", ErrLedger, kWh(l.Residual), kWh(l.In), l.Share(), tolerance, term)
	}
	if !(math.Abs(l.Zone.Residual) <= tolerance*l.scale) {
		return fmt.Errorf("%w: the target's own ledger misses %.6g kWh of %.6g kWh of Joule heat in it", ErrLedger, kWh(l.Zone.Residual), kWh(l.Zone.Joule))
	}
	if w := &l.Water; !(math.Abs(w.Residual) <= tolerance*w.scale) {
		return fmt.Errorf("%w: %.6g kg of water are missing, share %.2g, allowed %.0g", ErrLedger, w.Residual, w.Share(), tolerance)
	}
	return nil
}
