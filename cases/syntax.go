package cases

import (
	"regexp"
	"strconv"
	"strings"
)

// The TOML library stops at the first fault of syntax, and speaks of signs where
// a writer of cases thinks of quotes and units. This file looks on and says it
// in their words.

// What the library says in the faults that are told in other words here.
const (
	saysHeaderOpen = `to end table name, but got '\n'`
	saysArrayOpen  = `end of table array name delimiter ']', but got '\n'`
	saysTwice      = "has already been defined."
	saysOpen       = "unexpected EOF; expected"
	saysReturn     = "'0x0d'"
	saysRange      = "out of range"
)

// mostSyntax is how many faults of syntax are told, and longestSyntax the text
// [bytes] in which more than the first is looked for: each takes a reading.
const (
	mostSyntax    = 20
	longestSyntax = 64 << 10
)

// syntaxFaults returns the fault of syntax that decode found, and those that
// show once its line is left out. It looks no further where a line may be a
// part of something longer: what follows would only be its consequence.
func syntaxFaults(name, text string, first *Fault, p *positions) Faults {
	lines := strings.SplitAfter(text, "\n")
	var faults Faults
	for f := first; f != nil; _, f = decode(strings.Join(lines, "")) {
		f.File = name
		open := strings.Contains(f.Allowed, saysHeaderOpen) || strings.Contains(f.Allowed, saysArrayOpen)
		if open {
			f.Line-- // it is told of the end of the header's line
		}
		if n := len(faults); n > 0 && f.Line <= faults[n-1].Line {
			break // nothing new
		}
		line := ""
		if f.Line >= 1 && f.Line <= len(lines) {
			line = lines[f.Line-1]
		}
		if open {
			f.Allowed = "is not TOML: the header does not end; write [name] or [[name]]"
		} else {
			explain(f, line, p)
		}
		faults = append(faults, *f)
		if len(faults) == mostSyntax || len(text) > longestSyntax || !alone(line) {
			break
		}
		lines[f.Line-1] = "\n"
	}
	return faults
}

// assignment matches a line that gives a bare key a value.
var assignment = regexp.MustCompile(`^\s*([A-Za-z0-9_-]+)\s*=\s*(.*?)\s*$`)

// alone reports whether a line stands for itself: key = value or a remark, with
// neither a list nor a text that may go on. Without its header, a table's keys
// would belong to another.
func alone(line string) bool {
	for _, pair := range []string{"[]", "{}"} {
		if strings.Count(line, pair[:1]) != strings.Count(line, pair[1:]) {
			return false
		}
	}
	if strings.Contains(line, `"""`) || strings.Contains(line, "'''") {
		return false
	}
	return strings.Contains(line, "=") || colon.MatchString(line) || commentLike.MatchString(line)
}

var (
	bareQuantity = regexp.MustCompile(`^[+−-]?[0-9.][0-9.,_eE+-]*\s*[\pL°%Ω'"/]`)
	bareDate     = regexp.MustCompile(`^([0-9]{4}-[0-9]{1,2}-[0-9]{1,2}|[0-9]{1,2}[./][0-9]{1,2}[./][0-9]{4})($|[T\s])`)
	bareExponent = regexp.MustCompile(`^[+-]?[0-9][0-9._]*[eE][+-]?([0-9]*\.[0-9.]*)?$`)
	bareBase     = regexp.MustCompile(`^[+-]?0([xX][0-9A-Fa-f]|[oO][0-9]|[bB][0-9])`)
	bareFlag     = regexp.MustCompile(`(?i)^(true|false|yes|no|on|off)$`)
	bareWord     = regexp.MustCompile(`^\pL`)
	colon        = regexp.MustCompile(`^\s*([A-Za-z0-9_-]+)\s*:`)
	commentLike  = regexp.MustCompile(`^\s*(//|;|--|%|!)`)
)

// explain puts a fault of syntax into the words of someone who writes cases,
// where its line shows what was meant.
func explain(f *Fault, line string, p *positions) {
	say := func(allowed string) { f.Allowed = "is not TOML: " + allowed }
	if strings.HasSuffix(f.Allowed, saysTwice) {
		for _, at := range p.places {
			if first := p.lines[at.path]; at.line == f.Line && first < f.Line {
				f.Key, f.Allowed = oneLineOr(at.path), "is given twice; the first is in line "+strconv.Itoa(first)
				return
			}
		}
		return
	}
	if strings.Contains(f.Allowed, saysOpen) && len(p.places) > 0 {
		// Told at the end of the text; the text that swallowed it began before.
		if last := p.places[len(p.places)-1]; strings.HasPrefix(last.value, `"""`) || strings.HasPrefix(last.value, "'''") {
			f.Line, f.Key = last.line, oneLineOr(last.path)
			say("the text that begins here with " + last.value[:3] + " does not end")
			return
		}
	}
	if strings.HasSuffix(f.Allowed, saysReturn) {
		say("lines end with a carriage return alone; save the file with line feeds")
		return
	}
	value := ""
	m := assignment.FindStringSubmatch(line)
	if m != nil {
		value = uncommented(m[2])
		f.Key, f.Given = m[1], oneLineOr(value)
	}
	switch {
	case commentLike.MatchString(line):
		say("a comment begins with #")
	case strings.ContainsAny(line, "“”„‟«»"):
		say(`quotes must be straight, "`)
	case m == nil && colon.MatchString(line):
		say("a key and its value are joined by =")
	case m == nil:
	case strings.Contains(f.Allowed, saysRange):
		f.Allowed = "is too large a number"
	case value == "":
		f.Given = ""
		say("the value is missing")
	case bareDate.MatchString(value):
		say("a date and time is written 2026-05-01T14:00:00, and its day must exist")
	case bareExponent.MatchString(value):
		say("an exponent is a whole number, as in 1.5e3")
	case bareBase.MatchString(value):
		say("a number is written with the digits 0 to 9")
	case bareQuantity.MatchString(value):
		say(`a number with its unit stands in quotes, "` + strings.ReplaceAll(value, `"`, "") + `"`)
	case bareFlag.MatchString(value):
		say("a flag is true or false, in small letters")
	case value[0] == '"' && strings.Count(value, `"`) == 1 || value[0] == '\'' && strings.Count(value, "'") == 1:
		say("the closing quote is missing")
	case bareWord.MatchString(value):
		say("text stands in quotes")
	default:
		f.Key, f.Given = "", "" // the library's own words
	}
}

// uncommented cuts a comment off a value that holds no quote.
func uncommented(value string) string {
	if before, _, found := strings.Cut(value, "#"); found && !strings.ContainsAny(value, `"'`) {
		return strings.TrimSpace(before)
	}
	return value
}
