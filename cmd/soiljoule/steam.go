package main

import (
	"fmt"
	"math"
	"strings"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/solver"
)

// steamRow is where steam goes.
type steamRow struct {
	Fate     string       `json:"fate"` // extracted, rising; none where boiling is off
	TopM     *float64     `json:"interval_top_m,omitempty"`
	BottomM  *float64     `json:"interval_bottom_m,omitempty"`
	Capture  *float64     `json:"capture_share,omitempty"`
	Barriers []barrierRow `json:"barriers,omitempty"`
}

type barrierRow struct {
	Layer    string   `json:"layer"`
	TopM     float64  `json:"top_m"`
	BottomM  float64  `json:"bottom_m"`
	Openings []string `json:"openings"`
}

// addedRow is water added alike at some electrodes.
type addedRow struct {
	Electrodes []string `json:"electrodes"`
	RodLPerMin float64  `json:"rod_L_per_min"`
	RodGPM     float64  `json:"rod_gpm"`
	Rods       float64  `json:"rods"`
	LPerMin    float64  `json:"total_L_per_min"`
	GPM        float64  `json:"total_gpm"`
	InModel    float64  `json:"share_in_model"` // of what the view has ground beside
	TempC      float64  `json:"temperature_C"`
	FromDay    float64  `json:"from_d"`
	ToDay      *float64 `json:"to_d"`    // null: to the end
	BoilKW     float64  `json:"boil_kW"` // to boil all of it; 0: boiling is off
}

const litresPerGallon = 1e3 * cases.Gallon

// steam tells of an expanded case where steam goes and what water is added.
func (r *checked) steam(c *cases.Case) {
	row := &steamRow{Fate: c.Steam.Fate}
	if !c.Steam.Boiling {
		row.Fate = "none"
	}
	if row.Fate == "rising" {
		if s := c.Steam; s.Top < s.Bottom {
			row.TopM, row.BottomM, row.Capture = &s.Top, &s.Bottom, &s.CaptureShare
		}
		for _, b := range c.Barriers() {
			row.Barriers = append(row.Barriers, barrierRow{b.Name, b.Top, math.Min(b.Bottom, math.Max(b.Top, r.Mesh.BottomM)), b.Openings})
		}
	}
	r.Steam = row
	var last *cases.WaterAdded
	for i := range c.WaterAdded {
		w := &c.WaterAdded[i]
		alike := last != nil && last.Rate == w.Rate && last.Temperature == w.Temperature && last.From == w.From && last.To == w.To
		if !alike {
			a := addedRow{RodLPerMin: w.Rate * 60e3, RodGPM: w.Rate * 60e3 / litresPerGallon, TempC: w.Temperature - materials.Celsius, FromDay: w.From / 86400}
			if !math.IsInf(w.To, 1) {
				to := w.To / 86400
				a.ToDay = &to
			}
			r.Added = append(r.Added, a)
		}
		last = w
		a := &r.Added[len(r.Added)-1]
		rods, in := c.Rods(w.Electrode)
		a.Electrodes = append(a.Electrodes, w.Electrode)
		a.InModel = (a.InModel*a.Rods + in*rods) / (a.Rods + rods)
		a.Rods += rods
		a.LPerMin = a.Rods * a.RodLPerMin
		a.GPM = a.Rods * a.RodGPM
		if c.Steam.Boiling {
			a.BoilKW += rods * c.BoilPower(w) / 1e3
		}
	}
}

// text says where steam goes.
func (s *steamRow) text(u units) string {
	switch {
	case s.Fate == "none":
		return "none, boiling is off"
	case s.Fate == "extracted":
		return "extracted where it forms"
	}
	out := "rises and condenses in ground below its boiling point; "
	if s.TopM == nil {
		return out + "the rest comes out at the surface"
	}
	out += fmt.Sprintf("of what comes to %s or forms there %.4g %% is extracted", u.between(*s.TopM, *s.BottomM), 100**s.Capture)
	return out + ", what else does not condense comes out at the surface"
}

// text says what a barrier does.
func (b *barrierRow) text(u units) string {
	to := "there is no opening: what does not condense is held"
	if b.Openings != nil {
		to = "rises at " + few(b.Openings)
	}
	return fmt.Sprintf("steam barrier %s, %s: steam spreads beneath and %s", b.Layer, u.between(b.TopM, b.BottomM), to)
}

// text says what water is added.
func (a *addedRow) text(u units) string {
	until := "to the end"
	if a.ToDay != nil {
		until = fmt.Sprintf("to %.4g", *a.ToDay)
	}
	beyond := ""
	if a.InModel < 1-1e-9 {
		beyond = fmt.Sprintf(", %.3g %% of it in the slab", 100*a.InModel)
	}
	boil := ""
	if a.BoilKW > 0 {
		boil = fmt.Sprintf("; to boil all of it takes %s kW", amount(a.BoilKW, a.BoilKW))
	}
	return fmt.Sprintf("%s: %s a rod, %.4g rods, %s in all%s, at %s, day %.4g %s%s",
		few(a.Electrodes), u.flow(a.RodLPerMin), a.Rods, u.flow(a.LPerMin), beyond, u.temperature(a.TempC+materials.Celsius), a.FromDay, until, boil)
}

// flow writes a flow [L/min] in the case's units, and in the others.
func (u units) flow(v float64) string {
	if u.us {
		return fmt.Sprintf("%.3g gpm (%.3g L/min)", v/litresPerGallon, v)
	}
	return fmt.Sprintf("%.3g L/min (%.3g gpm)", v, v/litresPerGallon)
}

// few names the first and the last of many.
func few(names []string) string {
	if n := len(names); n > 4 {
		return fmt.Sprintf("%s … %s (%d)", names[0], names[n-1], n)
	}
	return strings.Join(names, ", ")
}

// printSteam prints where steam goes and what water is added.
func (r *checked) printSteam(line func(string, ...any), u units) {
	line("steam: %s", r.Steam.text(u))
	for i := range r.Steam.Barriers {
		line("  %s", r.Steam.Barriers[i].text(u))
	}
	for i := range r.Added {
		line("water added at %s", r.Added[i].text(u))
	}
}

// steamRows splits the steam of a ledger by where it went.
func steamRows(row func(name string, joule float64), c *cases.Case, l *solver.Ledger) {
	if c.Steam.Fate != "rising" {
		return
	}
	for _, part := range []struct {
		name string
		heat float64
	}{{"  of that captured", l.SteamHeat.Captured}, {"  of that at the surface", l.SteamHeat.Surface}, {"  of that held under a barrier", l.SteamHeat.Held}} {
		if part.heat != 0 {
			row(part.name, part.heat)
		}
	}
}

// steamCautionsOf names steam that a run let out where people may meet it.
func steamCautionsOf(l *solver.Ledger) []string {
	var out []string
	if kg := l.SteamMass.Surface; kg > 0 {
		out = append(out, fmt.Sprintf("%s kg of steam came out at the surface: hot ground and vapour there are not assessed.", grouped(kg, 4)))
	}
	if kg := l.SteamMass.Held; kg > 0 {
		out = append(out, fmt.Sprintf("%s kg of steam came to the end of the ground under a barrier, and left the model there: on site it would find another way, or gain pressure.", grouped(kg, 4)))
	}
	return out
}

// intervalCaution names an interval of extraction that took no steam.
func intervalCaution(c *cases.Case, r *solver.Report) []string {
	s := &c.Steam
	if !s.Boiling || s.Fate != "rising" || !(s.Top < s.Bottom) || s.CaptureShare == 0 || r.Ledger.SteamMass.Captured > 0 || r.Stats.Steps == 0 {
		return nil
	}
	u := unitsOf(c)
	text := "no ground boiled"
	if r.Ledger.Condensed > 0 {
		text = "what rose condensed below it"
	}
	if r.Ledger.SteamMass.Surface+r.Ledger.SteamMass.Held > 0 {
		text = "what left the ground left it elsewhere"
	}
	return []string{fmt.Sprintf("No steam came to the interval of extraction, %s: %s.", u.between(s.Top, s.Bottom), text)}
}
