package cases

import "fmt"

// Off is when the supply goes off for good. The zero value is never.
type Off struct {
	At   float64 // [s]; 0: not at a time of its own
	Held bool    // when the first target has been held
}

// offKind is the value of supply.off: a time, a date or "held", at an *Off.
type offKind struct{}

func (offKind) wants(*key) string {
	return `a time with its unit, such as "70 d", a date without quotes, or "held"`
}

func (offKind) read(in input, dst any) {
	p := dst.(*Off)
	if p.Held = in.raw == any("held"); !p.Held {
		p.At, _ = quantity{dim: duration, dates: true, word: "held"}.number(in)
	}
}

func (offKind) write(_ *key, src any) string {
	switch p := src.(*Off); {
	case p.Held:
		return quote("held")
	case p.At > 0:
		return quote(duration.format(p.At))
	}
	return ""
}

func (offKind) column(k *key) (string, string) { return k.unit, k.span.text() + " or a date | held" }

// offCautions names a supply that is not off when it seems to be, and what is planned
// for after.
func (c *Case) offCautions() []string {
	off := c.Supply.Off
	if off == (Off{}) {
		return nil
	}
	out := []string{"Ground that has cooled is not therefore clean, dry or sound: when it is sampled, built on or used again, qualified persons decide on site."}
	if off.At >= c.Time.Duration {
		out = append(out, fmt.Sprintf("supply.off, day %.4g, is not before the end of the run: the supply stays on.", off.At/day))
	}
	if off.At > 0 {
		n := 0
		for i := range c.Changes {
			if c.Changes[i].At >= off.At {
				n++
			}
		}
		if n > 0 {
			out = append(out, fmt.Sprintf("%d of %d [[change]] are for after supply.off and change nothing: the supply is off for good.", n, len(c.Changes)))
		}
	}
	return out
}
