package cases

import (
	"fmt"
	"strconv"
	"strings"
)

// kind is what the value of a key may be: how it is read from TOML and written
// back.
type kind interface {
	// wants says what is allowed, as a phrase: "text in quotes".
	wants(k *key) string
	// read stores in.raw at dst, or refuses it.
	read(in input, dst any)
	// write returns TOML for what is at src; "" leaves the key out.
	write(k *key, src any) string
	// column returns the unit and the range for a listing.
	column(k *key) (unit, allowed string)
}

// input is one value on its way in.
type input struct {
	l    *loader
	key  *key
	path string // for messages: "layer.clay.porosity"
	loc  string // for the line: "layer[2].porosity"
	raw  any    // as decoded
}

// refuse records that the value is not allowed.
func (in input) refuse(allowed string) {
	in.l.fault(in.loc, in.path, in.l.given(in.loc, in.raw), allowed)
}

// wrongKind records that the value is of the wrong kind altogether.
func (in input) wrongKind() { in.refuse("must be " + in.key.kind.wants(in.key)) }

// notText is wrongKind for what is written without quotes.
func (in input) notText() {
	allowed := "must be " + in.key.kind.wants(in.key)
	if _, quoted := in.raw.(string); quoted {
		allowed += ", without quotes"
	}
	in.refuse(allowed)
}

// element is the i-th value (from 0) of a list.
func (in input) element(i int, raw any) input {
	n := "[" + strconv.Itoa(i+1) + "]"
	in.path, in.loc, in.raw = in.path+n, in.loc+n, raw
	return in
}

// textKind is any text.
type textKind struct{}

func (textKind) wants(*key) string { return "text in quotes" }

func (textKind) read(in input, dst any) {
	s, ok := in.raw.(string)
	switch {
	case !ok:
		in.wrongKind()
	case in.key.required && strings.TrimSpace(s) == "":
		in.refuse("must not be empty")
	default:
		*dst.(*string) = s
	}
}

func (textKind) write(k *key, src any) string {
	s := *src.(*string)
	if s == "" && !k.required {
		return ""
	}
	return quote(s)
}

func (textKind) column(*key) (string, string) { return "text", "any" }

// nameKind is text that can stand in a path, in a column's head and in a file.
type nameKind struct {
	dots bool // a dot may stand inside it, as in a depth: "x15z9.5"
}

const longestName = 60

func (nameKind) wants(*key) string { return "a name in quotes" }

func (n nameKind) read(in input, dst any) {
	s, ok := in.raw.(string)
	switch {
	case !ok:
		in.wrongKind()
	case strings.TrimSpace(s) == "":
		in.refuse("must not be empty")
	case !n.allows(s) && n.dots:
		in.refuse(fmt.Sprintf("must be at most %d letters, digits, spaces and the like, without [ ] = , # @ / or quotes, and without a dot at its ends", longestName))
	case !n.allows(s):
		in.refuse(fmt.Sprintf("must be at most %d letters, digits, spaces and the like, without . [ ] = , # @ / or quotes", longestName))
	default:
		*dst.(*string) = s
	}
}

func (nameKind) write(_ *key, src any) string {
	if s := *src.(*string); s != "" {
		return quote(s)
	}
	return ""
}

func (n nameKind) column(*key) (string, string) {
	allowed := fmt.Sprintf("a name, at most %d signs", longestName)
	if n.dots {
		allowed += ", dots inside it too"
	}
	return "text", allowed
}

// allows reports whether s can be a name.
func (n nameKind) allows(s string) bool {
	if strings.Contains(s, ".") && (!n.dots || strings.Trim(s, ".") != s) {
		return false
	}
	return s != "" && s == strings.TrimSpace(s) && !strings.ContainsAny(s, "[]=,#@\"'`\\/") && len([]rune(s)) <= longestName && oneLine(s) == s
}

// wordKind is one of a few words.
type wordKind []string

func (w wordKind) wants(*key) string {
	quoted := make([]string, len(w))
	for i, s := range w {
		quoted[i] = `"` + s + `"`
	}
	return list(quoted, "or")
}

func (w wordKind) read(in input, dst any) {
	s, ok := in.raw.(string)
	for _, allowed := range w {
		if ok && s == allowed {
			*dst.(*string) = s
			return
		}
	}
	in.wrongKind()
}

func (wordKind) write(_ *key, src any) string { return quote(*src.(*string)) }

func (w wordKind) column(*key) (string, string) { return "word", strings.Join(w, " | ") }

// flagKind is true or false, at a *bool or, where it may be absent, a **bool.
type flagKind struct{}

func (flagKind) wants(*key) string { return "true or false" }

func (flagKind) read(in input, dst any) {
	b, ok := in.raw.(bool)
	if !ok {
		in.notText()
		return
	}
	switch p := dst.(type) {
	case *bool:
		*p = b
	case **bool:
		*p = &b
	}
}

func (flagKind) write(_ *key, src any) string {
	p, ok := src.(*bool)
	if !ok {
		p = *src.(**bool)
	}
	if p == nil {
		return ""
	}
	return strconv.FormatBool(*p)
}

func (flagKind) column(*key) (string, string) { return "flag", "true | false" }

// quote writes s as a one-line TOML string.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < 0x20 || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
