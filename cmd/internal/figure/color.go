package figure

import (
	"image/color"
	"math"
)

// lab is a colour in CIELAB for the D65 white point.
type lab struct{ l, a, b float64 }

// rgb returns the sRGB colour, each channel in [0, 1]; outside, the colour is
// not displayable.
//
// Source: CIE 15 (Colorimetry), CIELAB inverse; IEC 61966-2-1, sRGB.
func (c lab) rgb() (r, g, b float64) {
	fy := (c.l + 16) / 116
	inverse := func(f float64) float64 {
		if f > 6.0/29 {
			return f * f * f
		}
		return 3 * (6.0 / 29) * (6.0 / 29) * (f - 4.0/29)
	}
	x := 0.95047 * inverse(fy+c.a/500)
	y := inverse(fy)
	z := 1.08883 * inverse(fy-c.b/200)
	gamma := func(v float64) float64 {
		if v <= 0.0031308 {
			return 12.92 * v
		}
		return 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	return gamma(3.2404542*x - 1.5371385*y - 0.4985314*z),
		gamma(-0.9692660*x + 1.8760108*y + 0.0415560*z),
		gamma(0.0556434*x - 0.2040259*y + 1.0572252*z)
}

func (c lab) rgba() color.RGBA {
	r, g, b := c.rgb()
	byteOf := func(v float64) uint8 { return uint8(math.Round(255 * max(0, min(1, v)))) }
	return color.RGBA{byteOf(r), byteOf(g), byteOf(b), 255}
}

// distance is the CIE 1976 colour difference.
func (c lab) distance(d lab) float64 {
	return math.Sqrt((c.l-d.l)*(c.l-d.l) + (c.a-d.a)*(c.a-d.a) + (c.b-d.b)*(c.b-d.b))
}

// ramp is the one sequential colour map of all figures: light for cool, dark for
// hot, lightness falling all the way so that a print in grey reads the same,
// and equal steps of the scale equal steps of colour.
type ramp [257]lab

// newRamp runs through five colours, from pale yellow over orange and red to a
// dark violet, at constant colour difference. The five fall evenly in lightness.
func newRamp() ramp {
	anchors := []lab{
		{96, -3, 14},
		{78, 14, 44},
		{59, 40, 44},
		{40, 48, 22},
		{20, 30, -12},
	}
	lengths := []float64{0}
	for i := 1; i < len(anchors); i++ {
		lengths = append(lengths, lengths[i-1]+anchors[i].distance(anchors[i-1]))
	}
	total := lengths[len(lengths)-1]
	var r ramp
	for n := range r {
		s := total * float64(n) / float64(len(r)-1)
		i := 1
		for i < len(anchors)-1 && s > lengths[i] {
			i++
		}
		w := (s - lengths[i-1]) / (lengths[i] - lengths[i-1])
		p, q := anchors[i-1], anchors[i]
		r[n] = lab{p.l + w*(q.l-p.l), p.a + w*(q.a-p.a), p.b + w*(q.b-p.b)}
	}
	return r
}

// at returns the colour at t, 0 (cool, light) to 1 (hot, dark).
func (r *ramp) at(t float64) lab {
	if math.IsNaN(t) {
		t = 0
	}
	return r[int(math.Round(max(0, min(1, t))*float64(len(r)-1)))]
}

// line returns a colour for a line on white, t from 0 to 1: the palest third of
// the ramp would vanish.
func (r *ramp) line(t float64) color.Color { return r.at(0.3 + 0.7*t).rgba() }

// ink returns black or white, whichever stands out from c.
func (c lab) ink() color.Color {
	if c.l > 55 {
		return color.Black
	}
	return color.White
}

func grey(l float64) color.Color { return lab{l, 0, 0}.rgba() }
