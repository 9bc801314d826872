//dossier:chapter Boiling

package validation

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"soiljoule/materials"
)

// explicit is another program for wet ground in one dimension, a column of 1 m² from
// the surface down or rings 1 m high round an axis: plain arrays, every rate taken from
// the step's start, steps as short as conduction asks for. It has the enthalpies of the
// table of the saturation line, straight between its rows, and shares with the program
// under test what is known of the ground and nothing else.
type explicit struct {
	volume        []float64 // [m³]
	area          []float64 // [m²] face i is between cells i and i+1
	before, after []float64 // [m] from the two nodes to it
	outer, inner  []float64 // [-] of rings: ln(r_out/r_node), ln(r_node/r_in)

	soil     materials.Soil
	solids   float64 // [J/(m³·K)] C_s
	found    float64 // [kg/m³]
	dry      float64 // [kg/m³]
	field    float64 // [kg/m³] more than this goes down; +Inf: none does
	floor    float64 // [kg/m³] inflow holds W here; 0: none
	film     float64 // [W/(m²·K)] at the surface, to air at the start's temperature
	power    []float64
	rings    bool
	volts    float64 // [V] between the wall, the inner face of cell rod, and the outer face
	rod      int
	added    float64 // [kg/s] at cell rod, at the start's temperature; in rings into the first from there that lack water
	rising   bool
	captures []bool  // by cell: in the extraction interval
	capture  float64 // [-]

	time, current                                      float64
	E, W, T, net                                       []float64
	table                                              [][2]float64 // [K], [J/kg] h_w − h_w(T₀)
	joule, lost                                        float64      // [J]
	steam, captured, surface, condensed, water, ground float64      // [kg] of steam out, of that, taken in by cells net in a step, in, and out below
	groundHeat                                         float64      // [J]
}

// liquidTable reads h_w − h_w(10 °C) of the saturation line from 10 °C on.
func liquidTable(t *testing.T) (out [][2]float64) {
	t.Helper()
	f, err := os.Open("testdata/water_saturation.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		if row[0] != "saturation" {
			continue
		}
		T, err1 := strconv.ParseFloat(row[2], 64)
		h, err2 := strconv.ParseFloat(row[6], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if T >= atStart {
			out = append(out, [2]float64{T, 1e3*h - coldHolds})
		}
	}
	return out
}

// newExplicit returns the ground as found between edges [m].
func newExplicit(t *testing.T, soil materials.Soil, edges []float64, rings bool) *explicit {
	t.Helper()
	n := len(edges) - 1
	x := &explicit{soil: soil, rings: rings, table: liquidTable(t), field: math.Inf(1), power: make([]float64, n), captures: make([]bool, n),
		E: make([]float64, n), W: make([]float64, n), T: make([]float64, n), net: make([]float64, n)}
	x.found = soil.Porosity * soil.Saturation * 998.2
	x.dry = soil.Porosity * soil.DrySaturation * 998.2
	x.solids = soil.HeatCapacity - x.found*coldSlope
	for i := range n {
		x.W[i], x.T[i] = x.found, atStart
		a, b := edges[i], edges[i+1]
		node := (a + b) / 2
		if !rings {
			x.volume = append(x.volume, b-a)
			x.area = append(x.area, 1)
			x.after, x.before = append(x.after, (b-a)/2), append(x.before, (b-a)/2)
			continue
		}
		x.volume = append(x.volume, math.Pi*(b*b-a*a))
		x.area = append(x.area, 2*math.Pi*b)
		x.before = append(x.before, b*math.Log(b/node))
		x.outer = append(x.outer, math.Log(b/node))
		inner := 0.0
		if a > 0 {
			inner = math.Log(node / a)
		}
		x.inner = append(x.inner, inner)
		x.after = append(x.after, a*inner)
	}
	return x
}

// conductivity is λ of ground with w of water [W/(m·K)]:
//
//	λ = λ_dry + (λ_found − λ_dry) Ke(S)/Ke(S₀),  Ke = 1.9 S/(1 + 0.9 S)
//
// Source: Côté & Konrad, Can. Geotech. J. 42:443, 2005 (from memory).
func (x *explicit) conductivity(w float64) float64 {
	s := &x.soil
	ke := func(S float64) float64 { return 1.9 * S / (1 + 0.9*S) }
	return s.ThermalConductivityDry + (s.ThermalConductivity-s.ThermalConductivityDry)*ke(w/(s.Porosity*998.2))/ke(s.Saturation)
}

// sigma is the electrical conductivity [S/m] of ground found full of water: straight in
// temperature up to the boiling point, the square of saturation down to a residual.
func (x *explicit) sigma(T, w float64) float64 {
	s := &x.soil
	law := func(u float64) float64 { return u * u }
	dry := law(s.DrySaturation / s.Saturation)
	f := s.ResidualConductivity + (1-s.ResidualConductivity)*(law(math.Max(w, x.dry)/x.found)-dry)/(1-dry)
	return f * (1 + s.TemperatureCoeff*(math.Min(T, boilsAt)-s.ResistivityAt)) / s.Resistivity
}

// boiling is the heat of a cell at the boiling point with w of water [J/m³].
func (x *explicit) boiling(w float64) float64 {
	return x.solids*(boilsAt-atStart) + w*(liquidHolds-coldHolds)
}

// enthalpy returns h_w(T) − h_w(T₀) [J/kg].
func (x *explicit) enthalpy(T float64) float64 {
	i := 1
	for i < len(x.table)-1 && T > x.table[i][0] {
		i++
	}
	a, b := x.table[i-1], x.table[i]
	return a[1] + (b[1]-a[1])/(b[0]-a[0])*(T-a[0])
}

// temperature returns T of a cell from its heat and water.
func (x *explicit) temperature(e, w float64) float64 {
	if w == 0 {
		return atStart + e/x.solids
	}
	i := 1
	for i < len(x.table)-1 && e > x.solids*(x.table[i][0]-atStart)+w*x.table[i][1] {
		i++
	}
	a, b := x.table[i-1], x.table[i]
	slope := (b[1] - a[1]) / (b[0] - a[0])
	return a[0] + (e-x.solids*(a[0]-atStart)-w*a[1])/(x.solids+w*slope)
}

// passCurrent sets the current [A] from the inner face of ring rod to the outermost, and
// the heat of each ring.
func (x *explicit) passCurrent() {
	total := 0.0
	for i := x.rod; i < len(x.E); i++ {
		total += (x.outer[i] + x.inner[i]) / (2 * math.Pi * x.sigma(x.T[i], x.W[i]))
	}
	x.current = x.volts / total
	for i := x.rod; i < len(x.E); i++ {
		x.power[i] = x.current * x.current * (x.outer[i] + x.inner[i]) / (2 * math.Pi * x.sigma(x.T[i], x.W[i]))
	}
}

// step goes on by dt [s].
func (x *explicit) step(dt float64) {
	n := len(x.E)
	if x.volts > 0 {
		x.passCurrent()
	}
	copy(x.net, x.power)
	for i := range n {
		x.joule += dt * x.power[i]
	}
	for i := range n - 1 {
		l, r := x.conductivity(x.W[i]), x.conductivity(x.W[i+1])
		q := x.area[i] * (x.T[i] - x.T[i+1]) / (x.before[i]/l + x.after[i+1]/r)
		x.net[i] -= q
		x.net[i+1] += q
	}
	if x.film > 0 {
		q := (x.T[0] - atStart) / (x.after[0]/x.conductivity(x.W[0]) + 1/x.film)
		x.net[0] -= q
		x.lost += dt * q
	}
	soaked := x.soak(dt)
	// Steam F [kg] from the deepest cell up; rings have no steam that rises.
	F := 0.0
	for i := n - 1; i >= 0; i-- {
		e, w, v := x.E[i]+dt*x.net[i]/x.volume[i], x.W[i], x.volume[i]
		w += soaked[i]
		if !x.rising {
			F = 0
		}
		if x.captures[i] && (i == n-1 || !x.captures[i+1]) {
			x.captured += x.capture * F
			F *= 1 - x.capture
		}
		switch b := x.boiling(w); {
		case e < b:
			in := math.Min(F/v, (b-e)/latentHeat)
			w += in
			e += in * (steamHolds - coldHolds)
			F -= in * v
			x.condensed += in * v
		default:
			out := (e - b) / latentHeat
			if x.floor > 0 && w-out < x.floor {
				out = math.Max(0, (e-x.boiling(x.floor))/(steamHolds-coldHolds))
				in := math.Max(0, x.floor-w+out)
				x.water += in * v
				w += in
			}
			out = math.Min(out, math.Max(0, w-x.dry))
			w -= out
			e -= out * (steamHolds - coldHolds)
			if x.captures[i] {
				x.captured += x.capture * out * v
				out *= 1 - x.capture
			}
			if x.rising {
				F += out * v
			} else {
				x.captured += out * v
			}
		}
		x.E[i], x.W[i] = e, w
	}
	if x.rising {
		x.surface += F
	}
	x.steam = x.captured + x.surface
	for i := range n {
		x.T[i] = x.temperature(x.E[i], x.W[i])
	}
	if !math.IsInf(x.field, 1) {
		x.drain()
	}
	x.time += dt
}

// soak returns the water that each cell takes of what is added [kg/m³].
func (x *explicit) soak(dt float64) []float64 {
	out := make([]float64, len(x.E))
	left := dt * x.added
	x.water += left
	for i := x.rod; i < len(x.E) && x.rings && left > 0; i++ {
		v := x.volume[i]
		// w + a − (e − E_b(w + a))/h_lv = found, as water at the start's temperature brings no heat.
		boils := math.Max(0, (x.E[i]+dt*x.net[i]/v-x.boiling(x.W[i]))/latentHeat)
		out[i] = math.Min(left/v, math.Max(0, x.found-x.W[i]+boils)/(1+(steamHolds-coldHolds-latentHeat)/latentHeat))
		left -= out[i] * v
	}
	if left > 0 {
		out[x.rod] += left / x.volume[x.rod]
	}
	return out
}

// drain lets what is beyond the field capacity go down to the first cells with room, with
// its heat, or out below; rings have nothing below them.
func (x *explicit) drain() {
	mass, heat := 0.0, 0.0
	for i := range x.E {
		room := (x.field - x.W[i]) * x.volume[i]
		if room < 0 {
			x.W[i] = x.field
			h := -room * x.enthalpy(x.T[i])
			x.E[i] -= h / x.volume[i]
			mass, heat = mass-room, heat+h
			if x.rings {
				x.ground += mass
				x.groundHeat += heat
				mass, heat = 0, 0
			}
			continue
		}
		if in := math.Min(room, mass); in > 0 {
			h := heat * in / mass
			x.W[i] += in / x.volume[i]
			x.E[i] += h / x.volume[i]
			mass, heat = mass-in, heat-h
			x.T[i] = x.temperature(x.E[i], x.W[i])
		}
	}
	x.ground += mass
	x.groundHeat += heat
}

// until goes on to a time [s], in equal steps of a share of the longest that explicit
// conduction is stable with.
func (x *explicit) until(end, share float64) {
	least := math.Inf(1)
	lambda := math.Max(x.soil.ThermalConductivity, x.conductivity(998.2*x.soil.Porosity))
	for i := range x.E {
		g := 0.0
		if i > 0 {
			g += x.area[i-1] * lambda / (x.before[i-1] + x.after[i])
		}
		if i < len(x.E)-1 {
			g += x.area[i] * lambda / (x.before[i] + x.after[i+1])
		}
		least = math.Min(least, x.volume[i]*x.solids/g)
	}
	n := math.Ceil((end - x.time) / math.Min(share*least, 7200))
	dt := (end - x.time) / n
	for range int(n) {
		x.step(dt)
	}
	x.time = end
}

// stored returns the water of the ground less that found [kg], and the heat in it [J].
func (x *explicit) stored() (mass, heat float64) {
	for i, v := range x.volume {
		mass += v * (x.W[i] - x.found)
		heat += v * x.E[i]
	}
	return mass, heat
}
