package cases

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// TestVoltageThatNoElectrodeHas: the supply's own voltage is what a run tells only while an
// electrode is connected to it. Where all that are connected have voltages of their own it
// is the highest of these, in the settings and in the caution, and the supply's again when
// one that has none is switched on.
func TestVoltageThatNoElectrodeHas(t *testing.T) {
	change := func(at, electrode, what string) string {
		return fmt.Sprintf("[[change]]\nat = %q\nelectrode = %q\n%s\n", at, electrode, what)
	}
	supply := "[[change]]\nat = \"4 d\"\nvoltage = \"400 V\"\n"
	all, _ := mustParse(t, soundArray).Expand()
	others := ""
	for _, e := range all.Electrodes[1:] {
		others += change("0 d", e.Name, `voltage = "80 V"`)
	}
	for _, c := range []struct {
		name, changes string
		want          []float64
		reach         string
	}{
		{"all from day 2 on", change("2 d", "E", `voltage = "90 V"`) + change("3 d", "E2", `voltage = "95 V"`) + supply, []float64{100, 90, 95, 95}, "100 V"},
		{"all", change("0 d", "E", `voltage = "90 V"`) + change("3 d", "E2", `voltage = "95 V"`) + supply, []float64{90, 95, 95}, "95 V"},
		{"all but one that is off", change("0 d", "E1", "on = false") + others + supply, []float64{80, 80}, "80 V"},
		{"all but one that is off until day 4", change("0 d", "E1", "on = false") + others + change("4 d", "E1", "on = true") + supply, []float64{80, 400}, "400 V"},
		{"one alone", change("0 d", "E1", `voltage = "90 V"`), []float64{100}, "100 V"},
	} {
		text := strings.Replace(soundArray, "[time]", c.changes+"[time]", 1)
		sets := []string{"supply.voltage=100 V", "supply.voltage_basis=phase to neutral", "mesh.finest=50 cm"}
		var got []float64
		for _, s := range builtFrom(t, text, sets...).Supply {
			got = append(got, s.Voltage)
		}
		// 1e-9: volts are read from text.
		if !slices.EqualFunc(got, c.want, func(a, b float64) bool { return a > b-1e-9 && a < b+1e-9 }) {
			t.Errorf("%s: the settings have %v V, want %v", c.name, got, c.want)
		}
		x, _ := mustParse(t, text, sets...).Expand()
		if want := "Electrodes reach " + c.reach; !strings.Contains(strings.Join(x.Cautions(), "\n"), want) {
			t.Errorf("%s: the cautions do not say %q:\n%s", c.name, want, x.Cautions()[1])
		}
	}
}
