//dossier:chapter Scaling and units of whole cases

package validation

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"soiljoule/cases"
)

// What the equations are made of: with lengths L, times t, rises ΔT, voltages V,
// power P per metre of row,
//
//	σV²/(λΔT),  λt/(CL²),  hL/λ,  RL/λ⁻¹,  P/(λΔT),  φρ_w h/(CΔT)
//
// are all that a case without a water table can depend on (one with, also on ρ_w g L
// through its boiling point). Cases that agree in these must agree in every
// temperature. By a factor of 1/4 every product, quotient and square root is exact,
// so every bit must agree: a length, a time or a power hidden anywhere in the program
// as a plain number would show. By other factors the bounds are those of holdClose.
//
// Source: dimensional analysis (Buckingham 1914, from memory) of the equations of
// the package physics.

// scaled runs a case and its image under a scaling, by a quarter and by an odd factor.
// exactPlates keeps rows of rods out of the first: their correction takes logarithms
// of lengths, which cancel but for rounding.
func (w wish) scaled(t *testing.T, number uint64, claim string, exactPlates bool, image func(c *cases.Case, k float64) multiple) {
	t.Helper()
	const source = "dimensional analysis"
	var exact, close tally
	all := w.plates
	w.plates = w.plates || exactPlates
	w.properties(t, number, few, func(d *drawn, c *cases.Case) {
		other := copied(c)
		m := image(other, 0.25)
		exact.compare(finish(t, c, rough), finish(t, other, rough), m)
	})
	exact.holdEqual(t, claim+", k = 1/4", source)
	w.dry, w.plates = true, all
	w.properties(t, number+50, few, func(d *drawn, c *cases.Case) {
		other := copied(c)
		m := image(other, 0.3)
		close.compare(finish(t, c, equalSteps), finish(t, other, equalSteps), m)
	})
	close.holdClose(t, claim+", k = 0.3", source)
}

// timesScaled multiplies all times of a case by k.
func timesScaled(c *cases.Case, k float64) {
	c.Time.Duration *= k
	for i := range c.Changes {
		c.Changes[i].At *= k
	}
	for i := range c.Targets {
		c.Targets[i].Hold *= k
	}
	for i := range c.Layers {
		c.Layers[i].RefillRate /= k
		c.Layers[i].Inflow.Rate /= k
	}
	c.Output.FieldsEvery *= k
	for i := range c.Output.FieldsAt {
		c.Output.FieldsAt[i] *= k
	}
}

// limitsScaled multiplies the limits of a case.
func limitsScaled(c *cases.Case, power, current float64) {
	c.Supply.PowerLimit *= power
	c.Supply.CurrentLimit *= current
}

// TestLengthsAndTimesScale: lengths and times scale. All lengths times k, times k²,
// film over k, resistance of the cover and of contacts times k, at the same volts: the
// same temperatures.
// Source: dimensional analysis.
func TestLengthsAndTimesScale(t *testing.T) {
	wish{noWaterTable: true}.scaled(t, 11, "lengths times k and times k²", true, func(c *cases.Case, k float64) multiple {
		timesScaled(c, k*k)
		limitsScaled(c, k, k) // σV²L, σVL
		c.Surface.Film /= k
		c.Surface.Cover *= k
		c.Mesh.Finest *= k
		c.Extent.Length *= k
		c.Extent.Radius *= k
		c.Domain.Left *= k
		c.Domain.Right *= k
		c.Domain.Bottom *= k
		for i := range c.Layers {
			c.Layers[i].Bottom *= k
		}
		for i := range c.Targets {
			g := &c.Targets[i]
			g.Left, g.Right, g.Top, g.Bottom, g.Radius = g.Left*k, g.Right*k, g.Top*k, g.Bottom*k, g.Radius*k
		}
		for i := range c.Electrodes {
			e := &c.Electrodes[i]
			e.X, e.Top, e.Bottom, e.Radius, e.Width = e.X*k, e.Top*k, e.Bottom*k, e.Radius*k, e.Width*k
			e.RodSpacing, e.RodOffset, e.ContactResistance = e.RodSpacing*k, e.RodOffset*k, e.ContactResistance*k
		}
		return multiple{energy: k * k * k, water: 1, perVolt: k}
	})
}

// TestVoltageAndResistivityScale: volts and resistivity scale. Volts times k,
// resistivity and contact resistance times k²: the same power everywhere. Water tables
// included.
// Source: dimensional analysis.
func TestVoltageAndResistivityScale(t *testing.T) {
	wish{}.scaled(t, 12, "volts times k and resistivities times k²", false, func(c *cases.Case, k float64) multiple {
		c.Supply.Voltage *= k
		for i := range c.Changes {
			if v := c.Changes[i].Voltage; v != nil {
				u := *v * k
				c.Changes[i].Voltage = &u
			}
		}
		for i := range c.Layers {
			c.Layers[i].Resistivity *= k * k
		}
		for i := range c.Electrodes {
			c.Electrodes[i].ContactResistance *= k * k
		}
		limitsScaled(c, 1, 1/k)
		return multiple{energy: 1, water: 1, perVolt: 1 / (k * k)}
	})
}

// TestPowersScale: powers scale. Conductivity both of heat and of charge, heat
// capacity, porosity and film times k, the cover's and the contacts' resistance over
// k: k times the power stores, conducts and boils k times the heat.
// Source: dimensional analysis.
func TestPowersScale(t *testing.T) {
	wish{}.scaled(t, 13, "conductivities, capacities, pores, film and power times k", false, func(c *cases.Case, k float64) multiple {
		c.Surface.Film *= k
		c.Surface.Cover /= k
		for i := range c.Layers {
			l := &c.Layers[i]
			l.Resistivity /= k
			l.ThermalConductivity *= k
			l.ThermalConductivityDry *= k
			l.HeatCapacity *= k
			l.Porosity *= k
		}
		for i := range c.Electrodes {
			c.Electrodes[i].ContactResistance /= k
		}
		limitsScaled(c, k, k)
		return multiple{energy: k, water: k, perVolt: k}
	})
}

// TestTimesAndCapacitiesScale: times and capacities scale. Times, heat capacity and
// porosity times k: the same temperatures, later.
// Source: dimensional analysis.
func TestTimesAndCapacitiesScale(t *testing.T) {
	wish{}.scaled(t, 14, "times, capacities and pores times k", false, func(c *cases.Case, k float64) multiple {
		timesScaled(c, k)
		for i := range c.Layers {
			c.Layers[i].HeatCapacity *= k
			c.Layers[i].Porosity *= k
		}
		return multiple{energy: k, water: k, perVolt: 1}
	})
}

// TestExtentMultipliesTotals: the extent multiplies totals and nothing else. k times
// the length of a section, or the count of cells, is k times the energy and the same
// temperatures. A limit of current is one rod's and stays, but a plate's is that of
// its whole length, so there is none here.
// Source: dimensional analysis.
func TestExtentMultipliesTotals(t *testing.T) {
	wish{noCurrentLimit: true}.scaled(t, 15, "length of the section or count of cells times k", false, func(c *cases.Case, k float64) multiple {
		c.Extent.Length *= k
		c.Extent.Count *= k
		limitsScaled(c, k, 1)
		return multiple{energy: k, water: 1, perVolt: k}
	})
}

// numbers are all numbers of a case, in the order of its fields.
func numbers(v reflect.Value, path string, each func(path string, x float64)) {
	switch v.Kind() {
	case reflect.Float64:
		each(path, v.Float())
	case reflect.Pointer:
		if !v.IsNil() {
			numbers(v.Elem(), path, each)
		}
	case reflect.Slice:
		for i := range v.Len() {
			numbers(v.Index(i), fmt.Sprintf("%s[%d]", path, i), each)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				numbers(v.Field(i), path+"."+f.Name, each)
			}
		}
	}
}

// TestFeetAndFahrenheitAreMetresAndCelsius: one case written in ft, °F, BTU and hours
// and in SI: the same numbers but for rounding, and the same run.
//
// What a file says in another unit is rounded to 13 digits, so that a depth in feet
// and the same in metres are one: a unit of the last, at most 1e-12 of the number.
// Source: NIST SP 811 (2008), appendix B.8 (from memory).
func TestFeetAndFahrenheitAreMetresAndCelsius(t *testing.T) {
	var y tally
	worst, where, count := 0.0, "", 0
	wish{dry: true}.properties(t, 16, few, func(d *drawn, c *cases.Case) {
		other := d.load(t, us())
		var a, b []float64
		var names []string
		numbers(reflect.ValueOf(*c), "case", func(path string, x float64) { a, names = append(a, x), append(names, path) })
		numbers(reflect.ValueOf(*other), "case", func(_ string, x float64) { b = append(b, x) })
		if len(a) != len(b) {
			t.Fatalf("%s has %d numbers in SI and %d in US units", d.name, len(a), len(b))
		}
		for i := range a {
			count++
			if a[i] == b[i] || math.IsNaN(a[i]) && math.IsNaN(b[i]) {
				continue
			}
			if e := math.Abs(b[i]/a[i] - 1); !(e <= worst) {
				worst, where = e, names[i]
			}
		}
		y.compare(finish(t, c, equalSteps), finish(t, other, equalSteps), same)
	})
	t.Logf("%d numbers, the largest difference in %s", count, where)
	hold(t, check{"largest difference between the numbers of cases read in US and in SI units, share", "NIST SP 811", worst, 0, "", 1e-12})
	y.holdClose(t, "cases in US and in SI units", "NIST SP 811")
}
