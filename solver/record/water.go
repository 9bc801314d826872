package record

import (
	"math"

	"soiljoule/solver"
)

var (
	steamColumns = []string{"steam_kg_per_h", "condensate_gpm", "steam_kg",
		"captured_kg_per_h", "surface_kg_per_h", "held_kg_per_h", "condensing_kg_per_h",
		"captured_kg", "surface_kg", "held_kg", "condensed_kg", "steam_lb_per_h", "pore_volumes_boiled",
		"captured_kWh", "surface_kWh", "held_kWh", "condensed_outside_kWh"}
	waterColumns = []string{"recharge_kg", "rain_kg", "added_kg", "steam_kg", "to_groundwater_kg", "stored_kg", "residual_kg"}
)

// poreWater returns the water that fills the pores of the first target [kg]; 0: there is
// no target, or it has no pores.
func poreWater(p *solver.Problem) float64 {
	if len(p.Targets) == 0 {
		return 0
	}
	sum := 0.0
	g := p.Ground.Grid
	volumes := p.Targets[0].Zone.Volumes(g)
	for _, c := range p.Targets[0].Zone.Cells(g) {
		sum += volumes[c] * p.Ground.Store(c).Pores
	}
	return sum
}

// steamRow returns what a row of steam.csv has after its time: rates are means over the step
// that ends there.
func (f *Folder) steamRow(r *solver.Report) []string {
	l := &r.Ledger
	rate := r.SteamRate * 3600
	boiled := ""
	if v := f.poreVolumes(l); v != nil {
		boiled = num(*v)
	}
	return []string{num(rate), num(rate / kgPerHourInGPM), num(l.Steam),
		num(r.Steam.Captured * 3600), num(r.Steam.Surface * 3600), num(r.Steam.Held * 3600), num(r.Condensing * 3600),
		num(l.SteamMass.Captured), num(l.SteamMass.Surface), num(l.SteamMass.Held), num(l.Condensed), num(rate / kgPerPound), boiled,
		num(l.SteamHeat.Captured / kWh), num(l.SteamHeat.Surface / kWh), num(l.SteamHeat.Held / kWh), num(l.CondensedOutside / kWh)}
}

// poreVolumes returns the water that boiled in the first target, in what its pores hold;
// nil: they hold none.
func (f *Folder) poreVolumes(l *solver.Ledger) *float64 {
	if f.pores == 0 {
		return nil
	}
	return finite(l.ZoneBoiled / f.pores)
}

// waterRow returns what a row of water.csv has after its time.
func waterRow(r *solver.Report) []string {
	w := &r.Ledger.Water
	return []string{num(w.Recharge), num(w.Rain), num(w.Added), num(w.Steam), num(w.ToGroundwater), num(w.Stored), num(w.Residual)}
}

// WaterSummary is where steam went up to the time reached, and the ledger of liquid water.
type WaterSummary struct {
	SteamCapturedKg     float64  `json:"steam_captured_kg"`
	SteamSurfaceKg      float64  `json:"steam_surface_kg"`
	SteamHeldKg         float64  `json:"steam_held_kg"`
	SteamCapturedKWh    float64  `json:"steam_captured_kWh"` // the three are steam_out_kWh of balance.csv
	SteamSurfaceKWh     float64  `json:"steam_surface_kWh"`
	SteamHeldKWh        float64  `json:"steam_held_kWh"`
	CondensedKg         float64  `json:"condensed_kg"`
	CondensedLatentKWh  float64  `json:"condensed_latent_kWh"`
	CondensedOutsideKWh float64  `json:"condensed_outside_kWh"`
	PoreVolumesBoiled   *float64 `json:"pore_volumes_boiled"` // nil: the first target has no pores
	RechargeKg          float64  `json:"recharge_kg"`
	RainKg              float64  `json:"rain_kg"`
	AddedKg             float64  `json:"added_kg"`
	ToGroundwaterKg     float64  `json:"to_groundwater_kg"`
	WaterStoredKg       float64  `json:"water_stored_kg"`
	WaterResidualShare  float64  `json:"water_residual_share"`
}

// waterSummary tells of the steam and the water of a ledger.
func (f *Folder) waterSummary(l *solver.Ledger) WaterSummary {
	w := &l.Water
	s := WaterSummary{
		SteamCapturedKg: l.SteamMass.Captured, SteamSurfaceKg: l.SteamMass.Surface, SteamHeldKg: l.SteamMass.Held,
		SteamCapturedKWh: l.SteamHeat.Captured / kWh, SteamSurfaceKWh: l.SteamHeat.Surface / kWh, SteamHeldKWh: l.SteamHeat.Held / kWh,
		CondensedKg: l.Condensed, CondensedLatentKWh: l.CondensedLatent / kWh, CondensedOutsideKWh: l.CondensedOutside / kWh,
		PoreVolumesBoiled: f.poreVolumes(l),
		RechargeKg:        w.Recharge, RainKg: w.Rain, AddedKg: w.Added, ToGroundwaterKg: w.ToGroundwater, WaterStoredKg: w.Stored,
	}
	// Of the largest term, but where hardly any water moves of a part in a thousand of
	// the target's pore water, below which it has its rounding.
	largest := f.pores / 1e3
	for _, v := range []float64{w.Recharge, w.Rain, w.Added, w.Steam, w.ToGroundwater, w.Stored} {
		largest = math.Max(largest, math.Abs(v))
	}
	if largest > 0 {
		s.WaterResidualShare = w.Residual / largest
	}
	return s
}
