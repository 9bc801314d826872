package cases

import (
	"fmt"
	"strings"
)

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
