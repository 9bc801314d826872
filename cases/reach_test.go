package cases

import (
	"fmt"
	"strings"
	"testing"

	"soiljoule/solver"
)

// TestSidesTakeLittle: of the cold power of a ring, a pair and arrays, the insulated sides
// of a plan take less than 1 % where they are left to the case, against sides twice as far.
// What they take falls with the square of their distance at least, so that doubling it
// leaves no more than a quarter: the difference is at least three quarters of all, and the
// bar three quarters of 1 %. Check finds no side too near.
func TestSidesTakeLittle(t *testing.T) {
	base := soundPlan[:strings.Index(soundPlan, "[[target]]")] + "[[target]]\nname = \"zone\"\noutline = [%s]\ntemperature = \"80 degC\"\n%s" + soundPlan[strings.Index(soundPlan, "[supply]"):]
	square := func(a, b string) string {
		return fmt.Sprintf(`["0 m", "0 m"], ["%s m", "0 m"], ["%s m", "%s m"], ["0 m", "%s m"]`, a, a, b, b)
	}
	ends := "top = \"2 m\"\nbottom = \"4 m\"\nradius = \"15 cm\"\n"
	grid := "[[array]]\npattern = \"triangular\"\nspacing = \"5 m\"\n" + ends
	ring := "[[array]]\npattern = \"ring\"\ncenter = [\"5 m\", \"5 m\"]\ndiameter = \"10 m\"\ncount = %d\n" + ends
	for _, c := range []struct {
		name, zone, electrodes, phases string
	}{
		{"ring of six phases", square("10", "10"), fmt.Sprintf(ring, 6), "6"},
		{"ring of twelve", square("10", "10"), fmt.Sprintf(ring, 12), "6"},
		{"ring of three phases", square("10", "10"), fmt.Sprintf(ring, 6), "3"},
		{"pair", square("10", "10"), "[[electrode]]\nname = \"P\"\nphase = \"A\"\nx = \"2 m\"\ny = \"5 m\"\n" + ends + "[[electrode]]\nname = \"Q\"\nphase = \"B\"\nx = \"7 m\"\ny = \"5 m\"\n" + ends, "1"},
		{"triangular", square("25", "22"), grid, "3"},
		{"larger triangular", square("50", "44"), grid, "3"},
		{"rows of two poles", square("25", "22"), grid, "1"},
	} {
		sets := []string{"time.duration=1 d", "mesh.finest=0.5 m", "supply.phases=" + c.phases}
		var kW [2]float64
		var x *Case
		for i := range kW {
			x, _ = mustParse(t, fmt.Sprintf(base, c.zone, c.electrodes), sets...).Expand()
			if near := x.TooNear(); near != nil {
				t.Errorf("%s: too near: %q", c.name, near)
			}
			p, err := x.Build()
			if err != nil {
				t.Fatal(err)
			}
			r, err := solver.Start(p)
			if err != nil {
				t.Fatal(err)
			}
			kW[i] = r.State.Power * r.State.Voltage * r.State.Voltage / 1e3
			left, right, _ := x.Bounds()
			front, back := x.ends()
			a, b, f, n := x.around()
			sets = append(sets, fmt.Sprintf("domain.left=%g m", 2*left-a), fmt.Sprintf("domain.right=%g m", 2*right-b),
				fmt.Sprintf("domain.front=%g m", 2*front-f), fmt.Sprintf("domain.back=%g m", 2*back-n))
		}
		share := 1 - kW[0]/kW[1]
		t.Logf("%s: %d electrodes, sides %.1f m beyond them: %.5g kW, at twice as far %.5g kW, %.2f %% less", c.name, len(x.Electrodes), x.sidesReach(), kW[0], kW[1], 100*share)
		if !(share < 0.75*0.01 && share > -1e-3) {
			t.Errorf("%s: the sides take %.2f %%, want less than 0.75 %%", c.name, 100*share)
		}
	}
}
