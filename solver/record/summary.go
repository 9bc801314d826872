package record

import (
	"math"

	"soiljoule/physics"
	"soiljoule/solver"
)

// Days is when shares of a target's volume reached its temperature, its own
// share, and when that had been held; nil: not reached.
type Days struct {
	DaysToShare50  *float64 `json:"days_to_share_50"`
	DaysToShare90  *float64 `json:"days_to_share_90"`
	DaysToShare100 *float64 `json:"days_to_share_100"`
	DaysToTarget   *float64 `json:"days_to_target"`
	DaysToHeld     *float64 `json:"days_to_held"`
}

// Summary is summary.json. A number that does not exist (a day not reached) is
// null.
type Summary struct {
	Days

	TargetVolumeM3 float64 `json:"target_volume_m3"`
	TargetMeanC    float64 `json:"target_mean_C"`
	TargetMinC     float64 `json:"target_min_C"`
	TargetMaxC     float64 `json:"target_max_C"`
	TargetMinXM    float64 `json:"target_min_x_m"`

	// The other coordinate: depth, or y of a plan.
	TargetMinZM *float64 `json:"target_min_z_m,omitempty"`
	TargetMinYM *float64 `json:"target_min_y_m,omitempty"`

	EnergyInKWh         float64 `json:"energy_in_kWh"`
	EnergyDensityPerM3  float64 `json:"energy_density_kWh_per_m3"`
	EnergyDensityPerYd3 float64 `json:"energy_density_kWh_per_yd3"`
	PowerFirstKW        float64 `json:"power_first_kW"`
	PowerMeanKW         float64 `json:"power_mean_kW"`
	PowerMaxKW          float64 `json:"power_max_kW"`
	CurrentFirstA       float64 `json:"current_first_A"`
	CurrentMaxA         float64 `json:"current_max_A"`
	PhaseFirstA         float64 `json:"phase_current_first_A"` // of all electrodes of a phase together
	PhaseMaxA           float64 `json:"phase_current_max_A"`
	*Set
	SurfaceMax
	*Apparent
	*Switching
	*Cooling
	*Need
	*Dried

	LossShare         float64 `json:"loss_share"`
	BalanceErrorShare float64 `json:"balance_error_share"`
	LatentKWh         float64 `json:"latent_kWh"`
	SteamKg           float64 `json:"steam_kg"`
	SteamMaxKgPerH    float64 `json:"steam_max_kg_per_h"`
	CondensateMaxGPM  float64 `json:"condensate_max_gpm"`
	WaterSummary
	ZoneLossTopKWh    float64  `json:"zone_loss_top_kWh"`
	ZoneLossBottomKWh float64  `json:"zone_loss_bottom_kWh"`
	ZoneLossSidesKWh  float64  `json:"zone_loss_sides_kWh"`
	ZoneLossWaterKWh  *float64 `json:"zone_loss_water_kWh,omitempty"` // nil: none flows

	Conductors []Metal `json:"conductors,omitempty"`

	Targets  map[string]TargetSummary `json:"targets"`
	Cautions []string                 `json:"cautions"`

	// For summary.txt.
	Last   solver.Ledger `json:"-"`
	Powers Powers        `json:"-"`
	Share  float64       `json:"-"` // of the first target's volume at the end
	timeD  float64
}

// Set is the power that is set, up to the time reached: of its own rows, between
// which steps may end anywhere.
type Set struct {
	FirstKW   float64 `json:"set_power_first_kW"`
	MeanKW    float64 `json:"set_power_mean_kW"`
	MaxKW     float64 `json:"set_power_max_kW"`
	LastKW    float64 `json:"set_power_last_kW"`
	MaxDay    float64 `json:"set_power_max_day"`
	EnergyKWh float64 `json:"set_energy_kWh"`
}

// Powers is kilowatts of the supply and the largest amperes of one rod at three times.
type Powers struct {
	First, Peak, Last         float64 // [kW]
	FirstA, PeakA, LastA      float64 // [A]
	PeakDay, PeakADay, EndDay float64
	LimitedDay                float64 // first day on which a limit held; NaN: never
	LimitedBy                 string
	LimitedAt                 string     // the electrode whose current it was, of a current limit
	PeakAAt                   string     // the electrode that PeakA was of; "": between the steps
	Own                       []OwnLimit // by electrode that its own limit held
	FirstVoltage, LastVoltage float64    // [V] phase to neutral, within the limits

	FirstKVA, PeakKVA, PeakKVADay float64 // [kVA] apparent

	// Which phase carried the largest current of one, cold and at most, and when.
	PhaseFirst, PhasePeak string
	PhasePeakDay          float64

	BeforeDriedA float64 // [A] at the step before a cell first dried out
}

// Dried is when and where a cell first dried out.
type Dried struct {
	Day float64  `json:"first_dried_day"`
	XM  float64  `json:"first_dried_x_m"`
	ZM  *float64 `json:"first_dried_z_m,omitempty"`
	YM  *float64 `json:"first_dried_y_m,omitempty"` // of a plan
}

// driedIn returns what a report tells of that; nil: no cell dried.
func driedIn(r *solver.Report, level bool) *Dried {
	st := &r.Stats
	if st.Dried == 0 {
		return nil
	}
	d := &Dried{Day: st.DriedAt / day, XM: st.DriedX}
	if level {
		d.YM = &st.DriedZ
	} else {
		d.ZM = &st.DriedZ
	}
	return d
}

// TargetSummary is one target's line of summary.json.
type TargetSummary struct {
	Days
	MeanC      float64 `json:"mean_C"`
	MinC       float64 `json:"min_C"`
	ShareAtEnd float64 `json:"share_at_end"`

	// The largest share, and the day on which it came to that.
	ShareMax    float64 `json:"share_max"`
	ShareMaxDay float64 `json:"share_max_day"`
}

// step follows power, current, apparent power and steam.
// The largest amperes are those of the electrode named.
func (s *Summary) step(r *solver.Report, power, amps float64, electrode string, kVA float64) {
	t := r.State.Time / day
	p := &s.Powers
	if t == 0 {
		s.PowerFirstKW, s.CurrentFirstA = power, amps
		p.First, p.FirstA, p.FirstKVA, p.FirstVoltage, p.LimitedDay = power, amps, kVA, supplied(r), math.NaN()
	}
	s.peaks(t, power, amps, electrode, kVA)
	if t > 0 { // a supply that switches off, or to less, was at its most just before
		s.peaks(t, r.Before.Power/1e3, r.Before.Current, "", r.Before.Apparent/1e3)
	}
	if by := r.State.Limit; by.HoldsBack() && math.IsNaN(p.LimitedDay) {
		p.LimitedDay, p.LimitedBy = t, string(by)
		if by == physics.CurrentLimit {
			p.LimitedAt = electrode
		}
	}
	if r.Stats.Dried > 0 && r.Stats.DriedAt == r.State.Time {
		p.BeforeDriedA = p.LastA
	}
	p.Last, p.LastA, p.LastVoltage, p.EndDay = power, amps, supplied(r), t
	s.SteamMaxKgPerH = math.Max(s.SteamMaxKgPerH, r.SteamRate*3600)
	s.CondensateMaxGPM = s.SteamMaxKgPerH / kgPerHourInGPM
	s.timeD = t
}

// peaks follows the largest power [kW], current of a rod [A], of the electrode named, and
// apparent power [kVA].
func (s *Summary) peaks(t, power, amps float64, electrode string, kVA float64) {
	p := &s.Powers
	// A plateau under a limit peaks where it begins, not where rounding puts it.
	const more = 1 + 1e-9
	if power > s.PowerMaxKW*more {
		s.PowerMaxKW, p.Peak, p.PeakDay = power, power, t
	}
	if amps > s.CurrentMaxA*more {
		s.CurrentMaxA, p.PeakA, p.PeakADay, p.PeakAAt = amps, amps, t, electrode
	}
	if kVA > p.PeakKVA*more {
		p.PeakKVA, p.PeakKVADay = kVA, t
	}
}

// end fills in what the last report tells.
func (s *Summary) end(f *Folder, r *solver.Report, cautions []string) {
	l := r.Ledger
	s.Last, s.Cautions = l, cautions
	s.EnergyInKWh = l.In / kWh
	supplied := s.EnergyInKWh
	if p := f.plan.SetPower; p != nil {
		s.Set = setUntil(p, s.timeD*day)
		supplied = math.Max(0, supplied-s.EnergyKWh)
	}
	if f.problem.Electric == nil {
		supplied = 0 // the difference has its rounding
	}
	if on := s.powered(r); on > 0 {
		s.PowerMeanKW = supplied / (on * 24)
	}
	s.control(f.problem, r)
	s.cooling(f.problem, r)
	s.BalanceErrorShare = l.Share()
	s.LatentKWh = l.Latent / kWh
	s.SteamKg = l.Steam
	s.Dried = driedIn(r, f.problem.Ground.Grid.Level)
	s.WaterSummary = f.waterSummary(&l)
	z := l.Zone
	s.ZoneLossTopKWh, s.ZoneLossBottomKWh, s.ZoneLossSidesKWh = z.Top/kWh, z.Bottom/kWh, z.Sides/kWh
	if f.problem.Heat.Flows() || z.Water != 0 {
		s.ZoneLossWaterKWh = finite(z.Water / kWh)
	}
	if z.Joule > 0 {
		s.LossShare = 1 - (z.Stored+z.Steam)/z.Joule
	}
	s.Targets = map[string]TargetSummary{}
	g := f.problem.Ground.Grid
	for n, t := range r.Targets {
		target := &f.problem.Targets[n]
		cells, volumes := target.Zone.Cells(g), target.Zone.Volumes(g)
		at := func(share float64) *float64 { return finite(solver.Quantile(t.Crossing, cells, volumes, share) / day) }
		ts := TargetSummary{Days{at(0.5), at(0.9), at(1), at(target.Share), finite(t.Held / day)}, t.Mean - celsius, t.Min - celsius, t.Share, t.ShareMax, t.ShareMaxAt / day}
		s.Targets[f.plan.Targets[n]] = ts
		if n > 0 {
			continue
		}
		s.Days = ts.Days
		s.TargetMeanC, s.TargetMinC, s.TargetMaxC, s.TargetMinXM = ts.MeanC, ts.MinC, t.Max-celsius, t.MinX
		if g.Level {
			s.TargetMinYM = &t.MinZ
		} else {
			s.TargetMinZM = &t.MinZ
		}
		s.Share = t.Share
		s.TargetVolumeM3 = target.Zone.Volume(g)
		s.EnergyDensityPerM3 = s.EnergyInKWh / s.TargetVolumeM3
		s.EnergyDensityPerYd3 = s.EnergyDensityPerM3 * yard3
	}
}

// setUntil tells of a set power from power-on to a time [s].
func setUntil(p SetPower, end float64) *Set {
	peak, at := p.Peak(0, end)
	s := &Set{FirstKW: p.At(0) / 1e3, LastKW: p.At(end) / 1e3, MaxKW: peak / 1e3, MaxDay: at / day, EnergyKWh: p.Energy(0, end) / kWh}
	s.MeanKW = s.FirstKW
	if end > 0 {
		s.MeanKW = s.EnergyKWh / (end / day * 24)
	}
	return s
}

func finite(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}
