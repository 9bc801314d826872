package cases

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"soiljoule/materials"
	"soiljoule/physics"
)

// Flows reports whether water flows through the ground at any time of the run.
func (c *Case) Flows() bool {
	if _, most := c.Surface.Infiltration.Range(c.Time.Duration); most > 0 {
		return true
	}
	if c.View == Plan {
		x, y := c.slabFlux()
		return x != 0 || y != 0
	}
	for i := range c.Layers {
		if c.Layers[i].Groundwater != 0 {
			return true
		}
	}
	return false
}

// flow returns the water that flows through the ground.
func (c *Case) flow(ground *physics.Ground) physics.Flow {
	var f physics.Flow
	switch c.View {
	case Plan:
		x, y := c.slabFlux()
		if x != 0 {
			f.Across = slices.Repeat([]float64{x}, ground.Grid.NZ)
		}
		f.Down = y
	case Section:
		f.Across = make([]float64, ground.Grid.NZ)
		for k, l := range ground.Layer {
			f.Across[k] = c.Layers[l].Groundwater
		}
	}
	if _, most := c.Surface.Infiltration.Range(c.Time.Duration); most > 0 {
		rates := c.Surface.Infiltration.sum()
		f.Rain = rates.mean
	}
	return f
}

// asPower returns the rates as a power: both run straight from row to row.
func (i *Infiltration) asPower() *Power {
	p := &Power{Constant: i.Constant}
	for _, row := range i.Series {
		p.Series = append(p.Series, PowerPoint{row.Time, row.Rate})
	}
	return p
}

// sum returns the rates with their integral; a constant is a series of one row.
func (i *Infiltration) sum() powerSum {
	p := i.asPower()
	if p.Series == nil {
		p.Series = []PowerPoint{{0, i.Constant}}
	}
	return newPowerSum(p)
}

// Mean returns the mean rate [m/s] between power-on and end [s].
func (i *Infiltration) Mean(end float64) float64 {
	s := i.sum()
	return s.mean(0, end)
}

// Range returns the least and the largest rate [m/s] between power-on and end [s].
func (i *Infiltration) Range(end float64) (least, most float64) {
	return i.asPower().Range(end)
}

// Front returns how fast the layer's groundwater carries a front of heat [m/s],
//
//	v = q ρ_w c_w/C
//
// towards +x, c_w that of water at the ground's temperature at the start [K].
// Source: balance of heat; common practice.
func (l *Layer) Front(ambient float64) float64 {
	if l.Groundwater == 0 {
		return 0
	}
	return l.Groundwater * carries(ambient) / l.HeatCapacity
}

// carries returns ρ_w c_w [J/(m³·K)] at a temperature [K]; below 0 °C as there.
func carries(kelvin float64) float64 {
	const d = 0.5 // [K] over which the slope is taken
	t := math.Max(kelvin, materials.Celsius)
	return materials.RhoWater * (materials.LiquidEnthalpy(t+d) - materials.LiquidEnthalpy(t)) / d
}

// Seepage returns how fast the layer's groundwater goes through its pores [m/s], q/φ.
func (l *Layer) Seepage() float64 {
	if l.Groundwater == 0 {
		return 0
	}
	return l.Groundwater / l.Porosity
}

// RainFront returns how fast infiltration carries a front of heat down [m/s], at its mean
// over the run, in the layer where it is fastest.
func (c *Case) RainFront() float64 {
	v := 0.0
	for i := range c.Layers {
		v = math.Max(v, c.Surface.Infiltration.Mean(c.Time.Duration)*carries(c.Site.Ambient)/c.Layers[i].HeatCapacity)
	}
	return v
}

// farthest is how far beyond the reach of conduction the ground is modelled downstream
// for the sake of a front's travel [m]. What flows out is booked and does not come back:
// further on only the shape of a plume is lost.
const farthest = 100.0

// fronts returns how far water carries a front of heat during the run [m]: towards −x
// and +x, and down from a depth [m] where it meets no water table.
func (c *Case) fronts(from float64) (back, on, down float64) {
	for i := range c.Layers {
		l := &c.Layers[i]
		x := l.Front(c.Site.Ambient) * c.Time.Duration
		back, on = math.Max(back, -x), math.Max(on, x)
	}
	if v := c.RainFront(); v > 0 {
		down = math.Min(v*c.Time.Duration, math.Max(0, c.Site.WaterTable-from))
	}
	return back, on, down
}

// carriedTo returns how far heat reaches by conduction and by water [m]; 0: no water.
func carriedTo(reach, travel float64) float64 {
	if travel == 0 {
		return 0
	}
	return reach + travel
}

// stillWater names groundwater among what is not modelled, where none can be.
func (c *Case) stillWater() string {
	if c.View == Axisymmetric {
		return "groundwater and "
	}
	return ""
}

// unturned is what does not change groundwater.
const unturned = "heating, buoyancy, boiling, drying and bodies in its way do not change it, and it carries heat but neither adds to nor takes from the pore water. It is not the seepage velocity, which is larger."

// aboveTable says that groundwater is given for layers above the water table.
func aboveTable(layers []string) []string {
	if layers == nil {
		return nil
	}
	return []string{fmt.Sprintf("Groundwater is given for %s, which %s above the water table: it flows there at the full flux.", list(layers, "and"), map[bool]string{true: "reaches", false: "reach"}[len(layers) == 1])}
}

// flowCautions says what the model of flowing water leaves out, and names flow that is
// likely not what was meant.
func (c *Case) flowCautions() []string {
	var out, above []string
	if c.View != Axisymmetric && !slices.ContainsFunc(c.Layers, func(l Layer) bool { return l.Groundwater != 0 }) {
		out = append(out, "Groundwater is taken to stand still, as no layer.groundwater is given: none carries heat away.")
	}
	if c.View == Plan {
		return append(out, c.planFlowCautions()...)
	}
	ground := false
	top := 0.0
	for i := range c.Layers {
		l := &c.Layers[i]
		if l.Groundwater != 0 {
			ground = true
			if top < c.Site.WaterTable {
				above = append(above, fmt.Sprintf("%q", l.Name))
			}
		}
		top = l.Bottom
	}
	if ground {
		out = append(out, "Groundwater is a Darcy flux given by layer, even along the section and constant in time: "+unturned)
	}
	out = append(out, aboveTable(above)...)
	if _, most := c.Surface.Infiltration.Range(c.Time.Duration); most > 0 {
		where := "to the water table, where it leaves"
		if math.IsInf(c.Site.WaterTable, 1) {
			where = "through all the modelled ground and leaves below"
		}
		out = append(out, fmt.Sprintf("Infiltration goes straight down %s, everywhere at the rate of the surface: bodies, covers and boiling do not turn it, and on its way it wets what has dried.", where))
		out = append(out, c.rainEnds()...)
	}
	return out
}

// rainEnds says where the rows of infiltration end before the run.
func (c *Case) rainEnds() []string {
	s := c.Surface.Infiltration.Series
	if len(s) == 0 || s[len(s)-1].Time >= c.Time.Duration*(1-1e-9) {
		return nil
	}
	return []string{fmt.Sprintf("The rows of surface.infiltration end on day %.4g: the last rate holds on to day %.4g.", s[len(s)-1].Time/86400, c.Time.Duration/86400)}
}

// checkFlow refuses water that would flow through ground without pores.
func (l *loader) checkFlow() {
	for i := range l.c.Layers {
		if y := &l.c.Layers[i]; math.Abs(y.Groundwater) > 0 && y.Porosity == 0 {
			l.no("layer", i, "groundwater", "must be 0 where the porosity is 0")
		}
	}
}

// rains is the infiltration, at an *Infiltration.
type rains struct{}

func (rains) wants(*key) string {
	return "a water flux with its unit, such as " + flux.examples("0.05") + ", or the name of a .csv file"
}

func (rains) read(in input, dst any) {
	p := dst.(*Infiltration)
	if v, ok := in.raw.(string); ok && strings.HasSuffix(strings.ToLower(v), ".csv") {
		p.File = v
		var rows []point
		rows, p.Text = readSeries(in, v, rainSeries)
		for _, row := range rows {
			p.Series = append(p.Series, RainPoint{row.time, row.value})
		}
		return
	} else if ok && !strings.ContainsAny(v, "0123456789") {
		in.wrongKind()
		return
	}
	p.Constant, _ = quantity{dim: flux}.number(in)
}

func (rains) write(_ *key, src any) string {
	p := src.(*Infiltration)
	if p.File != "" {
		return quote(baseName(p.File))
	}
	return quote(flux.format(p.Constant))
}

func (rains) column(k *key) (string, string) { return k.unit, k.span.text() + " | a .csv file" }
