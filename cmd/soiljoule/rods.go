package main

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"soiljoule/cases"
	"soiljoule/physics"
	"soiljoule/solver"
)

type arrayRow struct {
	Text string `json:"text"`
}

type rodRow struct {
	Name     string  `json:"name"`
	Phase    string  `json:"phase"`
	XM       float64 `json:"x_m"`
	YM       float64 `json:"y_m"` // of a plan
	Rods     float64 `json:"rods"`
	ModelA   float64 `json:"model_A"`
	ModelOhm float64 `json:"model_ohm,omitempty"`     // 0: there is none, of the neutral and of what its own limit or switch holds
	ClosedA  float64 `json:"closed_form_A,omitempty"` // 0: none for this layout
	Own      *ownRow `json:"own,omitempty"`           // what it has of its own; nil: nothing
}

// ownRow is what one electrode has of its own when the supply is switched on.
type ownRow struct {
	VoltageV  float64  `json:"voltage_V"`       // RMS phase to neutral, limits included
	TapV      *float64 `json:"tap_V,omitempty"` // its own, as set
	LimitA    *float64 `json:"current_limit_A,omitempty"`
	Off       bool     `json:"off"`
	LimitedBy string   `json:"limited_by"`
	full      float64  // [V] that it would have but for its own limit
}

// held reports whether its own limit or switch, not the supply, sets its voltage.
func (o *ownRow) held() bool {
	return o.Off || o.LimitedBy == string(physics.OwnLimit)
}

type metalRow struct {
	Name       string  `json:"name"`
	LeftM      float64 `json:"left_m"` // or inner radius
	RightM     float64 `json:"right_m"`
	FrontM     float64 `json:"front_m,omitempty"` // y of a plan
	BackM      float64 `json:"back_m,omitempty"`
	TopM       float64 `json:"top_m"`
	BottomM    float64 `json:"bottom_m"`
	Fills      float64 `json:"cells_over_figure,omitempty"` // of a plan: area of its cells over that of its figure
	PotentialV float64 `json:"potential_V"`                 // cold, RMS against the neutral
	ThroughA   float64 `json:"through_A"`                   // cold, RMS: picked up in one place and given off in another
}

func (r *checked) arrays(drawn *cases.Case, layouts []cases.Layout) {
	u := unitsOf(drawn)
	for i, l := range layouts {
		if drawn.View == cases.Plan {
			r.Arrays = append(r.Arrays, arrayRow{planArray(u, &drawn.Arrays[i], l, drawn.Supply.Phases)})
			continue
		}
		if l.Rows == 0 {
			r.Arrays = append(r.Arrays, arrayRow{fmt.Sprintf("array %s: one rod of it, in the circle of its own ground, radius %s", l.Array, u.length(l.CellRadius))})
			continue
		}
		text := fmt.Sprintf("array %s: %d rows %s apart, rods %s apart in a row, %.1f rods a row in %s, %.0f in all: compare with your drawing before you trust a total",
			l.Array, l.Rows, u.length(l.RowDistance), u.length(l.RodSpacing), l.RodsPerRow, u.length(drawn.Extent.Length), l.RodsPerRow*float64(l.Rows))
		if l.Interleaved {
			text += "; every other row shifted by half a spacing"
		}
		if drawn.Arrays[i].Pattern == "rectangular" {
			text += "; a row carries one phase here, where a plan changes phases along the row as well"
		}
		r.Arrays = append(r.Arrays, arrayRow{text})
	}
}

// rods lists the electrodes' cold currents, with a closed form where one exists:
// endless rows of endless rods for an array in a section, the coaxial cylinder
// for a rod in its cell. Layers count by their share of the active interval.
func (r *checked) rods(drawn, c *cases.Case, p *solver.Problem) {
	if p.Electric == nil {
		return
	}
	v := r.cold.Voltage
	r.ColdKW = r.cold.Power * v * v / 1e3
	for b := range p.Electric.Bodies {
		body := &p.Electric.Bodies[b]
		if body.Floating {
			r.metal(c, p, b)
			continue
		}
		e := &c.Electrodes[b]
		row := rodRow{Name: body.Name, Phase: body.Label, XM: e.X, YM: e.Y, Rods: body.Rods, ModelA: cmplx.Abs(r.cold.Current[b]) * v / body.Rods}
		row.Own = r.own(p, b)
		if row.Own != nil && row.Own.Off {
			row.ModelA = 0 // but for rounding
		}
		at := v
		if r.cold.Potential != nil {
			at = cmplx.Abs(r.cold.Potential[b]) * v
		}
		// Of one whose voltage is held, or not fed, current and voltage are out of phase.
		if row.ModelA > 0 && body.Phase != 0 && !(row.Own != nil && row.Own.held()) {
			row.ModelOhm = at / row.ModelA
		}
		perMetre, top, bottom := 0.0, e.Top, e.Bottom // V/(ρI′)
		switch {
		case c.View == cases.Axisymmetric && c.Extent.Rim == "neutral":
			perMetre = math.Log(c.Extent.Radius/e.Radius) / (2 * math.Pi)
			r.ClosedForm = "I = 2πV·Σ(ℓ/ρ)/ln(R/a), coaxial: no current leaves past the rod's ends"
		case c.View == cases.Plan:
			perMetre, r.ClosedForm = planClosedForm(drawn, p.Electric.Fringed())
			top, bottom = c.Extent.Top, c.Extent.Bottom
		case c.View == cases.Section && len(drawn.Arrays) == 1 && len(drawn.Electrodes) == 0:
			a := &drawn.Arrays[0]
			d, s, shifted := a.Rows(c.Supply.Phases)
			perMetre = physics.RowsImpedance(d, s, a.Radius, shifted, c.Supply.Phases)
			r.ClosedForm = "endless rows of endless rods, from sheets and harmonics (triangular, three phases: I = 2πV·Σ(ℓ/ρ)/ln(0.566 s/a)); rods of finite length draw more"
		}
		if perMetre > 0 && body.Phase != 0 && p.Supply[0].Bodies == nil { // all at one voltage
			row.ClosedA = v / perMetre * r.metresPerResistivity(top, bottom)
		}
		r.Electrodes = append(r.Electrodes, row)
	}
}

// own returns what body b has of its own at power-on; nil: nothing.
func (r *checked) own(p *solver.Problem, b int) *ownRow {
	bodies := p.Supply[0].Bodies
	if bodies == nil {
		return nil
	}
	s := &bodies[b]
	row := &ownRow{VoltageV: cmplx.Abs(r.cold.Potential[b]) * r.cold.Voltage, Off: s.Off, LimitedBy: string(r.cold.Bound[b])}
	row.full = r.cold.Voltage
	if !math.IsNaN(s.Voltage) {
		row.TapV = &s.Voltage
		if set := p.Supply[0].Reference(); set > 0 {
			row.full *= s.Voltage / set
		}
	}
	if !math.IsInf(s.CurrentLimit, 1) {
		row.LimitA = &s.CurrentLimit
	}
	if row.TapV == nil && row.LimitA == nil && !s.Off {
		return nil
	}
	return row
}

// metal lists body b, buried metal.
func (r *checked) metal(c *cases.Case, p *solver.Problem, b int) {
	m := &c.Conductors[b-len(c.Electrodes)]
	row := metalRow{Name: m.Name, LeftM: m.Left, RightM: m.Right, TopM: m.Top, BottomM: m.Bottom, PotentialV: cmplx.Abs(r.cold.Potential[b]) * r.cold.Voltage,
		ThroughA: r.cold.Pickup[b] * r.cold.Voltage / p.Electric.Bodies[b].Rods}
	r.metalOf = metalOf(c)
	if c.View == cases.Axisymmetric {
		row.LeftM, row.RightM = m.InnerRadius, m.Radius
	}
	if c.View == cases.Plan {
		row.FrontM, row.BackM = m.Front, m.Back
		row.Fills = p.Electric.Bodies[b].Zone.Volume(p.Ground.Grid) / (m.Area() * (m.Bottom - m.Top))
	}
	r.Conductors = append(r.Conductors, row)
}

// metalOf says how much of buried metal a current is of.
func metalOf(c *cases.Case) string {
	switch c.View {
	case cases.Axisymmetric:
		return ", in one cell"
	case cases.Section:
		return ", over all of " + unitsOf(c).length(c.Extent.Length)
	}
	return ", within the slab"
}

// printRods lists the electrodes and their cold currents.
func (r *checked) printRods(line func(string, ...any), u units, place string) {
	second := fmt.Sprintf("%8s", "rods")
	if r.Plan != nil {
		second = fmt.Sprintf("%20s", "y")
	}
	line("%-12s %-5s %20s %s %10s %10s %14s", "electrode", "phase", place, second, "A a rod", "ohm a rod", "closed form A")
	for _, e := range r.Electrodes {
		closed, ohm := "-", "-"
		if e.ClosedA > 0 {
			closed = fmt.Sprintf("%.2f", e.ClosedA)
		}
		if e.ModelOhm > 0 {
			ohm = fmt.Sprintf("%.3f", e.ModelOhm)
		}
		second := fmt.Sprintf("%8.2f", e.Rods)
		if r.Plan != nil {
			second = fmt.Sprintf("%20s", u.length(e.YM))
		}
		line("%-12s %-5s %20s %s %10.2f %10s %14s", e.Name, e.Phase, u.length(e.XM), second, e.ModelA, ohm, closed)
	}
	for _, e := range r.Electrodes {
		if o := e.Own; o != nil {
			line("  %s: %s", e.Name, o.text())
		}
	}
	cold := fmt.Sprintf("%.1f kW", r.ColdKW)
	if r.ColdKW > 0 && r.ColdKW < 1 {
		cold = strings.TrimSpace(watts(r.ColdKW)(r.ColdKW))
	}
	when := ""
	if r.coldOn != "" {
		when = ", when power first flows, on " + r.coldOn
	}
	line("cold power %s at %s%s", cold, r.suppliedText(), when)
	if r.ClosedForm != "" {
		line("closed form: %s", r.ClosedForm)
	}
	if len(r.Conductors) > 0 {
		down := "depth"
		if r.Plan != nil {
			down = "y"
		}
		line("%-12s %-26s %-26s %16s %16s", "buried metal", place, down, "V RMS, cold", "A through, cold")
	}
	for _, m := range r.Conductors {
		from, to, fills := m.TopM, m.BottomM, ""
		if r.Plan != nil {
			from, to, fills = m.FrontM, m.BackM, fmt.Sprintf("  its cells have %.3g times its area", m.Fills)
		}
		line("%-12s %-26s %-26s %16.3g %16.3g%s", m.Name, u.between(m.LeftM, m.RightM), u.between(from, to), m.PotentialV, m.ThroughA, fills)
	}
	if len(r.Conductors) > 0 {
		line("A through: RMS current that metal picks up in one place and gives off in another%s, no less than any cut through it passes: for screening", r.metalOf)
	}
}

// text says what an electrode has of its own.
func (o *ownRow) text() string {
	var parts []string
	if o.TapV != nil {
		parts = append(parts, fmt.Sprintf("own voltage %.4g V RMS phase to neutral", *o.TapV))
	}
	if o.LimitA != nil {
		parts = append(parts, fmt.Sprintf("own current limit %.4g A a rod", *o.LimitA))
	}
	if o.Off {
		parts = append(parts, "switched off, floats")
	}
	text := fmt.Sprintf("%s; cold at %.4g V", strings.Join(parts, ", "), o.VoltageV)
	if !o.Off && o.held() && o.VoltageV < 0.05*o.full {
		text += fmt.Sprintf(", under 5 %% of its %.4g V: the others drive almost all that its limit lets pass, and soon it may not be held", o.full)
	}
	return text
}
