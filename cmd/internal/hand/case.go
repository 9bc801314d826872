package hand

import (
	"fmt"
	"io"
	"math"
	"strings"

	"soiljoule/cases"
	"soiljoule/materials"
)

// Names returns the names of the calculations.
func Names() []string {
	var names []string
	for _, k := range Calculations() {
		names = append(names, k.Name)
	}
	return names
}

// Find returns the calculation of a name, nil if there is none.
func Find(name string) *Calculation {
	for _, k := range Calculations() {
		if k.Name == name {
			return k
		}
	}
	return nil
}

// WorkOut works the calculation out from arguments, each name=value with its unit.
// What they leave out is taken from the case, if there is one, then from the
// defaults. The error is all faults, one a line.
func (k *Calculation) WorkOut(c *cases.Case, args []string) (*Answer, error) {
	have := filled{}
	if c != nil {
		from, why := k.fill(atStart(c))
		if from == nil {
			return nil, cases.Faults{{File: "hand " + k.Name, Key: "--case", Given: c.File, Allowed: "does not give it: " + why}}
		}
		have = from
	}
	a, faults := k.workOut(have, args)
	if len(faults) > 0 {
		return nil, faults
	}
	if c != nil {
		a.note(c)
	}
	return a, nil
}

// Sheet is every calculation that a case's numbers allow; --json prints it as it is.
type Sheet struct {
	Case         string    `json:"case"`
	Title        string    `json:"title"`
	Calculations []*Answer `json:"calculations"`
	Without      []Without `json:"not_from_this_case"`
	Cautions     []string  `json:"cautions"`
}

// Without is a calculation that a case does not give, and why.
type Without struct {
	Name string `json:"name"`
	Why  string `json:"why"`
}

// FromCase works out all that a case's numbers allow.
func FromCase(c *cases.Case) *Sheet {
	s := &Sheet{Calculations: []*Answer{}, Without: []Without{}, Case: c.File, Title: c.Title}
	start := atStart(c)
	s.Cautions = cautions(c.Supply.PhaseVoltage(start.Supply.Voltage))
	for _, k := range Calculations() {
		have, why := k.fill(start)
		if have == nil {
			s.Without = append(s.Without, Without{k.Name, why})
			continue
		}
		a, faults := k.workOut(have, nil)
		if len(faults) > 0 {
			s.Without = append(s.Without, Without{k.Name, strings.ReplaceAll(faults.Error(), "\n", "; ")})
			continue
		}
		a.note(c)
		s.Calculations = append(s.Calculations, a)
	}
	return s
}

// Print writes the sheet: of each calculation the command that gives it alone, its
// formula and its results.
func (s *Sheet) Print(w io.Writer) {
	fmt.Fprintf(w, "%s: closed forms with the numbers of %s\n\n", s.Title, s.Case)
	for _, a := range s.Calculations {
		fmt.Fprintf(w, "%s: %s\n  soiljoule hand %s\n", a.Name, a.Title, a.Repeat)
		for _, l := range a.Formula {
			fmt.Fprintln(w, "  "+l)
		}
		a.printResults(w)
	}
	for _, x := range s.Without {
		fmt.Fprintf(w, "%s: not from this case: %s\n", x.Name, x.Why)
	}
	fmt.Fprintln(w, "assumptions and sources: soiljoule hand NAME --case FILE")
	printCautions(w, s.Cautions)
}

// noZone says why a case gives nothing that a zone is needed for.
const noZone = "it has no target between two depths"

// zoneOf is the depth [m] of the treatment zone's top and bottom, in a plan the slab's.
func zoneOf(c *cases.Case) (top, bottom float64, ok bool) {
	if len(c.Targets) == 0 {
		return 0, 0, false
	}
	t := &c.Targets[0]
	return t.Top, t.Bottom, t.Bottom > t.Top
}

// volumeOf is the treatment zone's volume on the site [m³].
func volumeOf(c *cases.Case) (float64, bool) {
	top, bottom, ok := zoneOf(c)
	if !ok {
		return 0, false
	}
	t := c.Targets[0]
	if c.View == cases.Plan {
		return t.Area() * (bottom - top), true
	}
	if c.View == cases.Section {
		return (t.Right - t.Left) * (bottom - top) * c.Extent.Length, true
	}
	if math.IsNaN(t.Radius) { // the whole cell, whose radius an array may give
		whole, _ := c.Expand()
		t = whole.Targets[0]
	}
	return math.Pi * t.Radius * t.Radius * (bottom - top) * c.Extent.Count, true
}

// targetTemperature is the treatment zone's [K]; boiling is that of its bottom.
func targetTemperature(c *cases.Case) float64 {
	t := &c.Targets[0]
	if t.Boiling {
		return BoilingPoint(t.Bottom, c.Site.WaterTable, c.Site.Elevation, c.Steam.Vacuum)
	}
	return t.Temperature
}

// boils says whether water of a zone from a depth [m] down is to boil: not where the case
// says so, nor where a thermostat holds the zone's mean below the boiling point of its top.
func boils(c *cases.Case, top float64) bool {
	held := c.Control.On() && c.Control.Follow == "mean" && c.Control.Setpoint+c.Control.Deadband < BoilingPoint(top, c.Site.WaterTable, c.Site.Elevation, c.Steam.Vacuum)
	return c.Steam.Boiling && !held
}

// slabOf is the treatment zone as a slab: its thickness, the conductivity of its
// layers in series and their mean heat capacity.
func slabOf(c *cases.Case) (filled, string) {
	top, bottom, ok := zoneOf(c)
	if !ok {
		return nil, noZone
	}
	h := bottom - top
	resist, store := 0.0, 0.0
	for _, p := range c.Parts(top, bottom) {
		resist += p.Thickness() / p.Layer.ThermalConductivity
		store += p.Thickness() * p.Layer.HeatCapacity
	}
	return filled{"thickness": h, "thermal_conductivity": h / resist, "heat_capacity": store / h}, ""
}

// groundOf is the ground between two depths [m] to a current across it: the layers'
// conductances side by side, at the first layer's reference temperature, and the
// linear law that is their mean by conductance.
func groundOf(c *cases.Case, top, bottom float64) filled {
	parts := c.Parts(top, bottom)
	at := parts[0].Layer.ResistivityAt
	w := materials.NewWater()
	conduct, slope := 0.0, 0.0
	for _, p := range parts {
		soil := p.Layer.Soil()
		g := p.Thickness() / p.Layer.Resistivity
		conduct += g * soil.Conductivity(w).FactorT(at, math.Inf(1))
		slope += g * p.Layer.TemperatureCoeff
	}
	hot := BoilingPoint((top+bottom)/2, c.Site.WaterTable, c.Site.Elevation, c.Steam.Vacuum)
	return filled{"resistivity": (bottom - top) / conduct, "resistivity_at": at, "temperature_coefficient": slope / conduct,
		"ambient": c.Site.Ambient, "hot": hot}
}

// rodsOf is a case's one array: its rods, its supply and the ground between their ends.
func rodsOf(c *cases.Case) (filled, string) {
	switch {
	case len(c.Arrays) != 1:
		return nil, fmt.Sprintf("it has %d arrays; one is needed", len(c.Arrays))
	case c.Arrays[0].Voltage == nil && !(c.Supply.Voltage > 0), c.Arrays[0].Voltage != nil && !(*c.Arrays[0].Voltage > 0):
		return nil, "its supply has no voltage"
	}
	a := &c.Arrays[0]
	f := groundOf(c, a.Top, a.Bottom)
	_, layouts := c.Expand()
	volts := c.Supply.Voltage
	if a.Voltage != nil {
		volts = *a.Voltage
	}
	f["voltage"], f["voltage_basis"], f["radius"], f["length"] = volts, c.Supply.VoltageBasis, a.Radius, a.Bottom-a.Top
	f["count"] = c.Extent.Count
	switch l := layouts[0]; c.View {
	case cases.Section:
		f["count"] = l.RodsPerRow * float64(l.Rows)
	case cases.Plan:
		f["count"] = float64(l.Rods)
	}
	return f, ""
}

// ringOf is a plan's one array, if it is a ring that has a closed form.
func ringOf(c *cases.Case) (filled, string) {
	if c.View != cases.Plan {
		return nil, "it has no ring of electrodes"
	}
	f, why := rodsOf(c)
	if f == nil {
		return nil, why
	}
	switch a := &c.Arrays[0]; {
	case a.Pattern != "ring":
		return nil, "its array is " + a.Pattern
	case a.Count != 6 || c.Supply.Phases == 1: // one on the neutral in its middle carries nothing
		return nil, "its ring is not of six electrodes on three or six phases"
	default:
		f["diameter"], f["phases"] = a.Diameter, c.Supply.Phases
	}
	delete(f, "count")
	return f, ""
}

// fillsRing says whether the treatment zone is the circle through a plan's ring of
// electrodes, to 1 % of its radius. Exactly half of what thin electrodes on a ring give even
// ground is then outside of it: inversion in the circle leaves their field as it is. A thin
// electrode on the neutral in its middle, where the potential is 0, hardly changes it.
func fillsRing(c *cases.Case) bool {
	if c.View != cases.Plan || len(c.Arrays) != 1 || c.Arrays[0].Pattern != "ring" {
		return false
	}
	a, t := &c.Arrays[0], &c.Targets[0]
	r := a.Diameter / 2
	return math.Abs(t.Radius-r) <= 0.01*r && math.Hypot(t.Center[0]-a.Center[0], t.Center[1]-a.Center[1]) <= 0.01*r
}

// waterOf is the groundwater of a section or a plan through the face of the treatment zone
// across it: the mean Darcy flux of its layers, of a plan the size of their mean as vectors.
func waterOf(c *cases.Case) (filled, string) {
	top, bottom, ok := zoneOf(c)
	if !ok {
		return nil, noZone
	}
	flux, wide := 0.0, c.Extent.Length
	switch c.View {
	case cases.Axisymmetric:
		return nil, "no groundwater flows through an axisymmetric case: give flux and area"
	case cases.Plan:
		l := c.SlabWater()
		flux, wide = l.Groundwater, acrossFlow(&c.Targets[0], l.GroundwaterDirection)
	default:
		for _, p := range c.Parts(top, bottom) {
			flux += p.Thickness() / (bottom - top) * p.Layer.Groundwater
		}
	}
	if flux == 0 {
		return nil, "no groundwater flows through its target"
	}
	return filled{"flux": math.Abs(flux), "area": (bottom - top) * wide, "ambient": c.Site.Ambient, "temperature": targetTemperature(c)}, ""
}

// meanAir is the air's mean temperature [K].
func meanAir(c *cases.Case) float64 {
	a := &c.Surface.Air
	sum, n := 0.0, 0
	for _, T := range a.Monthly {
		sum, n = sum+T, n+1
	}
	for _, p := range a.Series {
		sum, n = sum+p.Temperature, n+1
	}
	if n == 0 {
		return a.Constant
	}
	return sum / float64(n)
}
