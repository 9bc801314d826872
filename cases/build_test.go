package cases

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"soiljoule/solver"
)

// TestAirSwingsWithinSteps: over whole days, air that swings by ±12 K takes what
// its mean takes, though steps grow to days where the target lies deep.
func TestAirSwingsWithinSteps(t *testing.T) {
	text, err := Template("section")
	if err != nil {
		t.Fatal(err)
	}
	loss := func(air string) float64 {
		c, err := Parse("swing.toml", []byte(text), t.TempDir(), []string{"mesh.finest=12 in", "time.duration=40 d", "supply.voltage=10 V", "output.fields_every=40 d"})
		if err != nil {
			t.Fatal(err)
		}
		if air == "swing" {
			for h := 0.0; h <= 40*24; h += 3 {
				c.Surface.Air.Series = append(c.Surface.Air.Series, AirPoint{h * 3600, 283.15 + 12*math.Sin(2*math.Pi*h/24)})
			}
		} else {
			c.Surface.Air = Air{Constant: 283.15}
		}
		c, _ = c.Expand()
		p, err := c.Build()
		if err != nil {
			t.Fatal(err)
		}
		p.Watched.K0 = p.Watched.K1 - 1 // nothing near the surface holds the steps back
		r, err := solver.Run(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		return r.Ledger.LossSurface / 3.6e6
	}
	still, swing := loss("still"), loss("swing")
	// The wave's amplitude of flux is below hΔT = 144 W/m² (the film's 12 times 12 K),
	// so a quarter day of it stores less than 144·86400/(2π) J/m² = 0.55 kWh/m².
	c, _ := Parse("swing.toml", []byte(text), t.TempDir(), nil)
	c, _ = c.Expand()
	left, right, _ := c.Bounds()
	most := 144 * 86400 / (2 * math.Pi) / 3.6e6 * (right - left) * c.Extent.Length
	if math.Abs(swing-still) > most {
		t.Errorf("air that swings takes %.0f kWh, its mean takes %.0f: want them within %.0f", swing, still, most)
	}
}

// TestAirMean: the mean of a piecewise line is that of its trapezoids.
func TestAirMean(t *testing.T) {
	c := &Case{Surface: Surface{Air: Air{Series: []AirPoint{{0, 280}, {10, 290}, {30, 270}}}}}
	for _, w := range []struct{ from, to, want float64 }{
		{0, 10, 285}, {0, 30, 285 + (280-285)*2./3}, {5, 15, (5*287.5 + 5*287.5) / 10}, {40, 50, 270}, {20, 40, 272.5}, {7, 7, 287},
	} {
		// Sums of a few terms near 3e3: ten roundings.
		if got := c.airMean(w.from, w.to); math.Abs(got-w.want) > 1e-11 {
			t.Errorf("airMean(%g, %g) = %.12g, want %.12g", w.from, w.to, got, w.want)
		}
	}
}

// TestOverlappingBores: aligned rows whose bores overlap are refused with their
// line, though their axes stand apart.
func TestOverlappingBores(t *testing.T) {
	text, err := Template("section")
	if err != nil {
		t.Fatal(err)
	}
	a, b := strings.Index(text, "[[array]]"), strings.Index(text, "[supply]")
	rows := ""
	for i, x := range []string{"10 ft", "10.7 ft", "20 ft"} {
		rows += fmt.Sprintf("[[electrode]]\nname = \"R%d\"\nphase = \"%c\"\nx = %q\ntop = \"7 ft\"\nbottom = \"13 ft\"\nradius = \"6 in\"\nrod_spacing = \"14 ft\"\n", i, 'A'+i, x)
	}
	_, err = Parse("bores.toml", []byte(text[:a]+rows+text[b:]), t.TempDir(), nil)
	if err == nil || !strings.Contains(err.Error(), "is the place of electrode.R0") {
		t.Errorf("two bores of 6 in radius 8.4 in apart: error %v, want a fault", err)
	}
}
