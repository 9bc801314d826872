package cases

import (
	"fmt"
	"strconv"
	"strings"
)

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
