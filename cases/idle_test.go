package cases

import (
	"fmt"
	"strings"
	"testing"
)

// switched returns changes that switch electrodes on or off, each "E1 off 3 d".
func switched(changes ...string) string {
	text := ""
	for _, c := range changes {
		var name, way string
		var at float64
		fmt.Sscanf(c, "%s %s %g", &name, &way, &at)
		text += fmt.Sprintf("[[change]]\nat = \"%g d\"\nelectrode = %q\non = %v\n", at, name, way == "on")
	}
	return text
}

// TestIdleSupplyIsTold: a current takes two potentials. While all electrodes that are on have
// one, a caution says from when to when; where two taps, the neutral, or the rim make another,
// or the supply is off in any case, it does not.
func TestIdleSupplyIsTold(t *testing.T) {
	off := "[[change]]\nat = \"3 d\"\non = false\n"
	grounded := []string{"electrode.E2.phase=N", "supply.neutral=grounded"}
	for _, c := range []struct {
		name, base, changes string
		sets                []string
		want                string // the stretch that is told, "": none
	}{
		{"all on", sound, "", nil, ""},
		{"one of two off", sound, switched("E1 off 3"), nil, "From day 3 to day 70 the supply is on and drives no current"},
		{"both off", sound, switched("E1 off 3", "E2 off 3"), nil, "From day 3 to day 70"},
		{"one after the other", sound, switched("E1 off 3", "E2 off 5", "E1 on 5", "E2 on 9"), nil, "From day 3 to day 9 the"},
		{"off, on and off again", sound, switched("E1 off 3", "E1 on 4", "E1 off 60"), nil, "From day 3 to day 4, and once more, the"},
		{"until the supply is off for good", sound, switched("E1 off 3"), []string{"supply.off=20 d"}, "From day 3 to day 20"},
		{"with the supply off", sound, off + switched("E1 off 3"), nil, ""},
		{"at the end alone", sound, switched("E1 off 70"), nil, ""},
		{"rod and neutral", sound, "", grounded, ""},
		{"the neutral off", sound, switched("E2 off 3"), grounded, "From day 3 to day 70"},
		{"one phase", sound, "", []string{"electrode.E2.phase=A", "electrode.E2.voltage=100 V"}, ""},
		{"one phase on one tap", sound, "", []string{"electrode.E2.phase=A", "electrode.E2.voltage=130 V"}, "From day 0 to day 70"},
		{"a rod against its rim", soundAxis, "", nil, ""},
		{"a rod that is off", soundAxis, switched("E1 off 3"), nil, "From day 3 to day 70"},
	} {
		x, _ := mustParse(t, strings.Replace(c.base, "[time]", c.changes+"[time]", 1), c.sets...).Expand()
		got := strings.Join(x.Cautions(), "\n")
		if c.want == "" && strings.Contains(got, "drives no current") || !strings.Contains(got, c.want) {
			t.Errorf("%s: the cautions are\n%s\nwant %q", c.name, got, c.want)
		}
	}
}

// TestMeteredPowerNeedsAReturn: metered power while no voltage drives a current is refused,
// also at the run's very end; rows of 0 are not.
func TestMeteredPowerNeedsAReturn(t *testing.T) {
	for changes, want := range map[string]string{
		switched("E1 off 3"):              "supply.metered = power.csv: has power between day 3 and day 70, when all electrodes",
		switched("E1 off 69.9"):           "between day 69.9 and day 70",
		switched("E1 off 70"):             "", // the last row is 0
		switched("E1 off 3", "E1 on 3.1"): "between day 3 and day 3.1",
		"":                                "",
	} {
		_, err := Parse("yard.toml", []byte(strings.Replace(meteredCase, "[time]", changes+"[time]", 1)), "testdata", nil)
		if got := fmt.Sprint(err); want == "" && err != nil || !strings.Contains(got, want) {
			t.Errorf("with\n%s: %v, want %q", changes, err, want)
		}
	}
	_, err := Parse("yard.toml", []byte(strings.Replace(meteredCase, "[time]", switched("E1 off 60")+"[time]", 1)), "testdata", []string{"time.duration=60 d"})
	if err == nil || !strings.Contains(err.Error(), "has power on day 60, when") {
		t.Errorf("power at the end with one electrode left ends with %v", err)
	}
}
