package cases

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// wholeKind is a whole number: one of a few, or any in the key's range.
type wholeKind []int

func (w wholeKind) wants(k *key) string {
	if len(w) == 0 {
		return "a whole number, " + k.span.text()
	}
	texts := make([]string, len(w))
	for i, n := range w {
		texts[i] = strconv.Itoa(n)
	}
	return list(texts, "or")
}

func (w wholeKind) read(in input, dst any) {
	n, ok := in.raw.(int64)
	for _, allowed := range w {
		if ok && n == int64(allowed) {
			*dst.(*int) = allowed
			return
		}
	}
	if !ok || len(w) > 0 {
		in.notText()
		return
	}
	if no := in.key.span.refuse(float64(n), unit{factor: 1}); no != "" {
		in.refuse(no)
		return
	}
	*dst.(*int) = int(n)
}

func (wholeKind) write(_ *key, src any) string { return strconv.Itoa(*src.(*int)) }

func (w wholeKind) column(k *key) (string, string) {
	if len(w) > 0 {
		return "whole number", strings.ReplaceAll(strings.ReplaceAll(w.wants(k), ", ", " | "), " or ", " | ")
	}
	return "whole number", k.span.text()
}

// bareKind is a number without a unit.
type bareKind struct{}

func (bareKind) wants(k *key) string { return "a number, " + k.span.text() }

func (bareKind) read(in input, dst any) {
	p := dst.(*float64)
	*p = nan
	x, ok := finite(in)
	if !ok {
		return
	}
	if no := in.key.span.refuse(x, unit{factor: 1}); no != "" {
		in.refuse(no)
		return
	}
	*p = x
}

func (bareKind) write(_ *key, src any) string { return tomlNumber(*src.(*float64)) }

func (bareKind) column(k *key) (string, string) { return "number", k.span.text() }

// shareKind is a part of a whole: a bare number, or a text in per cent.
type shareKind struct{}

func (shareKind) wants(k *key) string {
	return fmt.Sprintf(`a share, %s, such as 0.42 or "42 %%"`, k.span.text())
}

func (shareKind) read(in input, dst any) {
	p := dst.(*float64)
	*p = nan
	x, ok := 0.0, true
	if s, is := in.raw.(string); is {
		number, percent := strings.CutSuffix(plain(s), "%")
		v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		if !percent || err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
			in.wrongKind()
			return
		}
		x = round13(v / 100)
	} else if x, ok = finite(in); !ok {
		return
	}
	if no := in.key.span.refuse(x, unit{factor: 1}); no != "" {
		if x > 1 && x <= 100 {
			no += fmt.Sprintf(" (a fraction; %s %% is %s)", digits(x), digits(round13(x/100)))
		}
		in.refuse(no)
		return
	}
	*p = x
}

func (shareKind) write(_ *key, src any) string {
	x := *src.(*float64)
	if math.IsNaN(x) { // left out
		return ""
	}
	return tomlNumber(x)
}

func (shareKind) column(k *key) (string, string) { return "share", k.span.text() }

// quantity is a number with its unit, at a *float64, a **float64 where it may
// be absent, or a worded.
type quantity struct {
	dim   *dimension
	word  string // a word allowed in place of a number; "" for none
	dates bool   // a time since power-on, that may be given as a date
}

// worded is the address of a quantity that a word can replace.
type worded struct {
	number *float64
	is     *bool   // whether the word holds; nil: where the number equals blank
	blank  float64 // the number where the word holds
}

func (q quantity) wants(k *key) string {
	phrase := q.dim.phrase + " with its unit, such as " + q.dim.examples("12")
	if q.dates {
		phrase += ", or a date without quotes"
	}
	if q.word != "" {
		phrase += `, or "` + q.word + `"`
	}
	return phrase
}

func (q quantity) read(in input, dst any) {
	switch p := dst.(type) {
	case *float64:
		*p, _ = q.number(in)
	case **float64:
		x, _ := q.number(in)
		*p = &x
	case worded:
		holds := in.raw == any(q.word)
		if *p.number = p.blank; !holds {
			*p.number, _ = q.number(in)
		}
		if p.is != nil {
			*p.is = holds
		}
	}
}

// isoDate matches what a date in quotes starts with.
var isoDate = regexp.MustCompile(`^\d{4}-\d\d-\d\d`)

// number reads a quantity [SI]; NaN and false if it is refused.
func (q quantity) number(in input) (float64, bool) {
	var x float64
	ranged, _ := q.dim.find(in.key.unit)
	given := ranged
	switch v := in.raw.(type) {
	case string:
		if q.dates && isoDate.MatchString(v) {
			in.refuse("must be a date without quotes")
			return nan, false
		}
		var err error
		if x, given, err = q.dim.parse(v); err != nil {
			no := err.Error()
			if q.word != "" && !strings.ContainsAny(v, "0123456789") {
				no = "must be " + in.key.kind.wants(in.key)
			}
			in.refuse(no)
			return nan, false
		}
	case int64, float64:
		if f, ok := v.(float64); ok && (math.IsNaN(f) || math.IsInf(f, 0)) {
			in.wrongKind()
			return nan, false
		}
		in.refuse("needs its unit: write " + q.dim.examples(fmt.Sprint(v)))
		return nan, false
	case time.Time:
		if !q.dates {
			in.wrongKind()
			return nan, false
		}
		if in.l.c.Time.PowerOn.IsZero() {
			if !in.l.has("time", 0, "power_on") { // else it has a fault of its own
				in.refuse("is a date, which needs time.power_on; or write " + q.dim.examples("12") + " since power-on")
			}
			return nan, false
		}
		t, ok := siteClock(in)
		if !ok {
			return nan, false
		}
		x = sinceSeconds(t, in.l.c.Time.PowerOn)
		if x < 0 {
			in.refuse("must not be before time.power_on")
			return nan, false
		}
	default:
		in.wrongKind()
		return nan, false
	}
	if no := in.key.span.in(ranged, given).refuse(x, given); no != "" {
		in.refuse(no)
		return nan, false
	}
	return x, true
}

func (q quantity) write(k *key, src any) string {
	x := 0.0
	switch p := src.(type) {
	case *float64:
		x = *p
		if !k.required && k.def == "" && (x == k.blank || math.IsNaN(x)) {
			return ""
		}
	case **float64:
		if *p == nil {
			return ""
		}
		x = **p
	case worded:
		if p.is != nil && *p.is || p.is == nil && *p.number == p.blank {
			return quote(q.word)
		}
		x = *p.number
	}
	return quote(q.dim.format(x))
}

func (q quantity) column(k *key) (string, string) {
	unit, allowed := k.unit, k.span.text()
	if q.dim == difference {
		unit += ", difference"
	}
	if q.dates {
		allowed += " or a date"
	}
	if q.word != "" {
		allowed += " | " + q.word
	}
	return unit, allowed
}

// finite reads a bare number that is neither NaN nor infinite.
func finite(in input) (float64, bool) {
	switch v := in.raw.(type) {
	case int64:
		return float64(v), true
	case float64:
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			return v, true
		}
	}
	in.notText()
	return nan, false
}

// tomlNumber writes x with the shortest digits that read back to its bits.
func tomlNumber(x float64) string { return digits(x) }
