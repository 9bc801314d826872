package figure

import (
	"image"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// ways is an invented run whose steam rises to an interval of extraction through ground
// with a barrier, and whose first electrode gets water.
func ways() invented {
	n := paved()
	n.c.Steam = cases.Steam{Boiling: true, Fate: "rising", Top: 0.5, Bottom: 1.5, CaptureShare: 1}
	n.c.Layers[0].SteamBarrier = true
	n.c.WaterAdded = []cases.WaterAdded{{Electrode: n.c.Electrodes[0].Name, Rate: 1e-5, To: math.Inf(1)}}
	return n
}

// TestWaysOfSteamAreNamed: every figure of the ground names what it marks, and nothing
// where steam does not rise and no water is added.
// Source: the case's own keys.
func TestWaysOfSteamAreNamed(t *testing.T) {
	rising := ways()
	extracted := ways()
	extracted.c.Steam.Fate = "extracted"
	extracted.c.WaterAdded[0].Rate = 0
	figures := []string{"section", "profiles", "layout", "saturation"}
	for _, one := range []struct {
		n    invented
		want bool
	}{{rising, true}, {extracted, false}} {
		dir := writeFolder(t, one.n)
		if _, err := drawAt(t.Context(), coarse, dir, one.n.c, Options{Only: figures}); err != nil {
			t.Fatal(err)
		}
		for _, name := range figures {
			svg, err := os.ReadFile(filepath.Join(dir, "figures", name+".svg"))
			if err != nil {
				t.Fatal(err)
			}
			for _, text := range []string{"steam extracted", "steam barrier", ", water added"} {
				if got := strings.Contains(string(svg), text); got != one.want {
					t.Errorf("%s, steam %s: names %q: %v, want %v", name, one.n.c.Steam.Fate, text, got, one.want)
				}
			}
		}
	}
}

// TestBarriersAreLowerFaces: a barrier is marked at the lower face of its layer, which the
// last layer has not; the interval as far as it is in the picture.
// Source: the layers' own depths.
func TestBarriersAreLowerFaces(t *testing.T) {
	n := ways()
	for i := range n.c.Layers {
		n.c.Layers[i].SteamBarrier = true
	}
	n.c.Layers[len(n.c.Layers)-1].Bottom = 50 // it may be given, or left out
	f := &folder{c: n.c}
	var want []float64
	for _, l := range n.c.Layers[:len(n.c.Layers)-1] {
		want = append(want, l.Bottom)
	}
	if got := f.barriers(0, 100); !slices.Equal(got, want) {
		t.Errorf("barriers at %v, want %v", got, want)
	}
	for _, one := range []struct {
		top, bottom, from, to float64
		ok                    bool
	}{{0, 9, 0.5, 1.5, true}, {1, 9, 1, 1.5, true}, {0, 1, 0.5, 1, true}, {2, 9, 0, 0, false}} {
		from, to, ok := f.extraction(one.top, one.bottom)
		if ok != one.ok || ok && (from != one.from || to != one.to) {
			t.Errorf("from %g to %g m: extraction %g to %g, %v", one.top, one.bottom, from, to, ok)
		}
	}
	n.c.Steam.Top, n.c.Steam.Bottom = math.NaN(), math.NaN()
	if _, _, ok := f.extraction(0, 9); ok {
		t.Error("an interval where the case has none")
	}
}

// TestWaterMarksDifferInGrey: an electrode at which water is added differs from another,
// and a barrier from the frame of a target, in shape, at half the width of a page.
// Source: symmetry: along an electrode without rungs and along a frame every dot is like
// the next; along the others it is not.
func TestWaterMarksDifferInGrey(t *testing.T) {
	bar := vg.Rectangle{Min: vg.Point{X: 10, Y: 10}, Max: vg.Point{X: 16, Y: 70}}
	// runs counts the changes between dark and light along a line through the middle.
	runs := func(upright bool, draw func(p *pen)) int {
		d := &drawing{width: 80, height: 80, paint: draw}
		img := d.image(newStyle("si"), 110) // half of what a page has
		b := img.Bounds()
		n, was := 0, false
		for i := range b.Dx() {
			x, y := i, b.Dy()/2
			if upright {
				x, y = 13*110/72, i
			}
			if dark := lightness(img, x, y) < 0.5; dark != was {
				n, was = n+1, dark
			}
		}
		return n
	}
	plain := runs(true, func(p *pen) { p.electrodeMark(bar) })
	wet := runs(true, func(p *pen) { p.electrodeMark(bar); p.rungs(bar) })
	if plain > 4 || wet < 4*plain {
		t.Errorf("along an electrode %d changes, with water %d", plain, wet)
	}
	barrier := runs(false, func(p *pen) { p.barrierMark(5, 75, 40-barrierWidth/2-0.6) })
	if barrier < 8 {
		t.Errorf("along a barrier %d changes: like a solid line", barrier)
	}
}

func lightness(img image.Image, x, y int) float64 {
	r, g, b, _ := img.At(x, y).RGBA()
	return (0.2126*float64(r) + 0.7152*float64(g) + 0.0722*float64(b)) / 0xffff
}
