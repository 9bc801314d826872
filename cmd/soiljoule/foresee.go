package main

import (
	"fmt"
	"math"
	"reflect"
	"strings"

	"soiljoule/cases"
	"soiljoule/solver"
)

// foreseenWork is how many cells, each for every body that is solved for beside the
// potential, check solves for to foresee own limits that cannot be held: some seconds.
const foreseenWork = 1.5e6

// limitsOwn reports whether an electrode has a current limit of its own in a setting of a
// supply that is on.
func limitsOwn(s *solver.Setting) bool {
	for i := range s.Bodies {
		if b := &s.Bodies[i]; !b.Off && !math.IsInf(b.CurrentLimit, 1) {
			return s.On
		}
	}
	return false
}

// ownSettings returns the settings of a supply within the run that have current limits of
// their own, each once, without the outages, in which none has to be held.
func ownSettings(c *cases.Case, p *solver.Problem) []solver.Setting {
	var out []solver.Setting
	for _, s := range p.Supply {
		s.Outage = false
		if !limitsOwn(&s) || s.At >= c.Time.Duration || p.OffAt > 0 && s.At >= p.OffAt {
			continue
		}
		known := false
		for i := range out {
			known = known || alike(out[i], s)
		}
		if !known {
			out = append(out, s)
		}
		if len(out) > foreseenWork/1e3 { // more than is ever looked at
			break
		}
	}
	return out
}

// alike reports whether two settings differ in nothing but their time.
func alike(a, b solver.Setting) bool {
	if len(a.Bodies) != len(b.Bodies) {
		return false
	}
	for i := range a.Bodies {
		x, y := a.Bodies[i], b.Bodies[i]
		if x.Off != y.Off || x.CurrentLimit != y.CurrentLimit || x.Voltage != y.Voltage && !(math.IsNaN(x.Voltage) && math.IsNaN(y.Voltage)) {
			return false
		}
	}
	a.At, b.At, a.Bodies, b.Bodies = 0, 0, nil, nil
	return reflect.DeepEqual(a, b)
}

// warmed returns the temperature [K] that the ground is taken at to foresee what currents do
// as it warms: that of the first target, no more than the thermostat lets it reach and not
// quite boiling at the surface. false: the ground is as warm as found.
func warmed(c *cases.Case) (float64, bool) {
	T := c.BoilingPoint(0, 0) - 1
	if t := &c.Targets[0]; !t.Boiling {
		T = math.Min(T, t.Temperature)
	}
	if c.Control.On() {
		T = math.Min(T, c.Control.Setpoint)
	}
	return T, T > c.Site.Ambient+1
}

// foresee names current limits of single electrodes that their own voltage would not hold,
// even at 0 V, as others drive more through them: at each setting of the supply, in the ground
// as found and with all of it as warm as the target is to be. place writes where a limit
// stands. What holds at power-on in the ground as found is solved already, unless an outage has
// the supply off then.
func foresee(c *cases.Case, p *solver.Problem, place func(electrode string, at float64, allowed string) string) []string {
	settings := ownSettings(c, p)
	if len(settings) == 0 {
		return nil
	}
	free := 1
	for b := range p.Electric.Bodies {
		own := p.Electric.Bodies[b].Floating
		for i := range settings {
			own = own || b < len(settings[i].Bodies) && (settings[i].Bodies[b].Off || !math.IsInf(settings[i].Bodies[b].CurrentLimit, 1))
		}
		if own {
			free++
		}
	}
	look := int(math.Round(foreseenWork / 2 / float64(free*p.Ground.Grid.Cells())))
	var out []string
	if n := len(settings) - look; n > 0 {
		out = append(out, fmt.Sprintf("Current limits of single electrodes: whether they can be held is looked at for the first %d of %d settings of the supply only, as mesh and settings are many.", max(0, look), len(settings)))
		settings = settings[:max(0, look)]
	}
	told := map[string]bool{}
	try := func(p *solver.Problem, s solver.Setting, ground, end string) {
		at := s.At
		s.At = 0
		one := *p
		one.Supply, one.Thermostat, one.OffAt, one.OffWhenHeld = []solver.Setting{s}, nil, 0, false
		_, err := solver.Start(&one)
		name := solver.Unheld(err)
		if name == "" || told[name] {
			return
		}
		told[name] = true
		from := ""
		if at > 0 {
			from = fmt.Sprintf(" from day %.4g on", at/86400)
		}
		out = append(out, place(name, at, fmt.Sprintf("cannot be held%s in %s: %s. %s", from, ground, strings.TrimPrefix(err.Error(), "t = 0 d: "), end)))
	}
	for _, s := range settings {
		if s.At > 0 || p.Supply[0].Outage {
			try(p, s, "ground as found", "The run would stop there.")
		}
	}
	T, ok := warmed(c)
	if !ok {
		return out
	}
	warm := *c
	warm.Site.Ambient = T
	hot, err := warm.Build()
	if err != nil { // of what is only found so warm: the run meets no such ground
		return out
	}
	for _, s := range settings {
		try(hot, s, fmt.Sprintf("ground that is all at %s", unitsOf(c).temperature(T)), "A run that comes near that stops there.")
	}
	return out
}

// ownPlace returns how the current limits of a case file's electrodes are told.
func ownPlace(file string, sets []string) func(electrode string, at float64, allowed string) string {
	return func(electrode string, at float64, allowed string) string {
		if f, ok := cases.OwnLimitPlace(file, sets, electrode, at, allowed); ok {
			return f.String()
		}
		return fmt.Sprintf("%s: current limit of %s: %s", file, electrode, allowed)
	}
}
