//dossier:chapter Plans

package validation

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"soiljoule/physics"
	"soiljoule/solver"
)

// heatedRows is rows of two poles in turn, of rods that all are as long, from top on [m], in
// even ground of 30 Ω·m at 60 V, about the middle between the third and the fourth row.
type heatedRows struct {
	apart, inRow, top, length float64 // [m]
	rods                      int     // of a row of the plan
	finest                    float64 // [m] of the plan
	days                      float64
}

const heatedRowCount, rowRod = 6, 0.15

func (h heatedRows) x(row int) float64 { return float64(row) * h.apart }

// text is the case in a section or a plan.
func (h heatedRows) text(plan bool) string {
	var b strings.Builder
	bottom := h.top + h.length
	if plan {
		fmt.Fprintf(&b, "title = \"plan\"\nview = \"plan\"\nextent = { top = \"%g m\", bottom = \"%g m\" }\nmesh.finest = \"%g m\"\n", h.top, bottom, h.finest)
	} else {
		fmt.Fprintf(&b, "title = \"section\"\nview = \"section\"\nextent.length = \"%g m\"\nmesh.finest = \"0.15 m\"\n", h.inRow)
	}
	fmt.Fprintf(&b, `site = { ambient = "12 degC", water_table = "1 m", resistivity_at = "25 degC" }
surface.air = "12 degC"
steam.boiling = false
supply = { phases = 1, voltage = "60 V", voltage_basis = "phase to neutral" }
time.duration = "%g d"
[[layer]]
name = "silt"
resistivity = "30 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity = "2.9 MJ/m3/K"
porosity = 0.42
saturation = 1
[[target]]
name = "middle"
temperature = "90 degC"
`, h.days)
	if plan {
		fmt.Fprintf(&b, "outline = [[\"%[1]g m\", \"%[3]g m\"], [\"%[2]g m\", \"%[3]g m\"], [\"%[2]g m\", \"%[4]g m\"], [\"%[1]g m\", \"%[4]g m\"]]\n", h.x(2), h.x(3), -h.inRow, h.inRow)
	} else {
		fmt.Fprintf(&b, "left = \"%g m\"\nright = \"%g m\"\ntop = \"%g m\"\nbottom = \"%g m\"\n", h.x(2), h.x(3), h.top, bottom)
	}
	for i := range heatedRowCount {
		f := field{phases: 1, distance: h.apart, top: h.top, length: h.length, rod: rowRod}
		if !plan {
			b.WriteString(f.electrode(fmt.Sprint("R", i), i, fmt.Sprintf("rod_spacing = \"%g m\"", h.inRow)))
			continue
		}
		for j := range h.rods {
			b.WriteString(f.electrode(fmt.Sprintf("R%d_%d", i, j), i, fmt.Sprintf("y = \"%g m\"", float64(j-h.rods/2)*h.inRow)))
		}
	}
	return b.String()
}

// sought is what both views say of the middle of the rows.
type sought struct {
	current float64 // [A] of one rod of the third row
	power   float64 // [W/m³] midway between the third and the fourth, on average over the slab
	rise    float64 // [K] there
	heat    float64 // [W] in the slab, from the second to the fifth row, by rod of a row
}

// of returns it of a report: of a plan the mean along one distance to each side of its middle.
func (h heatedRows) of(p *solver.Problem, s *solver.State, plan bool) sought {
	var out sought
	for b := range p.Electric.Bodies {
		if name := p.Electric.Bodies[b].Name; plan && name == fmt.Sprintf("R2_%d", h.rods/2) || !plan && name == "R2" {
			out.current = cmplx.Abs(s.Current[b]) * s.Voltage / p.Electric.Bodies[b].Rods
		}
	}
	g := p.Ground.Grid
	lo, hi := h.top, h.top+h.length
	if plan {
		lo, hi = -h.inRow, h.inRow
	}
	middle := (h.x(2) + h.x(3)) / 2
	power, rise := make([]float64, g.NX), make([]float64, g.NX) // by column
	for k := range g.NZ {
		w := math.Max(0, math.Min(g.Z[k+1], hi)-math.Max(g.Z[k], lo)) / (hi - lo)
		for i := range g.NX {
			c := k*g.NX + i
			q := s.Joule[c] * s.Voltage * s.Voltage / g.Volume[c]
			power[i] += w * q
			rise[i] += w * (s.T[c] - 285.15)
		}
	}
	for i := range g.NX {
		if across := math.Min(g.X[i+1], h.x(4)) - math.Max(g.X[i], h.x(1)); across > 0 {
			out.heat += power[i] * across * h.length * h.inRow
		}
	}
	i := 0
	for g.XC[i+1] < middle {
		i++
	}
	f := (middle - g.XC[i]) / (g.XC[i+1] - g.XC[i])
	out.power, out.rise = (1-f)*power[i]+f*power[i+1], (1-f)*rise[i]+f*rise[i+1]
	return out
}

// run returns it at power-on, and at the end of the days.
func (h heatedRows) run(t *testing.T, plan bool) (cold, end sought) {
	t.Helper()
	p := caseOf(t, h.text(plan))
	r, err := solver.Start(p)
	if err != nil {
		t.Fatal(err)
	}
	cold = h.of(p, r.State, plan)
	if h.days > 1 {
		r, err = solver.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		end = h.of(p, r.State, plan)
	}
	return cold, end
}

// elements returns what boundary elements say of the cold current of the rod in the middle,
// and of the power midway, on average along the rods' length and from rod to rod.
func (h heatedRows) elements(t *testing.T) (current, power float64) {
	t.Helper()
	const sigma, volts = (1 - 0.0187*13) / 30.0, 60 // at 12 °C, by the linear law
	r := rodsApart{array: array{earth: even(sigma), top: h.top, length: h.length, a: rowRod, cells: 1}}
	for i := range heatedRowCount {
		for j := range h.rods {
			r.stands = append(r.stands, stand{h.x(i), float64(j-h.rods/2) * h.inRow, string(rune('A' + i%2))})
		}
	}
	r.panel = r.panels()
	n, m := len(r.panel), len(r.stands)
	p, v := mat.NewSymDense(n*m, nil), mat.NewVecDense(n*m, nil)
	blocks := map[float64]*mat.Dense{}
	for i, a := range r.stands {
		for j, b := range r.stands[:i+1] {
			d := math.Round(math.Hypot(a.x-b.x, a.y-b.y)*1e9) / 1e9
			if blocks[d] == nil {
				blocks[d] = r.between(r.panel, d, 0)
			}
			for k := range n {
				for l := range n {
					p.SetSym(i*n+k, j*n+l, blocks[d].At(k, l))
				}
			}
		}
		for k := range n { // as many at either pole, which stand as in a mirror: no current is left over
			v.SetVec(i*n+k, volts*real(physics.Phasor(1, a.phase)))
		}
	}
	var chol mat.Cholesky
	var q mat.VecDense
	if !chol.Factorize(p) || chol.SolveVecTo(&q, v) != nil {
		t.Fatalf("boundary elements of %d panels have no solution", n*m)
	}
	for i := range n * m {
		r.charge = append(r.charge, complex(q.AtVec(i), 0))
	}
	middle := 2*h.rods + h.rods/2
	for k := range n {
		current += math.Abs(q.AtVec(middle*n + k))
	}
	const along = 4
	for j := range along {
		power += r.density((h.x(2)+h.x(3))/2, (float64(j)+0.5)/along*h.inRow/2) / along
	}
	return current, power
}

// TestRoundTripOfHeatWhenCold: alternating rows of short rods draw alike by plan, where each
// rod stands by itself and where heat lies follows from the rods' ends, and by section, which
// resolves depth and has a row as a sheet; the plan heats the ground midway between rows as
// rods in three dimensions do; and the slab as a whole, alike in both. Rods 3 m and 1.8 m
// long, rows and rods 4 m apart, in even ground.
//
// Source: boundary elements in three dimensions for the same six rows of seven rods; and the
// section, which shares nothing with the plan of how electrodes and their ends are
// represented. Tolerances: current 1.5 % of the elements', the plan's rods 1 %
// (TestRodsOfAPlan), lines with ends 0.3 %, elements of a radius 0.2 %; of the section's
// 3 %, the 1 % and its correction of rows 2 % (TestFiniteRowsAgainstThreeDimensions). Power
// midway 5 % of the elements', 3 % as in TestWhereShortRodsHeat, which holds them to
// that, and the square of 1 % of current, on cells of 0.2 m and of 0.4 m, four radii: 2 and 3 %
// more were found. A plan of rods without end would have 74 and 144 % more.
// Midway the section's power is 11 and 14 % above the elements', as it has a row's current
// all along its sheet: held to 20 %, what it is known by, not what is asked. It books all
// heat of its rows' correction, that of the rods' own radius and ends with it, at the row's
// levels: of the slab's heat it has more, at most as much more as flat ends and what is
// beside them take, a fifth; 10 and 17 % were found.
func TestRoundTripOfHeatWhenCold(t *testing.T) {
	var rows [][]string
	for _, length := range []float64{3, 1.8} {
		h := heatedRows{apart: 4, inRow: 4, top: 2, length: length, rods: 7, finest: 0.2, days: 1}
		s, _ := h.run(t, false)
		p, _ := h.run(t, true)
		current, power := h.elements(t)
		name := fmt.Sprintf(", rows 4 m apart of rods %g m long, cold", length)
		hold(t, check{"current of a rod in the middle by plan" + name, "boundary elements in three dimensions", p.current, current, "A", 0.015 * current})
		hold(t, check{"power density midway between rows by plan" + name, "boundary elements in three dimensions", p.power, power, "W/m3", 0.05 * power})
		wide := h
		wide.finest = 0.4
		onWide, _ := wide.run(t, true)
		hold(t, check{"power density midway between rows by plan" + name + ", on cells of 0.4 m", "boundary elements in three dimensions", onWide.power, power, "W/m3", 0.05 * power})
		hold(t, check{"current of a rod in the middle by plan" + name, "the section's", p.current, s.current, "A", 0.03 * s.current})
		hold(t, check{"power density midway between rows by section" + name, "boundary elements in three dimensions", s.power, power, "W/m3", 0.2 * power})
		misses(t, "power density midway between rows by section"+name, "within 3 % of boundary elements", fmt.Sprintf("%+.1f %%", 100*(s.power/power-1)))
		hold(t, check{"heat in the slab by plan" + name, "the section's, less a tenth", p.heat, 0.9 * s.heat, "W", 0.1 * s.heat})
		rows = append(rows, []string{fmt.Sprintf("%g", length), fmt.Sprintf("%.2f, %.2f, %.2f", s.current, p.current, current), fmt.Sprintf("%.2f, %.2f, %.2f", s.power, p.power, power), fmt.Sprintf("%.0f, %.0f", s.heat, p.heat)})
	}
	table(t, "Rows of short rods by section, by plan and by boundary elements, cold, 30 Ω·m, 60 V", []string{"rods' length, m", "current, A", "power density midway, W/m³", "heat in the slab by section and plan, W a rod of each row"}, rows)
}
