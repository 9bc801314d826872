package main

import (
	"math"
	"strings"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/solver/record"
)

// waterText tells where steam went and what liquid water came and went; nothing of what
// is zero.
func waterText(line func(string, ...any), c *cases.Case, s *record.Summary) {
	u := unitsOf(c)
	// What is less than a billionth of the rest is rounding.
	least := 0.0
	for _, kg := range []float64{s.SteamCapturedKg, s.SteamSurfaceKg, s.SteamHeldKg, s.CondensedKg, s.RechargeKg, s.RainKg, s.AddedKg, s.ToGroundwaterKg, s.WaterStoredKg} {
		least = math.Max(least, 1e-9*math.Abs(kg))
	}
	list := func(terms ...portion) string {
		var parts []string
		for _, t := range terms {
			if math.Abs(t.kg) > least {
				parts = append(parts, u.water(t.kg)+" "+t.name)
			}
		}
		return strings.Join(parts, ", ")
	}
	if w := list(portion{"captured", s.SteamCapturedKg}, portion{"left at the surface", s.SteamSurfaceKg}, portion{"held by a barrier", s.SteamHeldKg}, portion{"condensed in the ground", s.CondensedKg}); w != "" {
		line("  as water: %s", w)
	}
	if v := s.PoreVolumesBoiled; v != nil && math.Abs(*v) > 1e-6 { // less is rounding
		line("  %.3g pore volumes of %s boiled, less what condensed there", *v, c.Targets[0].Name)
	}
	in := list(portion{"of recharge", s.RechargeKg}, portion{"of rain", s.RainKg}, portion{"added at electrodes", s.AddedKg})
	out := list(portion{"as steam", s.SteamCapturedKg + s.SteamSurfaceKg + s.SteamHeldKg}, portion{"to the groundwater", s.ToGroundwaterKg})
	if in == "" && out == "" {
		return
	}
	if in == "" {
		in = "none"
	}
	if out == "" {
		out = "none"
	}
	held := "as much as before"
	switch {
	case s.WaterStoredKg > least:
		held = u.water(s.WaterStoredKg) + " more"
	case s.WaterStoredKg < -least:
		held = u.water(-s.WaterStoredKg) + " less"
	}
	line("Water: in %s; out %s; the ground holds %s; ledger closes to %.1g", in, out, held, math.Abs(s.WaterResidualShare))
}

// portion is a part of a ledger of water.
type portion struct {
	name string
	kg   float64
}

// water prints a mass of liquid water as a volume.
func (u units) water(kg float64) string {
	m3 := kg / materials.RhoWater
	return u.pair(grouped(m3/cases.Gallon, 4)+" gal", grouped(m3, 4)+" m3")
}
