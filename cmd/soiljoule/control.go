package main

import (
	"fmt"
	"math"

	"soiljoule/cases"
	"soiljoule/solver"
	"soiljoule/solver/record"
)

// kVA writes an apparent power [kVA], in VA below 1 kVA.
func kVA(v float64) string {
	if v > 0 && v < 1 {
		return fmt.Sprintf("%.4g VA", v*1e3)
	}
	return fmt.Sprintf("%.4g kVA", v)
}

// switching tells of setpoint, outages and a metered drive.
func switching(line func(string, ...any), c *cases.Case, s *record.Summary) {
	if c.Control.On() {
		reached := "not reached"
		if s.DaysToSetpoint != nil {
			reached = "first reached on " + theDay(c, *s.DaysToSetpoint)
		}
		line("  setpoint %s ± %.3g K (%.3g °F), %s: %s; switched %s", unitsOf(c).temperature(c.Control.Setpoint), c.Control.Deadband, 1.8*c.Control.Deadband,
			followed(c), reached, counted(s.Switches))
	}
	if s.Switching != nil {
		line("  on for %.1f %% of the time", 100*s.ShareOfTimeOn)
	}
	if s.Need != nil {
		set, of := c.Settings()[0].Voltage, "supply.voltage"
		if set != c.Supply.PhaseVoltage(c.Supply.Voltage) {
			of = "the highest of the electrodes' own"
		}
		line("  metered  power of supply.metered, delivered share %.4g: needs at most %.4g V, on %s; %s is %.4g V phase to neutral",
			c.Supply.DeliveredShare, s.VoltageV, theDay(c, s.VoltageDay), of, set)
	}
}

// followed names what the thermostat follows.
func followed(c *cases.Case) string {
	switch c.Control.Follow {
	case "mean":
		return "on the mean of " + c.Targets[0].Name
	case "coldest":
		return "on the coldest place of " + c.Targets[0].Name
	}
	return "on " + c.Control.Follow
}

// meterCautions names what a metered power asked of the supply beyond its settings.
func meterCautions(r *solver.Report) []string {
	var out []string
	n := &r.Need
	if v := &n.Voltage; v.Most > 0 {
		taps := ""
		if r.Setting.Bodies != nil {
			taps = " Electrodes with a voltage of their own are at theirs in proportion."
		}
		out = append(out, fmt.Sprintf("The highest voltage that the metered power asked for was %.4g V RMS phase to neutral, on day %.1f: lethal.", v.Most, v.At/86400)+taps)
	}
	for _, p := range []struct {
		asked *solver.Asked
		what  string
	}{{&n.Voltage, "its set voltage"}, {&n.Power, "its power limit"}, {&n.Current, "its current limit of one rod"}, {&n.Apparent, "its limit of apparent power"}} {
		if p.asked.Most > 0 && !math.IsNaN(p.asked.Past) {
			out = append(out, fmt.Sprintf("The metered power asks of the supply more than %s, first on day %.2f: the model's ground, the meter or the settings are not the site's.", p.what, p.asked.Past/86400))
		}
	}
	return out
}

// counted says how many times.
func counted(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}
