package hand

import (
	"testing"

	"soiljoule/cases"
)

// TestHeldBelowBoilingBoilsNothing: of a zone that a thermostat holds at 55 °C on its mean no
// water is boiled, nor where the case lets none boil; of one whose coldest place is held so,
// whose setpoint is that of steam, or that has no thermostat, the layer's share is.
func TestHeldBelowBoilingBoilsNothing(t *testing.T) {
	for _, c := range []struct {
		file string
		sets []string
		want float64 // of the pore water
	}{
		{"warm-zone", nil, 0},
		{"warm-zone", []string{"control.follow=coldest"}, 0.3},
		{"warm-zone", []string{"control.setpoint=101 degC"}, 0.3}, // the zone's top boils at 101.6 °C, and the band is 1 K
		{"warm-zone", []string{"control.setpoint=100 degC"}, 0},
		{"paved-yard", nil, 0.3},
		{"paved-yard", []string{"steam.boiling=false"}, 0},
	} {
		k, err := cases.Load("../../../cases/"+c.file+".toml", c.sets)
		if err != nil {
			t.Fatal(err)
		}
		have, why := energyCalculation().fill(k)
		if got, ok := have["removable_water"].(float64); !ok || got != c.want {
			t.Errorf("%s %q: the share of water boiled is %v %s, want %v", c.file, c.sets, have["removable_water"], why, c.want)
		}
	}
}

// TestHalfOfARingsPowerLiesOutsideIt: of a zone that is the circle through a ring of
// electrodes half of the power counts, and the days to its mean are those of half the power
// per volume; of a smaller circle, of a grid's zone and by arguments all of it does.
// Source: own derivation, by inversion in the circle.
func TestHalfOfARingsPowerLiesOutsideIt(t *testing.T) {
	for _, c := range []struct {
		file string
		sets []string
		want any
	}{
		{"tank-circle", nil, 0.5},
		{"tank-circle", []string{"array.E.diameter=36 ft"}, nil},
		{"warm-zone", nil, nil},
	} {
		k, err := cases.Load("../../../cases/"+c.file+".toml", c.sets)
		if err != nil {
			t.Fatal(err)
		}
		have, why := heatUpCalculation().fill(k)
		if have["share"] != c.want {
			t.Errorf("%s %q: the share is %v %s, want %v", c.file, c.sets, have["share"], why, c.want)
		}
	}
	first := func(args ...string) float64 {
		a, err := Find("heat-up").WorkOut(nil, append(args, "thickness=16 ft"))
		if err != nil {
			t.Fatal(err)
		}
		return *a.Results[0].SI
	}
	// The same numbers, multiplied elsewhere.
	near(t, "days at half the power", first("power_density=140 W/m3", "share=50 %"), first("power_density=70 W/m3"), 1e-12)
}
