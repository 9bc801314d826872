package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"soiljoule/cases"
	"soiljoule/materials"
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
	Schedule   *schedule     `json:"schedule"`
	Arrays     []arrayRow    `json:"arrays"`
	Electrodes []rodRow      `json:"electrodes"`
	Plan       *checkedPlan  `json:"plan,omitempty"`
	Phases     []phaseRow    `json:"phases,omitempty"` // of a section
	Heats      []heatRow     `json:"heats"`
	Conductors []metalRow    `json:"conductors,omitempty"`
	ColdKW     float64       `json:"cold_power_kW"`
	ColdDay    float64       `json:"cold_day,omitempty"` // of all cold loads: when power first flows, not at power-on; 0: at power-on
	ClosedForm string        `json:"closed_form"`        // what closed_form_A is
	TooNear    []string      `json:"too_near"`
	NearFaces  []string      `json:"near_faces"`
	Seconds    float64       `json:"estimated_seconds"`
	Cautions   []string      `json:"cautions"`
	cold       *solver.State // the ground as found, supply on
	coldOn     string        // the day of ColdDay and its date; "": power-on
	thermostat bool
	supplied   float64 // [V] of the supply then
	set        float64 // [V] as set for it
	alike      bool    // whether all electrodes are on it
	metalOf    string  // how much of buried metal through_A is of
	supply     cases.Supply
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
	told := expanded
	if *asJSON { // its texts too are in SI first, as its numbers are in SI alone
		c, told = inSI(c), inSI(expanded)
	}
	r, err := examine(c, told, layouts, problem)
	if own := solver.Unheld(err); own != "" {
		fmt.Fprintln(stderr, ownPlace(words[0], sets)(own, 0, "cannot be held at power-on: "+strings.TrimPrefix(err.Error(), "t = 0 d: ")))
		return failed // as the run does, at t = 0
	}
	if err != nil {
		fmt.Fprintf(stderr, "soiljoule check: %s: %v\n", c.File, err)
		return failed
	}
	r.Cautions = append(r.Cautions, foresee(told, problem, ownPlace(words[0], sets))...)
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

// inSI returns a case that tells SI first.
func inSI(c *cases.Case) *cases.Case {
	out := *c
	out.Output.Units = "si"
	return &out
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
	r := &checked{Title: c.Title, View: string(c.View), TooNear: c.TooNear(), NearFaces: c.NearFaces(), Cautions: c.Cautions(), supply: c.Supply}
	p, report = r.lateStart(c, p, report)
	r.cold = report.State
	if report.Setting.Voltage > 0 {
		r.supplied, r.set, r.alike = r.cold.Voltage, report.Setting.Reference(), report.Setting.Bodies == nil
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
	r.schedule(drawn, c, layouts)
	r.arrays(drawn, layouts)
	r.rods(drawn, c, p)
	r.plan(c, p)
	if c.View == cases.Section {
		r.Phases = r.phases(c, p)
	}
	r.heats(c)
	r.Cautions = append(r.Cautions, coldCaution(largestRod(p, r.cold))...)
	return r, nil
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
	boils, hot, orHot := u.layerHeads()
	line("%-20s %-24s %26s %8s %8s %23s %7s %26s  %s", "layer", "depth", "ohm*m", "", hot, "W/m/K", "MJ/m3/K", boils, "inflow")
	line("%-20s %-24s %26s %8s %8s %16s %7s %7s", "", "", "as given", "ambient", orHot, "found", "dry", "wet")
	for _, l := range r.Layers {
		dry := fmt.Sprintf("%.2f", l.ConductivityDry)
		if l.DryByLaw {
			dry += "*"
		}
		line("%-20s %-24s %26s %8.4g %8.4g %16.3g %7s %7.3g %7.3g %26s  %s", l.Name, u.between(l.TopM, l.BottomM),
			fmt.Sprintf("%.4g @ %s", l.Resistivity, u.pair(fmt.Sprintf("%.3g °F", l.ResistivityAtC*1.8+32), fmt.Sprintf("%.3g °C", l.ResistivityAtC))), l.ResistivityGround, l.Resistivity100,
			l.Conductivity, dry, l.ConductivityWet, l.Capacity, u.pair(fmt.Sprintf("%.1f–%.1f", l.BoilingTopC*1.8+32, l.BoilingBottomC*1.8+32), fmt.Sprintf("%.1f–%.1f", l.BoilingTopC, l.BoilingBottomC)), l.Inflow)
	}
	r.printLaws(line)
	r.printBoils(line, u)
	for _, l := range r.Layers {
		if w := l.Groundwater; w != nil {
			line("groundwater in %s: %s", l.Name, w.text(u))
		}
	}
	if r.Rain != nil {
		line("infiltration: mean %s, front of heat at most %s", u.rain(r.Rain.Mean), u.speed(r.Rain.Front))
	}
	r.printSteam(line, u)
	r.Schedule.print(line, u)
	line("")
	for _, a := range r.Arrays {
		line("%s", a.Text)
	}
	if r.Plan != nil {
		r.printPlan(line, u)
	}
	if len(r.Phases) > 0 {
		line("rows by phase: %s", phasesText(r.Phases))
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
