package cases

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// The TOML library tells no one where a key stands, so this file reads the text
// a second time, for positions only. It trusts nothing: on a text that is not
// TOML it returns something or other, and always returns.

// place is one key or table header, in the order of the text.
type place struct {
	names []string // dotted path without indices, as the library's MetaData.Keys has it
	path  string   // the path with indices: "layer[2].porosity"
	line  int      // counted from 1
	value string   // the value as written; "" for a header
}

// positions says where each key of a text stands.
type positions struct {
	places  []place
	lines   map[string]int    // by path; elements of an array too, "sensor[1].depth[3]"
	values  map[string]string // by path
	deepest int               // largest nesting of brackets, or parts of one key
	parts   int               // of all keys together: each may be a table of the tree
}

// Bounds on what is followed. A case needs two of the first; the library reads
// nested brackets by recursion, a long dotted key in quadratic time, and makes a
// map of each part. 2000 tables of 25 keys have 100 000 parts.
const (
	deepestBrackets = 8
	mostParts       = 100000
	longestElements = 10000 // elements of one array whose line is kept
)

// scanner reads TOML for positions.
type scanner struct {
	text string
	at   int
	line int
	out  positions
	// counts holds how many tables each array of tables has so far, by its path.
	counts map[string]int
	// table is the path that keys of the current section start with.
	table      string
	tableNames []string
}

// locate finds every key of a TOML text.
func locate(text string) *positions {
	text = strings.TrimPrefix(text, "\ufeff")
	s := &scanner{text: text, line: 1, counts: map[string]int{}}
	s.out.lines = map[string]int{}
	s.out.values = map[string]string{}
	for !s.done() {
		switch c := s.text[s.at]; {
		case c == '\n' || c == ' ' || c == '\t' || c == '\r':
			s.skip()
		case c == '#':
			s.comment()
		case c == '[':
			s.header()
		default:
			s.pair(s.table, s.tableNames, 0)
			s.restOfLine()
		}
	}
	return &s.out
}

// skip steps over one byte and counts lines.
func (s *scanner) skip() {
	if s.text[s.at] == '\n' {
		s.line++
	}
	s.at++
}

func (s *scanner) comment() {
	for s.at < len(s.text) && s.text[s.at] != '\n' {
		s.at++
	}
}

// restOfLine steps over what may follow a value or a header.
func (s *scanner) restOfLine() {
	s.comment()
	if s.at < len(s.text) {
		s.skip()
	}
}

// blank steps over spaces, and over newlines and comments if lines is true.
func (s *scanner) blank(lines bool) {
	for s.at < len(s.text) {
		switch c := s.text[s.at]; {
		case c == ' ' || c == '\t' || c == '\r':
			s.at++
		case lines && c == '\n':
			s.skip()
		case lines && c == '#':
			s.comment()
		default:
			return
		}
	}
}

// header reads [table] or [[array of tables]].
func (s *scanner) header() {
	line := s.line
	s.at++
	many := s.at < len(s.text) && s.text[s.at] == '['
	if many {
		s.at++
	}
	names := s.key("]")
	path := ""
	for i, name := range names {
		path = join(path, name)
		last := i == len(names)-1
		if last && many {
			s.counts[path]++
		}
		// A header inside an array of tables belongs to its latest table.
		if n := s.counts[path]; n > 0 {
			path += "[" + strconv.Itoa(n) + "]"
		}
	}
	s.table, s.tableNames = path, names
	s.record(place{names: names, path: path, line: line})
	s.restOfLine()
}

// record keeps a place; the first of two equal paths holds.
func (s *scanner) record(p place) {
	s.out.places = append(s.out.places, p)
	s.out.parts += len(p.names)
	s.first(p.path, p.line)
}

// first keeps the line where a path occurs first.
func (s *scanner) first(path string, line int) {
	if _, ok := s.out.lines[path]; !ok {
		s.out.lines[path] = line
	}
}

// pair reads key = value inside the table at path.
func (s *scanner) pair(path string, names []string, depth int) {
	line := s.line
	parts := s.key("=")
	for i, name := range parts {
		path = join(path, name)
		if i < len(parts)-1 {
			s.first(path, line) // "site" of site.ambient = …
		}
	}
	if s.at >= len(s.text) || s.text[s.at] != '=' {
		return
	}
	s.at++
	names = append(append([]string(nil), names...), parts...)
	n := len(s.out.places)
	s.record(place{names: names, path: path, line: line})
	s.blank(false)
	start := s.at
	s.value(path, names, depth)
	text := strings.TrimSpace(s.text[start:s.at])
	s.out.places[n].value = text
	if _, ok := s.out.values[path]; !ok {
		s.out.values[path] = text
	}
}

// key reads a dotted key up to the byte that ends it, which stays unread.
func (s *scanner) key(end string) []string {
	var parts []string
	for s.at < len(s.text) {
		s.blank(false)
		if s.at >= len(s.text) {
			break
		}
		switch c := s.text[s.at]; {
		case c == '"' || c == '\'':
			parts = append(parts, s.quoted())
		case c == '.':
			s.at++
		case c == '\n' || strings.IndexByte(end, c) >= 0:
			return parts
		default:
			start := s.at
			for s.at < len(s.text) && !strings.ContainsRune(" \t\r\n.=]\"'", rune(s.text[s.at])) {
				s.at++
			}
			if s.at == start { // a stray sign that cannot be part of a key
				s.at++
				return parts
			}
			parts = append(parts, s.text[start:s.at])
		}
		s.out.deepest = max(s.out.deepest, len(parts))
		if len(parts) > deepestBrackets {
			return parts
		}
	}
	return parts
}

// value reads one value of any kind; an unfinished one ends with the text.
func (s *scanner) value(path string, names []string, depth int) {
	s.out.deepest = max(s.out.deepest, depth)
	if s.done() {
		return
	}
	switch s.text[s.at] {
	case '"', '\'':
		s.quoted()
	case '[':
		s.at++
		for i := 1; ; i++ {
			s.blank(true)
			if s.done() {
				return
			}
			if s.text[s.at] == ']' {
				s.at++
				return
			}
			element := path + "[" + strconv.Itoa(i) + "]"
			if _, ok := s.out.lines[element]; !ok && i <= longestElements {
				s.out.lines[element] = s.line
			}
			before := s.at
			s.value(element, names, depth+1)
			s.separator(before)
		}
	case '{':
		s.at++
		for {
			s.blank(true)
			if s.done() {
				return
			}
			if s.text[s.at] == '}' {
				s.at++
				return
			}
			before := s.at
			s.pair(path, names, depth+1)
			s.separator(before)
		}
	default:
		for s.at < len(s.text) && !strings.ContainsRune(",]}#\n", rune(s.text[s.at])) {
			s.at++
		}
	}
}

// done reports whether reading ends: with the text, or with more or deeper nested
// keys than are followed.
func (s *scanner) done() bool {
	return s.at >= len(s.text) || s.out.deepest > deepestBrackets || s.out.parts > mostParts
}

// separator steps over the comma after an element, or over one byte if
// nothing was read, so that reading always goes on.
func (s *scanner) separator(before int) {
	s.blank(true)
	if s.at < len(s.text) && (s.text[s.at] == ',' || s.at == before) {
		s.skip()
	}
}

// quoted reads a string in any of the four quotings and returns its content.
// Escapes are resolved for one-line strings only, as only those can be keys.
func (s *scanner) quoted() string {
	q := s.text[s.at]
	triple := strings.Repeat(string(q), 3)
	if strings.HasPrefix(s.text[s.at:], triple) {
		s.at += 3
		for s.at < len(s.text) {
			if q == '"' && s.text[s.at] == '\\' && s.at+1 < len(s.text) {
				s.skip()
				s.skip()
				continue
			}
			if strings.HasPrefix(s.text[s.at:], triple) {
				s.at += 3
				for i := 0; i < 2 && s.at < len(s.text) && s.text[s.at] == q; i++ {
					s.at++ // up to two quotes may end the content
				}
				break
			}
			s.skip()
		}
		return ""
	}
	s.at++
	start := s.at
	for s.at < len(s.text) && s.text[s.at] != q && s.text[s.at] != '\n' {
		if q == '"' && s.text[s.at] == '\\' && s.at+1 < len(s.text) && s.text[s.at+1] != '\n' {
			s.at++
		}
		s.at++
	}
	content := s.text[start:min(s.at, len(s.text))]
	if s.at < len(s.text) && s.text[s.at] == q {
		s.at++
	}
	if q == '"' {
		return unescape(content)
	}
	return content
}

// escapes of one sign.
var escapes = map[byte]string{'b': "\b", 't': "\t", 'n': "\n", 'f': "\f", 'r': "\r", 'e': "\x1b", '"': `"`, '\\': `\`}

// unescape resolves the escapes of a basic string.
func unescape(s string) string {
	if !strings.Contains(s, `\`) {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] != '\\' || i+1 >= len(s) {
			b.WriteByte(s[i])
			continue
		}
		i++
		if e, ok := escapes[s[i]]; ok {
			b.WriteString(e)
			continue
		}
		n := map[byte]int{'x': 2, 'u': 4, 'U': 8}[s[i]]
		if n == 0 || i+n >= len(s) {
			continue
		}
		code, err := strconv.ParseUint(s[i+1:i+1+n], 16, 32)
		if err == nil && utf8.ValidRune(rune(code)) {
			b.WriteRune(rune(code))
		}
		i += n
	}
	return b.String()
}

// join appends a key to a path. A name that would read as more than one part,
// or as an index, is quoted.
func join(path, name string) string {
	if name == "" || strings.ContainsAny(name, ".[]\"") {
		name = strconv.Quote(name)
	}
	if path == "" {
		return name
	}
	return path + "." + name
}

// line returns the line of a path, or of the nearest place that holds it; if there
// is none, 1 for the top of the file and 0 for a section that is not there.
func (p *positions) line(path string) int {
	nowhere := 1
	if strings.Contains(path, ".") {
		nowhere = 0
	}
	for path != "" {
		if n, ok := p.lines[path]; ok {
			return n
		}
		path = parent(path)
	}
	return nowhere
}

// parent returns the path that holds a path: "a[2].b" → "a[2]" → "a" → "".
func parent(path string) string {
	return path[:max(0, strings.LastIndexAny(path, ".["))]
}
