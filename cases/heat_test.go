package cases

import (
	"math"
	"strings"
	"testing"
)

// heated is an axisymmetric case with bodies of set power and no electrode, so no
// supply: a ring whose power is a series, and a solid rod.
const heated = `title = "Broken ring"
note = "Invented scenario."
view = "axisymmetric"
[site]
ambient = "13 degC"
water_table = "none"
[extent]
radius = "4 m"
count = 3
[surface]
air = "12 degC"
[[layer]]
name = "clay"
bottom = "20 m"
resistivity = "15 ohm*m"
thermal_conductivity = "1.35 W/m/K"
heat_capacity = "3.0 MJ/m3/K"
porosity = 0.45
saturation = 1.0
[[target]]
name = "zone"
top = "2 m"
bottom = "4 m"
temperature = "boiling"
[[heat]]
name = "ring"
power = "power.csv"
inner_radius = "1 m"
radius = "1.5 m"
top = "2 m"
bottom = "4 m"
[[heat]]
name = "rod"
power = "300 W"
radius = "0.2 m"
top = "1 m"
bottom = "5 m"
thermal_conductivity = "50 W/m/K"
heat_capacity = "3.5 MJ/m3/K"
[time]
duration = "70 d"
`

// heatedSection is sound with a box of set power beside its electrodes.
var heatedSection = sound[:strings.Index(sound, "[supply]")] + `[[heat]]
name = "box"
power = "2 kW"
left = "40 ft"
right = "42 ft"
top = "8 ft"
bottom = "10 ft"
` + sound[strings.Index(sound, "[supply]"):]

// brokenHeats are faults of bodies of set power, and exactly what each prints.
var brokenHeats = []broken{
	{
		name: "upside down, deeper than the ground, too wide",
		base: heated,
		edits: []edit{{"inner_radius = \"1 m\"", "inner_radius = \"1.5 m\""}, {"top = \"2 m\"\nbottom = \"4 m\"\n[[heat]]", "top = \"4 m\"\nbottom = \"4 m\"\n[[heat]]"},
			{"radius = \"0.2 m\"", "radius = \"4.1 m\""}, {"bottom = \"5 m\"", "bottom = \"25 m\""}},
		want: `
yard.toml:28: heat.ring.inner_radius = 1.5 m: must be less than the radius, 1.5 m (4.921 ft)
yard.toml:31: heat.ring.bottom = 4 m: must be below the top, 4 m (13.12 ft)
yard.toml:35: heat.rod.radius = 4.1 m: must be within extent.radius, 4 m (13.12 ft)
yard.toml:37: heat.rod.bottom = 25 m: must be within the layers, which end at 20 m (65.62 ft)`,
	},
	{
		name:  "power below zero, without its unit, of the wrong kind",
		base:  heatedSection,
		edits: []edit{{"power = \"2 kW\"", "power = \"-2 kW\""}, {"[supply]", "[[heat]]\nname = \"b2\"\npower = 3\nleft = \"50 ft\"\nright = \"52 ft\"\ntop = \"8 ft\"\nbottom = \"10 ft\"\n[[heat]]\nname = \"b3\"\npower = \"much\"\nleft = \"60 ft\"\nright = \"62 ft\"\ntop = \"8 ft\"\nbottom = \"10 ft\"\n[supply]"}},
		want: `
yard.toml:51: heat.box.power = -2 kW: must be between 0 and 1000000 kW
yard.toml:58: heat.b2.power = 3: needs its unit: write "3 kW"
yard.toml:65: heat.b3.power = much: must be a power with its unit, such as "12 kW", or the name of a .csv file`,
	},
	{
		name:  "thinner than a cell",
		base:  heatedSection,
		edits: []edit{{"right = \"42 ft\"", "right = \"40.1 ft\""}, {"bottom = \"10 ft\"\n[supply]", "bottom = \"8.2 ft\"\n[supply]"}},
		want: `
yard.toml:53: heat.box.right = 40.1 ft: makes the body 0.03048 m (0.1 ft) thick, thinner than the smallest cell: must be at least mesh.finest, 0.0762 m (0.25 ft), or make that smaller
yard.toml:55: heat.box.bottom = 8.2 ft: makes the body 0.06096 m (0.2 ft) thick, thinner than the smallest cell: must be at least mesh.finest, 0.0762 m (0.25 ft), or make that smaller`,
	},
	{
		name:  "thinner than the mesh can tell in ground so wide",
		base:  heatedSection,
		edits: []edit{{"right = \"42 ft\"", "right = \"12.19215 m\""}, {"[supply]", "[mesh]\nfinest = \"0.1 mm\"\n[domain]\nleft = \"-100000 m\"\nright = \"100000 m\"\n[supply]"}},
		want: `
yard.toml:53: heat.box.right = 12.19215 m: makes the body 0.00015 m (0.0004921 ft) thick, too thin for modelled ground of 200000 m (656200 ft): must be more than a billionth of that; make the body thicker, or domain smaller`,
	},
	{
		name:  "series with faults",
		base:  heated,
		edits: []edit{{"power.csv", "broken-power.csv"}},
		want: `
yard.toml:27: heat.ring.power = broken-power.csv: begins on day 1; must begin at power-on, day 0, or before (with a row of 0 where the body is off)
yard.toml:27: heat.ring.power = broken-power.csv: ends on day 60; must go on to time.duration, day 70 (with a row of 0 where the body is off)
testdata/broken-power.csv:4: power_kW = -1: must be between 0 and 1000000 kW
testdata/broken-power.csv:5: power_kW = nan: must be a number
testdata/broken-power.csv:7: time_d = 3: must be later than the row before
testdata/broken-power.csv:8: time_d = x: must be a number of days since power-on
testdata/broken-power.csv:9: power_kW = 1e7: must be between 0 and 1000000 kW`,
	},
	{
		// Nothing is said of what the rows with faults leave open: the last row has a
		// time beyond the end, a value that is refused, or none that is known.
		name:  "series with a fault in its first or last row",
		base:  heated,
		edits: []edit{{"power.csv", "last-power.csv"}, {"\"300 W\"", "\"first-power.csv\""}},
		want: `
testdata/first-power.csv:3: has 1 columns; must have 2, as the first row
testdata/last-power.csv:5: power_kW = 5O: must be a number
testdata/first-power.csv:6: time_d = 4: must be later than the row before`,
	},
	{
		name:  "series with two columns of one kind",
		base:  heated,
		edits: []edit{{"power.csv", "two-powers.csv"}, {"\"300 W\"", "\"two-times.csv\""}, {"\"12 degC\"", "\"two-airs.csv\""}},
		want: `
testdata/two-airs.csv:2: names two columns of values, air_F and air_C; must name one
testdata/two-powers.csv:2: names two columns of values, power_kW and power_W; must name one
testdata/two-times.csv:2: names two columns of times, time_d and time_h; must name one`,
	},
	{
		name:  "series of air with a second column of times",
		base:  heated,
		edits: []edit{{"\"12 degC\"", "\"air-times.csv\""}},
		want: `
testdata/air-times.csv:2: names two columns of times, time_h and time_d; must name one`,
	},
	{
		name:  "series that does not cover the run",
		base:  heated,
		edits: []edit{{"power.csv", "short-power.csv"}},
		want: `
yard.toml:27: heat.ring.power = short-power.csv: begins on day 0.04167; must begin at power-on, day 0, or before (with a row of 0 where the body is off)
yard.toml:27: heat.ring.power = short-power.csv: ends on day 10; must go on to time.duration, day 70 (with a row of 0 where the body is off)`,
	},
	{
		name:  "series without its columns, and one that is not there",
		base:  heated,
		edits: []edit{{"power.csv", "air.csv"}, {"\"300 W\"", "\"none.csv\""}},
		want: `
yard.toml:34: heat.rod.power = none.csv: there is no file testdata/none.csv
testdata/air.csv:2: the first row must name the columns time_d, time_h, time_s or date and power_kW or power_W`,
	},
	{
		name:  "half a material, a name twice, a key of the other view",
		base:  heated,
		edits: []edit{{"heat_capacity = \"3.5 MJ/m3/K\"", "left = \"1 m\""}, {"name = \"rod\"", "name = \"ring\""}},
		want: `
yard.toml:32: heat[2].heat_capacity: is missing; a solid body needs it beside thermal_conductivity
yard.toml:33: heat[2].name = ring: must be unique; heat[1] is ring too
yard.toml:39: heat[2].left = 1 m: not a key of this view (axisymmetric); keys of [[heat]] are name, power, radius, inner_radius, top, bottom, thermal_conductivity, heat_capacity`,
	},
	{
		name:  "two bodies in one place",
		base:  heated,
		edits: []edit{{"radius = \"0.2 m\"", "radius = \"1.2 m\""}},
		want: `
yard.toml:32: heat.rod: overlaps heat.ring: two bodies of set power must not`,
	},
	{
		name:  "in the place of a rod",
		base:  soundAxis,
		edits: []edit{{"[supply]", "[[heat]]\nname = \"rod\"\npower = \"1 kW\"\nradius = \"0.5 m\"\ntop = \"3 m\"\nbottom = \"5 m\"\n[supply]"}},
		want: `
yard.toml:29: heat.rod: overlaps electrode E1`,
	},
	{
		name:  "in the place of an array's row",
		base:  soundArray,
		edits: []edit{{"[supply]", "[[heat]]\nname = \"box\"\npower = \"1 kW\"\nleft = \"45 ft\"\nright = \"46 ft\"\ntop = \"9 ft\"\nbottom = \"10 ft\"\n[supply]"}},
		want: `
yard.toml:39: heat.box: overlaps electrode E5, or comes nearer to its row than mesh.finest, 0.0762 m (0.25 ft), or reaches the column of the mesh that stands for it`,
	},
	{
		name:  "supply that feeds nothing, change of none",
		base:  heated,
		edits: []edit{{"[time]", "[supply]\nphases = 3\nvoltage = \"100 V\"\nvoltage_basis = \"phase to neutral\"\n[[change]]\nat = \"3 d\"\non = false\n[time]"}},
		want: `
yard.toml:40: supply: feeds nothing: the case has neither [[electrode]] nor [[array]]; [[heat]] needs no supply
yard.toml:44: change[1]: changes nothing: the case has no supply; a [[heat]] takes its power against time from a CSV`,
	},
	{
		name:  "deeper than domain.bottom",
		base:  heated,
		edits: []edit{{"[time]", "[domain]\nbottom = \"4.5 m\"\n[time]"}},
		want: `
yard.toml:41: domain.bottom = 4.5 m: must be below the bottom of all targets, electrodes and heats; they end at 5 m (16.4 ft)`,
	},
}

// TestBrokenHeats: each broken body of set power prints exactly this.
func TestBrokenHeats(t *testing.T) {
	for _, base := range []string{heated, heatedSection} {
		if got := parseBroken(t, broken{base: base}); got != "" {
			t.Fatalf("a sound case has faults:\n%s", got)
		}
	}
	for _, b := range brokenHeats {
		t.Run(b.name, func(t *testing.T) {
			if got, want := parseBroken(t, b), strings.TrimSpace(b.want); got != want {
				t.Errorf("printed\n%s\nwant\n%s", got, want)
			}
		})
	}
}

// TestHeats: what heated says, spot by spot, and --set.
func TestHeats(t *testing.T) {
	c := mustParse(t, heated, "heat.rod.power=0.2 kW", "heat[1].inner_radius=0.5 m")
	ring, rod := &c.Heats[0], &c.Heats[1]
	if rod.Power.Constant != 200 || ring.InnerRadius != 0.5 {
		t.Errorf("--set gives %v W and %v m, want 200 and 0.5", rod.Power.Constant, ring.InnerRadius)
	}
	if ring.Solid() || !rod.Solid() || rod.InnerRadius != 0 {
		t.Errorf("ring solid %v, rod solid %v, rod's inner radius %v: want false, true, 0", ring.Solid(), rod.Solid(), rod.InnerRadius)
	}
	if c.Supply.Phases != 0 || !math.IsInf(c.Supply.PowerLimit, 1) {
		t.Errorf("a case without electrodes has the supply %+v", c.Supply)
	}
	// By hand: 1500 to 2500 W over 240 h, then down to 0 over 1440 h.
	if got, want := ring.Power.Energy(0, 1680*hour), (2000*240.0+1250*1440)*hour; math.Abs(got-want) > 1e-12*want {
		t.Errorf("the series gives %v J, want %v J", got, want)
	}
	// By hand: from 12 h before power-on, where it is 750 W, to 24 h, at 1600 W.
	if got, want := ring.Power.Energy(-12*hour, 24*hour), ((750+1500)/2.0*12+(1500+1600)/2.0*24)*hour; math.Abs(got-want) > 1e-12*want {
		t.Errorf("across power-on the series gives %v J, want %v J", got, want)
	}
	if least, most := ring.Power.Range(1680 * hour); least != 0 || most != 2500 {
		t.Errorf("the series runs from %v to %v W, want 0 to 2500", least, most)
	}
}

// TestHeatsBuild: a body's power is that of all of them on the site, whatever the
// mesh: the cells' watts sum to it, over extent.length and extent.count, and a
// series gives its exact mean over any time.
func TestHeatsBuild(t *testing.T) {
	c, _ := mustParse(t, heated).Expand()
	p, err := c.Build()
	if err != nil {
		t.Fatal(err)
	}
	if p.Electric != nil {
		t.Error("a case without electrodes has a potential")
	}
	sum := func(v []float64) (s float64) {
		for _, x := range v {
			s += x
		}
		return s
	}
	if got := sum(p.Imposed); math.Abs(got-300) > 1e-10 {
		t.Errorf("the rod's cells take %v W, want 300", got)
	}
	q := make([]float64, p.Ground.Grid.Cells())
	p.Varying(q, 120*hour, 360*hour)
	// By hand: 2000 to 2500 W over 120 h, then falling by 2500/1440 W/h.
	want := (2250*120.0 + (2500-2500.0/1440*60)*120) / 240
	if got := sum(q); math.Abs(got-want) > 1e-9 {
		t.Errorf("the ring's cells take %v W over the middle, want %v", got, want)
	}
	volume := 0.0
	for c, w := range q {
		if w > 0 {
			volume += p.Ground.Grid.Volume[c]
		}
	}
	if want := 3 * math.Pi * (1.5*1.5 - 1) * 2; math.Abs(volume-want) > 1e-9 || math.Abs(c.Volume(&c.Heats[0])-want) > 1e-9 {
		t.Errorf("the ring's power goes into %v m³, and its volume is %v m³, want three rings of %v m³", volume, c.Volume(&c.Heats[0]), want/3)
	}
	solid := 0
	for cell := range q {
		if p.Ground.InInsert(cell) {
			solid++
			if s := p.Ground.Store(cell); s.Capacity != 3.5e6 || s.Found != 0 || !math.IsInf(s.BoilingPoint, 1) {
				t.Fatalf("a cell of the rod has the store %+v, want 3.5e6 J/(m³·K), no water, no boiling", s)
			}
		}
	}
	if solid == 0 {
		t.Error("the rod has no cells of its own material")
	}
	section, _ := mustParse(t, heatedSection).Expand()
	p, err = section.Build()
	if err != nil {
		t.Fatal(err)
	}
	if got := sum(p.Imposed); math.Abs(got-2000) > 1e-9 {
		t.Errorf("the box's cells take %v W, want 2000 over all of extent.length", got)
	}
}
