package cases

import (
	"math"
	"strings"
	"testing"
)

const (
	pipe   = "[[conductor]]\nname = \"pipe\"\nleft = \"50 ft\"\nright = \"52 ft\"\ntop = \"4 ft\"\nbottom = \"6 ft\"\n"
	casing = "[[conductor]]\nname = \"casing\"\ninner_radius = \"1 m\"\nradius = \"1.2 m\"\ntop = \"2 m\"\nbottom = \"4 m\"\n"
)

// withAll puts text before [supply] of a base.
func withAll(base, text string) string { return strings.Replace(base, "[supply]", text+"[supply]", 1) }

// TestOwnFaults: buried metal and settings of one electrode that mean nothing are refused
// with what is allowed.
func TestOwnFaults(t *testing.T) {
	change := func(lines string) string {
		return strings.Replace(sound, "[time]", "[[change]]\nat = \"3 d\"\n"+lines+"[time]", 1)
	}
	for _, c := range []struct {
		name, text string
		sets       []string
		want       string // in the one fault
	}{
		{name: "upside down", text: withAll(sound, pipe), sets: []string{"conductor.pipe.bottom=3 ft"}, want: "conductor.pipe.bottom=3 ft: must be below the top"},
		{name: "no width", text: withAll(sound, pipe), sets: []string{"conductor.pipe.right=49 ft"}, want: "must be right of left"},
		{name: "thinner than a cell", text: withAll(sound, pipe), sets: []string{"conductor.pipe.right=50.1 ft"}, want: "must be at least mesh.finest"},
		{name: "flatter than a cell", text: withAll(sound, pipe), sets: []string{"conductor.pipe.bottom=4.1 ft"}, want: "must be at least mesh.finest"},
		{name: "two names", text: withAll(sound, pipe+strings.Replace(pipe, "5", "7", 2)), want: "must be unique; conductor[1] is pipe too"},
		{name: "the name of an electrode", text: withAll(sound, strings.Replace(pipe, `"pipe"`, `"E2"`, 1)), want: "must be unique; an electrode is E2 too"},
		{name: "meets a row", text: withAll(sound, pipe), sets: []string{"conductor.pipe.top=9 ft", "conductor.pipe.bottom=10 ft", "conductor.pipe.left=15.1 ft"}, want: "meets electrode E1, or comes nearer to its row than mesh.finest"},
		{name: "meets another", text: withAll(sound, pipe+strings.NewReplacer("pipe", "drain", "50 ft", "52 ft", "52 ft", "54 ft").Replace(pipe)), want: "meets conductor.pipe: two that touch are one conductor"},
		{name: "in a body of set power", text: withAll(heatedSection, pipe), sets: []string{"conductor.pipe.left=41 ft", "conductor.pipe.top=8 ft", "conductor.pipe.bottom=9 ft"}, want: "overlaps heat.box"},
		{name: "outside the ground", text: withAll(sound, pipe), sets: []string{"domain.right=51 ft", "target.zone.right=40 ft"}, want: "must be right of all targets, electrodes and conductors"},
		{name: "without electrodes", text: strings.Replace(heated, "[time]", casing+"[time]", 1), sets: []string{"conductor.casing.top=7 m", "conductor.casing.bottom=8 m"}, want: "carries nothing"},
		{name: "inside out", text: withAll(soundAxis, casing), sets: []string{"conductor.casing.inner_radius=1.5 m"}, want: "must be less than the radius"},
		{name: "at the rim", text: withAll(soundAxis, casing), sets: []string{"conductor.casing.radius=2 m"}, want: "must be less than extent.radius"},
		{name: "on the rod", text: withAll(soundAxis, casing), sets: []string{"conductor.casing.inner_radius=0.15 m"}, want: "meets electrode E1"},

		{name: "limit of all beside one", text: change("electrode = \"E1\"\npower_limit = \"3 kW\"\n"), want: "change[1].power_limit = 3 kW: must not stand beside electrode"},
		{name: "kVA of all beside one", text: change("electrode = \"E1\"\nkva_limit = \"3 kVA\"\n"), want: "change[1].kva_limit = 3 kVA: must not stand beside electrode"},
		{name: "changes nothing of one", text: change("electrode = \"E1\"\n"), want: "changes nothing"},
		{name: "no such electrode", text: change("electrode = \"E9\"\non = false\n"), want: "change[1].electrode = E9: must be the name of an electrode; there are E1 and E2"},
		{name: "no such electrode of an array", text: strings.Replace(soundArray, "[time]", "[[change]]\nat = \"3 d\"\nelectrode = \"E99\"\non = false\n[time]", 1), want: "must be the name of an electrode; there are E1, E2"},
		{name: "no such array", text: strings.Replace(soundArray, "[time]", "[[change]]\nat = \"3 d\"\nelectrode = \"F\"\non = false\n[time]", 1), want: "; or of an array, for all of its electrodes: E"},
		{name: "electrode and array of one name", text: strings.Replace(stacked, "[time]", "[[change]]\nat = \"3 d\"\nelectrode = \"U\"\non = false\n[[electrode]]\nname = \"U\"\nphase = \"A\"\nx = \"1 m\"\ntop = \"5 m\"\nbottom = \"6 m\"\nwidth = \"20 cm\"\n[time]", 1), want: "is the name of an electrode and of an array"},
		{name: "an array that touches another, switched", text: strings.Replace(stacked, "[time]", "[[change]]\nat = \"3 d\"\nelectrode = \"U\"\non = false\n[time]", 1), sets: []string{"array.L.top=3 ft"}, want: "change[1].electrode = U: U1 touches electrode L1 of the same phase"},
		{name: "an array that touches another, with its tap", text: stacked, sets: []string{"array.L.top=3 ft", "array.U.voltage=3 V"}, want: "array.U.voltage=3 V: U1 touches electrode L1 of the same phase"},
		{name: "tap of the neutral", text: sound, sets: []string{"electrode.E2.phase=N", "supply.neutral=grounded", "electrode.E2.voltage=3 V"}, want: "must not be given for the neutral"},
		{name: "limit of the neutral by a change", text: change("electrode = \"E2\"\ncurrent_limit = \"3 A\"\n"), sets: []string{"electrode.E2.phase=N", "supply.neutral=grounded"}, want: "is the neutral"},
	} {
		_, err := Parse("yard.toml", []byte(c.text), "testdata", c.sets)
		faults, _ := err.(Faults)
		if len(faults) != 1 || !strings.Contains(faults[0].String(), c.want) {
			t.Errorf("%s: the faults are\n%v\nwant one that says %q", c.name, err, c.want)
		}
	}
}

// TestTouchingElements: two elements of one bore that touch are one conductor, so one of
// them can have nothing of its own; with a gap it can.
func TestTouchingElements(t *testing.T) {
	below := "[[electrode]]\nname = \"E1b\"\nphase = \"A\"\ntop = \"4 m\"\nbottom = \"5 m\"\nradius = \"15 cm\"\n"
	for _, own := range []string{"electrode.E1b.voltage=50 V", "electrode.E1.current_limit=9 A"} {
		text := withAll(soundAxis, below)
		mustParse(t, text)
		_, err := Parse("yard.toml", []byte(text), "testdata", []string{own})
		if err == nil || !strings.Contains(err.Error(), "touches electrode") {
			t.Errorf("%s beside an element that touches ends with %v", own, err)
		}
		mustParse(t, text, own, "electrode.E1b.top=4.2 m")
	}
}

// TestOwnOfAnArray: a change of one electrode of an array reaches its body and no other,
// and holds from then on; what the supply changes leaves it alone.
func TestOwnOfAnArray(t *testing.T) {
	text := strings.Replace(soundArray, "[time]", "[[change]]\nat = \"3 d\"\nelectrode = \"E2\"\nvoltage = \"90 V\"\n[[change]]\nat = \"4 d\"\nvoltage = \"120 V\"\n[[change]]\nat = \"5 d\"\nelectrode = \"E2\"\non = false\n[time]", 1)
	p := builtFrom(t, text)
	if len(p.Supply) != 4 || p.Supply[0].Bodies != nil {
		t.Fatalf("there are %d settings, the first with %v of bodies' own, want four and none", len(p.Supply), p.Supply[0].Bodies)
	}
	for i := 1; i < 4; i++ {
		s := &p.Supply[i]
		for b, own := range s.Bodies {
			second := p.Electric.Bodies[b].Name == "E2"
			if second != (own.Voltage == 90) || own.Off != (second && i == 3) || !math.IsInf(own.CurrentLimit, 1) {
				t.Errorf("setting %d: %s has %+v of its own", i, p.Electric.Bodies[b].Name, own)
			}
		}
		if want := map[bool]float64{true: 130, false: 120}[i == 1]; s.Voltage != want {
			t.Errorf("setting %d has %g V, want %g", i, s.Voltage, want)
		}
	}
}

// stacked is soundArray with elements of two depths in its bores.
var stacked = strings.Replace(soundArray, "[supply]", "[[array]]\nname = \"U\"\npattern = \"triangular\"\nspacing = \"14 ft\"\ntop = \"1 ft\"\nbottom = \"3 ft\"\nradius = \"6 in\"\n"+
	"[[array]]\nname = \"L\"\npattern = \"triangular\"\nspacing = \"14 ft\"\ntop = \"4 ft\"\nbottom = \"6 ft\"\nradius = \"6 in\"\n[supply]", 1)

// TestArrayOfItsOwn: a tap of an array is that of all its electrodes, in the supply's
// basis, and a change that names an array is one of each of its electrodes at one time,
// the neutral in the middle of a ring only switched; what is left out is unchanged.
func TestArrayOfItsOwn(t *testing.T) {
	text := strings.Replace(stacked, "[time]", "[[change]]\nat = \"0 d\"\nelectrode = \"U\"\non = false\n[[change]]\nat = \"4 d\"\nelectrode = \"U\"\non = true\nvoltage = \"120 V\"\n[time]", 1)
	p := builtFrom(t, text, "array.L.voltage=90 V", "supply.voltage_basis=phase to phase")
	if len(p.Supply) != 2 || p.Supply[0].At != 0 || p.Supply[1].At != 4*86400 {
		t.Fatalf("there are %d settings, want one at power-on and one on day 4", len(p.Supply))
	}
	seen := map[byte]int{}
	for i := range p.Supply {
		for b, own := range p.Supply[i].Bodies {
			name := p.Electric.Bodies[b].Name[0]
			seen[name]++
			want := map[byte]float64{'E': math.NaN(), 'L': 90 / math.Sqrt(3), 'U': math.NaN()}[name]
			if name == 'U' && i == 1 {
				want = 120 / math.Sqrt(3)
			}
			if got := own.Voltage; got != want && !(math.IsNaN(got) && math.IsNaN(want)) || own.Off != (name == 'U' && i == 0) {
				t.Errorf("setting %d: %s has %+v of its own, want %g V", i, p.Electric.Bodies[b].Name, own, want)
			}
		}
	}
	if seen['U'] != seen['L'] || seen['U'] < 4 {
		t.Errorf("there are %v electrodes by array, want as many of U as of L", seen)
	}
	ring := []Layout{{Array: "R", From: 0, To: 2}}
	volts, off := 50.0, false
	c := &Case{Changes: []Change{{Electrode: "R", Voltage: &volts}, {Electrode: "R", On: &off}}}
	got := c.changesByElectrode([]Electrode{{Name: "R1", Phase: "A"}, {Name: "R2", Phase: "N"}}, ring)
	if len(got) != 3 || got[0].Electrode != "R1" || got[0].Voltage == nil || got[1].Electrode != "R1" || got[2].Electrode != "R2" || got[2].On == nil {
		t.Errorf("a tap and a switch of a ring with a neutral are the changes %+v, want both of R1 and the switch of R2", got)
	}
}

// TestManyFree: more electrodes with a limit of their own than are allowed are refused
// before anything is made of them.
func TestManyFree(t *testing.T) {
	var b strings.Builder
	for i := range mostFree + 1 {
		b.WriteString(strings.NewReplacer("pipe", "pipe "+string(rune('a'+i%26))+string(rune('a'+i/26)), "50 ft", metresText(100+2*i), "52 ft", metresText(101+2*i)).Replace(pipe))
	}
	_, err := Parse("yard.toml", []byte(withAll(sound, b.String())), "testdata", nil)
	if err == nil || !strings.Contains(err.Error(), "must be at most 200") {
		t.Errorf("%d conductors end with %.300v", mostFree+1, err)
	}
}

func metresText(n int) string { return about(float64(n)) + " m" }

// TestOwnCautions: what is not modelled of buried metal is said, and that an electrode that
// is off is not dead; the largest tap counts among the voltages.
func TestOwnCautions(t *testing.T) {
	text := withAll(sound, pipe)
	text = strings.Replace(text, "[time]", "[[change]]\nat = \"3 d\"\nelectrode = \"E2\"\non = false\n[time]", 1)
	c, _ := mustParse(t, text, "electrode.E1.voltage=400 V").Expand()
	all := strings.Join(c.Cautions(), "\n")
	for _, want := range []string{"coating", "corrosion", "cathodic", "(pipe)", "touch", "is not dead", "400 V RMS"} {
		if !strings.Contains(all, want) {
			t.Errorf("the cautions do not say %q:\n%s", want, all)
		}
	}
	plain, _ := mustParse(t, sound).Expand()
	if s := strings.Join(plain.Cautions(), "\n"); strings.Contains(s, "Buried metal") || strings.Contains(s, "not dead") {
		t.Errorf("a case without has cautions of buried metal:\n%s", s)
	}
}

// TestShutIn: buried metal in a box of insulating bodies touches no ground that an
// electrode reaches, and is refused; with a gap in the box it has a potential.
func TestShutIn(t *testing.T) {
	wall := func(name, left, right, top, bottom string) string {
		return strings.NewReplacer("NAME", name, "LEFT", left, "RIGHT", right, "TOP", top, "BOTTOM", bottom).Replace(
			"[[heat]]\nname = \"NAME\"\npower = \"0 kW\"\nleft = \"LEFT m\"\nright = \"RIGHT m\"\ntop = \"TOP m\"\nbottom = \"BOTTOM m\"\nthermal_conductivity = \"1 W/m/K\"\nheat_capacity = \"2 MJ/m3/K\"\n")
	}
	boxed := withAll(sound, pipe+wall("lid", "14", "17", "0.5", "0.8")+wall("floor", "14", "17", "2.2", "2.5")+wall("west", "14", "14.5", "0.8", "2.2")+wall("east", "16.5", "17", "0.8", "2.2"))
	c, _ := mustParse(t, boxed).Expand()
	if _, err := c.Build(); err == nil || !strings.Contains(err.Error(), "conductor.pipe: touches no ground that an electrode reaches") {
		t.Errorf("a pipe shut in by insulating bodies ends with %v", err)
	}
	builtFrom(t, boxed, "heat.east.top=0.9 m", "heat.east.bottom=2 m")
}

// TestManyChangesOfArrays: changes of arrays that come to more changes of electrodes than
// are allowed are refused, and none of them is made.
func TestManyChangesOfArrays(t *testing.T) {
	var b strings.Builder
	const dense = "array.E.spacing=6 ft"
	rods := len(builtFrom(t, soundArray, dense).Electric.Bodies)
	for i := range mostChanges/rods + 1 {
		b.WriteString("[[change]]\nat = \"" + about(float64(1+i)/1e5) + " d\"\nelectrode = \"E\"\nvoltage = \"90 V\"\n")
	}
	_, err := Parse("yard.toml", []byte(strings.Replace(soundArray, "[time]", b.String()+"[time]", 1)), "testdata", []string{dense})
	if faults, _ := err.(Faults); len(faults) != 1 || !strings.Contains(faults[0].String(), "is one of more than 20000 changes") {
		t.Errorf("changes of an array %d times end with %.300v", mostChanges/rods+1, err)
	}
}
