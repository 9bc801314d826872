package cases

import (
	"strings"
	"testing"
)

// TestEndsOnBetterGround: rods that just fill a resistive layer are named in a
// caution, those that reach into the better ground below or lie in the conductive
// layer are not.
func TestEndsOnBetterGround(t *testing.T) {
	for _, c := range []struct {
		bottom, resistivity string
		want                bool
	}{
		{"3 m", "8 ohm*m", true},
		{"3.04 m", "20 ohm*m", true},
		{"3 m", "30 ohm*m", false},
		{"3 m", "200 ohm*m", false},
		{"3.2 m", "8 ohm*m", false},
	} {
		text := strings.Replace(plateAndRow, "top = \"1 m\"\nbottom = \"3 m\"\nradius", "top = \"1 m\"\nbottom = \""+c.bottom+"\"\nradius", 1)
		text = strings.Replace(text, "[[target]]", "[[layer]]\nname = \"below\"\nresistivity = \""+c.resistivity+"\"\nthermal_conductivity = \"1.6 W/m/K\"\nheat_capacity = \"2.9 MJ/m3/K\"\nporosity = 0.4\nsaturation = 1.0\n[[target]]", 1)
		text = strings.Replace(text, "name = \"silt\"\n", "name = \"silt\"\nbottom = \"3 m\"\n", 1)
		parsed, err := Parse("case.toml", []byte(text), ".", nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(strings.Join(parsed.Cautions(), "\n"), "boundary to ground that conducts better"); got != c.want {
			t.Errorf("rods to %s in 40 ohm*m to 3 m over %s: a caution is %v, want %v", c.bottom, c.resistivity, got, c.want)
		}
	}
}
