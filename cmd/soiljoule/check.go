package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"time"

	"soiljoule/cases"
	"soiljoule/materials"
	"soiljoule/physics"
	"soiljoule/solver"
)

// checked is what `check` finds out about a case; --json prints it as it is.
type checked struct {
	Title      string        `json:"title"`
	View       string        `json:"view"`
	Mesh       checkedMesh   `json:"mesh"`
	Layers     []layerRow    `json:"layers"`
	Rain       *rain         `json:"infiltration,omitempty"`
	Steam      *steamRow     `json:"steam"`
	Added      []addedRow    `json:"water_added,omitempty"`
	Boils      []boilRow     `json:"boiling_points"`
	Off        *offRow       `json:"supply_off,omitempty"`
	Arrays     []arrayRow    `json:"arrays"`
	Electrodes []rodRow      `json:"electrodes"`
	Plan       *checkedPlan  `json:"plan,omitempty"`
	Heats      []heatRow     `json:"heats"`
	Conductors []metalRow    `json:"conductors,omitempty"`
	ColdKW     float64       `json:"cold_power_kW"`
	ClosedForm string        `json:"closed_form"` // what closed_form_A is
	TooNear    []string      `json:"too_near"`
	NearFaces  []string      `json:"near_faces"`
	Seconds    float64       `json:"estimated_seconds"`
	Cautions   []string      `json:"cautions"`
	cold       *solver.State // the ground as found, supply on
	thermostat bool
	supplied   float64 // [V] of the supply then
}

type checkedMesh struct {
	Across    int     `json:"across"`
	Down      int     `json:"down"`
	Cells     int     `json:"cells"`
	LeftM     float64 `json:"left_m"`
	RightM    float64 `json:"right_m"`
	BottomM   float64 `json:"bottom_m"`
	FrontM    float64 `json:"front_m"` // of a plan
	BackM     float64 `json:"back_m"`
	SmallestM float64 `json:"smallest_m"`
	LargestM  float64 `json:"largest_m"`
	Growth    float64 `json:"growth"` // largest ratio of neighbours
}

type layerRow struct {
	Name              string  `json:"name"`
	Kind              string  `json:"kind"`
	TopM              float64 `json:"top_m"`
	BottomM           float64 `json:"bottom_m"`
	Resistivity       float64 `json:"resistivity_ohm_m"`
	ResistivityAtC    float64 `json:"resistivity_at_C"`
	ResistivityGround float64 `json:"resistivity_at_ambient_ohm_m"`
	Resistivity100    float64 `json:"resistivity_at_100C_ohm_m"`
	Conductivity      float64 `json:"thermal_conductivity_W_per_m_K"`
	ConductivityDry   float64 `json:"thermal_conductivity_dry_W_per_m_K"`
	DryByLaw          bool    `json:"dry_by_law"`
	ConductivityWet   float64 `json:"thermal_conductivity_wet_W_per_m_K"`
	ConductivityLaw   string  `json:"thermal_conductivity_law"`
	dryLaw            string  // by which the dry value is, where it is by law
	Capacity          float64 `json:"heat_capacity_MJ_per_m3_K"`
	BoilingTopC       float64 `json:"boiling_point_top_C"`
	BoilingBottomC    float64 `json:"boiling_point_bottom_C"`
	Inflow            string  `json:"inflow"`
	FieldCapacity     float64 `json:"field_capacity"` // as found where that is more
	Removable         float64 `json:"removable_water"`
	Residual          float64 `json:"residual_conductivity"`
	keepsMore         bool    // than found
	Groundwater       *water  `json:"groundwater,omitempty"`
}

// water is how fast a layer's groundwater moves, and the heat that it carries.
type water struct {
	Darcy   float64 `json:"darcy_flux_m_per_d"`
	Seepage float64 `json:"seepage_velocity_m_per_d"`
	Front   float64 `json:"heat_front_m_per_d"`
	// Direction is where it goes in a plan [deg], counter-clockwise from +x.
	Direction *float64 `json:"direction_deg,omitempty"`
}

// rain is how fast infiltration goes down, and the heat that it carries.
type rain struct {
	Mean  float64 `json:"mean_m_per_d"`
	Front float64 `json:"heat_front_m_per_d"`
}

type arrayRow struct {
	Text string `json:"text"`
}

type heatRow struct {
	Name        string  `json:"name"`
	LeftM       float64 `json:"left_m"` // or inner radius
	RightM      float64 `json:"right_m"`
	FrontM      float64 `json:"front_m"` // of a plan
	BackM       float64 `json:"back_m"`
	TopM        float64 `json:"top_m"`
	BottomM     float64 `json:"bottom_m"`
	VolumeM3    float64 `json:"volume_m3"` // of all of it on the site
	MeanKW      float64 `json:"mean_kW"`
	LeastKW     float64 `json:"least_kW"`
	MostKW      float64 `json:"most_kW"`
	EnergyKWh   float64 `json:"energy_kWh"`
	PerVolumeKW float64 `json:"mean_kW_per_m3"`
	PerLength   float64 `json:"mean_W_per_m"` // section: of extent.length; axisymmetric: of depth, one body; plan: of depth
	Series      string  `json:"series"`       // the CSV's name, "" if constant
	Solid       bool    `json:"solid"`
}

type rodRow struct {
	Name     string  `json:"name"`
	Phase    string  `json:"phase"`
	XM       float64 `json:"x_m"`
	YM       float64 `json:"y_m"` // of a plan
	Rods     float64 `json:"rods"`
	ModelA   float64 `json:"model_A"`
	ModelOhm float64 `json:"model_ohm"`     // 0: there is none, of the neutral and of what its own limit or switch holds
	ClosedA  float64 `json:"closed_form_A"` // 0: none for this layout
	Own      *ownRow `json:"own,omitempty"` // what it has of its own; nil: nothing
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
}

func check(_ context.Context, args []string, stdout, stderr io.Writer) int {
	f := flags("check")
	var sets list
	f.Var(&sets, "set", "")
	asJSON := f.Bool("json", false, "")
	picture := f.String("figure", "", "")
	words, ok := parse("check", f, args, 1, "one case file", stderr)
	if !ok || !layoutName(f, *picture, stderr) {
		return wrong
	}
	c, err := cases.Load(words[0], sets)
	if err != nil {
		fmt.Fprintln(stderr, err)
		return wrong
	}
	expanded, layouts := c.Expand()
	problem, err := expanded.Build()
	if err != nil {
		fmt.Fprintln(stderr, err)
		return wrong
	}
	r, err := examine(c, expanded, layouts, problem)
	if err != nil {
		fmt.Fprintf(stderr, "soiljoule check: %s: %v\n", c.File, err)
		return failed
	}
	if *picture != "" {
		if code := drawLayout(*picture, expanded, stderr); code != done {
			return code
		}
	}
	if *asJSON {
		e := json.NewEncoder(stdout)
		e.SetIndent("", "  ")
		e.SetEscapeHTML(false)
		if err := e.Encode(r); err != nil {
			fmt.Fprintf(stderr, "soiljoule check: %v\n", err)
			return failed
		}
		return done
	}
	r.print(stdout, unitsOf(c))
	return done
}

// examine solves the cold potential and gathers what check says. drawn is the
// case with its arrays, c the expanded one.
func examine(drawn, c *cases.Case, layouts []cases.Layout, p *solver.Problem) (*checked, error) {
	started := time.Now()
	report, err := solver.Start(p)
	if err != nil {
		return nil, err
	}
	solve := time.Since(started).Seconds()

	g := p.Ground.Grid
	r := &checked{Title: c.Title, View: string(c.View), TooNear: c.TooNear(), NearFaces: c.NearFaces(), Cautions: c.Cautions(), cold: report.State}
	if report.Setting.Voltage > 0 {
		r.supplied = r.cold.Voltage
	}
	r.Mesh = checkedMesh{Across: g.NX, Down: g.NZ, Cells: g.Cells(), LeftM: g.X[0], RightM: g.X[g.NX], BottomM: g.Z[g.NZ], SmallestM: math.Inf(1), Growth: 1}
	if c.View == cases.Plan {
		r.Mesh.FrontM, r.Mesh.BackM, r.Mesh.BottomM = g.Z[0], g.Z[g.NZ], c.Domain.Bottom
	}
	for _, e := range [][]float64{g.X, g.Z} {
		for i := 1; i < len(e); i++ {
			d := e[i] - e[i-1]
			r.Mesh.SmallestM, r.Mesh.LargestM = math.Min(r.Mesh.SmallestM, d), math.Max(r.Mesh.LargestM, d)
			if i > 1 {
				b := e[i-1] - e[i-2]
				r.Mesh.Growth = math.Max(r.Mesh.Growth, math.Max(d/b, b/d))
			}
		}
	}
	// Some 30 to 130 steps of one to four potentials each, solved from a good start in
	// a few iterations, and as much again for the heat: on the demo cases that is from a
	// third of the time they take, where many small steps are due, to three times.
	r.Seconds = solve * 80

	r.thermostat = p.Thermostat != nil

	r.layers(drawn)
	r.boils(c)
	if mean := c.Surface.Infiltration.Mean(c.Time.Duration); mean > 0 {
		r.Rain = &rain{Mean: mean * 86400, Front: c.RainFront() * 86400}
	}
	r.steam(c)
	r.off(c)
	r.arrays(drawn, layouts)
	r.rods(drawn, c, p)
	r.plan(c, p)
	r.heats(c)
	r.Cautions = append(r.Cautions, coldCaution(largestRod(p, r.cold))...)
	if p.Electric != nil && r.ColdKW == 0 {
		r.Cautions = append(r.Cautions, "No cold power: "+offBecause(c, report)+".")
	}
	return r, nil
}

func (r *checked) layers(c *cases.Case) {
	water := materials.NewWater()
	top := 0.0
	for i := range c.Layers {
		l := &c.Layers[i]
		soil := l.Soil()
		sigma := soil.Conductivity(water)
		bottom := l.Bottom
		if math.IsInf(bottom, 1) {
			bottom = math.Max(top, r.Mesh.BottomM)
		}
		boil := func(z float64) float64 { return c.BoilingPoint(z, 0) - materials.Celsius }
		law, dryLaw := soil.LambdaLaw()
		r.Layers = append(r.Layers, layerRow{
			Name: l.Name, Kind: l.Kind, TopM: top, BottomM: bottom,
			Resistivity: l.Resistivity, ResistivityAtC: l.ResistivityAt - materials.Celsius,
			ResistivityGround: l.Resistivity / sigma.FactorT(c.Site.Ambient, math.Inf(1)),
			Resistivity100:    l.Resistivity / sigma.FactorT(materials.Celsius+100, math.Inf(1)),
			Conductivity:      l.ThermalConductivity, ConductivityDry: soil.ThermalConductivityDry, DryByLaw: math.IsNaN(l.ThermalConductivityDry),
			ConductivityWet: soil.Thermal().Lambda(1), ConductivityLaw: law, dryLaw: dryLaw,
			Capacity:    l.HeatCapacity / 1e6,
			BoilingTopC: boil(top), BoilingBottomC: boil(bottom),
			FieldCapacity: math.Max(soil.FieldCapacity, l.Saturation), keepsMore: soil.FieldCapacity > l.Saturation,
			Removable: l.RemovableWater, Residual: l.ResidualConductivity,
			Inflow: l.InflowText(bottom > c.Site.WaterTable, top < c.Site.WaterTable), Groundwater: groundwater(l, c.Site.Ambient, c.View),
		})
		top = bottom
	}
}

// groundwater returns how fast a layer's moves; nil: it has none.
func groundwater(l *cases.Layer, ambient float64, view cases.View) *water {
	if l.Groundwater == 0 {
		return nil
	}
	const day = 86400
	w := &water{Darcy: l.Groundwater * day, Seepage: l.Seepage() * day, Front: l.Front(ambient) * day}
	if view == cases.Plan {
		towards := l.GroundwaterDirection * 180 / math.Pi
		w.Direction = &towards
	}
	return w
}

// text says how fast it moves, and where to.
func (w *water) text(u units) string {
	text := fmt.Sprintf("Darcy flux %s, seepage velocity %s, front of heat %s", u.speed(w.Darcy), u.speed(w.Seepage), u.speed(w.Front))
	if w.Direction != nil {
		text += fmt.Sprintf(", towards %.4g° counter-clockwise from +x", *w.Direction)
	}
	return text
}

// speed writes a speed [m/d] in the case's units, and in the others.
func (u units) speed(v float64) string {
	if u.us {
		return fmt.Sprintf("%.3g ft/d (%.3g m/d)", v/0.3048, v)
	}
	return fmt.Sprintf("%.3g m/d (%.3g ft/d)", v, v/0.3048)
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
			perMetre, r.ClosedForm = planClosedForm(drawn, p.Electric.Fringed().Factor)
			top, bottom = c.Extent.Top, c.Extent.Bottom
		case c.View == cases.Section && len(drawn.Arrays) == 1 && len(drawn.Electrodes) == 0:
			a := &drawn.Arrays[0]
			d, s, shifted := a.Rows(c.Supply.Phases)
			perMetre = physics.RowsImpedance(d, s, a.Radius, shifted, c.Supply.Phases)
			r.ClosedForm = "endless rows of endless rods, from sheets and harmonics (triangular, three phases: I = 2πV·Σ(ℓ/ρ)/ln(0.566 s/a)); rods of finite length draw more"
		}
		if perMetre > 0 && p.Supply[0].Bodies == nil { // all at one voltage
			row.ClosedA = v / perMetre * r.metresPerResistivity(top, bottom)
		}
		r.Electrodes = append(r.Electrodes, row)
	}
}

// heats lists the bodies of set power and what they give over the run.
func (r *checked) heats(c *cases.Case) {
	end := c.Time.Duration
	for i := range c.Heats {
		h := &c.Heats[i]
		energy := h.Power.Energy(0, end)
		least, most := h.Power.Range(end)
		mean := energy / end
		row := heatRow{Name: h.Name, LeftM: h.Left, RightM: h.Right, TopM: h.Top, BottomM: h.Bottom,
			VolumeM3: c.Volume(h), MeanKW: mean / 1e3, LeastKW: least / 1e3, MostKW: most / 1e3, EnergyKWh: energy / 3.6e6,
			PerVolumeKW: mean / 1e3 / c.Volume(h), PerLength: mean / c.Extent.Length, Series: h.Power.File, Solid: h.Solid()}
		if c.View == cases.Axisymmetric {
			row.LeftM, row.RightM = h.InnerRadius, h.Radius
			row.PerLength = mean / c.Extent.Count / (h.Bottom - h.Top)
		}
		if c.View == cases.Plan {
			row.FrontM, row.BackM = h.Front, h.Back
			row.PerLength = mean / (h.Bottom - h.Top)
		}
		r.Heats = append(r.Heats, row)
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
	row := metalRow{Name: m.Name, LeftM: m.Left, RightM: m.Right, TopM: m.Top, BottomM: m.Bottom, PotentialV: cmplx.Abs(r.cold.Potential[b]) * r.cold.Voltage}
	if c.View == cases.Axisymmetric {
		row.LeftM, row.RightM = m.InnerRadius, m.Radius
	}
	if c.View == cases.Plan {
		row.FrontM, row.BackM = m.Front, m.Back
		row.Fills = p.Electric.Bodies[b].Zone.Volume(p.Ground.Grid) / (m.Area() * (m.Bottom - m.Top))
	}
	r.Conductors = append(r.Conductors, row)
}

// metresPerResistivity returns Σ ℓ/ρ of the layers between two depths, at the
// ground's own temperature.
func (r *checked) metresPerResistivity(top, bottom float64) float64 {
	sum := 0.0
	for _, l := range r.Layers {
		if d := math.Min(bottom, l.BottomM) - math.Max(top, l.TopM); d > 0 {
			sum += d / l.ResistivityGround
		}
	}
	return sum
}

func (r *checked) print(w io.Writer, u units) {
	line := func(format string, a ...any) { fmt.Fprintf(w, format+"\n", a...) }
	m := r.Mesh
	line("%s: %s", r.Title, r.View)
	along, reach := "down", ""
	if r.Plan != nil {
		along, reach = "along", fmt.Sprintf(", from %s to %s along", u.length(m.FrontM), u.length(m.BackM))
	}
	line("mesh    %d across, %d %s, %d cells of %s to %s, neighbours differ by at most %.2f", m.Across, m.Down, along, m.Cells, u.length(m.SmallestM), u.length(m.LargestM), m.Growth)
	line("        from %s to %s across%s, down to %s; a run of about %s here", u.length(m.LeftM), u.length(m.RightM), reach, u.length(m.BottomM), seconds(r.Seconds))
	if r.thermostat {
		line("        and some ten steps more each time that [control] switches, at most %d times", solver.MostSwitches)
	}
	line("")
	line("%-20s %-24s %26s %8s %8s %23s %7s %13s  %s", "layer", "depth", "ohm*m", "", "", "W/m/K", "MJ/m3/K", "boils at °C", "inflow")
	line("%-20s %-24s %17s %8s %8s %16s %7s %7s", "", "", "as given", "ambient", "100 °C", "found", "dry", "wet")
	for _, l := range r.Layers {
		dry := fmt.Sprintf("%.2f", l.ConductivityDry)
		if l.DryByLaw {
			dry += "*"
		}
		line("%-20s %-24s %17s %8.4g %8.4g %16.3g %7s %7.3g %7.3g %6.1f–%-6.1f  %s", l.Name, u.between(l.TopM, l.BottomM),
			fmt.Sprintf("%.4g @ %.3g °C", l.Resistivity, l.ResistivityAtC), l.ResistivityGround, l.Resistivity100,
			l.Conductivity, dry, l.ConductivityWet, l.Capacity, l.BoilingTopC, l.BoilingBottomC, l.Inflow)
	}
	r.printLaws(line)
	r.printBoils(line, u)
	for _, l := range r.Layers {
		if w := l.Groundwater; w != nil {
			line("groundwater in %s: %s", l.Name, w.text(u))
		}
	}
	if r.Rain != nil {
		line("infiltration: mean %s, front of heat at most %s", u.speed(r.Rain.Mean), u.speed(r.Rain.Front))
	}
	r.printSteam(line, u)
	r.Off.print(line)
	line("")
	for _, a := range r.Arrays {
		line("%s", a.Text)
	}
	if r.Plan != nil {
		r.printPlan(line, u)
	}
	place := "x"
	if r.View == string(cases.Axisymmetric) {
		place = "r"
	}
	r.printHeats(line, u, place)
	if len(r.Electrodes) > 0 {
		r.printRods(line, u, place)
	}
	line("")
	if len(r.TooNear) == 0 {
		line("boundaries: none too near")
	}
	for _, t := range r.TooNear {
		line("too near: %s", t)
	}
	for _, t := range r.NearFaces {
		line("nearly one face: %s", t)
	}
	line("laws from")
	for _, s := range materials.Sources() {
		line("  - %s", s)
	}
	line("cautions")
	for _, t := range r.Cautions {
		line("  - %s", t)
	}
}

// printLaws says by which laws of saturation the layers conduct heat.
func (r *checked) printLaws(line func(string, ...any)) {
	var laws, dry []string
	of := map[string][]string{}
	add := func(list *[]string, key, name string) {
		if of[key] == nil {
			*list = append(*list, key)
		}
		of[key] = append(of[key], name)
	}
	for _, l := range r.Layers {
		add(&laws, "conduct heat by "+l.ConductivityLaw, l.Name)
		if l.DryByLaw {
			add(&dry, "dry* by "+l.dryLaw, l.Name)
		}
	}
	var unusual []string
	for _, l := range r.Layers {
		if l.Kind != "soil" {
			add(&unusual, "are "+l.Kind, l.Name)
		}
		if l.keepsMore {
			add(&unusual, fmt.Sprintf("keep up to %.4g of their pores full against draining", l.FieldCapacity), l.Name)
		}
		if l.Removable != 0.3 {
			add(&unusual, fmt.Sprintf("can lose %.4g of their water to boiling", l.Removable), l.Name)
		}
		if l.Residual != materials.ResidualConductivityDefault {
			add(&unusual, fmt.Sprintf("keep %.4g of their conductivity when dry", l.Residual), l.Name)
		}
	}
	for _, key := range slices.Concat(laws, dry, unusual) {
		line("  %s: %s", key, strings.Join(of[key], ", "))
	}
}

// printHeats lists the bodies of set power.
func (r *checked) printHeats(line func(string, ...any), u units, place string) {
	if len(r.Heats) == 0 {
		return
	}
	per := "W a metre of extent.length"
	if place == "r" {
		per = "W a metre of depth, one body"
	}
	unit, scale, largest := "kW", 1.0, 0.0
	for _, h := range r.Heats {
		largest = max(largest, h.MeanKW)
	}
	if largest > 0 && largest < 1 {
		unit, scale = "W", 1e3
	}
	down := "depth"
	if r.Plan != nil {
		down, per = "y", "W a metre of depth"
	}
	line("%-12s %-26s %-26s %10s %10s %14s  %s", "set power", place, down, "mean "+unit, "kWh", "mean "+unit+"/m3", per)
	for _, h := range r.Heats {
		from, to := h.TopM, h.BottomM
		if r.Plan != nil {
			from, to = h.FrontM, h.BackM
		}
		line("%-12s %-26s %-26s %10.4g %10s %14.4g  %s", h.Name, u.between(h.LeftM, h.RightM), u.between(from, to), h.MeanKW*scale,
			amount(h.EnergyKWh, h.EnergyKWh), h.PerVolumeKW*scale, amount(h.PerLength, h.PerLength))
	}
	for _, h := range r.Heats {
		what := []string{"constant"}
		if h.Series != "" {
			what[0] = fmt.Sprintf("%s, from %.4g to %.4g kW, straight between its rows", h.Series, h.LeastKW, h.MostKW)
			if h.MostKW < 1 {
				what[0] = fmt.Sprintf("%s, from %.4g to %.4g W, straight between its rows", h.Series, h.LeastKW*1e3, h.MostKW*1e3)
			}
		}
		if h.Solid {
			what = append(what, "a solid with its own conductivity and heat capacity")
		} else {
			what = append(what, "put into the ground that lies there")
		}
		line("  %s: %s", h.Name, strings.Join(what, "; "))
	}
	line("  no potential, no current: whether electrodes could bring this power is not asked here")
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
	line("cold power %s at %.4g V RMS phase to neutral, limits included", cold, r.supplied)
	if r.ClosedForm != "" {
		line("closed form: %s", r.ClosedForm)
	}
	if len(r.Conductors) > 0 {
		down := "depth"
		if r.Plan != nil {
			down = "y"
		}
		line("%-12s %-26s %-26s %16s", "buried metal", place, down, "V RMS, cold")
	}
	for _, m := range r.Conductors {
		from, to, fills := m.TopM, m.BottomM, ""
		if r.Plan != nil {
			from, to, fills = m.FrontM, m.BackM, fmt.Sprintf("  its cells have %.3g times its area", m.Fills)
		}
		line("%-12s %-26s %-26s %16.3g%s", m.Name, u.between(m.LeftM, m.RightM), u.between(from, to), m.PotentialV, fills)
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

// between prints a range of depths.
func (u units) between(a, b float64) string {
	a, b = unrounded(a), unrounded(b)
	if u.us {
		return fmt.Sprintf("%.3g–%.3g ft (%.3g–%.3g m)", a/0.3048, b/0.3048, a, b)
	}
	return fmt.Sprintf("%.3g–%.3g m (%.3g–%.3g ft)", a, b, a/0.3048, b/0.3048)
}
