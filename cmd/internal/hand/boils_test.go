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
