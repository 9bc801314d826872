package cases

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"soiljoule/materials"
)

// steamCautions says where steam is taken to go and what that leaves out, and names keys
// that then change nothing.
func (c *Case) steamCautions() []string {
	var out []string
	switch {
	case !c.Steam.Boiling:
		out = append(out, "Boiling is off (steam.boiling = false): temperatures above the boiling point are not physical.")
	case !c.rising():
		out = append(out, "Steam is taken as extracted where it forms: none condenses in cooler ground above.")
	default:
		where := "its column of ground"
		if c.View == Plan {
			where = "the column of ground above its place in the slab"
		}
		beneath := ""
		if len(c.Barriers()) > 0 {
			beneath = " but beneath a barrier"
		}
		out = append(out, "Steam is taken to rise straight up "+where+", condensing in what lies below its boiling point. Not modelled: steam that goes sideways"+beneath+
			", air in the pores, buoyancy, pressure that builds up, and ways easier than the ground: bores, fractures, trenches of pipes and cables.")
		if c.View == Plan {
			out = append(out, "A plan does not show how rising steam heats the upper part of the slab before the lower: steam leaves the slab whole. Run a section or an axisymmetric view too.")
		}
		out = append(out, c.intervalCautions()...)
		out = append(out, c.barrierCautions()...)
	}
	if !c.rising() {
		why := `steam.fate is "extracted"`
		if !c.Steam.Boiling {
			why = "boiling is off"
		}
		var idle []string
		if c.Steam.interval() {
			idle = append(idle, "the interval from steam.top to steam.bottom")
		}
		for _, b := range c.Barriers() {
			idle = append(idle, "layer."+b.Name+".steam_barrier")
		}
		if idle != nil {
			verb := "changes"
			if len(idle) > 1 {
				verb = "change"
			}
			out = append(out, fmt.Sprintf("%s: %s nothing, as %s.", enumerate(idle), verb, why))
		}
	}
	for i := range c.Layers {
		if l := &c.Layers[i]; l.FieldCapacity <= l.Saturation && !(len(c.Site.Table.Series) > 0 && l.Bottom > c.Site.WaterTable) { // else it drains as the table falls
			out = append(out, fmt.Sprintf("layer.%s.field_capacity, %.3g, is not above the saturation as found, %.3g: it changes nothing, as the water found does not drain.", l.Name, l.FieldCapacity, l.Saturation))
		}
	}
	return append(out, c.addedCautions()...)
}

// intervalCautions says what the extraction of rising steam takes for granted.
func (c *Case) intervalCautions() []string {
	s := &c.Steam
	if !s.interval() {
		return []string{"No interval of extraction is given (steam.top, steam.bottom): steam that does not condense comes out at the surface. Vapour towards people and buildings is not assessed here."}
	}
	out := []string{fmt.Sprintf("The share of steam that extraction captures, %.3g, is an assumption (steam.capture_share): wells, their vacuum and reach are not modelled.", s.CaptureShare)}
	if top := c.heatedFrom(); top < s.Top-1e-9 && c.View != Plan {
		out = append(out, fmt.Sprintf("The interval of extraction begins at %s, below the top of what is heated, %s: steam that forms above it is not captured.", c.length(s.Top), c.length(top)))
	}
	return out
}

// heatedFrom returns the least depth of an electrode or a body of set power [m].
func (c *Case) heatedFrom() float64 {
	top := inf
	for i := range c.Electrodes {
		top = math.Min(top, c.Electrodes[i].Top)
	}
	for i := range c.Heats {
		top = math.Min(top, c.Heats[i].Top)
	}
	return top
}

// barrierCautions says what the spread of steam beneath barriers leaves out.
func (c *Case) barrierCautions() []string {
	var out []string
	_, _, bottom := c.Bounds()
	var names, shut []string
	for _, b := range c.Barriers() {
		if b.Bottom >= bottom-1e-9 {
			out = append(out, fmt.Sprintf("layer.%s.steam_barrier changes nothing: there is no modelled ground below it.", b.Name))
			continue
		}
		names = append(names, b.Name)
		if b.Openings == nil {
			shut = append(shut, b.Name)
		}
	}
	if names != nil {
		none := "to both sides alike"
		if c.View == Axisymmetric {
			none = "outwards"
		}
		out = append(out, fmt.Sprintf("Beneath a barrier (%s) steam spreads in the row of cells just below it, to the nearest electrode that crosses the barrier's lower face, in whose place it rises; where none does, %s. What comes to the end of the row leaves the model there, counted as held. Not modelled: leaks and cracks of a barrier, seals of the bores, steam that gathers and gains pressure beneath.", enumerate(names), none))
	}
	if shut != nil {
		out = append(out, fmt.Sprintf("No electrode crosses the lower face of %s: steam beneath has no way out but the end of its row. On site it would find one, or gain pressure.", enumerate(shut)))
	}
	return out
}

// addedCautions says what is left out of the water added at electrodes.
func (c *Case) addedCautions() []string {
	if !slices.ContainsFunc(c.WaterAdded, func(w WaterAdded) bool { return w.Rate > 0 }) {
		return nil
	}
	out := []string{"Water added leaves an electrode evenly along its active interval, whatever the ground there can take: what the wall has no room for goes on along its level, at once, to the nearest ground that has, else it drains or is displaced. Pressure and tight ground are not modelled. It is taken to conduct current as the pore water does."}
	rows, late, full, part := 0, 0, map[string]bool{}, map[string]bool{}
	at := map[string]*Electrode{}
	for i := range c.Electrodes {
		at[c.Electrodes[i].Name] = &c.Electrodes[i]
	}
	for i := range c.WaterAdded {
		w := &c.WaterAdded[i]
		if w.Rate == 0 {
			continue
		}
		rows++
		if w.From >= c.Time.Duration {
			late++
		}
		e := at[w.Electrode]
		if e == nil { // an array's, of a case not expanded
			continue
		}
		if c.staysFull(e) {
			full[e.Name] = true
		}
		if c.inModel(e) < 1-1e-9 {
			part[e.Name] = true
		}
	}
	if n := len(full); n > 0 {
		out = append(out, fmt.Sprintf("Water is added at %s with unlimited inflow beside part of the active interval, below the water table: groundwater comes there by itself, and added water only fills what boiling has emptied; the rest displaces as much to the groundwater, with its heat.", counted(n, "electrode")))
	}
	if n := len(part); n > 0 {
		verb := "reach"
		if n == 1 {
			verb = "reaches"
		}
		out = append(out, fmt.Sprintf("%s with water added %s beyond the slab: what goes out there is left out.", counted(n, "electrode"), verb))
	}
	if late > 0 {
		out = append(out, fmt.Sprintf("%d of %d rows of [[water_added]] begin after the end of the run.", late, rows))
	}
	if boil, limit := c.boilMost()/1e3, c.Supply.PowerLimit/1e3; boil > limit {
		out = append(out, fmt.Sprintf("To boil all of the water added takes %.4g kW, more than the power limit, %.4g kW: water that does not boil cools the ground.", boil, limit))
	}
	return out
}

// counted writes how many of a thing there are.
func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// staysFull reports whether ground beside an electrode's active interval lies below the
// water table with an inflow that keeps it full.
func (c *Case) staysFull(e *Electrode) bool {
	if c.View == Plan {
		slab := c.slab()
		return (c.Extent.Top+c.Extent.Bottom)/2 > c.Site.WaterTable && math.IsInf(slab.inflow(false), 1)
	}
	top := 0.0
	for i := range c.Layers {
		l := &c.Layers[i]
		from := math.Max(math.Max(top, e.Top), c.Site.WaterTable)
		if math.Min(l.Bottom, e.Bottom) > from+1e-9 && math.IsInf(l.inflow(true), 1) {
			return true
		}
		top = l.Bottom
	}
	return false
}

// boilMost returns what it takes to boil all of the water added at all electrodes of an
// expanded case [W], when that is most.
func (c *Case) boilMost() float64 {
	if !c.Steam.Boiling {
		return 0
	}
	type turn struct{ at, by float64 }
	var turns []turn
	for i := range c.WaterAdded {
		w := &c.WaterAdded[i]
		rods, _ := c.Rods(w.Electrode)
		power := rods * c.BoilPower(w)
		turns = append(turns, turn{w.From, power}, turn{w.To, -power})
	}
	slices.SortStableFunc(turns, func(a, b turn) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.by, b.by)) })
	now, most := 0.0, 0.0
	for _, t := range turns {
		now += t.by
		most = math.Max(most, now)
	}
	return most
}

// BoilPower returns what it takes to boil all of the water that a row adds at one rod
// [W], of an expanded case, from its own temperature T:
//
//	P = ρ_w Q (h″(T_b) − h′(T)),  T_b in the middle of the active interval
func (c *Case) BoilPower(w *WaterAdded) float64 {
	for i := range c.Electrodes {
		if e := &c.Electrodes[i]; e.Name == w.Electrode {
			tb := c.BoilingPoint((e.Top+e.Bottom)/2, w.From)
			return w.Rate * materials.RhoWater * (materials.VapourEnthalpy(tb) - materials.LiquidEnthalpy(w.Temperature))
		}
	}
	return 0
}

// Rods returns how many rods the electrode of that name stands for in an expanded case,
// and the share of its active interval that the view has ground beside.
func (c *Case) Rods(name string) (rods, inModel float64) {
	for i := range c.Electrodes {
		if e := &c.Electrodes[i]; e.Name == name {
			return c.rodsOf(e), c.inModel(e)
		}
	}
	return 0, 0
}
