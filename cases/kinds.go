package cases

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
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

// dateKind is a date, or a date and time, on the site's clock.
type dateKind struct{}

func (dateKind) wants(*key) string {
	return "a date without quotes, such as 2026-05-01 or 2026-05-01T14:00:00"
}

func (dateKind) read(in input, dst any) {
	if t, ok := siteClock(in); ok {
		*dst.(*time.Time) = t
	}
}

func (dateKind) write(_ *key, src any) string {
	t := *src.(*time.Time)
	switch {
	case t.IsZero():
		return ""
	case t.Equal(t.Truncate(24 * time.Hour)):
		return t.Format("2006-01-02")
	}
	return t.Format("2006-01-02T15:04:05.999999999")
}

func (dateKind) column(*key) (string, string) { return "date", "years 1900 to 2200" }

// siteClock reads a TOML local date or local date and time. The site's clock
// is taken to run evenly, without summer time; it is held as UTC.
func siteClock(in input) (time.Time, bool) {
	t, ok := in.raw.(time.Time)
	if !ok {
		in.refuse("must be " + dateKind{}.wants(in.key))
		return time.Time{}, false
	}
	// The library marks a date's kind by the name of its zone.
	if zone := t.Location().String(); zone != "date-local" && zone != "datetime-local" {
		in.refuse("must be a date on the site's clock, without a zone, such as 2026-05-01T14:00:00")
		return time.Time{}, false
	}
	if t.Year() < 1900 || t.Year() > 2200 {
		in.refuse("must be between the years 1900 and 2200")
		return time.Time{}, false
	}
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), time.UTC), true
}

// sinceSeconds returns t − start [s]; time.Duration would end at 292 years.
func sinceSeconds(t, start time.Time) float64 {
	return float64(t.Unix()-start.Unix()) + float64(t.Nanosecond()-start.Nanosecond())*1e-9
}

// moments is a list of times since power-on, or dates, at a *[]float64.
type moments struct{}

const mostElements = 5000

func (moments) wants(*key) string { return `a list of times, such as ["0.5 d", "12 d"]` }

func (moments) read(in input, dst any) {
	elements, ok := in.raw.([]any)
	if !ok || len(elements) > mostElements {
		in.wrongKind()
		return
	}
	var at []float64
	for i, raw := range elements {
		x, _ := quantity{dim: duration, dates: true}.number(in.element(i, raw))
		at = append(at, x)
	}
	*dst.(*[]float64) = at
}

func (moments) write(_ *key, src any) string {
	var texts []string
	for _, x := range *src.(*[]float64) {
		texts = append(texts, quote(duration.format(x)))
	}
	return "[" + strings.Join(texts, ", ") + "]"
}

func (moments) column(k *key) (string, string) {
	return "list of " + k.unit, k.span.text() + " or dates"
}

// depths is one depth or several, at a *Sensor. Until the sensor's name is
// known its Labels hold the depths as written, without spaces.
type depths struct{}

func (depths) wants(*key) string {
	return `a depth with its unit, such as "4 ft" or "1.2 m", or a list of them`
}

func (depths) read(in input, dst any) {
	s := dst.(*Sensor)
	elements, several := in.raw.([]any)
	if !several {
		if x, ok := (quantity{dim: length}).number(in); ok {
			s.Depths = []float64{x}
		}
		return
	}
	if len(elements) == 0 || len(elements) > mostElements {
		in.wrongKind()
		return
	}
	for i, raw := range elements {
		if x, ok := (quantity{dim: length}).number(in.element(i, raw)); ok {
			s.Depths = append(s.Depths, x)
			s.Labels = append(s.Labels, strings.Join(strings.Fields(raw.(string)), ""))
		}
	}
}

// write keeps a depth as it was written where the label still holds it, so
// that a written case names its sensors' columns as the first one did.
func (depths) write(_ *key, src any) string {
	s := src.(*Sensor)
	var texts []string
	several := false
	for i, x := range s.Depths {
		written := length.format(x)
		if i < len(s.Labels) {
			if label, ok := strings.CutPrefix(s.Labels[i], s.Name+"@"); ok {
				several = true
				if v, _, err := length.parse(label); err == nil && v == x {
					written = label
				}
			}
		}
		texts = append(texts, quote(written))
	}
	if len(texts) == 1 && !several {
		return texts[0]
	}
	return "[" + strings.Join(texts, ", ") + "]"
}

func (depths) column(k *key) (string, string) { return k.unit, k.span.text() }

// inflows is a layer's supply of water, at an *Inflow.
type inflows struct{}

func (inflows) wants(*key) string {
	return `"unlimited", "none" or a rate in pore volumes per time, such as ` + rate.examples("0.02")
}

func (inflows) read(in input, dst any) {
	p := dst.(*Inflow)
	switch in.raw {
	case "unlimited":
		p.Kind = InflowUnlimited
	case "none":
		p.Kind = InflowNone
	default:
		if s, ok := in.raw.(string); ok && !strings.ContainsAny(s, "0123456789") {
			in.wrongKind()
			return
		}
		p.Kind = InflowRate
		p.Rate, _ = quantity{dim: rate}.number(in)
	}
}

func (inflows) write(_ *key, src any) string {
	switch p := src.(*Inflow); p.Kind {
	case InflowUnlimited:
		return quote("unlimited")
	case InflowNone:
		return quote("none")
	case InflowRate:
		return quote(rate.format(p.Rate))
	}
	return ""
}

func (inflows) column(k *key) (string, string) { return k.unit, k.span.text() + ` | unlimited | none` }

// airs is the air temperature, at an *Air.
type airs struct{}

func (airs) wants(*key) string {
	return `a temperature such as "53.6 degF", twelve of them in a list, or the name of a .csv file`
}

func (airs) read(in input, dst any) {
	p := dst.(*Air)
	q := quantity{dim: temperature}
	switch v := in.raw.(type) {
	case []any:
		if len(v) != 12 {
			in.refuse(fmt.Sprintf("has %d values; must be twelve, January to December", len(v)))
			return
		}
		if !in.l.has("time", 0, "power_on") {
			in.refuse("twelve monthly values need time.power_on, to know the month")
		}
		for i, raw := range v {
			x, _ := q.number(in.element(i, raw))
			p.Monthly = append(p.Monthly, x)
		}
	case string:
		if strings.HasSuffix(strings.ToLower(v), ".csv") {
			p.File = v
			var rows []point
			rows, p.Text = readSeries(in, v, airSeries)
			for _, row := range rows {
				p.Series = append(p.Series, AirPoint{row.time, row.value})
			}
			return
		}
		if !strings.ContainsAny(v, "0123456789") {
			in.wrongKind()
			return
		}
		p.Constant, _ = q.number(in)
	case int64, float64:
		p.Constant, _ = q.number(in)
	default:
		in.wrongKind()
	}
}

func (airs) write(_ *key, src any) string {
	p := src.(*Air)
	if p.File != "" {
		return quote(baseName(p.File))
	}
	if p.Monthly == nil {
		return quote(temperature.format(p.Constant))
	}
	var texts []string
	for _, x := range p.Monthly {
		texts = append(texts, quote(temperature.format(x)))
	}
	return "[" + strings.Join(texts, ", ") + "]"
}

func (airs) column(k *key) (string, string) { return k.unit, k.span.text() + " | a .csv file" }

// powers is a set power against time, at a *Power.
type powers struct{}

func (powers) wants(*key) string {
	return "a power with its unit, such as " + power.examples("12") + ", or the name of a .csv file"
}

func (powers) read(in input, dst any) {
	p := dst.(*Power)
	if v, ok := in.raw.(string); ok && strings.HasSuffix(strings.ToLower(v), ".csv") {
		p.File = v
		var rows []point
		rows, p.Text = readSeries(in, v, powerSeries)
		for _, row := range rows {
			p.Series = append(p.Series, PowerPoint{row.time, row.value})
		}
		return
	} else if ok && !strings.ContainsAny(v, "0123456789") {
		in.wrongKind()
		return
	}
	p.Constant, _ = quantity{dim: power}.number(in)
}

func (powers) write(_ *key, src any) string {
	p := src.(*Power)
	if p.File != "" {
		return quote(baseName(p.File))
	}
	return quote(power.format(p.Constant))
}

func (powers) column(k *key) (string, string) { return k.unit, k.span.text() + " | a .csv file" }

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
