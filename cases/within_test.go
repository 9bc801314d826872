package cases

import (
	"fmt"
	"strings"
	"testing"
)

// TestSetSections: a section that only --set gives is checked as one of the file.
func TestSetSections(t *testing.T) {
	heatOnly := wiredSection[:strings.Index(wiredSection, "[[electrode]]")] + wiredSection[strings.Index(wiredSection, "[[heat]]"):]
	heatOnly = heatOnly[:strings.Index(heatOnly, "[supply]")] + heatOnly[strings.Index(heatOnly, "[time]"):]
	for _, c := range []struct {
		text string
		sets []string
		want string
	}{
		{sound, []string{"control.setpoint=20 degC"}, ""},
		{sound, []string{"control.setpoint=20 degC", "control.follow=T9"}, `--set control.follow=T9: must be "mean", "coldest" or a sensor`},
		{sound, []string{"control.setpoint=20 degC", "control.deadband=0.01 K"}, "--set control.deadband=0.01 K: must be at least 0.05 K"},
		{meteredCase, []string{"control.setpoint=20 degC"}, "control: must not stand beside supply.metered"},
		{heatOnly, []string{"control.setpoint=20 degC"}, "controls nothing"},
		{heatOnly, []string{"supply.voltage=20 V", "supply.phases=3", "supply.voltage_basis=phase to neutral"}, "feeds nothing"},
	} {
		_, err := Parse("yard.toml", []byte(c.text), "testdata", c.sets)
		switch {
		case err == nil && c.want != "":
			t.Errorf("%q is accepted, want %q", c.sets, c.want)
		case err != nil && (c.want == "" || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n")):
			t.Errorf("%q: %v, want %q alone", c.sets, err, c.want)
		}
	}
}

// TestSensorsWithin: a sensor outside ground whose sides are left to the case is refused
// with them; just inside it is not. The section is modelled as far as the field of P and R
// reaches, 25.6 m down and to both sides of x = 3.375 m: see TestReach.
func TestSensorsWithin(t *testing.T) {
	section := wiredSection + "[[sensor]]\nname = \"T1\"\nx = \"4 m\"\ndepth = [\"1 m\", \"3 m\"]\n"
	for _, c := range []struct {
		text, out, in, want string
	}{
		{section, "sensor.T1.x=-22.3 m", "sensor.T1.x=-22.2 m", "must be from -22.2"},
		{section, "sensor.T1.x=29 m", "sensor.T1.x=28.9 m", "domain.right"},
		{section, `sensor.T1.depth=["1 m", "25.7 m"]`, `sensor.T1.depth=["1 m", "25.6 m"]`, "must be at most 25.6 m"},
		{soundPlan, "sensor.T1.x=500 m", "sensor.T1.x=25 m", "must be from -16.8"},
		{soundPlan, "sensor.T1.y=-17 m", "sensor.T1.y=-16 m", "domain.front and domain.back"},
		{soundAxis + "[[sensor]]\nname = \"T2\"\nr = \"1 m\"\ndepth = \"2 m\"\n", "sensor.T2.depth=90 m", "sensor.T2.depth=5 m", "or give domain.bottom"},
	} {
		if _, err := Parse("yard.toml", []byte(c.text), "testdata", []string{c.out}); err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v, want %q", c.out, err, c.want)
		}
		if _, err := Parse("yard.toml", []byte(c.text), "testdata", []string{c.in}); err != nil {
			t.Errorf("%s: %v", c.in, err)
		}
	}
}

// TestChangesApart: two changes at one time that set one key of one thing are refused with
// both lines; of other keys, things or times they are not.
func TestChangesApart(t *testing.T) {
	pair := func(first, second string) string {
		return strings.Replace(sound, "[time]", "[[change]]\n"+first+"[[change]]\n"+second+"[time]", 1)
	}
	line := func(text, of string) string {
		return about(float64(1 + strings.Count(text[:strings.LastIndex(text, of)], "\n")))
	}
	twice := pair("at = \"3 d\"\nvoltage = \"100 V\"\n", "at = \"72 h\"\nvoltage = \"90 V\"\n")
	for _, c := range []struct{ text, want string }{
		{twice, "yard.toml:" + line(twice, "voltage = \"90 V\"") + ": change[2].voltage = 90 V: is set twice at one time, of the supply: line " + line(twice, "voltage = \"100 V\"") + " sets it too"},
		{pair("at = \"3 d\"\nelectrode = \"E1\"\non = false\n", "at = \"3 d\"\nelectrode = \"E1\"\non = true\n"), "of E1: line "},
		{pair("at = \"3 d\"\nelectrode = \"E1\"\non = false\n", "at = \"3 d\"\nelectrode = \"E2\"\non = false\n"), ""},
		{pair("at = \"3 d\"\nvoltage = \"100 V\"\n", "at = \"3 d\"\non = false\n"), ""},
		{pair("at = \"3 d\"\nvoltage = \"100 V\"\n", "at = \"4 d\"\nvoltage = \"90 V\"\n"), ""},
	} {
		_, err := Parse("yard.toml", []byte(c.text), "testdata", nil)
		switch {
		case err == nil && c.want != "":
			t.Errorf("accepted, want %q", c.want)
		case err != nil && (c.want == "" || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n")):
			t.Errorf("%v, want %q alone", err, c.want)
		}
	}
}

// TestStackedInAPlan: elements one above the other have one place in a plan.
func TestStackedInAPlan(t *testing.T) {
	_, err := Parse("yard.toml", []byte(soundPlan), "testdata", []string{"electrode.E2.x=2 m", "electrode.E2.top=3 m", "electrode.E1.bottom=3 m"})
	if err == nil || !strings.Contains(err.Error(), "a plan has one interval; leave one of E1 and E2 out, or use a section") {
		t.Errorf("two elements of one bore: %v", err)
	}
	const array = "[[array]]\nname = \"%s\"\npattern = \"triangular\"\nspacing = \"3 m\"\ntop = \"%s\"\nbottom = \"%s\"\nradius = \"10 cm\"\n"
	text := strings.Replace(soundPlan, "[[electrode]]", fmt.Sprintf(array, "U", "2 m", "3 m")+fmt.Sprintf(array, "L", "3 m", "4 m")+"[[electrode]]", 1)
	text = strings.NewReplacer(`x = "2 m"`, `x = "90 m"`, `x = "6 m"`, `x = "95 m"`).Replace(text)
	_, err = Parse("yard.toml", []byte(text), "testdata", nil)
	if err == nil || !strings.Contains(err.Error(), "its electrode L1 stands above or below U1: a plan has one interval; leave one of U1 and L1 out, or use a section") {
		t.Errorf("two arrays of one layout: %v", err)
	}
}
