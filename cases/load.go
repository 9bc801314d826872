package cases

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/BurntSushi/toml"
)

// mostBytes is the largest case file that is read; a real one has a few
// thousand bytes.
const mostBytes = 4 << 20

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

// mostFaults is how many faults of one case are told.
const mostFaults = 200

// Load reads a case file and returns it as understood, after the settings of
// --set, each path=value. If anything is wrong the error is a Faults that
// holds every fault of the file.
func Load(file string, sets []string) (*Case, error) {
	l, err := load(file, sets)
	if err != nil {
		return nil, err
	}
	return l.c, nil
}

// load is Load that returns what knows where each value of the case stands.
func load(file string, sets []string) (*loader, error) {
	f, err := openRegular(file)
	if err != nil { // names the file itself
		return nil, Faults{{Allowed: err.Error()}}
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err != nil {
		return nil, Faults{{File: file, Allowed: "cannot be read: " + cause(err)}}
	}
	return parse(file, data, filepath.Dir(file), sets)
}

// Parse reads a case from memory. name stands for the file in messages; dir is
// where the files it names are looked for.
func Parse(name string, data []byte, dir string, sets []string) (*Case, error) {
	l, err := parse(name, data, dir, sets)
	if err != nil {
		return nil, err
	}
	return l.c, nil
}

func parse(name string, data []byte, dir string, sets []string) (*loader, error) {
	switch {
	case len(data) > mostBytes:
		return nil, Faults{{File: name, Allowed: "is larger than 4 MiB; a case file is a short text"}}
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		return nil, Faults{{File: name, Allowed: "is text in UTF-16; save the file as UTF-8"}}
	case bytes.IndexByte(data, 0) >= 0:
		return nil, Faults{{File: name, Allowed: "is not a text file (it holds NUL bytes)"}}
	case !utf8.Valid(data):
		valid := 0
		for r, n := utf8.DecodeRune(data); r != utf8.RuneError || n > 1; r, n = utf8.DecodeRune(data[valid:]) {
			valid += n
		}
		line := 1 + bytes.Count(data[:valid], []byte("\n"))
		return nil, Faults{{File: name, Line: line, Allowed: "is not text in UTF-8; save the file with that encoding"}}
	case len(bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\ufeff")))) == 0:
		return nil, Faults{{File: name, Allowed: "is empty; `soiljoule new section` prints a case to start from"}}
	}
	l := &loader{file: name, dir: dir, c: &Case{File: name}, pos: locate(string(data)), setAt: map[string]string{}, forSeries: mostSeriesBytes}
	if l.pos.deepest > deepestBrackets {
		return nil, Faults{{File: name, Allowed: fmt.Sprintf("has brackets or keys nested deeper than %d", deepestBrackets)}}
	}
	if l.pos.parts > mostParts {
		return nil, Faults{{File: name, Allowed: "holds more keys and tables than any case"}}
	}
	tree, fault := decode(string(data))
	if fault != nil {
		return nil, syntaxFaults(name, string(data), fault, l.pos)
	}
	l.tree = tree
	l.table()
	for _, s := range sets {
		l.set(s)
	}
	l.read()
	l.check()
	if len(l.faults) > 0 {
		l.faults.inOrder(name, sets)
		if len(l.faults) > mostFaults {
			l.faults = append(l.faults[:mostFaults], Fault{File: name, Allowed: "and more faults, not told"})
		}
		return nil, l.faults
	}
	l.finish()
	return l, nil
}

// decode parses TOML into a tree of maps. Line ends are made one kind first: with
// carriage returns the library tells some faults of the line before.
func decode(text string) (tree map[string]any, fault *Fault) {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	// The library reports what it takes for its own errors by panic.
	defer func() {
		if r := recover(); r != nil {
			tree, fault = nil, &Fault{Allowed: "is not TOML"}
		}
	}()
	_, err := toml.Decode(text, &tree)
	if err == nil {
		return tree, nil
	}
	var syntax toml.ParseError
	if errors.As(err, &syntax) {
		return nil, &Fault{Line: syntax.Position.Line, Allowed: "is not TOML: " + oneLine(syntax.Message)}
	}
	return nil, &Fault{Allowed: "is not TOML: " + oneLine(err.Error())}
}

// loader fills one Case.
//
// A number that is missing or refused is left as NaN and a text as "", and
// check compares in such a way that neither gives a second fault.
type loader struct {
	file, dir string
	c         *Case
	pos       *positions
	tree      map[string]any
	rows      map[string][]map[string]any // the tables of each section, as decoded
	labels    map[string][]string         // each row's path in messages: "layer.clay"
	setAt     map[string]string           // the --set that gave the value at a path
	forSeries int                         // [bytes] that the series files to come may have
	unordered bool                        // the layers' bottoms do not increase
	changeRow []int                       // of each change, when finished, its number in the file (from 0)
	faults    Faults
}

// add keeps a fault; far more than are told are not kept.
func (l *loader) add(f Fault) {
	if len(l.faults) < 50*mostFaults {
		l.faults = append(l.faults, f)
	}
}

// fault records a fault of the value at loc.
func (l *loader) fault(loc, path, given, allowed string) {
	for at := loc; at != ""; at = parent(at) {
		if set, ok := l.setAt[at]; ok {
			l.add(Fault{File: setPrefix + set, Key: path, Given: given, Allowed: allowed})
			return
		}
	}
	l.add(Fault{File: l.file, Line: l.pos.line(loc), Key: path, Given: given, Allowed: allowed})
}

// absence records that a section is missing: a fault of the file as a whole.
// One whose name is only misspelt has been told of.
func (l *loader) absence(header, allowed string) {
	if len(l.tree) < 100 { // more is no case that someone misspelt
		for name := range l.tree {
			if findSection(name) == nil && findKey(name) == nil && nearest(name, sectionNames()) == strings.Trim(header, "[]") {
				return
			}
		}
	}
	l.add(Fault{File: l.file, Key: header, Allowed: allowed})
}

// given returns the value at loc as it was written, on one line.
func (l *loader) given(loc string, raw any) string {
	switch v := raw.(type) {
	case string:
		return oneLine(v)
	case map[string]any, []map[string]any:
		return "a table"
	case []any:
		if _, ok := l.pos.values[loc]; !ok { // an element of a list: x and y
			texts := make([]string, min(len(v), 4))
			for i := range texts {
				texts[i] = fmt.Sprint(v[i])
			}
			return oneLine("[" + strings.Join(texts, ", ") + "]")
		}
	case time.Time:
		if _, ok := l.pos.values[loc]; !ok { // an element of a list
			return v.Format("2006-01-02T15:04:05")
		}
	}
	if text, ok := l.pos.values[loc]; ok && text != "" && l.setAt[loc] == "" {
		return oneLine(text)
	}
	return oneLine(fmt.Sprint(raw))
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

// unknownTop refuses a key or section that the top of the file does not have.
func (l *loader) unknownTop(name string) {
	loc := join("", name)
	switch l.tree[name].(type) {
	case map[string]any, []map[string]any:
		if _, ok := l.pos.lines[loc]; !ok {
			loc += "[1]"
		}
		l.fault(loc, show(name), "", "unknown section;"+nearestOf(name, sectionNames())+" sections are "+strings.Join(sectionNames(), ", "))
	default:
		l.unknown("", l.tree, loc, show(name), name)
	}
}

func sectionNames() []string {
	var names []string
	for _, s := range sections[1:] {
		names = append(names, s.name)
	}
	return names
}

// unknown refuses a key that its section does not have in this view.
func (l *loader) unknown(section string, row map[string]any, loc, path, name string) {
	var names, elsewhere []string
	for _, k := range keysOf(section, l.c.View) {
		names = append(names, k.name())
	}
	for i := range schema {
		if k := &schema[i]; k.name() == name && k.section() != section && k.in(l.c.View) {
			elsewhere = append(elsewhere, findSection(k.section()).where())
		}
	}
	where := "the top of the file"
	if section != "" {
		where = findSection(section).header()
	}
	full := join(section, name)
	switch k := findKey(full); {
	case k != nil: // of another view
		why := ""
		if k.why != "" {
			why = ": " + k.why
		}
		l.fault(loc, path, l.given(loc, row[name]), fmt.Sprintf("not a key of this view (%s)%s; keys of %s are %s", l.c.View, why, where, strings.Join(names, ", ")))
	case len(elsewhere) > 0 && len(elsewhere) <= 4:
		l.fault(loc, path, "", fmt.Sprintf("unknown key here; it is a key of %s; keys of %s are %s", list(elsewhere, "and"), where, strings.Join(names, ", ")))
	default:
		l.fault(loc, path, "", fmt.Sprintf("unknown key;%s keys of %s are %s", nearestOf(name, names), where, strings.Join(names, ", ")))
	}
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

// set applies one --set path=value to the tree.
func (l *loader) set(arg string) {
	refuse := func(allowed string) { l.add(Fault{File: setPrefix + arg, Allowed: allowed}) }
	path, value, ok := strings.Cut(arg, "=")
	path = strings.TrimSpace(path)
	if !ok || path == "" {
		refuse("must be path=value, such as layer.silt.porosity=0.4")
		return
	}
	end := strings.IndexAny(path, ".[")
	var s *section
	if end < 0 {
		s, end = &sections[0], -1
	} else {
		s = findSection(path[:end])
	}
	if s == nil {
		refuse("there is no section " + show(path[:end]))
		return
	}
	row, loc, name, no := l.target(s, path, path[end+1:])
	if no != "" {
		refuse(no)
		return
	}
	if s.name == "" && findSection(name) != nil {
		refuse("must name a key of " + findSection(name).where() + ", such as " + name + "." + keysOf(name, "")[0].name())
		return
	}
	loc = join(loc, name)
	l.setAt[loc] = arg
	row[name] = setting(strings.TrimSpace(value))
	l.name()
}

// target finds the table that a --set path means; rest is what follows the
// section's name and its dot or bracket.
func (l *loader) target(s *section, path, rest string) (row map[string]any, loc, name, no string) {
	rows := l.rows[s.name]
	if !s.many {
		if len(rows) == 0 {
			row = map[string]any{}
			l.rows[s.name] = []map[string]any{row}
			if l.tree[s.name] == nil { // one of the wrong shape is refused as it is
				l.tree[s.name] = row
			}
			return row, s.name, rest, ""
		}
		return rows[0], s.name, rest, ""
	}
	if s.name != "" && strings.HasPrefix(path[len(s.name):], "[") {
		number, after, ok := strings.Cut(rest, "].")
		i, err := strconv.Atoi(number)
		if !ok || err != nil {
			return nil, "", "", "must be " + s.name + "[number].key=value"
		}
		if i < 1 || i > len(rows) {
			return nil, "", "", fmt.Sprintf("there is no %s[%d]; the file has %d of them", s.name, i, len(rows))
		}
		return rows[i-1], s.loc(i - 1), after, ""
	}
	if len(rows) == 0 {
		return nil, "", "", "the file has no " + s.header()
	}
	// No key has a dot, so all before the last one is a name, which may.
	dot := strings.LastIndexByte(rest, '.')
	if dot < 0 && len(rows) == 1 {
		return rows[0], s.loc(0), rest, "" // there is one that it can mean
	}
	var names []string
	for i, r := range rows {
		n, ok := r["name"].(string)
		if k := findKey(s.name + ".name"); !ok && k != nil {
			n = k.def
		}
		if dot >= 0 && n == rest[:dot] {
			return r, s.loc(i), rest[dot+1:], ""
		}
		if n != "" {
			names = append(names, oneLine(n))
		}
	}
	there := "" // a change has no name
	switch {
	case len(names) > 20:
		there = "; there are " + list(append(names[:20], "…"), "and")
	case len(names) > 1:
		there = "; there are " + list(names, "and")
	case len(names) == 1:
		there = "; there is " + names[0]
	}
	switch {
	case dot >= 0:
		return nil, "", "", fmt.Sprintf("there is no %s named %s%s", s.name, oneLine(rest[:dot]), there)
	case there == "":
		return nil, "", "", fmt.Sprintf("must say which of the %d: %s[1].%s", len(rows), s.name, rest)
	}
	return nil, "", "", fmt.Sprintf("must say which of the %d: %s[1].%s or %s.NAME.%s%s", len(rows), s.name, rest, s.name, rest, there)
}

// setting is the value of a --set, or of a default: TOML if it is, else text.
func setting(text string) any {
	tree, fault := decode("v = " + text)
	if v, ok := tree["v"]; ok && fault == nil && len(tree) == 1 && !strings.ContainsAny(text, "\n#") {
		return v
	}
	return text
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

// show returns a key as it would be written.
func show(name string) string {
	plain := name != ""
	for _, r := range name {
		plain = plain && (r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z')
	}
	if !plain {
		return strconv.Quote(oneLineOr(name))
	}
	return oneLine(name)
}

// nearestOf returns " nearest is X;" for the candidate most like name, or ""
// if none is like it.
func nearestOf(name string, candidates []string) string {
	if best := nearest(name, candidates); best != "" {
		return " nearest is " + best + ";"
	}
	return ""
}

// nearest returns the candidate most like name, "" if none is like it.
func nearest(name string, candidates []string) string {
	const longest = 40
	if len(name) > longest {
		return ""
	}
	best, least := "", len(name)
	for _, c := range candidates {
		if d := distance(strings.ToLower(name), c); d < least {
			best, least = c, d
		}
	}
	if best == "" || least > (len(best)+1)/2 {
		return ""
	}
	return best
}

// distance is the number of single-byte edits between a and b.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		diagonal := row[0]
		row[0] = i + 1
		for j := range b {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(b)]
}
