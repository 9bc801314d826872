package cases

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"sort"
	"strconv"
)

// onward compares a case to go on with, as loaded, with that of the state.
type onward struct {
	*loader
	file    string // of the case before
	before  *Case
	reached Reached

	is, was *Case // both expanded
	layouts []Layout
	told    map[string]bool // keys of arrays that are refused already
	edges   bool            // the rates at the state may not be what they were
}

const stays = ": the state depends on it; run the case from power-on"

// compare records a fault for each thing that may not be as it is.
func (o *onward) compare() {
	if o.c.View != o.before.View {
		o.no("", 0, "view", "must stay %s%s", quote(string(o.before.View)), stays)
		return
	}
	o.was, _ = o.before.Expand()
	o.keepDomain()
	o.is, o.layouts = o.c.Expand()
	for i := range sections {
		o.section(&sections[i])
	}
	o.times()
	if len(o.faults) == 0 { // grids need sound values
		o.interval()
	}
}

// keepDomain lets the ground's size, where it is left open, be what it was.
func (o *onward) keepDomain() {
	is, was := &o.c.Domain, &o.was.Domain
	for _, d := range [][2]*float64{{&is.Left, &was.Left}, {&is.Right, &was.Right}, {&is.Front, &was.Front}, {&is.Back, &was.Back}, {&is.Bottom, &was.Bottom}} {
		if math.IsNaN(*d[0]) {
			*d[0] = *d[1]
		}
	}
	if o.c.View == Plan && math.IsNaN(was.Duration) {
		was.Duration = o.was.Time.Duration
	}
	if o.c.View == Plan && math.IsNaN(is.Duration) {
		is.Duration = was.Duration
	}
}

// section compares the rows of one section. Arrays are compared as their electrodes, and
// the moments of what may come and go by times.
func (o *onward) section(s *section) {
	if s.name == "array" {
		return
	}
	was, is := s.rows(o.was), s.rows(o.is)
	keys, may := mayChange[s.name]
	if s.many && len(was) != len(is) {
		if may && keys == nil {
			o.edges = o.edges || slices.Contains(atEdges, s.name)
			return
		}
		o.count(s, was, is)
		return
	}
	for i := range is {
		for _, k := range keysOf(s.name, o.c.View) {
			before, now := textOf(k, was[i]), textOf(k, is[i])
			switch {
			case before == now:
			case mayDiffer(s.name, k.name()):
				o.edges = o.edges || slices.Contains(atEdges, s.name)
			default:
				o.stays(s, i, k, before, now)
			}
		}
	}
}

// textOf returns what a row has for a key, of a file all that it holds.
func textOf(k *key, row any) string {
	text := k.kind.write(k, k.at(row))
	file := func(name string, held []byte) {
		if name != "" {
			text = "\x00" + string(held)
		}
	}
	switch p := k.at(row).(type) {
	case *Air:
		file(p.File, p.Text)
	case *Infiltration:
		file(p.File, p.Text)
	case *Power:
		file(p.File, p.Text)
	case *Outages:
		file(p.File, p.Text)
	case coursed:
		file(p.course.File, p.course.Text)
	}
	return text
}

// stays refuses a value that is not as it was.
func (o *onward) stays(s *section, i int, k *key, before, now string) {
	must := "must stay " + shown(before) + " as in " + o.file + stays
	if s.name == "electrode" {
		for _, a := range o.layouts {
			if a.From <= i && i < a.To {
				j := slices.IndexFunc(o.c.Arrays, func(y Array) bool { return y.Name == a.Array })
				if of := a.Array + "." + k.name(); !o.told[of] { // the others are as that one
					o.told[of] = true
					o.no("array", j, "", "makes an electrode %s whose %s is %s: it %s", o.is.Electrodes[i].Name, k.name(), shown(now), must)
				}
				return
			}
		}
	}
	if !o.has(s.name, i, k.name()) {
		must = "is left out, which makes it " + shown(now) + ": " + must
	}
	o.no(s.name, i, k.name(), "%s", must)
}

// shown is a value in a message.
func shown(text string) string {
	switch {
	case text == "":
		return "left out"
	case text[0] == 0:
		return "the same file"
	}
	if plain, err := strconv.Unquote(text); err == nil {
		text = plain
	}
	return oneLineOr(text)
}

// count refuses rows that were added or taken away.
func (o *onward) count(s *section, was, is []any) {
	name := findKey(s.name + ".name")
	names := func(rows []any) map[string]int {
		at := map[string]int{}
		for i, row := range rows {
			at[*name.at(row).(*string)] = i
		}
		return at
	}
	before, now := names(was), names(is)
	told := false
	for _, n := range slices.SortedFunc(maps.Keys(now), func(a, b string) int { return now[a] - now[b] }) {
		i := now[n]
		if _, ok := before[n]; ok || s.name == "electrode" && i >= len(o.c.Electrodes) {
			continue
		}
		o.no(s.name, i, "", "must not be added: %s has none of that name%s", o.file, stays)
		told = true
	}
	for _, n := range slices.SortedFunc(maps.Keys(before), func(a, b string) int { return before[a] - before[b] }) {
		if _, ok := now[n]; !ok {
			o.add(Fault{File: o.loader.file, Key: s.name + "." + n, Allowed: "is missing; must stay as in " + o.file + stays})
			told = true
		}
	}
	if !told {
		o.add(Fault{File: o.loader.file, Key: s.header(), Allowed: fmt.Sprintf("makes %d, and %d are in %s: must stay%s", len(is), len(was), o.file, stays)})
	}
}

// times refuses what would have acted before the state's day, or is over by then.
func (o *onward) times() {
	at := o.reached.Time
	past := func(t float64) bool { return t < at*(1-1e-9) }
	since := fmt.Sprintf("must not be before day %s, to which the run has come", about(at/day))
	if !(o.c.Time.Duration > at*(1+1e-9)) {
		o.no("time", 0, "duration", "must be after day %s, to which the run has come", about(at/day))
	}
	if was, is := o.was.Supply.Metered.File, o.is.Supply.Metered.File; (was == "") != (is == "") {
		o.no("supply", 0, "metered", "a metered drive can be neither taken up nor left on the way")
	}
	switch off := o.is.Supply.Off; {
	case off == o.was.Supply.Off:
	case !math.IsNaN(o.reached.Off):
		k := findKey("supply.off")
		o.no("supply", 0, "off", "must stay %s: the supply went off for good on day %s", shown(textOf(k, &o.was.Supply)), about(o.reached.Off/day))
	case off.At > 0 && past(off.At):
		o.no("supply", 0, "off", "%s", since)
	}

	changed := map[moment]int{}
	for _, ch := range o.was.Changes {
		changed[moment{ch.Electrode, ch.At}]++
	}
	one := *o.c
	for i, ch := range o.c.Changes {
		if !past(ch.At) {
			continue
		}
		one.Changes = o.c.Changes[i : i+1]
		for _, each := range one.changesByElectrode(o.is.Electrodes, o.layouts) {
			m := moment{each.Electrode, each.At}
			if changed[m]--; changed[m] < 0 {
				o.no("change", o.changeRow[i], "at", "%s: %s has no such change", since, o.file)
				break
			}
		}
	}

	added := map[moment][]float64{} // the ends of each that begins then
	for _, w := range o.was.WaterAdded {
		m := moment{w.Electrode, w.From}
		added[m] = append(added[m], w.To)
	}
	for i, w := range o.c.WaterAdded {
		if !past(w.From) {
			continue
		}
		one.WaterAdded = o.c.WaterAdded[i : i+1]
		for _, each := range one.addedByElectrode(o.is.Electrodes, o.layouts) {
			m := moment{each.Electrode, each.From}
			ends := added[m]
			if len(ends) == 0 {
				left := ""
				if !o.has("water_added", i, "from") {
					left = "is left out, which makes it day 0: "
				}
				o.no("water_added", i, "from", "%s%s: %s has no such row", left, since, o.file)
				break
			}
			j := max(0, slices.Index(ends, each.To))
			end := ends[j]
			added[m] = slices.Delete(ends, j, j+1)
			if end != each.To && past(end) {
				o.no("water_added", i, "to", "must stay day %s: it was over before day %s, to which the run has come", about(end/day), about(at/day))
				break
			}
			if end != each.To && past(each.To) {
				o.no("water_added", i, "to", "%s", since)
				break
			}
		}
	}
}

// moment is when something begins at an electrode, "" for the supply.
type moment struct {
	electrode string
	at        float64
}

// interval refuses an interval of extraction that moves the cells.
func (o *onward) interval() {
	is, was := o.is.vapour(), o.was.vapour()
	if o.c.View == Plan || is.Top == was.Top && is.Bottom == was.Bottom {
		return
	}
	before, err := o.was.grid()
	if err != nil {
		return // Build tells
	}
	now, err := o.is.grid()
	if err == nil && slices.Equal(now.Z, before.Z) {
		return
	}
	plain := *o.is
	plain.Steam.Top, plain.Steam.Bottom = nan, nan
	bare, err := plain.grid()
	if err != nil || !slices.Equal(bare.Z, before.Z) {
		for _, key := range []string{"fate", "top", "bottom"} {
			k := findKey("steam." + key)
			if text := textOf(k, &o.was.Steam); text != textOf(k, &o.is.Steam) {
				o.no("steam", 0, key, "must stay %s as in %s: cells end at the interval's depths, and they stay; run the case from power-on", shown(text), o.file)
			}
		}
		return
	}
	for _, end := range []struct {
		key string
		at  float64
	}{{"top", is.Top}, {"bottom", is.Bottom}} {
		if !onEdge(before.Z, end.at) {
			o.no("steam", 0, end.key, "must be an edge of the cells, which stay: %s", nearestEdges(before.Z, end.at))
		}
	}
}

// nearestEdges names those above and below a depth [m] that is none.
func nearestEdges(edges []float64, at float64) string {
	i := sort.SearchFloat64s(edges, at)
	text := func(x float64) string { return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'f', -1, 64) + " m" }
	if i == len(edges) {
		return "the nearest is " + text(edges[i-1])
	}
	return "the nearest are " + text(edges[max(0, i-1)]) + " and " + text(edges[i])
}
