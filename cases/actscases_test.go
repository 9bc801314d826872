package cases

import "strings"

// wiredSection is invented ground with one of each: a plate, a row of rods, a body
// of set power, a planned change. No two numbers of a kind are alike where one could
// be taken for another.
const wiredSection = `title = "Wired section"
view = "section"
[site]
ambient = "10 degC"
water_table = "2 m"
[extent]
length = "20 m"
[surface]
air = "8 degC"
[[layer]]
name = "sand"
bottom = "2.5 m"
resistivity = "100 ohm*m"
thermal_conductivity = "1.5 W/m/K"
heat_capacity = "2.5 MJ/m3/K"
porosity = 0.4
saturation = 0.5
[[layer]]
name = "clay"
resistivity = "20 ohm*m"
thermal_conductivity = "1.2 W/m/K"
heat_capacity = "3 MJ/m3/K"
porosity = 0.45
saturation = 1
[[target]]
name = "zone"
left = "0 m"
right = "8 m"
top = "2 m"
bottom = "4 m"
temperature = "60 degC"
[[electrode]]
name = "P"
phase = "A"
top = "2 m"
bottom = "4 m"
x = "1 m"
width = "0.5 m"
[[electrode]]
name = "R"
phase = "B"
top = "2 m"
bottom = "4 m"
x = "6 m"
radius = "0.1 m"
rod_spacing = "2 m"
[[heat]]
name = "drum"
power = "2 kW"
left = "2.5 m"
right = "3.5 m"
top = "2.5 m"
bottom = "3 m"
thermal_conductivity = "40 W/m/K"
heat_capacity = "3.6 MJ/m3/K"
[supply]
phases = 3
voltage = "100 V"
voltage_basis = "phase to neutral"
[[change]]
at = "3 d"
voltage = "50 V"
[time]
duration = "20 d"
[mesh]
finest = "0.25 m"
`

// wiredArray is the same with an array in place of electrodes and body.
var wiredArray = wiredSection[:strings.Index(wiredSection, "[[electrode]]")] + `[[array]]
pattern = "triangular"
spacing = "4 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
` + wiredSection[strings.Index(wiredSection, "[supply]"):]

// wiredCell is a rod on the axis of a cell, and a ring of set power round it.
const wiredCell = `title = "Wired cell"
view = "axisymmetric"
[site]
ambient = "10 degC"
water_table = "none"
[extent]
radius = "2.5 m"
[surface]
air = "8 degC"
[[layer]]
name = "clay"
resistivity = "20 ohm*m"
thermal_conductivity = "1.2 W/m/K"
heat_capacity = "3 MJ/m3/K"
porosity = 0.45
saturation = 1
[[target]]
name = "zone"
top = "2 m"
bottom = "4 m"
temperature = "60 degC"
[[electrode]]
name = "E"
phase = "A"
top = "2 m"
bottom = "4 m"
radius = "0.15 m"
[[heat]]
name = "ring"
power = "2 kW"
radius = "1.5 m"
inner_radius = "1 m"
top = "2.5 m"
bottom = "3 m"
[supply]
phases = 1
voltage = "100 V"
voltage_basis = "phase to neutral"
[time]
duration = "20 d"
[mesh]
finest = "0.1 m"
`

// wiredPipe and wiredCasing are the two with buried metal.
var (
	wiredPipe   = strings.Replace(wiredSection, "[supply]", "[[conductor]]\nname = \"pipe\"\nleft = \"3 m\"\nright = \"3.5 m\"\ntop = \"5 m\"\nbottom = \"5.5 m\"\n[supply]", 1)
	wiredCasing = strings.Replace(wiredCell, "[supply]", "[[conductor]]\nname = \"casing\"\nradius = \"1.2 m\"\ninner_radius = \"1 m\"\ntop = \"5 m\"\nbottom = \"6 m\"\n[supply]", 1)
)

// wiredPair is the cell with a second rod below, to which current returns.
var wiredPair = strings.Replace(wiredCell, "[supply]", "[[electrode]]\nname = \"F\"\nphase = \"B\"\ntop = \"5 m\"\nbottom = \"6 m\"\nradius = \"0.15 m\"\n[supply]", 1)

// wiredPlan is a plan with a target by its corners and one by a circle, two electrodes,
// a ring of six and two bodies of set power; sides are far enough apart that the mesh
// has them all for edges.
const wiredPlan = `title = "Wired plan"
view = "plan"
[site]
ambient = "10 degC"
water_table = "none"
[extent]
top = "2 m"
bottom = "4 m"
[surface]
air = "8 degC"
[[layer]]
name = "clay"
resistivity = "20 ohm*m"
thermal_conductivity = "1.2 W/m/K"
heat_capacity = "3 MJ/m3/K"
porosity = 0.45
saturation = 1
[[target]]
name = "zone"
outline = [["0 m", "0 m"], ["9 m", "0 m"], ["9 m", "6 m"], ["0 m", "6 m"]]
temperature = "60 degC"
[[target]]
name = "circle"
center = ["20 m", "14 m"]
radius = "3 m"
temperature = "60 degC"
[[array]]
name = "R"
pattern = "ring"
center = ["20 m", "14 m"]
diameter = "6 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
[[electrode]]
name = "P"
phase = "A"
x = "2 m"
y = "3 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
[[electrode]]
name = "Q"
phase = "B"
x = "6 m"
y = "3 m"
top = "2 m"
bottom = "4 m"
radius = "0.1 m"
[[heat]]
name = "strip"
power = "2 kW"
outline = [["0 m", "24 m"], ["3 m", "24 m"], ["3 m", "27 m"], ["0 m", "27 m"]]
[[sensor]]
name = "T"
x = "2.1 m"
y = "1.7 m"
[supply]
phases = 3
voltage = "100 V"
voltage_basis = "phase to neutral"
neutral = "grounded"
[time]
duration = "20 d"
[mesh]
finest = "0.5 m"
`

// wiredSpot is the same with the set power in a circle.
var wiredSpot = strings.Replace(wiredPlan, `outline = [["0 m", "24 m"], ["3 m", "24 m"], ["3 m", "27 m"], ["0 m", "27 m"]]`, "center = [\"1.5 m\", \"26 m\"]\nradius = \"2 m\"", 1)

// wiredDrum and wiredSheet are the plan with buried metal, by a circle and by its corners.
var (
	wiredDrum  = strings.Replace(wiredPlan, "[supply]", "[[conductor]]\nname = \"drum\"\ncenter = [\"12 m\", \"24 m\"]\nradius = \"2 m\"\n[supply]", 1)
	wiredSheet = strings.Replace(wiredPlan, "[supply]", "[[conductor]]\nname = \"sheet\"\noutline = [[\"10 m\", \"20 m\"], [\"14 m\", \"20 m\"], [\"14 m\", \"28 m\"], [\"10 m\", \"28 m\"]]\n[supply]", 1)
)

// wiredMonths is air by month, 1 °C in January to 12 °C in December.
const wiredMonths = `surface.air=["1 degC","2 degC","3 degC","4 degC","5 degC","6 degC","7 degC","8 degC","9 degC","10 degC","11 degC","12 degC"]`
