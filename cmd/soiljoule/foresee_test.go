package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
)

// TestCheckForeseesLimitsThatCannotBeHeld: what an electrode passes at 0 V of its own, as the
// others drive it, is what check finds for one set to 0 V; a limit of its own above that is
// held at power-on, one below it is fails with its line, in check as in the run. Where a
// switch takes the neighbour away, check names the limit that the run then stops at, and the
// day; and where only warm ground drives too much through it, that.
func TestCheckForeseesLimitsThatCannotBeHeld(t *testing.T) {
	dir := t.TempDir()
	var driven struct {
		Electrodes []struct {
			Name string  `json:"name"`
			A    float64 `json:"model_A"`
		} `json:"electrodes"`
	}
	dead := write(t, dir, "dead.toml", strings.Replace(taps, `current_limit = "18 A"`, `voltage = "0 V"`, 1))
	if err := json.Unmarshal([]byte(must(t, done, "check", dead, "--json").out), &driven); err != nil {
		t.Fatal(err)
	}
	floor := driven.Electrodes[2].A // of C1 at 0 V
	if driven.Electrodes[2].Name != "C1" || !(floor > 1) {
		t.Fatalf("at 0 V the electrodes are %+v", driven.Electrodes)
	}
	limited := func(amps float64, more string) (path, at string) {
		text := strings.Replace(taps, `"18 A"`, fmt.Sprintf(`"%.6g A"`, amps), 1) + more
		path = write(t, dir, fmt.Sprintf("c%.6g.toml", amps), text)
		return path, fmt.Sprintf("%s:%d: electrode.C1.current_limit = %.6g A: ", path, lineOf(t, path, "current_limit"), amps)
	}
	out := filepath.Join(dir, "out")
	// Both are solved to 1e-9 or better where they are shown; currents add to rounding.
	path, at := limited(floor*(1-1e-5), "")
	passes := fmt.Sprintf("electrode \"C1\" passes %.4g A a rod with its own voltage lowered to 0 V, driven by the others", floor)
	if said := must(t, failed, "check", path).err; !strings.HasPrefix(said, at+"cannot be held at power-on: "+passes) {
		t.Errorf("check of a limit just below %g A says %q, want %q", floor, said, at)
	}
	if said := must(t, failed, "run", path, "-o", out, "--force", "--no-figures", "-q").err; !strings.Contains(said, at+"t = 0 d: "+passes) {
		t.Errorf("the run of a limit just below %g A says %q, want %q", floor, said, at)
	}
	path, _ = limited(floor*(1+1e-5), "")
	must(t, done, "check", path)

	// B1 is switched off on day 1: A1 then drives C1 alone.
	path, at = limited(1.5*floor, "")
	said := must(t, done, "check", path).out
	if !strings.Contains(said, "  - "+at+`cannot be held from day 1 on in ground as found: electrode "C1" passes `) {
		t.Errorf("check of what B1's switch does to C1 says\n%s", said)
	}
	if said := must(t, failed, "run", path, "-o", out, "--force", "--no-figures", "-q").err; !strings.Contains(said, at+"t = 1 d: ") {
		t.Errorf("the run in which B1 is switched off says %q", said)
	}
	calm := []string{"--set", "change[1].at=30 d", "--set", "change[2].at=31 d", "--set", "time.duration=20 d"}
	args := append([]string{"check", path}, calm...)
	if said := must(t, done, args...).out; !strings.Contains(said, at+"cannot be held in ground that is all at 60 °C (140 °F): ") || strings.Contains(said, "held from day") {
		t.Errorf("check of C1 in warm ground says\n%s", said)
	}
	args = append(args, "--set", "target.zone.temperature=13 degC")
	if said := must(t, done, args...).out; strings.Contains(said, "cannot be held") {
		t.Errorf("check of C1 in ground that hardly warms says\n%s", said)
	}

	// A limit that comes with a change of an array is told where that stands, and so is one
	// that --set gives.
	text := strings.Replace(strings.Replace(taps, "current_limit = \"18 A\"\n", "", 1), `voltage = "80 V"`+"\n", "", 1)
	text = text[:strings.Index(text, "[[change]]")] + "[[array]]\nname = \"W\"\npattern = \"rectangular\"\nspacing = \"4 m\"\ntop = \"5 m\"\nbottom = \"6 m\"\nradius = \"0.1 m\"\n" +
		"[[change]]\nat = \"2 d\"\nelectrode = \"W\"\nvoltage = \"1 V\"\ncurrent_limit = \"0.001 A\"\n" + text[strings.Index(text, "[time]"):]
	path = write(t, dir, "array.toml", text)
	want := fmt.Sprintf("%s:%d: change[1].current_limit = 0.001 A: cannot be held from day 2 on in ground as found: electrode \"W", path, lineOf(t, path, "current_limit"))
	if said := must(t, done, "check", path).out; strings.Count(said, want) < 1 {
		t.Errorf("check does not say %q:\n%s", want, said)
	}
	// While an outage has the supply off at power-on nothing has to be held.
	write(t, dir, "out.csv", "from_d,to_d\n0,0.5\n0.6,0.7\n")
	path, at = limited(floor/2, "")
	if said := must(t, done, "check", path, "--set", "supply.outages=out.csv").out; strings.Count(said, at+"cannot be held in ground as found: ") != 1 {
		t.Errorf("check of a limit during an outage says\n%s", said)
	}
	path, _ = limited(1.5*floor, "")
	if said := must(t, failed, "check", path, "--set", "electrode.C1.current_limit=1 A").err; !strings.HasPrefix(said, "--set electrode.C1.current_limit=1 A: cannot be held at power-on: ") {
		t.Errorf("check of a limit by --set says %q", said)
	}
}

// TestForeseeingEnds: of more settings than are worth the time check looks at the first, and
// says that it left out others.
func TestForeseeingEnds(t *testing.T) {
	var text strings.Builder
	text.WriteString(taps[:strings.Index(taps, "[[change]]")])
	for i := range 150 {
		fmt.Fprintf(&text, "[[change]]\nat = \"%d min\"\nelectrode = \"B1\"\nvoltage = \"%g V\"\n", 10*(i+1), 60+float64(i)/100)
	}
	text.WriteString(taps[strings.Index(taps, "[time]"):])
	said := must(t, done, "check", write(t, t.TempDir(), "many.toml", text.String()), "--set", "mesh.finest=10 cm").out
	if !strings.Contains(said, "whether they can be held is looked at for the first ") {
		t.Errorf("check of 151 settings says\n%s", said)
	}
}
