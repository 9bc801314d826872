package cases

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestLoadResumed: what the state depends on stays, and all that is wrong is told at once,
// in the order of the command line; what may change does, and tells whether it lies at
// the edges of the ground.
func TestLoadResumed(t *testing.T) {
	file := filepath.Join(t.TempDir(), "case.toml")
	if err := os.WriteFile(file, []byte(wiredSection), 0o666); err != nil {
		t.Fatal(err)
	}
	const stay = ": must stay as it is: the state depends on it; run the case from power-on"
	for _, c := range []struct {
		sets, want []string
		at         float64 // [d]
		edges      bool
	}{
		{nil, nil, 12, false},
		{nil, []string{file + ":64: time.duration = 20 d: must be after day 20, to which the run has come"}, 20, false},
		{[]string{"time.duration=40 d"}, nil, 20, false},
		{[]string{"time.duration=19 d"}, []string{"--set time.duration=19 d: must be after day 20, to which the run has come"}, 20, false},
		{[]string{"time.duration=40 d", "supply.voltage=50 V", "change[1].voltage=20 V", "output.fields_every=1 d", "title=More", "electrode.P.voltage=60 V"}, nil, 20, false},
		{[]string{"time.duration=40 d", "surface.film=5 W/m2/K"}, nil, 20, true},
		{[]string{"time.duration=40 d", "heat.drum.power=1 kW"}, nil, 20, true},
		{[]string{"mesh.finest=1 m", "layer.clay.porosity=0.3", "time.duration=1 d", "supply.phases=1", "view=plan", "steam.boiling=false", "heat.drum.left=2 m", "target.zone.top=2.1 m", "site.elevation=1 m"},
			[]string{"--set mesh.finest=1 m" + stay, "--set layer.clay.porosity=0.3" + stay, "--set time.duration=1 d: must be after day 20, to which the run has come",
				"--set supply.phases=1" + stay, "--set view=plan" + stay, "--set steam.boiling=false" + stay, "--set heat.drum.left=2 m" + stay, "--set target.zone.top=2.1 m" + stay,
				"--set site.elevation=1 m" + stay}, 20, false},
		{[]string{"supply.voltage=-1 V", "mesh.growth=1.1", "supply.volts=1 V"}, []string{"--set supply.voltage=-1 V: must be between 0 and", "--set mesh.growth=1.1" + stay, "--set supply.volts=1 V: unknown key"}, 20, false},
		{[]string{"no sense"}, []string{"--set no sense: must be path=value"}, 12, false},
	} {
		r, err := LoadResumed(file, "", c.sets, Reached{c.at * day, nan})
		if err == nil != (c.want == nil) {
			t.Errorf("%q from day %g: %v, want %q", c.sets, c.at, err, c.want)
			continue
		}
		if err == nil {
			if r.Edges != c.edges {
				t.Errorf("%q: at the edges: %v, want %v", c.sets, r.Edges, c.edges)
			}
			continue
		}
		lines := strings.Split(err.Error(), "\n")
		for i := range c.want {
			if len(lines) != len(c.want) || !strings.HasPrefix(lines[i], c.want[i]) {
				t.Errorf("%q from day %g:\n%v\nwant\n%s", c.sets, c.at, err, strings.Join(c.want, "\n"))
				break
			}
		}
	}
}

// TestResumedGroundStays: a case as a results folder holds it has the same edges of the
// mesh, and of a plan the same columns above and below, when it goes on for two hundred times
// as long; and the reach that this asks is told by TooNear.
func TestResumedGroundStays(t *testing.T) {
	for _, text := range []string{wiredSection, wiredCell, wiredPlan} {
		x, _ := mustParse(t, text).Expand()
		var b bytes.Buffer
		if err := x.WriteTOML(&b); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "case.toml")
		if err := os.WriteFile(file, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		r, err := LoadResumed(file, "", []string{"time.duration=4000 d"}, Reached{x.Time.Duration, nan})
		if err != nil {
			t.Fatal(err)
		}
		before, err := x.Build()
		if err != nil {
			t.Fatal(err)
		}
		c, _ := r.Expand()
		after, err := c.Build()
		if err != nil {
			t.Fatal(err)
		}
		same := func(what string, a, b []float64) {
			if len(a) != len(b) {
				t.Errorf("%s: %s has %d numbers, then %d", x.View, what, len(a), len(b))
				return
			}
			for i := range a {
				if a[i] != b[i] {
					t.Errorf("%s: %s was %v, then %v", x.View, what, a[i], b[i])
				}
			}
		}
		same("X", before.Ground.Grid.X, after.Ground.Grid.X)
		same("Z", before.Ground.Grid.Z, after.Ground.Grid.Z)
		if k := before.Heat.Columns; k != nil {
			a, b := k.Nodes()
			above, below := after.Heat.Columns.Nodes()
			same("the nodes above", a, above)
			same("the nodes below", b, below)
		}
		if near := c.TooNear(); len(near) == 0 || len(x.TooNear()) >= len(near) {
			t.Errorf("%s: ground of 20 days is told as too near for 4000: %q; for 20: %q", x.View, near, x.TooNear())
		}
	}
}
