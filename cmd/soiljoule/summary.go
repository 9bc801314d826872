package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"time"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/solver"
	"soiljoule/solver/record"
)

// summaryText writes summary.txt: the answer first, then where the heat went,
// the loads, the coldest place, and the cautions.
func summaryText(c *cases.Case, s *record.Summary, r *solver.Report, runErr error) string {
	var b strings.Builder
	line := func(format string, a ...any) { fmt.Fprintf(&b, format+"\n", a...) }
	headText(line, c, s, runErr)
	heatText(line, c, s)
	if len(c.Electrodes) > 0 {
		loads(line, c, s, r)
	}
	setPower(line, c, s, largestHeat(&s.Last))
	line("")
	surfaceVoltage(line, c, s)
	endText(line, c, s, r)
	line("Steps %d, refused %d; %d cells", r.Stats.Steps, r.Stats.Refused(), len(r.State.T))
	line("")
	line("Cautions")
	for _, t := range s.Cautions {
		line("  - %s", t)
	}
	return b.String()
}

// headText tells when each target was met, whether the run came to its end, and what the case
// says of itself.
func headText(line func(string, ...any), c *cases.Case, s *record.Summary, runErr error) {
	for _, t := range c.Targets {
		line("%s", answer(c, &t, s.Targets[t.Name], s.Powers.EndDay))
		if t.Hold > 0 {
			if d := s.Targets[t.Name].DaysToHeld; d != nil {
				line("held for %.4g d: day %.1f%s", t.Hold/86400, *d, onDate(c, *d))
			} else {
				line("held for %.4g d: not in %.4g d", t.Hold/86400, s.Powers.EndDay)
			}
		}
	}
	switch {
	case errors.Is(runErr, context.Canceled):
		line("INTERRUPTED on day %.4g of %.4g: what follows is up to then.", s.Powers.EndDay, c.Time.Duration/86400)
	case runErr != nil:
		line("FAILED on day %.4g of %.4g: what follows is up to then. %v", s.Powers.EndDay, c.Time.Duration/86400, runErr)
	}
	line("")
	line("%s", c.Title)
	if c.Question != "" {
		line("%s", c.Question)
	}
	if c.Note != "" {
		line("%s", c.Note)
	}
	line("")
}

// largestHeat returns the largest of a ledger's main terms [kWh]: how many digits the others
// are worth.
func largestHeat(l *solver.Ledger) float64 {
	return max(l.In, math.Abs(l.StoredTarget), math.Abs(l.StoredOutside), math.Abs(l.LossSurface)) / 3.6e6
}

// heatText tells where the heat went: the ledger of the run, then that of the first target.
func heatText(line func(string, ...any), c *cases.Case, s *record.Summary) {
	u, l := unitsOf(c), s.Last
	largest := largestHeat(&l)
	line("Where the heat went, day 0 to %.4g", s.Powers.EndDay)
	line("  %-28s %12s %8s", "", "kWh", "share")
	row := func(name string, joule float64) {
		share := "-"
		if l.In > leastEnergy {
			share = unsignedZero("%.1f", 100*joule/l.In) + " %"
		}
		line("  %-28s %12s %8s", name, amount(joule/3.6e6, largest), share)
	}
	row(energyIn(c), l.In)
	if s.Set != nil && len(c.Electrodes) > 0 {
		row("  of that set power", s.Set.EnergyKWh*3.6e6)
	}
	if l.WaterIn != 0 {
		row(broughtBy(&l), l.WaterIn)
	}
	row("stored in "+c.Targets[0].Name, l.StoredTarget)
	row("stored outside", l.StoredOutside)
	row("taken out as steam", l.SteamOut)
	row("  of that evaporation", l.Latent)
	steamRows(row, c, &l)
	row("lost at the surface", l.LossSurface)
	row("lost below", l.LossBelow)
	row("lost at the sides", l.LossSides)
	// Condensate and added water carry heat off too; what no water carries has its rounding.
	carries := func(joule float64) bool { return c.Flows() || math.Abs(joule) > 1e-9*largest*3.6e6 }
	if carries(l.CarriedByWater) {
		row("carried off by water", l.CarriedByWater)
	}
	if l.CondensedOutside != 0 {
		line("  of this already, condensed outside %s: %s kWh", c.Targets[0].Name, amount(l.CondensedOutside/3.6e6, largest))
	}
	line("  ledger closes to %.1g of the energy in", math.Abs(l.Share()))
	line("")
	z := l.Zone
	heat := "Joule heat"
	if len(c.Heats) > 0 {
		heat = "heat"
	}
	line("%s by itself: %s kWh of %s in it", c.Targets[0].Name, amount(z.Joule/3.6e6, largest), heat)
	if z.Joule > leastEnergy {
		part := func(joule float64) string { return unsignedZero("%.1f", 100*joule/z.Joule) }
		through := "left through its top %s %%, bottom %s %%, sides %s %%, as steam %s %%, stored %s %%"
		if c.View == cases.Plan {
			through = "left to the ground above %s %%, below %s %%, through its sides %s %%, as steam %s %%, stored %s %%"
		}
		line("  "+through, part(z.Top), part(z.Bottom), part(z.Sides), part(z.Steam), part(z.Stored))
		if carries(z.Water) {
			line("  carried off by water %s %%, less what water brought", part(z.Water))
		}
		if s.LossShare >= 0 {
			line("  loss share %.1f %%: of its %s, what neither stayed nor left as steam", 100*s.LossShare, heat)
		} else {
			line("  loss share negative: more heat came in from the ground around it than left")
		}
	}
	line("  energy density %s of %s, energy supplied to the ground", u.density(s.EnergyDensityPerM3), u.volume(s.TargetVolumeM3))
	line("")
}

// endText tells how the ground is at the end, and what became of its water.
func endText(line func(string, ...any), c *cases.Case, s *record.Summary, r *solver.Report) {
	u, l := unitsOf(c), s.Last
	second, at := "depth", s.TargetMinZM
	if c.View == cases.Plan {
		second, at = "y", s.TargetMinYM
	}
	line("%s at the end: mean %s, coldest %s at %s %s, %s %s", c.Targets[0].Name, u.temperature(s.TargetMeanC+materials.Celsius), u.temperature(s.TargetMinC+materials.Celsius),
		across(c), u.length(s.TargetMinXM), second, u.length(*at))
	coolDown(line, c, s)
	driedText(line, c, s)
	if st := r.Stats; c.View == cases.Plan && st.HottestBelow > 0 {
		text := "Ground below the slab at most " + u.temperature(st.HottestBelow)
		if st.HottestAbove > 0 {
			text = fmt.Sprintf("Ground above the slab at most %s, below %s", u.temperature(st.HottestAbove), u.temperature(st.HottestBelow))
		}
		line("%s; %s kWh of the steam are from there", text, amount(l.SteamBeyond/3.6e6, largestHeat(&l)))
	}
	if s.SteamKg > 0 {
		line("Steam: %s kg in all, at most %s kg/h (%s lb/h), %s gpm of condensate", grouped(s.SteamKg, 4), grouped(s.SteamMaxKgPerH, 3), grouped(s.SteamMaxKgPerH/cases.Pound, 3), grouped(s.CondensateMaxGPM, 3))
	} else if l.Condensed > 0 {
		line("Steam: none left the ground; it condensed there")
	}
	waterText(line, c, s)
}

// loads tells what the supply gives, cold, at most and in the end.
func loads(line func(string, ...any), c *cases.Case, s *record.Summary, r *solver.Report) {
	p := s.Powers
	kW := watts(p.Peak)
	line("Loads (RMS, phase to neutral; A of one rod)%s", limits(c))
	late := p.First == 0 && p.Peak > 0 // the ground is no longer as found when power first flows
	if late {
		line("  cold     none: no power at power-on")
	} else {
		line("  cold     %s %8.1f A at %s", kW(p.First), p.FirstA, basisVolts(c.Supply, p.FirstVoltage))
	}
	at := ""
	if p.PeakAAt != "" && len(c.Electrodes) > 1 {
		at = " at " + p.PeakAAt
	}
	line("  peak     %s on %s, %.1f A on %s%s", kW(p.Peak), theDay(c, p.PeakDay), p.PeakA, theDay(c, p.PeakADay), at)
	line("  last     %s %8.1f A at %s", kW(p.Last), p.LastA, basisVolts(c.Supply, p.LastVoltage))
	until := ""
	if s.Cooling != nil && s.PowerOffDay != nil {
		until = ", until power-off"
	}
	line("  mean     %s%s", kW(s.PowerMeanKW), until)
	cold := kVA(p.FirstKVA) + " cold, "
	if late {
		cold = ""
	}
	line("  apparent %sat most %s on %s: over the phases, V × A of all the phase's electrodes together", cold, kVA(p.PeakKVA), theDay(c, p.PeakKVADay))
	if c.View != cases.Axisymmetric && p.PhasePeak != "" { // a cell stands for all phases
		cold := ""
		if p.PhaseFirst != "" && !late {
			cold = fmt.Sprintf("%.1f A of %s cold, ", s.PhaseFirstA, p.PhaseFirst)
		}
		line("  a phase  %sat most %.1f A of %s on %s: all the phase's electrodes together", cold, s.PhaseMaxA, p.PhasePeak, theDay(c, p.PhasePeakDay))
	}
	switching(line, c, s)
	if c.View == cases.Axisymmetric && c.Extent.Rim == "neutral" {
		line("  through the rim, held at 0 V, %.1f A a cell leave at the end", cmplx.Abs(r.State.Rim)*r.State.Voltage/c.Extent.Count)
	}
	if !math.IsNaN(p.LimitedDay) {
		at := ""
		if p.LimitedAt != "" {
			at = ", at " + p.LimitedAt
		}
		line("  held back by the %s limit first on %s%s", strings.Replace(p.LimitedBy, "kva", "kVA", 1), theDay(c, p.LimitedDay), at)
	}
	for _, o := range p.Own {
		line("  %s held back alone by its own current limit first on %s", o.Electrode, theDay(c, o.Day))
	}
	for _, m := range s.Conductors {
		volts, amps := fmt.Sprintf("cold %.3g V RMS against the neutral, highest %.3g V", m.FirstV, m.MaxV), fmt.Sprintf("%.3g A RMS cold, at most %.3g A", m.FirstA, m.MaxA)
		if late {
			volts, amps = fmt.Sprintf("highest %.3g V RMS against the neutral", m.MaxV), fmt.Sprintf("at most %.3g A RMS", m.MaxA)
		}
		line("Buried metal %s: %s on %s: a screening number, no touch voltage", m.Name, volts, theDay(c, m.MaxDay))
		line("  picks up in one place and gives off in another %s on %s%s: for screening, no rate of corrosion", amps, theDay(c, m.MaxADay), metalOf(c))
	}
}

// setPower tells what is set, beside the supply and its limits. largest [kWh] is that
// of the ledger.
func setPower(line func(string, ...any), c *cases.Case, s *record.Summary, largest float64) {
	p := s.Set
	if p == nil {
		return
	}
	unit, scale := "kW", 1.0
	if p.MaxKW > 0 && p.MaxKW < 1 {
		unit, scale = "W", 1e3
	}
	// Each with its own digits: a pulse may be far above the rest.
	kW := func(v float64) string { return amount(scale*v, scale*v) + " " + unit }
	beside := ""
	if len(c.Electrodes) > 0 {
		beside = ", no part of the loads above"
	}
	line("Set power: first %s, peak %s on day %s, last %s, mean %s%s", kW(p.FirstKW), kW(p.MaxKW), fmt.Sprintf("%.2f", p.MaxDay), kW(p.LastKW), kW(p.MeanKW), beside)
	for i := range c.Heats {
		h := &c.Heats[i]
		line("  of that set, %s: %s kWh", h.Name, amount(h.Power.Energy(0, s.Powers.EndDay*86400)/3.6e6, largest))
	}
}

// surfaceVoltage tells the largest voltages along the ground's surface, and what they
// are not.
func surfaceVoltage(line func(string, ...any), c *cases.Case, s *record.Summary) {
	if s.PotentialMaxV == nil {
		return
	}
	u := unitsOf(c)
	where := func(word string, day, x *float64) string {
		if day == nil {
			return ""
		}
		return fmt.Sprintf(" %s %s %s on %s", word, across(c), u.length(*x), theDay(c, *day))
	}
	line("Ground surface, RMS from the supply's neutral: at most %.3g V%s; step %s%s", *s.PotentialMaxV, where("at", s.PotentialMaxDay, s.PotentialMaxXM),
		u.step(*s.StepMaxVPerM), where("from", s.StepMaxDay, s.StepMaxXM))
	line("  for screening only: %s", c.SurfaceLeavesOut())
	line("  a qualified person measures on site before anyone enters; local codes decide")
	line("")
}

// watts returns how powers [kW] are written of which the largest is peak: in kW, or
// in W where that is below 1 kW.
func watts(peak float64) func(float64) string {
	if peak > 0 && peak < 1 {
		return func(v float64) string { return fmt.Sprintf("%8s W", amount(v*1e3, peak*1e3)) }
	}
	return func(v float64) string { return fmt.Sprintf("%8s kW", amount(v, min(peak, 999))) }
}

// energyIn names where the energy comes from.
func energyIn(c *cases.Case) string {
	switch {
	case len(c.Heats) == 0:
		return "energy in, at the electrodes"
	case len(c.Electrodes) == 0:
		return "energy in, set power"
	}
	return "energy in, set power included"
}

// broughtBy names the water that brings heat of its own.
func broughtBy(l *solver.Ledger) string {
	switch {
	case l.Water.Added == 0:
		return "brought by infiltration"
	case l.Water.Rain == 0:
		return "brought by water added"
	}
	return "brought by rain, water added"
}

// amount prints a number with the decimals that the largest of its kind needs to
// show some four digits.
func amount(v, largest float64) string {
	decimals := 0
	for d := largest; d > 0 && d < 1000 && decimals < 6; d *= 10 {
		decimals++
	}
	return unsignedZero(fmt.Sprintf("%%.%df", decimals), v)
}

// unsignedZero writes a number, one that rounds to 0 without a sign.
func unsignedZero(format string, v float64) string {
	text := fmt.Sprintf(format, v)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// answer is the first line: when a target was reached.
func answer(c *cases.Case, t *cases.Target, s record.TargetSummary, end float64) string {
	want := "boiling"
	if !t.Boiling {
		want = "at " + unitsOf(c).temperature(t.Temperature)
	}
	head := fmt.Sprintf("%.4g %% of %s %s: ", 100*t.Share, t.Name, want)
	if s.DaysToTarget == nil {
		most := ""
		if s.ShareMax > s.ShareAtEnd+0.01 {
			most = fmt.Sprintf("at most %.1f %% on %s, ", 100*s.ShareMax, theDay(c, s.ShareMaxDay))
		}
		return head + fmt.Sprintf("not reached in %.4g d, %s%.1f %% at the end", end, most, 100*s.ShareAtEnd)
	}
	return head + fmt.Sprintf("day %.1f", *s.DaysToTarget) + onDate(c, *s.DaysToTarget)
}

// onDate adds the date of a day, where the case has dates.
func onDate(c *cases.Case, day float64) string {
	if c.Time.PowerOn.IsZero() {
		return ""
	}
	return " (" + c.Time.PowerOn.Add(time.Duration(day*24*float64(time.Hour))).Format("2006-01-02") + ")"
}

// theDay returns a day of the run, and its date where the case knows it.
func theDay(c *cases.Case, day float64) string { return fmt.Sprintf("day %.1f%s", day, onDate(c, day)) }

func limits(c *cases.Case) string {
	var parts []string
	if p := c.Supply.PowerLimit; !math.IsInf(p, 1) {
		parts = append(parts, fmt.Sprintf("%.4g kW", p/1e3))
	}
	if i := c.Supply.CurrentLimit; !math.IsInf(i, 1) {
		parts = append(parts, fmt.Sprintf("%.4g A a rod", i))
	}
	if s := c.Supply.ApparentLimit; s > 0 && !math.IsInf(s, 1) {
		parts = append(parts, kVA(s/1e3))
	}
	if parts == nil {
		return ", no limit set"
	}
	if c.Supply.Metered.File != "" {
		return ", as metered: no limit applied of " + strings.Join(parts, ", ")
	}
	return ", limits " + strings.Join(parts, ", ")
}

func across(c *cases.Case) string {
	if c.View == cases.Axisymmetric {
		return "r"
	}
	return "x"
}

// resultCautions names what a run's own result must be read with.
func resultCautions(c *cases.Case, r *solver.Report) []string {
	out := append(meterCautions(r), idleCaution(c, r)...)
	st := r.Stats
	if st.ShallowestBoil < 5*cases.Foot { // common practice, no source
		out = append(out, fmt.Sprintf("The ground boiled as near as %s below the surface: steam may break out.", unitsOf(c).length(st.ShallowestBoil)))
	}
	if n := st.Dried; n > 0 {
		out = append(out, fmt.Sprintf("Up to %d cells dried out: soils shrink and crack, and their conductivity there is an assumption (residual_conductivity).", n))
	}
	if n := st.Above180C; n > 0 {
		out = append(out, fmt.Sprintf("Up to %d cells passed %s, where water properties are extrapolated.", n, unitsOf(c).temperature(materials.Celsius+180)))
	}
	if n := st.Below0C; n > 0 {
		out = append(out, fmt.Sprintf("Up to %d of %d cells were below %s: computed as if their water were liquid, as freezing is not modelled.", n, len(r.State.T), unitsOf(c).temperature(materials.Celsius)))
	}
	out = append(out, steamCautionsOf(&r.Ledger)...)
	return append(out, intervalCaution(c, r)...)
}
