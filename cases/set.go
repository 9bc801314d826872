package cases

import (
	"fmt"
	"strconv"
	"strings"
)

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
