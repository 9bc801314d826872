package cases

import (
	"strings"
	"testing"
)

// brokenPlans are faults of plans, told with the line and what is allowed.
var brokenPlans = []broken{
	{
		name:  "two corners",
		base:  soundPlan,
		edits: []edit{{`  ["9 m", "6 m"],` + "\n", ""}, {`  ["0 m", "6 m"],` + "\n", ""}},
		want: `
yard.toml:21: target.zone.outline = [ ["0 m", "0 m"], ["9 m", "0 m"], ]: has 2 corners; must have three or more: a list of corners, each x and y, such as [["0 ft", "0 ft"], ["60 ft", "0 ft"], ["60 ft", "90 ft"]]`,
	},
	{
		name:  "a corner without a unit, one of three places",
		base:  soundPlan,
		edits: []edit{{`["9 m", "0 m"]`, `["9", "0 m"]`}, {`["9 m", "6 m"]`, `["9 m", "6 m", "1 m"]`}},
		want: `
yard.toml:23: target.zone.outline[2][1] = 9: needs its unit: write "9 ft" or "9 m"
yard.toml:24: target.zone.outline[3] = [9 m, 6 m, 1 m]: must be x and y, such as ["30 ft", "4.5 m"]`,
	},
	{
		name:  "an outline that crosses itself",
		base:  soundPlan,
		edits: []edit{{`["9 m", "6 m"]`, `["0 m", "6 m"]`}, {"\n  [\"0 m\", \"6 m\"],\n]", "\n  [\"9 m\", \"6 m\"],\n]"}},
		want: `
yard.toml:25: target.zone.outline[4] = [9 m, 6 m]: begins a side that meets side 2: the outline must not cross, touch or fold back on itself; give its corners in turn`,
	},
	{
		name:  "an outline closed twice",
		base:  soundPlan,
		edits: []edit{{"\n  [\"0 m\", \"6 m\"],\n]", "\n  [\"0 m\", \"6 m\"],\n  [\"0 m\", \"0 m\"],\n]"}},
		want: `
yard.toml:26: target.zone.outline[5] = [0 m, 0 m]: must not be the first corner again: the outline closes by itself; corners must be at least 1 mm apart`,
	},
	{
		name:  "a corner twice",
		base:  soundPlan,
		edits: []edit{{`  ["9 m", "6 m"],`, "  [\"9 m\", \"6 m\"],\n  [\"9 m\", \"6 m\"],"}},
		want: `
yard.toml:25: target.zone.outline[4] = [9 m, 6 m]: must not be the corner before it again: corners must be at least 1 mm apart`,
	},
	{
		name:  "an outline that folds back",
		base:  soundPlan,
		edits: []edit{{`["9 m", "6 m"]`, `["9 m", "6 m"], ["9 m", "3 m"]`}},
		want: `
yard.toml:24: target.zone.outline[3] = [9 m, 6 m]: begins a side that meets side 2: the outline must not cross, touch or fold back on itself; give its corners in turn`,
	},
	{
		name:  "an outline of no area",
		base:  soundPlan,
		edits: []edit{{`["9 m", "6 m"]`, `["9 m", "0.0001 m"]`}, {`["0 m", "6 m"]`, `["4 m", "0.0009 m"]`}},
		want: `
yard.toml:24: target.zone.outline[3] = [9 m, 0.0001 m]: must not be the corner before it again: corners must be at least 1 mm apart`,
	},
	{
		name:  "an outline on one line",
		base:  soundPlan,
		edits: []edit{{`["9 m", "6 m"]`, `["12 m", "0 m"]`}, {`  ["0 m", "6 m"],` + "\n", ""}},
		want: `
yard.toml:24: target.zone.outline[3] = [12 m, 0 m]: begins a side that meets side 2: the outline must not cross, touch or fold back on itself; give its corners in turn`,
	},
	{
		name:  "outline and circle",
		base:  soundPlan,
		edits: []edit{{`radius = "2 m"`, "radius = \"2 m\"\noutline = [[\"0 m\", \"0 m\"], [\"1 m\", \"0 m\"], [\"0 m\", \"1 m\"]]"}},
		want: `
yard.toml:30: target.core.center = ["4 m", "3 m"]: must not stand beside outline: a plan needs outline (corners) or center and radius (a circle)`,
	},
	{
		name:  "a circle without a radius, a target without a place",
		base:  soundPlan,
		edits: []edit{{"radius = \"2 m\"\n", ""}, {"[[electrode]]", "[[target]]\nname = \"third\"\ntemperature = \"90 degC\"\n[[electrode]]"}},
		want: `
yard.toml:28: target.core.radius: is missing; a plan needs outline (corners) or center and radius (a circle)
yard.toml:32: target.third: is without a figure: a plan needs outline (corners) or center and radius (a circle)`,
	},
	{
		name:  "keys of a section",
		base:  soundPlan,
		edits: []edit{{`x = "4 m"`, "x = \"4 m\"\ndepth = \"3 m\""}, {`top = "2 m"`, "top = \"2 m\"\nlength = \"90 ft\""}, {"radius = \"2 m\"\n", "radius = \"2 m\"\nbottom = \"4 m\"\n"}},
		want: `
yard.toml:9: extent.length = 90 ft: not a key of this view (plan); keys of [extent] are top, bottom
yard.toml:33: target.core.bottom = 4 m: not a key of this view (plan); keys of [[target]] are name, radius, outline, center, temperature, share, hold
yard.toml:54: sensor.T1.depth = 3 m: not a key of this view (plan); keys of [[sensor]] are name, x, y`,
	},
	{
		name:  "a slab upside down, beyond the layers",
		base:  soundPlan,
		edits: []edit{{`top = "2 m"`, `top = "5 m"`}, {`name = "clay"`, "name = \"clay\"\nbottom = \"3.5 m\""}},
		want: `
yard.toml:9: extent.bottom = 4 m: must be below the top, 5 m (16.4 ft)
yard.toml:9: extent.bottom = 4 m: must be within the layers, which end at 3.5 m (11.48 ft)
yard.toml:40: electrode.E1.bottom = 4 m: must be within the layers, which end at 3.5 m (11.48 ft)
yard.toml:48: electrode.E2.bottom = 4 m: must be within the layers, which end at 3.5 m (11.48 ft)`,
	},
	{
		name:  "electrodes beside the slab",
		base:  soundPlan,
		edits: []edit{{"y = \"3 m\"\ntop = \"2 m\"\nbottom = \"4 m\"", "y = \"3 m\"\ntop = \"4 m\"\nbottom = \"6 m\""}},
		want: `
yard.toml:38: electrode.E1.top = 4 m: puts the active interval beside the slab, which is from 2 m (6.562 ft) to 4 m (13.12 ft): must meet it`,
	},
	{
		name:  "electrodes that touch",
		base:  soundPlan,
		edits: []edit{{`x = "7 m"`, `x = "2.3 m"`}},
		want: `
yard.toml:44: electrode.E2.x = 2.3 m: stands 0.3 m (0.9843 ft) from E1: must be farther than the sum of their radii, 0.3 m (0.9843 ft)`,
	},
	{
		name:  "electrodes without radius and y",
		base:  soundPlan,
		edits: []edit{{"y = \"3 m\"\ntop = \"2 m\"\nbottom = \"4 m\"\nradius = \"15 cm\"\n", "top = \"2 m\"\nbottom = \"4 m\"\n"}},
		want: `
yard.toml:33: electrode.E1.y: is missing; must be a length with its unit, such as "12 ft" or "12 m"
yard.toml:33: electrode.E1.radius: is missing; must be a length with its unit, such as "12 ft" or "12 m"`,
	},
	{
		name:  "one phase",
		base:  soundPlan,
		edits: []edit{{`phase = "B"`, `phase = "A"`}},
		want: `
yard.toml:43: electrode.E2.phase = A: no return path: all electrodes are on one phase, so no current flows`,
	},
	{
		name:  "outside the domain",
		base:  soundPlan,
		edits: []edit{{"[time]", "[domain]\nleft = \"1 m\"\nback = \"5 m\"\nbottom = \"3 m\"\n[time]"}, {"x = \"4 m\"\ny = \"3 m\"", "x = \"0.5 m\"\ny = \"30 m\""}},
		want: `
yard.toml:51: sensor.T1.x = 0.5 m: must be within domain.left and domain.right
yard.toml:52: sensor.T1.y = 30 m: must be within domain.front and domain.back
yard.toml:58: domain.left = 1 m: must be left of all targets, electrodes and heats; they begin at x = 0 m (0 ft)
yard.toml:59: domain.back = 5 m: must be beyond the back of all targets, electrodes and heats; they end at y = 6 m (19.69 ft)
yard.toml:60: domain.bottom = 3 m: must be below extent.bottom, 4 m (13.12 ft)`,
	},
	{
		name:  "hardly any ground below",
		base:  soundPlan,
		edits: []edit{{"[time]", "[domain]\nbottom = \"4.0000000003 m\"\n[time]"}},
		want: `
yard.toml:58: domain.bottom = 4.0000000003 m: leaves 0 m (0 ft) of ground below extent.bottom; must be at least 1 mm below it`,
	},
	{
		name:  "front behind back",
		base:  soundPlan,
		edits: []edit{{"[time]", "[domain]\nfront = \"60 m\"\nback = \"50 m\"\n[time]"}},
		want: `
yard.toml:59: domain.back = 50 m: must be beyond front, y = 60 m (196.9 ft)`,
	},
	{
		name:  "a grid without spacing",
		base:  soundGrid,
		edits: []edit{{"spacing = \"3 m\"\n", ""}},
		want: `
yard.toml:33: array[1].spacing: is missing; must be a length with its unit, such as "12 ft" or "12 m"`,
	},
	{
		name:  "a grid with the keys of a ring",
		base:  soundGrid,
		edits: []edit{{`spacing = "3 m"`, "spacing = \"3 m\"\ndiameter = \"9 m\"\ncenter_neutral = true"}},
		want: `
yard.toml:36: array[1].diameter = 9 m: is no key of this pattern: triangular has spacing and outboard
yard.toml:37: array[1].center_neutral = true: is no key of this pattern: triangular has spacing and outboard`,
	},
	{
		name:  "a ring with the keys of a grid",
		base:  soundGrid,
		edits: []edit{{`"triangular"`, `"ring"`}, {`radius = "15 cm"`, "radius = \"15 cm\"\noutboard = \"1 m\""}},
		want: `
yard.toml:33: array[1].center: is missing; must be x and y, such as ["30 ft", "4.5 m"]
yard.toml:33: array[1].diameter: is missing; must be a length with its unit, such as "12 ft" or "12 m"
yard.toml:35: array[1].spacing = 3 m: is no key of this pattern: ring has center, diameter, count and center_neutral
yard.toml:39: array[1].outboard = 1 m: is no key of this pattern: ring has center, diameter, count and center_neutral`,
	},
	{
		name:  "a ring that does not suit its supply",
		base:  soundGrid,
		edits: []edit{{`pattern = "triangular"` + "\n" + `spacing = "3 m"`, "pattern = \"ring\"\ncenter = [\"4 m\", \"3 m\"]\ndiameter = \"1 m\"\ncount = 8\ncenter_neutral = true"}},
		want: `
yard.toml:37: array[1].count = 8: must be a multiple of 3: supply.phases is 3, and they follow each other round the ring
yard.toml:38: array[1].center_neutral = true: needs supply.neutral = "grounded": a floating neutral is connected to no electrode`,
	},
	{
		name:  "a grid of too many electrodes",
		base:  soundGrid,
		edits: []edit{{`spacing = "3 m"`, `spacing = "15 cm"`}, {`radius = "15 cm"`, `radius = "1 cm"`}},
		want: `
yard.toml:35: array[1].spacing = 15 cm: makes 2844 electrodes in all; a plan takes at most 2000`,
	},
	{
		name:  "a grid of far too many electrodes",
		base:  soundGrid,
		edits: []edit{{`spacing = "3 m"`, `spacing = "1 cm"`}, {`radius = "15 cm"`, `radius = "1 mm"`}},
		want: `
yard.toml:35: array[1].spacing = 1 cm: gives more than 100000 places in the box round the first target; a plan takes at most 2000 electrodes`,
	},
	{
		name:  "a grid that meets an electrode by hand",
		base:  soundGrid,
		edits: []edit{{"[supply]", "[[electrode]]\nname = \"X\"\nphase = \"A\"\nx = \"4.5 m\"\ny = \"3 m\"\ntop = \"2 m\"\nbottom = \"4 m\"\nradius = \"15 cm\"\n[supply]"}},
		want: `
yard.toml:33: array[1]: its electrode E6 stands 0 m (0 ft) from X: must be farther than the sum of their radii, 0.3 m (0.9843 ft)`,
	},
	{
		name:  "a grid of one electrode",
		base:  soundGrid,
		edits: []edit{{`spacing = "3 m"`, `spacing = "30 m"`}},
		want: `
yard.toml:35: array[1].spacing = 30 m: no return path: the case has 1 electrode in all, on one phase, so no current flows`,
	},
	{
		name:  "a ring in a section",
		base:  soundArray,
		edits: []edit{{`"triangular"`, `"ring"`}, {"spacing = \"14 ft\"\n", ""}},
		want: `
yard.toml:34: array[1].pattern = ring: cannot be carried by a section, whose rows run on out of the page; use view = "plan", or an axisymmetric case with a [[heat]] ring of the same power`,
	},
	{
		name:  "buried metal without a place, with depths, with two",
		base:  soundPlan,
		edits: []edit{{"[supply]", "[[conductor]]\nname = \"drum\"\ntop = \"2 m\"\n[[conductor]]\nname = \"pipe\"\ncenter = [\"4 m\", \"30 m\"]\noutline = [[\"0 m\", \"30 m\"], [\"9 m\", \"30 m\"], [\"9 m\", \"31 m\"]]\n[supply]"}},
		want: `
yard.toml:53: conductor.drum: is without a figure: a plan needs outline (corners) or center and radius (a circle)
yard.toml:55: conductor.drum.top = 2 m: not a key of this view (plan); keys of [[conductor]] are name, radius, outline, center
yard.toml:58: conductor.pipe.center = ["4 m", "30 m"]: must not stand beside outline: a plan needs outline (corners) or center and radius (a circle)`,
	},
	{
		name:  "buried metal thinner than a cell, twice",
		base:  soundPlan,
		edits: []edit{{"[supply]", "[[conductor]]\nname = \"drum\"\ncenter = [\"4 m\", \"30 m\"]\nradius = \"0.15 m\"\n[[conductor]]\nname = \"pipe\"\noutline = [[\"0 m\", \"40 m\"], [\"9 m\", \"40 m\"], [\"9 m\", \"40.3 m\"], [\"0 m\", \"40.3 m\"]]\n[supply]"}},
		want: `
yard.toml:56: conductor.drum.radius = 0.15 m: makes it 0.3 m (0.9843 ft) thick, thinner than the smallest cell: must be at least mesh.finest, 0.3048 m (1 ft), or make that smaller
yard.toml:59: conductor.pipe.outline = [["0 m", "40 m"], ["9 m", "40 m"], ["9 m", "40.3 m"], ["0 m", "40.3 m"]]: makes it 0.3 m (0.9843 ft) thick, thinner than the smallest cell: must be at least mesh.finest, 0.3048 m (1 ft), or make that smaller`,
	},
	{
		name:  "buried metal beside an electrode, near other metal, in a body of set power",
		base:  soundPlan,
		edits: []edit{{"[supply]", "[[heat]]\nname = \"strip\"\npower = \"1 kW\"\ncenter = [\"4 m\", \"40 m\"]\nradius = \"2 m\"\n[[conductor]]\nname = \"drum\"\ncenter = [\"2 m\", \"4.5 m\"]\nradius = \"0.5 m\"\n[[conductor]]\nname = \"pipe\"\noutline = [[\"0 m\", \"5.5 m\"], [\"9 m\", \"5.5 m\"], [\"9 m\", \"6 m\"], [\"0 m\", \"6 m\"]]\n[[conductor]]\nname = \"tank\"\ncenter = [\"4 m\", \"43 m\"]\nradius = \"1.5 m\"\n[supply]"}},
		want: `
yard.toml:58: conductor.drum: is 1 m (3.281 ft) from the middle of electrode E1, over whose surroundings its current is spread: must be 1.067 m (3.5 ft) away, or mesh.finest smaller; metal that touches an electrode is part of it
yard.toml:62: conductor.pipe: is 0.5 m (1.64 ft) from conductor.drum: two that touch are one conductor; leave a gap of twice mesh.finest, 0.6096 m (2 ft)
yard.toml:65: conductor.tank: meets heat.strip: two bodies must not`,
	},
	{
		name:  "buried metal outside the domain",
		base:  soundPlan,
		edits: []edit{{"[supply]", "[[conductor]]\nname = \"drum\"\ncenter = [\"4 m\", \"30 m\"]\nradius = \"0.5 m\"\n[domain]\nback = \"30 m\"\n[supply]"}},
		want: `
yard.toml:58: domain.back = 30 m: must be beyond the back of all targets, electrodes, heats and conductors; they end at y = 30.5 m (100.1 ft)`,
	},
	{
		name:  "rain beyond its range, a direction beyond a turn",
		base:  soundPlan,
		edits: []edit{{`air = "12 degC"`, "air = \"12 degC\"\ninfiltration = \"50 in/d\""}, {"saturation = 1.0", "saturation = 1.0\ngroundwater = \"0.1 ft/d\"\ngroundwater_direction = \"400 deg\""}},
		want: `
yard.toml:12: surface.infiltration = 50 in/d: must be between 0 and 40 in/d
yard.toml:21: layer.clay.groundwater_direction = 400 deg: must be between -360 and 360 deg`,
	},
	{
		name:  "a solid body in a plan, one without a place",
		base:  soundPlan,
		edits: []edit{{"[supply]", "[[heat]]\nname = \"drum\"\npower = \"1 kW\"\nthermal_conductivity = \"40 W/m/K\"\n[supply]"}},
		want: `
yard.toml:53: heat.drum: is without a figure: a plan needs outline (corners) or center and radius (a circle)
yard.toml:56: heat.drum.thermal_conductivity = 40 W/m/K: not a key of this view (plan); keys of [[heat]] are name, power, radius, outline, center`,
	},
}

// TestBrokenPlans: each broken plan prints exactly this.
func TestBrokenPlans(t *testing.T) {
	for _, b := range brokenPlans {
		t.Run(b.name, func(t *testing.T) {
			if got, want := parseBroken(t, b), strings.TrimSpace(b.want); got != want {
				t.Errorf("printed\n%s\nwant\n%s", got, want)
			}
		})
	}
}
