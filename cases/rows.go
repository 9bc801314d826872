package cases

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
)

// mostRows is the most tables of one kind: checks of pairs stay quick.
const mostRows = 2000

// mostTargets is the most targets: a run follows each through all cells.
const mostTargets = 50

// most returns the most tables that the section may have.
func (s *section) most() int {
	if s.name == "target" {
		return mostTargets
	}
	return mostRows
}

// table sorts the tree into rows by section, and refuses sections that are
// unknown or of the wrong shape.
func (l *loader) table() {
	l.rows = map[string][]map[string]any{"": {l.tree}}
	for _, name := range sorted(l.tree) {
		s := findSection(name)
		if name == "" || s == nil {
			if findKey(name) == nil {
				l.unknownTop(name)
			}
			continue
		}
		var rows []map[string]any
		array := false
		switch v := l.tree[name].(type) {
		case map[string]any:
			rows = []map[string]any{v}
		case []map[string]any:
			rows, array = v, true
		case []any: // layer = [{…}, {…}]
			array = true
			for _, e := range v {
				if row, ok := e.(map[string]any); ok {
					rows = append(rows, row)
				}
			}
			if len(rows) != len(v) {
				rows = nil
			}
		}
		switch {
		case s.many && !array && rows != nil:
			l.fault(name, name, "", "may occur more than once: write [["+name+"]]")
			rows = nil
		case !s.many && array:
			l.fault(name+"[1]", name, "", "must occur once: write ["+name+"]")
			rows = nil
		case rows == nil:
			l.fault(name, name, l.given(name, l.tree[name]), "must be a table: write "+s.header())
		case len(rows) > s.most():
			l.fault(s.loc(s.most()), name, "", fmt.Sprintf("has %d tables; must be at most %d", len(rows), s.most()))
			rows = rows[:0:0]
		}
		// A section of the wrong shape is not missing as well.
		if rows == nil {
			rows = []map[string]any{}
		}
		l.rows[name] = rows
	}
	l.name()
}

// header returns how the section's table opens.
func (s *section) header() string {
	if s.many {
		return "[[" + s.name + "]]"
	}
	return "[" + s.name + "]"
}

// where returns the section's name in prose.
func (s *section) where() string {
	if s.name == "" {
		return "the top of the file"
	}
	return s.header()
}

// name settles how messages call each row: by its name where that is unique,
// else by its number.
func (l *loader) name() {
	l.labels = map[string][]string{}
	for i := range sections {
		s := &sections[i]
		rows := l.rows[s.name]
		count := map[string]int{}
		for _, row := range rows {
			n, _ := row["name"].(string)
			count[n]++
		}
		var kind nameKind
		if k := findKey(s.name + ".name"); k != nil {
			kind, _ = k.kind.(nameKind)
		}
		labels := make([]string, len(rows))
		for j, row := range rows {
			labels[j] = s.loc(j)
			if n, _ := row["name"].(string); s.many && kind.allows(n) && count[n] == 1 {
				labels[j] = s.name + "." + n
			}
		}
		l.labels[s.name] = labels
	}
}

// loc returns the position path of the section's i-th row (from 0).
func (s *section) loc(i int) string {
	if s.many {
		return s.name + "[" + strconv.Itoa(i+1) + "]"
	}
	return s.name
}

// read fills the case from the tables, section by section.
func (l *loader) read() {
	// What the reading of other keys depends on comes first.
	if v, ok := l.tree["view"].(string); ok && slices.Contains(views, v) {
		l.c.View = View(v)
	}
	if rows := l.rows["time"]; len(rows) == 1 && rows[0]["power_on"] != nil {
		if t, ok := siteClock(input{l: &loader{pos: l.pos, setAt: l.setAt}, key: findKey("time.power_on"), raw: rows[0]["power_on"]}); ok {
			l.c.Time.PowerOn = t
		}
	}
	for i := range sections {
		s := &sections[i]
		rows, present := l.rows[s.name]
		if !present && !s.many {
			if s.given == nil && (s.name != "supply" || l.needsSupply()) {
				l.missing(s)
			}
			rows = []map[string]any{{}}
		}
		if s.many && len(rows) < s.least && !present {
			l.absence(s.header(), "is missing; at least one is needed")
		}
		for j, row := range rows {
			dst := any(nil)
			if s.many {
				dst = s.add(l.c)
			} else {
				dst = s.rows(l.c)[0]
			}
			label := s.name
			if present {
				label = l.labels[s.name][j]
			}
			l.readRow(s, dst, row, s.loc(j), label, present)
		}
	}
}

// needsSupply reports whether the case must have a supply: heat alone needs none.
func (l *loader) needsSupply() bool {
	return l.tree["array"] != nil || l.tree["electrode"] != nil || l.tree["heat"] == nil
}

// missing refuses the absence of a section that has required keys.
func (l *loader) missing(s *section) {
	var need []string
	for _, k := range keysOf(s.name, l.c.View) {
		if k.required && (k.everywhere() || l.c.View != "") {
			need = append(need, k.name())
		}
	}
	if len(need) > 0 {
		l.absence(s.header(), "is missing; it needs "+list(need, "and"))
	}
}

// readRow fills one row and refuses what it should not hold. Where the table
// itself is absent, its required keys have been asked for already.
func (l *loader) readRow(s *section, dst any, row map[string]any, loc, label string, present bool) {
	known := map[string]bool{}
	// Keys of the other view are at rest, so that no reader of a Case meets a
	// held temperature of 0 K.
	for _, k := range keysOf(s.name, "") {
		if !k.in(l.c.View) {
			l.absent(k, dst)
		}
	}
	for _, k := range keysOf(s.name, l.c.View) {
		n := k.name()
		known[n] = true
		in := input{l: l, key: k, path: dotted(label, n), loc: dotted(loc, n), raw: row[n]}
		if n == "name" {
			in.path = in.loc // a name cannot say which name is wrong
		}
		switch {
		case in.raw != nil:
			k.kind.read(in, k.at(dst))
		case k.required:
			if present && (k.everywhere() || l.c.View != "") {
				l.fault(in.loc, in.path, "", "is missing; must be "+k.kind.wants(k))
			}
			k.clear(dst, nan)
		default:
			l.absent(k, dst)
		}
	}
	for _, n := range sorted(row) {
		if known[n] || s.name == "" && (findSection(n) != nil || findKey(n) == nil) {
			continue // sections and unknown names at the top are dealt with
		}
		l.unknown(s.name, row, join(loc, n), dotted(label, show(n)), n)
	}
}

// absent stores what an optional key is when the file does not give it.
func (l *loader) absent(k *key, dst any) {
	if def := k.defaultIn(l.c.View); def != "" {
		k.kind.read(input{l: l, key: k, path: k.path, loc: k.path, raw: setting(def)}, k.at(dst))
		return
	}
	k.clear(dst, k.blank)
}

// clear leaves an absent number as x.
func (k *key) clear(dst any, x float64) {
	switch p := k.at(dst).(type) {
	case *float64:
		*p = x
	case *[2]float64:
		*p = [2]float64{x, x}
	case worded:
		*p.number = x
	}
}

// finish derives what is left to the rest of the case.
func (l *loader) finish() {
	for i := range l.c.Layers {
		if y := &l.c.Layers[i]; y.ResistivityAt != y.ResistivityAt {
			y.ResistivityAt = l.c.Site.ResistivityAt
		}
		l.fillLaw(i)
	}
	for i := range l.c.WaterAdded {
		if w := &l.c.WaterAdded[i]; w.Temperature != w.Temperature {
			w.Temperature = l.c.Site.Ambient
		}
	}
	for i := range l.c.Sensors {
		s := &l.c.Sensors[i]
		if s.Labels == nil {
			s.Labels = []string{s.Name}
			continue
		}
		for j := range s.Labels {
			s.Labels[j] = s.Name + "@" + s.Labels[j]
		}
	}
	if !l.needsSupply() {
		l.c.Supply = Supply{PowerLimit: inf, CurrentLimit: inf, ApparentLimit: inf, DeliveredShare: 1}
	}
	sort.Float64s(l.c.Output.FieldsAt)
	written := l.c.Changes
	l.changeRow = make([]int, len(written))
	for i := range written {
		l.changeRow[i] = i
	}
	sort.SliceStable(l.changeRow, func(i, j int) bool { return written[l.changeRow[i]].At < written[l.changeRow[j]].At })
	l.c.Changes = nil
	for _, i := range l.changeRow {
		l.c.Changes = append(l.c.Changes, written[i])
	}
}

// dotted joins a row's path and a key's name.
func dotted(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

// sorted returns a table's names in order, so that messages have one.
func sorted(table map[string]any) []string {
	names := make([]string, 0, len(table))
	for n := range table {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}
