package cases

import (
	"fmt"
	"math"
	"strings"

	"soiljoule/materials"
	"soiljoule/mesh"
	"soiljoule/physics"
)

// rising reports whether steam rises and condenses in the ground.
func (c *Case) rising() bool { return c.Steam.Boiling && c.Steam.Fate == "rising" }

// interval reports whether the case has one in which rising steam is extracted.
func (s *Steam) interval() bool { return s.Top < s.Bottom }

// vapour returns where the steam goes.
func (c *Case) vapour() physics.Vapour {
	if !c.rising() {
		return physics.Vapour{}
	}
	v := physics.Vapour{Rising: true}
	if s := &c.Steam; s.interval() {
		v.Top, v.Bottom, v.Capture = s.Top, s.Bottom, s.CaptureShare
	}
	return v
}

// bores returns where electrodes pass a barrier of rising steam; nil where there is none.
func (c *Case) bores(electric *physics.Electric) []mesh.Zone {
	var out []mesh.Zone
	if !c.rising() || electric == nil {
		return nil
	}
	for _, b := range c.Barriers() {
		for _, i := range b.openings {
			out = append(out, electric.Bodies[i].Zone)
		}
	}
	return out
}

// keeps returns the saturation [-] that does not drain above the water table.
func (l *Layer) keeps() float64 {
	return math.Max(l.Soil().FieldCapacity, l.Saturation)
}

// addedByElectrode returns the rows of water added with each that names an array made one
// for each of its electrodes; of more than mostRows, which are refused, no more.
func (c *Case) addedByElectrode(electrodes []Electrode, layouts []Layout) []WaterAdded {
	var out []WaterAdded
	for _, w := range c.WaterAdded {
		l := layoutOf(layouts, w.Electrode)
		if l == nil || len(out) > mostRows {
			out = append(out, w)
			continue
		}
		for i := range electrodes[l.From:l.To] {
			w.Electrode = electrodes[l.From+i].Name
			out = append(out, w)
		}
	}
	return out
}

// rodsOf returns how many rods an electrode of the view stands for [-].
func (c *Case) rodsOf(e *Electrode) float64 {
	switch {
	case c.View == Axisymmetric:
		return c.Extent.Count
	case c.View == Section && e.Width == 0:
		return c.Extent.Length / e.RodSpacing
	}
	return 1
}

// inModel returns the share of an electrode's active interval that the view has ground
// beside: in a plan that within the slab.
func (c *Case) inModel(e *Electrode) float64 {
	if c.View != Plan {
		return 1
	}
	return math.Max(0, math.Min(e.Bottom, c.Extent.Bottom)-math.Max(e.Top, c.Extent.Top)) / (e.Bottom - e.Top)
}

// added returns the water let into the ground, at all the rods that the view stands for.
// It leaves a bore evenly along its wall, so that cells beside the wall take it by their
// height, whatever their width; in a plan, where a rod is narrower than the cells, by the
// weights that deal it its current. Bodies and ground without pores take none.
func (c *Case) added(ground *physics.Ground, electric *physics.Electric) ([]physics.Added, error) {
	var out []physics.Added
	body := map[string]int{}
	for i := range c.Electrodes {
		body[c.Electrodes[i].Name] = i
	}
	for i := range c.WaterAdded {
		w := &c.WaterAdded[i]
		if w.Rate == 0 {
			continue
		}
		e := &c.Electrodes[body[w.Electrode]]
		a := physics.Added{Name: w.Electrode, Rate: w.Rate * materials.RhoWater * c.rodsOf(e) * c.inModel(e),
			Temperature: w.Temperature, From: w.From, To: w.To}
		sum := 0.0
		take := func(cell int, share float64) {
			if electric.BodyOf[cell] < 0 && ground.Store(cell).Pores > 0 && share > 0 {
				a.Cells, a.Share, sum = append(a.Cells, cell), append(a.Share, share), sum+share
			}
		}
		if c.View == Plan {
			for j := range electric.Rods {
				if r := &electric.Rods[j]; r.Body == body[w.Electrode] {
					for n, cell := range r.Cell {
						take(cell, r.Part[0][n])
					}
				}
			}
		} else {
			g := ground.Grid
			for _, at := range c.beside(g, e, &electric.Bodies[body[w.Electrode]].Zone) {
				take(at, g.Height[at/g.NX])
			}
		}
		if sum == 0 {
			return nil, fmt.Errorf("water_added[%d].electrode = %s: there is no ground beside it that takes water", i+1, w.Electrode)
		}
		for j := range a.Share {
			a.Share[j] /= sum
		}
		out = append(out, a)
	}
	return out, nil
}

// beside returns the cells of a section or an axisymmetric view that lie at an
// electrode's wall, in row order: the ring about a rod on the axis, either side of a
// plate, the column that a row of rods is coupled to.
func (c *Case) beside(g *mesh.Grid, e *Electrode, zone *mesh.Zone) []int {
	columns := []int{zone.I0 - 1, zone.I1}
	if c.View == Section && e.Width == 0 {
		columns = columns[:0]
		for i := zone.I0; i < zone.I1; i++ {
			columns = append(columns, i)
		}
	}
	var out []int
	for k := zone.K0; k < zone.K1; k++ {
		for _, i := range columns {
			if i >= 0 && i < g.NX {
				out = append(out, g.Index(i, k))
			}
		}
	}
	return out
}

// Barriers returns the layers that rising steam does not enter, by their index, each
// with the depths of its faces [m].
func (c *Case) Barriers() []Barrier {
	var out []Barrier
	top := 0.0
	for i := range c.Layers {
		l := &c.Layers[i]
		if l.SteamBarrier {
			b := Barrier{Name: l.Name, Top: top, Bottom: l.Bottom}
			for j := range c.Electrodes {
				// A face written in feet and one in metres meet but for their last digits.
				if e := &c.Electrodes[j]; e.Top < l.Bottom-1e-9 && e.Bottom > l.Bottom+1e-9 {
					b.Openings = append(b.Openings, e.Name)
					b.openings = append(b.openings, j)
				}
			}
			out = append(out, b)
		}
		top = l.Bottom
	}
	return out
}

// Barrier is a layer that rising steam does not enter.
type Barrier struct {
	Name        string
	Top, Bottom float64  // [m]
	Openings    []string // electrodes that cross its lower face, in whose place steam rises
	openings    []int    // by index
}

// checkSteam refuses an interval of extraction that is none, and barriers that cannot be.
func (l *loader) checkSteam() {
	c := l.c
	s := &c.Steam
	top, bottom := l.has("steam", 0, "top"), l.has("steam", 0, "bottom")
	const both = "is missing; the interval in which steam is extracted needs both its depths"
	switch {
	case top && !bottom:
		l.no("steam", 0, "bottom", both)
	case bottom && !top:
		l.no("steam", 0, "top", both)
	case top && s.Top >= s.Bottom:
		l.no("steam", 0, "bottom", "must be below the top, %s", metres(s.Top))
	case top:
		l.thin("steam", 0, "bottom", s.Bottom-s.Top)
		if d := l.deepest(); s.Bottom > d {
			l.no("steam", 0, "bottom", "must be within the layers, which end at %s", metres(d))
		}
		// The slab is one layer of cells: steam leaves it upwards, whole.
		if c.View == Plan && s.Bottom > c.Extent.Top+1e-9 {
			l.no("steam", 0, "bottom", "must not be below extent.top, %s: of a plan the interval is above the slab, where its steam comes through", metres(c.Extent.Top))
		}
	}
	if !top && !bottom && l.has("steam", 0, "capture_share") && s.CaptureShare < 1 {
		l.no("steam", 0, "capture_share", "acts on nothing: it is of the interval from steam.top to steam.bottom, which is not given")
	}
	above := 0.0
	for i := range c.Layers {
		y := &c.Layers[i]
		if y.FieldCapacity < y.DrySaturation {
			l.no("layer", i, "field_capacity", "must be at least dry_saturation, %s: drier ground does not drain", about(y.DrySaturation))
		}
		if y.Porosity == 0 && l.has("layer", i, "field_capacity") {
			l.no("layer", i, "field_capacity", "must not be given where the porosity is 0")
		}
		if y.SteamBarrier && len(c.Targets) > 0 && !l.unordered {
			if t := &c.Targets[0]; t.Top < y.Bottom-1e-9 && t.Bottom > above+1e-9 {
				l.no("layer", i, "steam_barrier", "must be false of a layer that holds ground of the first target, %s: it boils there, and its steam must leave", t.Name)
			}
		}
		above = y.Bottom
	}
}

// checkIntervalWithin refuses an interval of extraction below the modelled ground. It
// needs sound values.
func (l *loader) checkIntervalWithin() {
	if !l.c.Steam.interval() {
		return
	}
	x, _ := l.c.Expand()
	if _, _, bottom := x.Bounds(); l.c.Steam.Top >= bottom-1e-9 {
		l.no("steam", 0, "top", "is below the modelled ground, which ends at %s: no steam comes there", metres(bottom))
	}
}

// checkWaterAdded refuses water that no electrode takes or that would be none. Names of
// an array's electrodes need sound values.
func (l *loader) checkWaterAdded() {
	c := l.c
	if len(c.WaterAdded) == 0 {
		return
	}
	if l.tree["electrode"] == nil && l.tree["array"] == nil {
		l.no("water_added", 0, "", "adds water at nothing: the case has neither [[electrode]] nor [[array]]")
		return
	}
	if !c.Steam.Boiling {
		l.no("water_added", 0, "", "must not stand where nothing boils (steam.boiling = false): water is not followed there")
		return
	}
	for i := range c.WaterAdded {
		w := &c.WaterAdded[i]
		if w.From >= w.To {
			l.no("water_added", i, "to", "must be later than from, %s d", about(w.From/day))
		}
		if c.Site.Ambient < materials.Celsius-1e-6 && !l.has("water_added", i, "temperature") {
			l.no("water_added", i, "temperature", "is left at site.ambient, %s °C; must be at least 0 °C", about(c.Site.Ambient-materials.Celsius))
		}
	}
	sound := len(l.faults) == 0
	if !sound && len(c.Arrays) > 0 {
		return
	}
	x := c
	var layouts []Layout
	if sound {
		x, layouts = c.Expand()
	}
	if len(x.WaterAdded) > mostRows {
		l.no("water_added", 0, "", "is one of more than %d rows that those of arrays come to; make them fewer", mostRows)
		return
	}
	coolest := map[float64]float64{}
	at := map[string]int{}
	var names []string
	for i := range x.Electrodes {
		if n := x.Electrodes[i].Name; n != "" {
			at[n], names = i, append(names, n)
		}
	}
	for i := range c.Arrays {
		names = append(names, c.Arrays[i].Name)
	}
	for i := range c.WaterAdded {
		w := &c.WaterAdded[i]
		if w.Electrode == "" {
			continue // refused already
		}
		j, there := at[w.Electrode]
		from, to := j, j+1
		if a := layoutOf(layouts, w.Electrode); a != nil {
			if there {
				l.no("water_added", i, "electrode", "is the name of an electrode and of an array; name one of them otherwise")
				continue
			}
			from, to = a.From, a.To
		} else if !there {
			of := ""
			if len(c.Arrays) > 0 {
				of = "; or of an array, for each of its electrodes: " + listArrays(c)
			}
			l.no("water_added", i, "electrode", "must be the name of an electrode;%s there %s%s", nearestName(w.Electrode, names), listNames(x), of)
			continue
		}
		for j := from; j < to; j++ {
			if no := x.noWaterAt(w, &x.Electrodes[j], coolest); no[0] != "" {
				l.no("water_added", i, no[0], "%s", no[1])
				break
			}
		}
	}
}

// noWaterAt returns the key and the reason for which an electrode cannot take the water,
// "" where it can. coolest keeps the least boiling points [K] of the run by depth [m]: a
// search of all rows of long files for each row of water would take its time.
func (c *Case) noWaterAt(w *WaterAdded, e *Electrode, coolest map[float64]float64) [2]string {
	pores := false
	top, bottom := e.Top, e.Bottom
	if c.View == Plan {
		top, bottom = math.Max(top, c.Extent.Top), math.Min(bottom, c.Extent.Bottom)
	}
	for _, p := range c.Parts(top, bottom) {
		pores = pores || p.Thickness() > sliver && !(p.Layer.Porosity == 0)
	}
	if !pores && e.Top < e.Bottom {
		return [2]string{"electrode", "stands in ground without pores, which takes no water"}
	}
	depth := e.Top
	if c.View == Plan {
		depth = (c.Extent.Top + c.Extent.Bottom) / 2
	}
	if !c.Steam.Boiling || math.IsNaN(depth+w.Temperature+c.Site.Elevation+c.TableAt(w.From)) {
		return [2]string{}
	}
	if w.Temperature == c.Site.Ambient { // as where it is left out: in ground that boils as found
		return [2]string{}
	}
	least, known := coolest[depth]
	if !known {
		least, _, _, _ = c.BoilingRange(depth)
		coolest[depth] = least
	}
	if w.Temperature < least {
		return [2]string{}
	}
	boils := func(t float64) float64 { return c.BoilingPoint(depth, math.Min(math.Max(t, w.From), w.To)) }
	if tb, at, _, _ := c.extremes(boils); w.Temperature >= tb {
		where, when := "at the electrode's upper end", ""
		if c.View == Plan {
			where = "in the slab's middle"
		}
		if c.PressureVaries() {
			when = fmt.Sprintf(" on day %s", about(math.Min(math.Max(at, w.From), w.To)/day))
		}
		return [2]string{"temperature", fmt.Sprintf("must be below the boiling point %s, %s °C%s: hotter water would flash as it leaves the bore", where, about(tb-materials.Celsius), when)}
	}
	return [2]string{}
}

// nearestName is nearestOf for names, whose capitals count for little.
func nearestName(name string, candidates []string) string {
	lower := make([]string, len(candidates))
	for i, c := range candidates {
		lower[i] = strings.ToLower(c)
	}
	best := nearest(name, lower)
	for i, c := range lower {
		if best != "" && c == best {
			return " nearest is " + candidates[i] + ";"
		}
	}
	return ""
}
