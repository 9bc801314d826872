package figure

import (
	"image/color"
	"strings"
	"testing"

	"soiljoule/cases"
)

// TestLayoutDrawsMetal: buried metal is black on the layout, over as much of the page as it
// takes of the site; metal too far off to be drawn is named instead.
func TestLayoutDrawsMetal(t *testing.T) {
	s := newStyle("si")
	layout := func(c *cases.Case) *drawing {
		d, err := layoutOf(&folder{c: c}, s, "layout")
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	black := func(c *cases.Case) (points int) {
		m := layout(c).image(s, 72)
		for y := m.Bounds().Min.Y; y < m.Bounds().Max.Y; y++ {
			for x := m.Bounds().Min.X; x < m.Bounds().Max.X; x++ {
				if color.GrayModel.Convert(m.At(x, y)).(color.Gray).Y < 40 {
					points++
				}
			}
		}
		return points
	}
	for _, c := range []*cases.Case{planCase(), sectionCase(), roundCase()} {
		without := black(c)
		w, _ := (&folder{c: c}).siteBox()
		// A plate of a tenth of the picture's width, 250 points: inside, so that the
		// picture's scale stays. From above it is a square of 25 points (a strip, a disc)
		// and covers marks and letters that were black before: half of it is asked for.
		side, left, front := (w.right-w.left)/10, (w.left+w.right)/2, w.top+(w.bottom-w.top)/3
		m := cases.Conductor{Name: "plate", Left: left, Right: left + side, Front: front, Back: front + side, Radius: side,
			Outline: [][2]float64{{left, front}, {left + side, front}, {left + side, front + side}, {left, front + side}},
			Top:     c.Targets[0].Top, Bottom: c.Targets[0].Bottom}
		c.Conductors = []cases.Conductor{m}
		if with := black(c); with-without < 25*25/2 {
			t.Errorf("%s: %d black points with buried metal, %d without; want some %d more", c.View, with, without, 25*25)
		}
		if c.View == cases.Axisymmetric {
			continue // a ring is within the cell
		}
		m.Left, m.Right = 1e3, 1001
		c.Conductors[0] = m
		text, err := layout(c).svg(s)
		if err != nil {
			t.Fatal(err)
		}
		if want := "Buried metal beyond the picture: plate."; !strings.Contains(string(text), want) {
			t.Errorf("%s: metal a kilometre away is not told; want %q on the page", c.View, want)
		}
	}
}
