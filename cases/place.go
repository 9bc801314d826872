package cases

import (
	"fmt"
	"strings"
)

// spots is a place in a plan, [x, y], at a *[2]float64.
type spots struct{}

func (spots) wants(*key) string { return `x and y, such as ["30 ft", "4.5 m"]` }

func (s spots) read(in input, dst any) {
	p := dst.(*[2]float64)
	*p = [2]float64{nan, nan}
	pair, ok := in.raw.([]any)
	if !ok || len(pair) != 2 {
		in.refuse("must be " + s.wants(in.key))
		return
	}
	for i, raw := range pair {
		p[i], _ = quantity{dim: length}.number(in.element(i, raw))
	}
}

func (spots) write(_ *key, src any) string {
	p := src.(*[2]float64)
	if p[0] != p[0] {
		return ""
	}
	return "[" + quote(length.format(p[0])) + ", " + quote(length.format(p[1])) + "]"
}

func (spots) column(k *key) (string, string) { return "x, y in " + k.unit, k.span.text() }

// outlines is the corners of a closed figure of a plan, at a *[][2]float64. One that
// is refused is left with a corner of NaN, so that it does not count as missing.
type outlines struct{}

// mostCorners is how many corners an outline may have: checks of pairs of sides stay
// quick.
const mostCorners = 200

func (outlines) wants(*key) string {
	return `a list of corners, each x and y, such as [["0 ft", "0 ft"], ["60 ft", "0 ft"], ["60 ft", "90 ft"]]`
}

func (o outlines) read(in input, dst any) {
	p := dst.(*[][2]float64)
	*p = [][2]float64{{nan, nan}}
	corners, ok := in.raw.([]any)
	switch {
	case !ok:
		in.wrongKind()
		return
	case len(corners) < 3:
		in.refuse(fmt.Sprintf("has %d corners; must have three or more: %s", len(corners), o.wants(in.key)))
		return
	case len(corners) > mostCorners:
		in.refuse(fmt.Sprintf("has %d corners; must have at most %d", len(corners), mostCorners))
		return
	}
	*p = make([][2]float64, len(corners))
	for i, raw := range corners {
		spots{}.read(in.element(i, raw), &(*p)[i])
	}
}

func (outlines) write(_ *key, src any) string {
	var texts []string
	for _, corner := range *src.(*[][2]float64) {
		texts = append(texts, spots{}.write(nil, &corner))
	}
	if texts == nil {
		return ""
	}
	return "[" + strings.Join(texts, ", ") + "]"
}

func (outlines) column(k *key) (string, string) {
	return "list of x, y in " + k.unit, fmt.Sprintf("3 to %d corners", mostCorners)
}
