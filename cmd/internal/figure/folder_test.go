package figure

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/sbinet/npyio/npy"
	"gonum.org/v1/gonum/mat"

	"soiljoule/cases"
	"soiljoule/physics"
)

const ft = 0.3048

// sectionCase is an invented section: a thin silt under a paved yard, nine rows
// of electrodes.
func sectionCase() *cases.Case {
	c := &cases.Case{
		Title:  "Example Paved Yard",
		View:   cases.Section,
		Site:   cases.Site{Ambient: 286.15, WaterTable: 7 * ft, ResistivityAt: 298.15},
		Extent: cases.Extent{Length: 90 * ft},
		Layers: []cases.Layer{
			{Name: "asphalt", Bottom: 0.1},
			{Name: "sand fill", Bottom: 8 * ft},
			{Name: "silt", Bottom: 13 * ft},
			{Name: "clay", Bottom: math.Inf(1)},
		},
		Targets: []cases.Target{{Name: "silt zone", Left: 15 * ft, Right: 75 * ft, Top: 8 * ft, Bottom: 13 * ft, Temperature: 368.15, Share: 0.9, Hold: 30 * 86400}},
		Supply:  cases.Supply{Phases: 3, Voltage: 130, VoltageBasis: "phase to neutral", PowerLimit: 150e3, CurrentLimit: math.Inf(1)},
		Sensors: []cases.Sensor{
			{Name: "T1", X: 22 * ft, Depths: []float64{4 * ft, 8 * ft, 10.5 * ft, 13 * ft, 16 * ft}, Labels: []string{"T1@4ft", "T1@8ft", "T1@10.5ft", "T1@13ft", "T1@16ft"}},
			{Name: "T2", X: 45 * ft, Depths: []float64{4 * ft, 8 * ft, 10.5 * ft, 13 * ft, 16 * ft}, Labels: []string{"T2@4ft", "T2@8ft", "T2@10.5ft", "T2@13ft", "T2@16ft"}},
			{Name: "T3", X: 80 * ft, Depths: []float64{4 * ft, 10.5 * ft, 16 * ft}, Labels: []string{"T3@4ft", "T3@10.5ft", "T3@16ft"}},
		},
		Time:   cases.Time{Duration: 70 * 86400, PowerOn: time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)},
		Output: cases.Output{Units: "us"},
	}
	for i := range 9 {
		c.Electrodes = append(c.Electrodes, cases.Electrode{
			Name: fmt.Sprintf("E%d", i+1), Phase: string(rune('A' + i%3)),
			X: (45 + 7*float64(i-4)) * ft, Top: 7.5 * ft, Bottom: 13.5 * ft, Radius: 0.5 * ft, RodSpacing: 24.2 * ft,
		})
	}
	v, p := 110.0, 120e3
	c.Changes = []cases.Change{{At: 30 * 86400, Voltage: &v, PowerLimit: &p}}
	return c
}

// roundCase is an invented axisymmetric cell around one deep electrode.
func roundCase() *cases.Case {
	return &cases.Case{
		Title:  "Example Deep Cell",
		View:   cases.Axisymmetric,
		Site:   cases.Site{Ambient: 285.15, WaterTable: 6 * ft},
		Extent: cases.Extent{Radius: 2.24, Count: 32},
		Layers: []cases.Layer{
			{Name: "fill", Bottom: 5 * ft},
			{Name: "silt with a long name", Bottom: 25 * ft},
			{Name: "clay", Bottom: math.Inf(1)},
		},
		Targets: []cases.Target{
			{Name: "silt", Radius: math.NaN(), Top: 8 * ft, Bottom: 24 * ft, Boiling: true, Share: 0.95},
			{Name: "upper half", Radius: math.NaN(), Top: 8 * ft, Bottom: 16 * ft, Temperature: 353.15, Share: 0.9},
		},
		Electrodes: []cases.Electrode{{Name: "E1", Phase: "A", Top: 8 * ft, Bottom: 24 * ft, Radius: 0.5 * ft}},
		Supply:     cases.Supply{Phases: 3, Voltage: 200, VoltageBasis: "phase to phase", PowerLimit: math.Inf(1), CurrentLimit: 60},
		Sensors:    []cases.Sensor{{Name: "near", X: 1, Depths: []float64{4}, Labels: []string{"near"}}},
		Time:       cases.Time{Duration: 60 * 86400},
		Output:     cases.Output{Units: "si"},
	}
}

// planCase is an invented plan: a square and a circle in a slab, a ring of six.
func planCase() *cases.Case {
	c := &cases.Case{
		Title:  "Example Ring",
		View:   cases.Plan,
		Site:   cases.Site{Ambient: 285.15, WaterTable: math.Inf(1)},
		Extent: cases.Extent{Top: 2, Bottom: 6},
		Layers: []cases.Layer{{Name: "silt", Bottom: math.Inf(1)}},
		Targets: []cases.Target{
			{Name: "square", Outline: [][2]float64{{8, 4}, {14, 4}, {14, 10}, {8, 10}}, Left: 8, Right: 14, Front: 4, Back: 10, Top: 2, Bottom: 6, Temperature: 353.15, Share: 0.9},
			{Name: "core", Center: [2]float64{11, 7}, Radius: 2, Left: 9, Right: 13, Front: 5, Back: 9, Top: 2, Bottom: 6, Boiling: true, Share: 0.9},
		},
		Heats:   []cases.Heat{{Name: "spot", Center: [2]float64{11, 7}, Radius: 0.5, Left: 10.5, Right: 11.5, Front: 6.5, Back: 7.5, Top: 2, Bottom: 6, Power: cases.Power{Constant: 500}}},
		Supply:  cases.Supply{Phases: 6, Voltage: 200, VoltageBasis: "phase to neutral", PowerLimit: math.Inf(1), CurrentLimit: 60},
		Sensors: []cases.Sensor{{Name: "middle", X: 11, Y: 7, Labels: []string{"middle"}}},
		Time:    cases.Time{Duration: 60 * 86400},
		Output:  cases.Output{Units: "si"},
	}
	for k := range 6 {
		sin, cos := math.Sincos(math.Pi / 3 * float64(k))
		c.Electrodes = append(c.Electrodes, cases.Electrode{Name: fmt.Sprintf("E%d", k+1), Phase: string(rune('A' + k)), X: 11 + 4*cos, Y: 7 + 4*sin, Top: 2, Bottom: 6, Radius: 0.15})
	}
	return c
}

// invented describes a synthetic run.
type invented struct {
	c     *cases.Case
	days  []float64 // of the fields
	power float64   // scales the heating; 0: a run that never heated
}

// writeFolder writes a results folder with analytic fields into a new directory.
func writeFolder(t *testing.T, n invented) string {
	t.Helper()
	dir := t.TempDir()
	for _, sub := range []string{"fields", "mesh"} {
		if err := os.Mkdir(filepath.Join(dir, sub), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	x, z := inventedEdges(n.c)
	writeNpy(t, dir, "mesh/x_edges.npy", x)
	second := "z"
	if n.c.View == cases.Plan {
		second = "y"
	}
	writeNpy(t, dir, "mesh/"+second+"_edges.npy", z)
	xc, zc := centres(x), centres(z)
	cells := func(of func(x, z float64) float64) []float64 {
		var v []float64
		for _, zz := range zc {
			for _, xx := range xc {
				v = append(v, of(xx, zz))
			}
		}
		return v
	}
	boil := func(x, z float64) float64 { return 100 + 2.6*max(0, z-n.c.Site.WaterTable) }
	writeNpy(t, dir, "fields/boiling_point.npy", cells(boil), len(zc), len(xc))
	index := []entry{{"boiling_point.npy", "boiling_point", "degC", nil, []int{len(zc), len(xc)}}}
	for _, d := range n.days {
		name := fmt.Sprintf("temperature_%04g.npy", d)
		if d == math.Trunc(d) {
			name = fmt.Sprintf("temperature_%04gd.npy", d)
		}
		writeNpy(t, dir, "fields/"+name, cells(func(x, z float64) float64 { return inventedTemperature(n, x, z, d) }), len(zc), len(xc))
		index = append(index, entry{name, "temperature", "degC", &d, []int{len(zc), len(xc)}})
	}
	for _, d := range n.days {
		name := fmt.Sprintf("saturation_%04gd.npy", d)
		writeNpy(t, dir, "fields/"+name, cells(func(x, z float64) float64 { return inventedSaturation(n, x, z, d) }), len(zc), len(xc))
		index = append(index, entry{name, "saturation", "-", &d, []int{len(zc), len(xc)}})
	}
	if n.c.View == cases.Plan {
		for _, d := range n.days {
			name := fmt.Sprintf("power_density_%04gd.npy", d)
			writeNpy(t, dir, "fields/"+name, cells(func(x, y float64) float64 { return inventedHeat(n, x, y, d) }), len(zc), len(xc))
			index = append(index, entry{name, "power_density", "W/m3", &d, []int{len(zc), len(xc)}})
		}
		writeNpy(t, dir, "fields/days_to_target.npy", cells(func(x, y float64) float64 { return inventedDay(n, x, y) }), len(zc), len(xc))
	}
	writeJSON(t, dir, "fields/index.json", index)
	writeJSON(t, dir, "run.json", map[string]any{"version": "test", "case_hash": "0123456789abcdef", "finished": true})

	end := n.c.Time.Duration / 86400
	var history, balance, sensors bytes.Buffer
	history.WriteString("# invented\ntime_d,date,power_kW,voltage_V,current_max_A,target_mean_C,target_min_C,share_at_target,energy_in_kWh\n")
	balance.WriteString("time_d,energy_in_kWh,water_in_kWh,stored_target_kWh,stored_outside_kWh,steam_out_kWh,loss_surface_kWh,loss_below_kWh,loss_sides_kWh,carried_by_water_kWh,latent_kWh,residual_kWh\n")
	sensors.WriteString("time_d")
	for _, s := range n.c.Sensors {
		for _, l := range s.Labels {
			sensors.WriteString("," + l + "_C")
		}
	}
	sensors.WriteString("\n")
	crossing := func(share float64) *float64 { // of the share below
		if n.power == 0 {
			return nil
		}
		d := end * (0.25 + 0.5*share)
		return &d
	}
	var energy float64
	var steamHeat []float64 // [kWh]
	const steps = inventedSteps
	for i := range steps + 1 {
		d := end * float64(i) / steps
		power := n.power * min(150, 69+4*d)
		volts := n.power * 130.0
		if d > 30 {
			power, volts = n.power*112, n.power*110
		}
		share := max(0, min(1, (d/end-0.25)/0.5))
		if n.power == 0 {
			share = 0
		}
		if i > 0 {
			energy += power * 24 * end / steps
		}
		fmt.Fprintf(&history, "%g,2026-05-01,%g,%g,%g,%g,%g,%g,%g\n", d, power, volts, power*0.25, 13.0, 13.0, share, energy)
		late := max(0, d/end-0.3)
		steam := 0.3 * energy * late
		steamHeat = append(steamHeat, steam)
		surface := energy*0.08*d/end - 10*n.power*math.Sin(math.Pi*min(1, 10*d/end))
		below, sides := 0.02*energy, 0.004*energy
		target := (energy - steam - surface - below - sides) * 0.4
		fmt.Fprintf(&balance, "%g,%g,0,%g,%g,%g,%g,%g,%g,0,%g,0\n", d, energy, target, energy-target-steam-surface-below-sides, steam, surface, below, sides, 0.8*steam)
		fmt.Fprintf(&sensors, "%g", d)
		for _, s := range n.c.Sensors {
			at := s.Depths
			if n.c.View == cases.Plan {
				at = []float64{s.Y}
			}
			for _, z := range at {
				fmt.Fprintf(&sensors, ",%.4f", inventedTemperature(n, s.X, z, d))
			}
		}
		sensors.WriteString("\n")
	}
	steamTable, waterTable := inventedWater(n, steamHeat)
	writeFile(t, dir, "steam.csv", steamTable)
	writeFile(t, dir, "water.csv", waterTable)
	if n.c.View == cases.Axisymmetric {
		writeFile(t, dir, "surface.csv", inventedSurface(n, "r_m"))
	} else {
		writeFile(t, dir, "surface.csv", inventedSurface(n, "x_m"))
	}
	writeFile(t, dir, "history.csv", history.Bytes())
	writeFile(t, dir, "balance.csv", balance.Bytes())
	writeFile(t, dir, "sensors.csv", sensors.Bytes())
	writeJSON(t, dir, "summary.json", map[string]any{
		"days_to_share_50": crossing(0.5), "days_to_share_90": crossing(0.9), "days_to_share_100": crossing(1), "days_to_target": crossing(0.95),
		"energy_density_kWh_per_m3": 284.1, "energy_density_kWh_per_yd3": 217.2, "target_volume_m3": 765.0,
		"condensed_outside_kWh": 4321.0 * n.power, "zone_loss_top_kWh": 120.4, "zone_loss_bottom_kWh": -8.25, "zone_loss_sides_kWh": 1234.5,
	})
	return dir
}

// inventedSteps is how many steps an invented run takes after its start.
const inventedSteps = 140

// inventedWater is steam.csv and water.csv of a run whose ground boils after a third of its
// time: with more than one electrode a part of the steam passes the surface, a part condenses, and
// groundwater and drip water come in for it. heat [kWh] is what all steam took out by each
// step.
func inventedWater(n invented, heat []float64) (steam, water []byte) {
	var s, w bytes.Buffer
	s.WriteString("time_d,steam_kg_per_h,condensate_gpm,steam_kg,captured_kg_per_h,surface_kg_per_h,held_kg_per_h,condensing_kg_per_h,captured_kg,surface_kg,held_kg,condensed_kg,steam_lb_per_h,pore_volumes_boiled,captured_kWh,surface_kWh,held_kWh,condensed_outside_kWh\n")
	w.WriteString("time_d,recharge_kg,rain_kg,added_kg,steam_kg,to_groundwater_kg,stored_kg,residual_kg\n")
	end := n.c.Time.Duration / 86400
	captured := 1.0
	if len(n.c.Electrodes) > 1 {
		captured = 0.8
	}
	out, condensed := 0.0, 0.0
	for i := range inventedSteps + 1 {
		d := end * float64(i) / inventedSteps
		rate, condensing := 0.0, 0.0
		if d > end/3 && n.power > 0 {
			rate = n.power * 120 * (1 - math.Exp(-(d-end/3)/10))
			condensing = n.power * 60 * math.Exp(-(d-end/3)/15)
		}
		out += rate * 24 * end / inventedSteps
		condensed += condensing * 24 * end / inventedSteps
		fmt.Fprintf(&s, "%g,%g,%g,%g,%g,%g,0,%g,%g,%g,0,%g,%g,%g,%g,%g,0,%g\n", d, rate, rate/227.1, out, captured*rate, (1-captured)*rate, condensing,
			captured*out, (1-captured)*out, condensed, rate/0.4536, out/3e5, captured*heat[i], (1-captured)*heat[i], 0.3*condensed)
		recharge, added, drained := 0.6*out, n.power*4*d*24, 0.2*out
		fmt.Fprintf(&w, "%g,%g,0,%g,%g,%g,%g,1e-9\n", d, recharge, added, out, drained, recharge+added-out-drained)
	}
	return s.Bytes(), w.Bytes()
}

// inventedSaturation is full below the water table and dries where ground is hot and near
// an electrode; what dries wets the ground above it.
func inventedSaturation(n invented, x, z, d float64) float64 {
	full := 1.0
	if z < n.c.Site.WaterTable {
		full = 0.5
	}
	near := math.Inf(1)
	for _, e := range n.c.Electrodes {
		away := math.Abs(x - e.X)
		if n.c.View == cases.Plan {
			away = math.Hypot(x-e.X, z-e.Y)
		} else if z < e.Top || z > e.Bottom {
			away = math.Inf(1)
		}
		near = min(near, away)
	}
	return max(0.1, full-n.power*0.02*d*math.Exp(-near/0.4))
}

// inventedEdges returns uneven edges around the case's target.
func inventedEdges(c *cases.Case) (x, z []float64) {
	uneven := func(n int, length float64) []float64 {
		e := make([]float64, n+1)
		for i := range e {
			s := float64(i) / float64(n)
			e[i] = length * s * (0.5 + 0.5*s)
		}
		return e
	}
	if c.View == cases.Axisymmetric {
		return uneven(24, 2.24), uneven(60, 20)
	}
	for v := -20.0; v <= 110; v += 1.25 {
		x = append(x, v*ft)
	}
	return x, uneven(60, 50*ft)
}

// inventedTemperature [°C] rises in the target to the boiling point, rises most
// at the electrodes, and widens with time.
func inventedTemperature(n invented, x, z, d float64) float64 {
	c := n.c
	ambient := c.Site.Ambient - kelvin
	target := c.Targets[0]
	width := 0.4 + 0.09*math.Sqrt(d)
	edge := func(v, a, b float64) float64 {
		return 0.5 * (math.Erf((v-a)/width) - math.Erf((v-b)/width))
	}
	shape := edge(z, target.Top, target.Bottom)
	if c.View == cases.Plan {
		shape = edge(z, target.Front, target.Back)
	}
	if c.View == cases.Axisymmetric {
		shape *= 0.7 + 0.3*math.Exp(-x/0.5)
	} else {
		shape *= edge(x, target.Left, target.Right) * (0.85 + 0.15*math.Cos(2*math.Pi*(x/ft-45)/7))
	}
	return min(ambient+n.power*2.6*d*shape, 100+2.6*max(0, z-c.Site.WaterTable))
}

// inventedDay is when a place reaches the first target's temperature [d], NaN where it
// does not by the last field.
func inventedDay(n invented, x, z float64) float64 {
	end := n.days[len(n.days)-1]
	for d := 0.0; d <= end; d += 0.25 {
		if inventedTemperature(n, x, z, d) >= n.c.Targets[0].Temperature-kelvin {
			return d
		}
	}
	return math.NaN()
}

// inventedHeat [W/m³] is what the electrodes put into the ground, falling with the square
// of the distance from each; nothing in the last tenth of the run.
func inventedHeat(n invented, x, z, d float64) float64 {
	q := 0.0
	if d > 0.9*n.days[len(n.days)-1] {
		return q
	}
	for _, e := range n.c.Electrodes {
		q += n.power * (1 + d/100) * 60 / (0.05 + (x-e.X)*(x-e.X) + (z-e.Y)*(z-e.Y))
	}
	return q
}

// inventedVolts [V] is what the surface is at above electrodes that each raise it over
// two metres, by less as days pass.
func inventedVolts(n invented, x, d float64) complex128 {
	var v complex128
	for _, e := range n.c.Electrodes {
		away := (x - e.X) / 2
		v += physics.Phasor(n.c.Supply.Phases, e.Phase) * complex(n.power*30/(1+away*away)/(1+d/50), 0)
	}
	return v
}

// inventedSurface is surface.csv of a run, in places of the mesh.
func inventedSurface(n invented, across string) []byte {
	var b bytes.Buffer
	b.WriteString("time_d," + across + ",potential_V,step_V_per_m,gradient_V_per_m\n")
	x, _ := inventedEdges(n.c)
	for _, d := range n.days {
		for _, at := range centres(x) {
			v := inventedVolts(n, at, d)
			fmt.Fprintf(&b, "%g,%g,%g,%g,0\n", d, at, cmplx.Abs(v), cmplx.Abs(inventedVolts(n, at+1, d)-v))
		}
	}
	return b.Bytes()
}

func writeNpy(t *testing.T, dir, name string, v []float64, shape ...int) {
	t.Helper()
	var data any = v
	if len(shape) == 2 {
		data = mat.NewDense(shape[0], shape[1], v)
	}
	var b bytes.Buffer
	if err := npy.Write(&b, data); err != nil {
		t.Fatal(err)
	}
	writeFile(t, dir, name, b.Bytes())
}

func writeJSON(t *testing.T, dir, name string, v any) {
	t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	writeFile(t, dir, name, data)
}

func writeFile(t *testing.T, dir, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), data, 0o666); err != nil {
		t.Fatal(err)
	}
}
