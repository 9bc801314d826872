package cases

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Fault is one thing wrong with a case: where it stands, what was given and
// what is allowed there.
type Fault struct {
	File    string // the file's name, or "--set path=value" as typed; "": Allowed names it
	Line    int    // counted from 1; 0: the file as a whole
	Key     string // "layer.clay.porosity" or "electrode[2].radius"; "" for none
	Given   string // the value as written; "" where a key is unknown or missing
	Allowed string // what is allowed, as a phrase
}

// setPrefix opens the File of a Fault that came in by --set.
const setPrefix = "--set "

// String returns the fault on one line: file:line: key = given: what is
// allowed. One that came in by --set already shows its key and its value.
func (f Fault) String() string {
	if strings.HasPrefix(f.File, setPrefix) {
		return printable(f.File + ": " + f.Allowed)
	}
	var b strings.Builder
	if f.File != "" {
		b.WriteString(f.File)
		if f.Line > 0 {
			b.WriteString(":" + strconv.Itoa(f.Line))
		}
		b.WriteString(": ")
	}
	if f.Key != "" {
		b.WriteString(f.Key)
		if f.Given != "" {
			b.WriteString(" = " + f.Given)
		}
		b.WriteString(": ")
	}
	b.WriteString(f.Allowed)
	return printable(b.String())
}

// Faults are all the faults of one case, in the order of the lines.
type Faults []Fault

// Error returns the faults, one a line.
func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.String()
	}
	return strings.Join(lines, "\n")
}

// inOrder sorts the faults: those of the case file by line, then those of the
// files it names, then those of --set in the order of the command line.
func (fs Faults) inOrder(file string, sets []string) {
	turn := map[string]int{}
	for i, s := range sets {
		turn[setPrefix+s] = i
	}
	rank := func(f Fault) int {
		switch {
		case f.File == file:
			return 0
		case strings.HasPrefix(f.File, setPrefix):
			return 2
		}
		return 1
	}
	sort.SliceStable(fs, func(i, j int) bool {
		if ri, rj := rank(fs[i]), rank(fs[j]); ri != rj {
			return ri < rj
		}
		if fs[i].Line != fs[j].Line {
			return fs[i].Line < fs[j].Line
		}
		return turn[fs[i].File] < turn[fs[j].File]
	})
}

// printable replaces what would break a line or upset a terminal.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '?'
	}, s)
}

// oneLine makes s fit for a message: no control characters, not too long.
func oneLine(s string) string {
	const longest = 80
	if parts := strings.FieldsFunc(s, func(r rune) bool { return r == '\n' || r == '\r' || r == '\t' }); len(parts) > 1 {
		for i, p := range parts {
			parts[i] = strings.Trim(p, " ")
		}
		s = strings.Join(parts, " ")
	} else {
		s = strings.Join(parts, "")
	}
	clean := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) < 0
	if utf8.RuneCountInString(s) > longest {
		s = string([]rune(s)[:longest]) + "…"
	}
	if !clean || s == "" {
		s = strconv.Quote(s)
	}
	return s
}

// list joins words as prose: "a, b or c".
func list(words []string, last string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " " + last + " " + words[n-1]
	}
	return strings.Join(words, "")
}

// digits prints x as a person would write it, without an exponent where that
// stays short.
func digits(x float64) string {
	if x == 0 {
		return "0"
	}
	if a := max(x, -x); a >= 1e-4 && a < 1e9 {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

// bound prints an end of a range: whole ones as they are, 36525 d, others as worked out from
// another unit's.
func bound(x float64) string {
	if x == math.Trunc(x) && math.Abs(x) < 1e6 {
		return digits(x)
	}
	return about(x)
}

// about prints x to four significant digits, for numbers worked out in a
// message.
func about(x float64) string {
	v, err := strconv.ParseFloat(fmt.Sprintf("%.4g", x), 64)
	if err != nil {
		return fmt.Sprint(x)
	}
	return digits(v)
}
