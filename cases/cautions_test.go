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

// TestTouchingElementsAreOneRod: a rod in two or three elements that touch is as
// long as all of them and ends where the last ends; elements of another phase or
// radius, or with ground between, are rods of their own.
func TestTouchingElementsAreOneRod(t *testing.T) {
	const ends, short = "boundary to ground that conducts better", "shorter than"
	row := plateAndRow[strings.LastIndex(plateAndRow, "[[electrode]]"):strings.Index(plateAndRow, "[supply]")]
	layered := strings.Replace(plateAndRow, "name = \"silt\"\n", "name = \"silt\"\nbottom = \"3 m\"\n", 1)
	layered = strings.Replace(layered, "[[target]]", "[[layer]]\nname = \"below\"\nresistivity = \"8 ohm*m\"\nthermal_conductivity = \"1.6 W/m/K\"\nheat_capacity = \"2.9 MJ/m3/K\"\nporosity = 0.4\nsaturation = 1.0\n[[target]]", 1)
	type element struct{ top, bottom, phase, radius string }
	for _, c := range []struct {
		name, spacing string
		elements      []element
		ends, short   string // rows that the caution counts; "": no caution
	}{
		{"one element to the boundary", "2 m", []element{{"1 m", "3 m", "B", "0.1 m"}}, "1 rows", ""},
		{"another below it", "2 m", []element{{"1 m", "3 m", "B", "0.1 m"}, {"3 m", "5 m", "B", "0.1 m"}}, "", ""},
		{"the lower first, in feet", "2 m", []element{{"3 m", "5 m", "B", "0.1 m"}, {"1 m", "9.84251968503937 ft", "B", "0.1 m"}}, "", ""},
		{"another phase below it", "2 m", []element{{"1 m", "2.9 m", "B", "0.1 m"}, {"3 m", "5 m", "A", "0.1 m"}}, "", ""},
		{"a wider one below it", "2 m", []element{{"1 m", "3 m", "B", "0.1 m"}, {"3 m", "5 m", "B", "0.12 m"}}, "1 rows", ""},
		{"a gap, then to the boundary", "2 m", []element{{"1 m", "1.8 m", "B", "0.1 m"}, {"2 m", "3 m", "B", "0.1 m"}}, "1 rows", ""},
		{"two that touch at the better ground's edge from above", "2 m", []element{{"1 m", "2 m", "B", "0.1 m"}, {"2 m", "3 m", "B", "0.1 m"}}, "1 rows", ""},
		{"a short element", "6 m", []element{{"1 m", "2 m", "B", "0.1 m"}}, "", "1 rows"},
		{"two short elements that touch", "6 m", []element{{"1 m", "2 m", "B", "0.1 m"}, {"2 m", "2.8 m", "B", "0.1 m"}}, "", ""},
		{"two short elements apart", "6 m", []element{{"1 m", "1.8 m", "B", "0.1 m"}, {"2 m", "2.8 m", "B", "0.1 m"}}, "", "2 rows"},
		{"three that touch and are short", "20 m", []element{{"2 m", "2.8 m", "B", "0.1 m"}, {"1 m", "1.5 m", "B", "0.1 m"}, {"1.5 m", "2 m", "B", "0.1 m"}}, "", "1 rows"},
	} {
		text := layered
		rows := ""
		for i, e := range c.elements {
			rows += strings.NewReplacer(`"R"`, `"R`+string(rune('1'+i))+`"`, `"B"`, `"`+e.phase+`"`, `"1 m"`, `"`+e.top+`"`, `"3 m"`, `"`+e.bottom+`"`, `"0.1 m"`, `"`+e.radius+`"`, `"2 m"`, `"`+c.spacing+`"`).Replace(strings.Replace(row, `x = "0.1 m"`, `x = "0.11 m"`, 1))
		}
		text = strings.Replace(text, row, rows, 1)
		parsed, err := Parse("case.toml", []byte(text), ".", nil)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		for _, w := range []struct{ caution, want string }{{ends, c.ends}, {short, c.short}} {
			got := ""
			for _, line := range parsed.Cautions() {
				if strings.Contains(line, w.caution) {
					got = line
				}
			}
			if w.want == "" && got != "" || !strings.HasPrefix(got, w.want) {
				t.Errorf("%s: the caution of rods %q is %q, want it to begin with %q", c.name, w.caution, got, w.want)
			}
		}
	}
}
