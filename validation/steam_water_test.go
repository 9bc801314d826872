//dossier:chapter The demo cases

package validation

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"soiljoule/cases"
	"soiljoule/solver"
)

// soaked is a demo case with all that moves water: steam that rises past a barrier and an
// interval, rain, water added at the electrodes, layers that drain to a field capacity.
type soaked struct {
	name     string
	sets     []string
	electric bool // water is added at its electrodes
	rain     bool
	barrier  bool
}

const soakedRate = 0.02 // [L/min] at each rod

var soakedCases = []soaked{
	{"paved-yard", []string{"mesh.finest=2 ft", "steam.top=4 ft", "steam.bottom=6 ft", "steam.capture_share=0.5", "layer.sand fill.field_capacity=0.6", "layer.sand fill.steam_barrier=true"}, true, true, true},
	{"electrode-cell", []string{"mesh.finest=3 in", "layer.sand fill.field_capacity=0.7", "layer.sand fill.steam_barrier=true", "supply.voltage=170 V"}, true, true, true},
	{"tank-circle", []string{"mesh.finest=3 ft", "time.duration=100 d"}, true, false, false},
	{"tank-circle-depth", []string{"mesh.finest=1 ft", "layer.fill.field_capacity=0.7"}, false, true, false},
	{"bedrock-bench", []string{"mesh.finest=3 ft", "time.duration=50 d", "layer.clayey soil.field_capacity=0.8", "steam.top=6 ft", "steam.bottom=10 ft"}, true, true, false},
	{"warm-zone", []string{"mesh.finest=3 ft", "time.duration=80 d", "layer.sandy fill.field_capacity=0.6"}, true, true, false},
	{"four-plates", []string{"mesh.finest=2 ft", "time.duration=20 d", `output.fields_at=["5 d"]`}, false, true, false}, // ground without pores
}

// load reads the case with its water.
func (s *soaked) load(t *testing.T) *cases.Case {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "cases", s.name+".toml"))
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	if s.electric {
		plain, err := cases.Parse(s.name+".toml", data, filepath.Join("..", "cases"), nil)
		if err != nil {
			t.Fatal(err)
		}
		plain, _ = plain.Expand()
		name := plain.Electrodes[0].Name
		text = strings.TrimRight(text, "\n") + fmt.Sprintf("\n\n[[water_added]]\nelectrode = %q\nrate = \"%g L/min\"\ntemperature = \"30 degC\"\nfrom = \"5 d\"\n", name, soakedRate)
	}
	sets := append([]string{"steam.fate=rising", "time.tolerance=0.5 K"}, s.sets...)
	if s.rain {
		sets = append(sets, "surface.infiltration=3 mm/d")
	}
	c, err := cases.Parse(s.name+".toml", []byte(text), filepath.Join("..", "cases"), sets)
	if err != nil {
		t.Fatalf("%s with its water: %v", s.name, err)
	}
	c, _ = c.Expand()
	return c
}

// TestWaterLedgerOfTheDemosCloses: in every demo case, run coarse, with steam that rises
// past barriers and intervals, rain, water added at an electrode and layers that drain, the water
// that came is the water that is stored, left as steam or left with the groundwater, to
// 1e-8 of the largest of these at every step; the energy ledger closes as well. What rain
// brings is its rate by the ground's area, what is added is its rate by the time.
// Source: conservation; 1e-8 is the program's promise.
func TestWaterLedgerOfTheDemosCloses(t *testing.T) {
	if few < 20 {
		t.Skip("takes seconds: under make validate")
	}
	for i := range soakedCases {
		s := &soakedCases[i]
		t.Run(s.name, func(t *testing.T) {
			p, err := s.load(t).Build()
			if err != nil {
				t.Fatal(err)
			}
			g := p.Ground.Grid
			water, energy, held := 0.0, 0.0, 0.0
			last, err := solver.Run(t.Context(), p, recorder(func(r *solver.Report) {
				w := &r.Ledger.Water
				in := w.Recharge + w.Rain + w.Added
				// Added up here from the terms, beside the residual that is told.
				open := math.Max(math.Abs(in-w.Stored-w.Steam-w.ToGroundwater), math.Abs(w.Residual))
				// Before anything has moved a kilogram of the ground's own counts.
				water = math.Max(water, open/math.Max(1, math.Max(in, math.Max(math.Abs(w.Stored), math.Max(w.Steam, w.ToGroundwater)))))
				energy = math.Max(energy, math.Abs(r.Ledger.Share()))
				held = r.Ledger.SteamMass.Held
			}))
			if err != nil {
				t.Fatal(err)
			}
			w := &last.Ledger.Water
			t.Logf("%d steps, %d refused: recharge %.5g, rain %.5g, added %.5g, stored %.5g, steam %.5g (held %.3g), to groundwater %.5g, condensed %.5g kg",
				last.Stats.Steps, last.Stats.Refused(), w.Recharge, w.Rain, w.Added, w.Stored, w.Steam, held, w.ToGroundwater, last.Ledger.Condensed)
			hold(t, check{s.name + ": largest share of the water that its ledger misses", "the program's promise", water, 0, "", 1e-8})
			hold(t, check{s.name + ": largest share of the energy that its ledger misses", "the program's promise", energy, 0, "", 1e-8})
			hold(t, check{s.name + ": steam by where it went", "the ledger's own steam", last.Ledger.SteamMass.Captured + last.Ledger.SteamMass.Surface + last.Ledger.SteamMass.Held, w.Steam, "kg", 1e-9 * math.Max(1, w.Steam)})
			days := p.Duration / day
			if s.rain {
				area := 0.0
				for _, a := range g.Plan {
					area += a
				}
				want := 3e-3 * area * days * 998.2
				hold(t, check{s.name + ": rain", "rate × area × time", w.Rain, want, "kg", 1e-9 * want})
			}
			if s.electric {
				rods := 0.0
				for _, a := range p.Added {
					for _, b := range p.Electric.Bodies {
						if b.Name == a.Name {
							rods += b.Rods
						}
					}
				}
				want := soakedRate * 1e-3 * rods * (days - 5) * 1440 * 998.2
				hold(t, check{s.name + ": water added", "rate × rods × time", w.Added, want, "kg", 1e-9 * want})
			}
			if s.rain && w.ToGroundwater <= 0 {
				t.Errorf("%s: %.3g kg go to the groundwater of %.3g kg of rain, want some", s.name, w.ToGroundwater, w.Rain)
			}
		})
	}
}
