package cases

// brokenFiles are broken in one way each, with the exact text printed.
var brokenFiles = []broken{
	{
		name:  "porosity in per cent",
		edits: []edit{{"porosity = 0.45", "porosity = 42"}},
		want: `
yard.toml:24: layer.clay.porosity = 42: must be between 0 and 0.95 (a fraction; 42 % is 0.42)`,
	},
	{
		name:  "radius negative",
		edits: []edit{{"radius = \"6 in\"", "radius = \"-2 in\""}},
		want: `
yard.toml:39: electrode.E1.radius = -2 in: must be > 0`,
	},
	{
		name:  "unnamed row is counted",
		edits: []edit{{"name = \"E2\"\n", ""}, {"radius = \"6 in\"\nrod_spacing = \"24 ft\"\n[supply]", "radius = \"-2 in\"\nrod_spacing = \"24 ft\"\n[supply]"}},
		want: `
yard.toml:41: electrode[2].name: is missing; must be a name in quotes
yard.toml:46: electrode[2].radius = -2 in: must be > 0`,
	},
	{
		name:  "unknown key",
		edits: []edit{{"[time]", "[mesh]\nfinnest = \"3 in\"\n[time]"}},
		want: `
yard.toml:58: mesh.finnest: unknown key; nearest is finest; keys of [mesh] are finest, growth, max_cells`,
	},
	{
		name:  "unknown key far from any",
		edits: []edit{{"[time]", "[mesh]\nqqqqqq = 1\n[time]"}},
		want: `
yard.toml:58: mesh.qqqqqq: unknown key; keys of [mesh] are finest, growth, max_cells`,
	},
	{
		name:  "key of another section",
		edits: []edit{{"water_table", "voltage = \"3 V\"\nwater_table"}},
		want: `
yard.toml:6: site.voltage: unknown key here; it is a key of [[array]], [[electrode]], [supply] and [[change]]; keys of [site] are ambient, elevation, water_table, resistivity_at`,
	},
	{
		name:  "unknown section",
		edits: []edit{{"[time]", "[contol]\nsetpoint = \"203 degF\"\n[time]"}},
		want: `
yard.toml:57: contol: unknown section; nearest is control; sections are site, extent, surface, layer, target, array, electrode, heat, conductor, supply, change, control, sensor, steam, water_added, time, domain, mesh, output`,
	},
	{
		name:  "key of a later time",
		edits: []edit{{"[[sensor]]", "droop = \"20 d\"\n[[sensor]]"}},
		want: `
yard.toml:53: supply.droop: unknown key; keys of [supply] are phases, voltage, voltage_basis, power_limit, current_limit, kva_limit, outages, metered, delivered_share, off, neutral`,
	},
	{
		name:  "power off at no time",
		edits: []edit{{"[[sensor]]", "off = \"hold\"\n[[sensor]]"}},
		want: `
yard.toml:53: supply.off = hold: must be a time with its unit, such as "70 d", a date without quotes, or "held"`,
	},
	{
		name:  "power off at power-on",
		edits: []edit{{"[[sensor]]", "off = \"0 d\"\n[[sensor]]"}},
		want: `
yard.toml:53: supply.off = 0 d: must be > 0`,
	},
	{
		name:  "power off on a date of no calendar",
		edits: []edit{{"[[sensor]]", "off = 2026-05-01\n[[sensor]]"}},
		want: `
yard.toml:53: supply.off = 2026-05-01: is a date, which needs time.power_on; or write "12 d" since power-on`,
	},
	{
		name:  "bare number",
		edits: []edit{{"bottom = \"8 ft\"", "bottom = 8"}},
		want: `
yard.toml:13: layer.sand.bottom = 8: needs its unit: write "8 ft" or "8 m"`,
	},
	{
		name:  "bare number, nan",
		edits: []edit{{"bottom = \"8 ft\"", "bottom = nan"}},
		want: `
yard.toml:13: layer.sand.bottom = nan: must be a length with its unit, such as "12 ft" or "12 m"`,
	},
	{
		name:  "nan in quotes",
		edits: []edit{{"bottom = \"8 ft\"", "bottom = \"nan ft\""}},
		want: `
yard.toml:13: layer.sand.bottom = nan ft: must be a length, a number and its unit, such as "12 ft" or "12 m"`,
	},
	{
		name:  "infinite share",
		edits: []edit{{"porosity = 0.35", "porosity = inf"}},
		want: `
yard.toml:17: layer.sand.porosity = inf: must be a share, 0 to 0.95, such as 0.42 or "42 %"`,
	},
	{
		name:  "overflow",
		edits: []edit{{"bottom = \"8 ft\"", "bottom = \"1e999 ft\""}},
		want: `
yard.toml:13: layer.sand.bottom = 1e999 ft: must be a finite number`,
	},
	{
		name:  "conductivity for a resistivity",
		edits: []edit{{"\"150 ohm*m\"", "\"0.04 S/m\""}},
		want: `
yard.toml:14: layer.sand.resistivity = 0.04 S/m: is a conductivity; its reciprocal is the resistivity: write "25 ohm*m"`,
	},
	{
		name:  "wrong dimension",
		edits: []edit{{"\"150 ohm*m\"", "\"0.04 S/cm\""}, {"ambient = \"55.4 degF\"", "ambient = \"55.4 ft\""}},
		want: `
yard.toml:5: site.ambient = 55.4 ft: is a length; must be a temperature in K, degC or degF
yard.toml:14: layer.sand.resistivity = 0.04 S/cm: unit S/cm is not known; must be a resistivity in ohm*m, ohm*cm or ohm*ft`,
	},
	{
		name:  "unknown unit",
		edits: []edit{{"\"8 ft\"", "\"8 feet\""}},
		want: `
yard.toml:13: layer.sand.bottom = 8 feet: unit feet is not known; must be a length in m, cm, mm, ft, in or yd`,
	},
	{
		name:  "decimal comma",
		edits: []edit{{"\"150 ohm*m\"", "\"150,5 ohm*m\""}},
		want: `
yard.toml:14: layer.sand.resistivity = 150,5 ohm*m: must have a point for decimals and no other separator, as in "1234.5 ohm*m"`,
	},
	{
		name:  "out of range",
		edits: []edit{{"\"1.6 W/m/K\"", "\"160 W/m/K\""}},
		want: `
yard.toml:15: layer.sand.thermal_conductivity = 160 W/m/K: must be between 0.01 and 20 W/m/K`,
	},
	{
		name:  "required key missing",
		edits: []edit{{"saturation = 1.0\n", ""}},
		want: `
yard.toml:19: layer.clay.saturation: is missing; must be a share, 0 to 1, such as 0.42 or "42 %"`,
	},
	{
		name:  "required section missing",
		edits: []edit{{"[time]\nduration = \"70 d\"\n", ""}},
		want: `
yard.toml: [time]: is missing; it needs duration`,
	},
	{
		name:  "required top key missing",
		edits: []edit{{"title = \"Broken yard\"\n", ""}},
		want: `
yard.toml:1: title: is missing; must be text in quotes`,
	},
	{
		name:  "view not known",
		edits: []edit{{"view = \"section\"", "view = \"elevation\""}},
		want: `
yard.toml:3: view = elevation: must be "section", "axisymmetric" or "plan"`,
	},
	{
		name:  "key of the other view",
		edits: []edit{{"length = \"90 ft\"", "length = \"90 ft\"\ncount = 3"}},
		want: `
yard.toml:9: extent.count = 3: not a key of this view (section); keys of [extent] are length`,
	},
	{
		name:  "length in an axisymmetric view",
		base:  soundAxis,
		edits: []edit{{"radius = \"2 m\"", "radius = \"2 m\"\nlength = \"90 ft\""}},
		want: `
yard.toml:9: extent.length = 90 ft: not a key of this view (axisymmetric); keys of [extent] are radius, rim, count`,
	},
	{
		name:  "not TOML",
		edits: []edit{{"phases = 3", "phases = = 3"}},
		want: `
yard.toml:50: is not TOML: expected value but found '=' instead`,
	},
	{
		name:  "key twice",
		edits: []edit{{"phases = 3", "phases = 3\nphases = 1"}},
		want: `
yard.toml:51: supply.phases: is given twice; the first is in line 50`,
	},
	{
		name:  "one table for many",
		edits: []edit{{"[[sensor]]", "[sensor]"}},
		want: `
yard.toml:53: sensor: may occur more than once: write [[sensor]]`,
	},
	{
		name:  "many tables for one",
		edits: []edit{{"[supply]", "[[supply]]"}},
		want: `
yard.toml:49: supply: must occur once: write [supply]`,
	},
	{
		name:  "layers out of order",
		edits: []edit{{"resistivity = \"15 ohm*m\"", "resistivity = \"15 ohm*m\"\nbottom = \"2 ft\""}},
		want: `
yard.toml:22: layer.clay.bottom = 2 ft: must be below the bottom of the layer above, 2.438 m (8 ft)`,
	},
	{
		name:  "bottom of an inner layer missing",
		edits: []edit{{"bottom = \"8 ft\"\n", ""}},
		want: `
yard.toml:11: layer.sand.bottom: is missing; only the last layer may omit it`,
	},
	{
		name:  "name twice",
		edits: []edit{{"name = \"clay\"", "name = \"sand\""}},
		want: `
yard.toml:20: layer[2].name = sand: must be unique; layer[1] is sand too`,
	},
	{
		name:  "name with a dot",
		edits: []edit{{"name = \"clay\"", "name = \"cl.ay\""}},
		want: `
yard.toml:20: layer[2].name = cl.ay: must be at most 60 letters, digits, spaces and the like, without . [ ] = , # @ / or quotes`,
	},
	{
		name:  "sensors' names with a dot at an end, and with two that read as one path",
		edits: []edit{{"[time]", "[[sensor]]\nname = \"T2.\"\nx = \"22 ft\"\ndepth = \"4 ft\"\n[[sensor]]\nname = \"T1.depth\"\nx = \"23 ft\"\ndepth = \"4 ft\"\n[[sensor]]\nname = \"T1.5\"\nx = \"-1e9 ft\"\ndepth = \"4 ft\"\n[time]"}},
		sets:  []string{"sensor.T1.5.depth=-1 m", "sensor.T1.6.x=1 m"},
		want: `
yard.toml:58: sensor[2].name = T2.: must be at most 60 letters, digits, spaces and the like, without [ ] = , # @ / or quotes, and without a dot at its ends
yard.toml:62: sensor[3].name = T1.depth: would read as the key depth of the sensor T1; name one of them otherwise
yard.toml:67: sensor.T1.5.x = -1e9 ft: must be between -328100 and 328100 ft
--set sensor.T1.5.depth=-1 m: must be between 0 and 10000 m
--set sensor.T1.6.x=1 m: there is no sensor named T1.6; there are T1, T2., T1.depth and T1.5`,
	},
	{
		name:  "target upside down",
		edits: []edit{{"bottom = \"13 ft\"\ntemperature", "bottom = \"7 ft\"\ntemperature"}},
		want: `
yard.toml:31: target.zone.bottom = 7 ft: must be below the top, 2.438 m (8 ft)`,
	},
	{
		name:  "target left of itself",
		edits: []edit{{"right = \"75 ft\"", "right = \"7.5 ft\""}},
		want: `
yard.toml:29: target.zone.right = 7.5 ft: must be right of left, 4.572 m (15 ft)`,
	},
	{
		name:  "target below the layers",
		edits: []edit{{"resistivity = \"15 ohm*m\"", "resistivity = \"15 ohm*m\"\nbottom = \"12 ft\""}},
		want: `
yard.toml:32: target.zone.bottom = 13 ft: must be within the layers, which end at 3.658 m (12 ft)
yard.toml:39: electrode.E1.bottom = 13 ft: must be within the layers, which end at 3.658 m (12 ft)
yard.toml:47: electrode.E2.bottom = 13 ft: must be within the layers, which end at 3.658 m (12 ft)`,
	},
	{
		name:  "electrode without a shape",
		edits: []edit{{"radius = \"6 in\"\nrod_spacing = \"24 ft\"\n", ""}},
		want: `
yard.toml:33: electrode.E1: is without a shape: a section needs radius and rod_spacing (a row of rods) or width (a plate)`,
	},
	{
		name:  "electrode of two shapes",
		edits: []edit{{"rod_spacing = \"24 ft\"\n", "rod_spacing = \"24 ft\"\nwidth = \"1 in\"\n"}},
		want: `
yard.toml:41: electrode.E1.width = 1 in: must not stand beside radius or rod_spacing: a section needs radius and rod_spacing (a row of rods) or width (a plate)`,
	},
	{
		name:  "rods too close",
		edits: []edit{{"rod_spacing = \"24 ft\"", "rod_spacing = \"3 ft\""}},
		want: `
yard.toml:40: electrode.E1.rod_spacing = 3 ft: must be > 2π × radius, 0.9576 m (3.142 ft)`,
	},
	{
		name:  "two phases in one row",
		edits: []edit{{"x = \"30 ft\"", "x = \"20.2 ft\""}},
		want: `
yard.toml:44: electrode.E2.x = 20.2 ft: is the place of electrode.E1: a row carries one phase: in a section, rods of different phases in one row would be one sheet carrying their sum`,
	},
	{
		name:  "two electrodes in one place",
		edits: []edit{{"x = \"30 ft\"", "x = \"20.2 ft\""}, {"phase = \"B\"", "phase = \"A\""}, {"[supply]", "[[electrode]]\nname = \"E3\"\nphase = \"C\"\nx = \"40 ft\"\ntop = \"8 ft\"\nbottom = \"9 ft\"\nwidth = \"1 ft\"\n[supply]"}},
		want: `
yard.toml:44: electrode.E2.x = 20.2 ft: two electrodes at the same place: overlaps electrode.E1`,
	},
	{
		name:  "x in an axisymmetric view",
		base:  soundAxis,
		edits: []edit{{"phase = \"A\"", "phase = \"A\"\nx = \"1 ft\""}},
		want: `
yard.toml:26: electrode.E1.x = 1 ft: not a key of this view (axisymmetric); keys of [[electrode]] are name, phase, top, bottom, radius, contact_resistance, voltage, current_limit`,
	},
	{
		name:  "no x in a section",
		edits: []edit{{"x = \"20 ft\"\n", ""}},
		want: `
yard.toml:33: electrode.E1.x: is missing; must be a length with its unit, such as "12 ft" or "12 m"`,
	},
	{
		name:  "phase of another supply",
		edits: []edit{{"phase = \"B\"", "phase = \"D\""}},
		want: `
yard.toml:43: electrode.E2.phase = D: must be A to C: supply.phases is 3`,
	},
	{
		name:  "neutral that floats",
		edits: []edit{{"phase = \"B\"", "phase = \"N\""}},
		want: `
yard.toml:43: electrode.E2.phase = N: N needs supply.neutral = "grounded": a floating neutral is connected to no electrode`,
	},
	{
		name:  "one phase only",
		edits: []edit{{"phase = \"B\"", "phase = \"A\""}},
		want: `
yard.toml:43: electrode.E2.phase = A: no return path: all electrodes are on one phase, so no current flows`,
	},
	{
		name:  "no return path in a cell",
		base:  soundAxis,
		edits: []edit{{"radius = \"2 m\"", "radius = \"2 m\"\nrim = \"insulated\""}},
		want: `
yard.toml:9: extent.rim = insulated: no return path: there is one potential and no current passes the edge; must be "neutral"`,
	},
	{
		name:  "basis with six phases",
		edits: []edit{{"phases = 3", "phases = 6"}, {"phase to neutral", "phase to phase"}},
		want: `
yard.toml:52: supply.voltage_basis = phase to phase: must be "phase to neutral" with six phases, which have five different voltages from phase to phase`,
	},
	{
		name:  "basis missing",
		edits: []edit{{"voltage_basis = \"phase to neutral\"\n", ""}},
		want: `
yard.toml:49: supply.voltage_basis: is missing; must be "phase to neutral" or "phase to phase"`,
	},
	{
		name:  "apparent power",
		edits: []edit{{"voltage = ", "power_limit = \"150 kVA\"\nvoltage = "}},
		want: `
yard.toml:51: supply.power_limit = 150 kVA: is an apparent power; must be a power in W or kW`,
	},
	{
		name:  "months without a date",
		edits: []edit{{"air = \"53.6 degF\"", "air = [\"1 degC\",\"2 degC\",\"3 degC\",\"4 degC\",\"5 degC\",\"6 degC\",\"7 degC\",\"8 degC\",\"9 degC\",\"10 degC\",\"11 degC\",\"12 degC\"]"}},
		want: `
yard.toml:10: surface.air = ["1 degC","2 degC","3 degC","4 degC","5 degC","6 degC","7 degC","8 degC","9 degC…: twelve monthly values need time.power_on, to know the month`,
	},
	{
		name:  "eleven months",
		edits: []edit{{"air = \"53.6 degF\"", "air = [\"1 degC\",\"2 degC\",\"3 degC\",\"4 degC\",\"5 degC\",\"6 degC\",\"7 degC\",\"8 degC\",\"9 degC\",\"10 degC\",\"11 degC\"]"}},
		want: `
yard.toml:10: surface.air = ["1 degC","2 degC","3 degC","4 degC","5 degC","6 degC","7 degC","8 degC","9 degC…: has 11 values; must be twelve, January to December`,
	},
	{
		name:  "air file missing",
		edits: []edit{{"air = \"53.6 degF\"", "air = \"nowhere.csv\""}},
		want: `
yard.toml:10: surface.air = nowhere.csv: there is no file testdata/nowhere.csv`,
	},
	{
		name:  "air file with faults",
		edits: []edit{{"air = \"53.6 degF\"", "air = \"broken-air.csv\""}},
		want: `
testdata/broken-air.csv:5: time_d = 1: must be later than the row before
testdata/broken-air.csv:6: time_d = x: must be a number of days since power-on
testdata/broken-air.csv:7: air_F = 999: must be between -130 and 140 degF
testdata/broken-air.csv:8: has 1 columns; must have 2, as the first row`,
	},
	{
		name:  "infiltration file with faults",
		edits: []edit{{"air = \"53.6 degF\"", "air = \"53.6 degF\"\ninfiltration = \"broken-rain.csv\""}},
		want: `
testdata/broken-rain.csv:3: infiltration_mm_per_d = -1: must be between 0 and 1016 mm/d
testdata/broken-rain.csv:4: infiltration_mm_per_d = 2000: must be between 0 and 1016 mm/d`,
	},
	{
		name:  "water table and vacuum with faults",
		edits: []edit{{"water_table = \"7 ft\"", "water_table = \"broken-table.csv\""}, {"[time]", "[steam]\nvacuum = \"much\"\n[time]"}},
		want: `
yard.toml:58: steam.vacuum = much: must be a pressure with its unit, such as "12 psi" or "12 kPa", or the name of a .csv file
testdata/broken-table.csv:3: water_table_m = -1: must be between 0 and 1000 m
testdata/broken-table.csv:4: water_table_m = none: must be a number
testdata/broken-table.csv:5: water_table_m = 1001: must be between 0 and 1000 m`,
	},
	{
		name:  "vacuum beyond the air",
		edits: []edit{{"[time]", "[steam]\nvacuum = \"30 inHg\"\n[time]"}},
		want: `
yard.toml:58: steam.vacuum = 30 inHg: must be below 29.48 inHg, or the ground as found would boil: the air at this elevation has 29.92 inHg`,
	},
	{
		name:  "vacuum of a file beyond the air",
		edits: []edit{{"[time]", "[steam]\nvacuum = \"high-vacuum.csv\"\n[time]"}},
		want: `
yard.toml:58: steam.vacuum = high-vacuum.csv: reaches 102 kPa on day 3; must be below 99.83 kPa, or the ground as found would boil: the air at this elevation has 101.3 kPa`,
	},
	{
		name:  "infiltration as a depth",
		edits: []edit{{"air = \"53.6 degF\"", "air = \"53.6 degF\"\ninfiltration = \"0.1 in\""}},
		want: `
yard.toml:11: surface.infiltration = 0.1 in: is a length; must be a water flux in m/s, m/yr, ft/d, in/d, m/d, mm/d, mm/h or cm/s`,
	},
	{
		name:  "groundwater too fast, and in a layer without pores",
		edits: []edit{{"porosity = 0.45", "porosity = 0\ngroundwater = \"0.1 ft/d\""}, {"porosity = 0.35", "porosity = 0.35\ngroundwater = \"-11 ft/d\""}},
		want: `
yard.toml:18: layer.sand.groundwater = -11 ft/d: must be between -10 and 10 ft/d
yard.toml:26: layer.clay.groundwater = 0.1 ft/d: must be 0 where the porosity is 0`,
	},
	{
		name:  "air file without a column",
		edits: []edit{{"air = \"53.6 degF\"", "air = \"no-column.csv\""}},
		want: `
testdata/no-column.csv:1: the first row must name the columns time_d or date and air_C, air_F or air_K`,
	},
	{
		name:  "date without power_on",
		edits: []edit{{"[time]", "[[change]]\nat = 2026-05-01\non = false\n[time]"}},
		want: `
yard.toml:58: change[1].at = 2026-05-01: is a date, which needs time.power_on; or write "12 d" since power-on`,
	},
	{
		name:  "date before power_on",
		edits: []edit{{"[time]", "[[change]]\nat = 2026-04-30\non = false\n[time]\npower_on = 2026-05-01"}},
		want: `
yard.toml:58: change[1].at = 2026-04-30: must not be before time.power_on`,
	},
	{
		name:  "date in quotes",
		edits: []edit{{"[time]", "[[change]]\nat = \"2026-05-02\"\non = false\n[time]\npower_on = 2026-05-01"}},
		want: `
yard.toml:58: change[1].at = 2026-05-02: must be a date without quotes`,
	},
	{
		name:  "date with a zone",
		edits: []edit{{"[time]", "[time]\npower_on = 2026-05-01T00:00:00Z"}},
		want: `
yard.toml:58: time.power_on = 2026-05-01T00:00:00Z: must be a date on the site's clock, without a zone, such as 2026-05-01T14:00:00`,
	},
	{
		name:  "change of nothing",
		edits: []edit{{"[time]", "[[change]]\nat = \"3 d\"\n[time]"}},
		want: `
yard.toml:57: change[1]: changes nothing: needs voltage, power_limit, current_limit, kva_limit or on`,
	},
	{
		name:  "depth in a list",
		edits: []edit{{"\"4 ft\", \"8 ft\"]", "\"4 ft\",\n  8]"}},
		want: `
yard.toml:57: sensor.T1.depth[2] = 8: needs its unit: write "8 ft" or "8 m"`,
	},
	{
		name:  "sensor depth twice",
		edits: []edit{{"\"4 ft\", \"8 ft\"]", "\"8 ft\", \"96 in\"]"}},
		want: `
yard.toml:56: sensor.T1.depth = ["8 ft", "96 in"]: must not hold a depth twice: 2.438 m (8 ft)`,
	},
	{
		name:  "domain too small",
		edits: []edit{{"[time]", "[domain]\nleft = \"16 ft\"\nright = \"100 ft\"\nbottom = \"12 ft\"\n[time]"}},
		want: `
yard.toml:58: domain.left = 16 ft: must be left of all targets and electrodes; they begin at x = 4.572 m (15 ft)
yard.toml:60: domain.bottom = 12 ft: must be below the bottom of all targets and electrodes; they end at 3.962 m (13 ft)`,
	},
	{
		name:  "too many fields",
		edits: []edit{{"[time]", "[output]\nfields_every = \"1 min\"\n[time]"}},
		want: `
yard.toml:58: output.fields_every = 1 min: must be at least 0.014 d: a run stores at most 5000 fields`,
	},
	{
		name:  "field after the end",
		edits: []edit{{"[time]", "[output]\nfields_at = [\"3 d\", \"71 d\"]\n[time]"}},
		want: `
yard.toml:58: output.fields_at[2] = 71 d: must be within time.duration, 70 d`,
	},
	{
		name:  "growth",
		edits: []edit{{"[time]", "[mesh]\ngrowth = 1.5\nmax_cells = 12.5\n[time]"}},
		want: `
yard.toml:58: mesh.growth = 1.5: must be between 1.02 and 1.3
yard.toml:59: mesh.max_cells = 12.5: must be a whole number, 100 to 20000000`,
	},
	{
		name:  "text for a number",
		edits: []edit{{"phases = 3", "phases = \"3\""}},
		want: `
yard.toml:50: supply.phases = 3: must be 1, 3 or 6, without quotes`,
	},
	{
		name:  "steam that comes back",
		edits: []edit{{"[time]", "[steam]\nfate = \"returned\"\nboiling = \"no\"\n[time]"}},
		want: `
yard.toml:58: steam.fate = returned: must be "extracted" or "rising"
yard.toml:59: steam.boiling = no: must be true or false, without quotes`,
	},
	{
		name:  "rate without a unit",
		edits: []edit{{"porosity = 0.45", "porosity = 0.45\ninflow = 0.02\nrefill_rate = \"0.02 d\""}},
		want: `
yard.toml:25: layer.clay.inflow = 0.02: needs its unit: write "0.02 1/d"
yard.toml:26: layer.clay.refill_rate = 0.02 d: is a time; must be a rate in pore volumes per time in 1/s, 1/h, 1/d or 1/yr`,
	},
	{
		name:  "overlap on the axis",
		base:  soundAxis,
		edits: []edit{{"[supply]", "[[electrode]]\nname = \"E2\"\nphase = \"B\"\ntop = \"3 m\"\nbottom = \"5 m\"\nradius = \"15 cm\"\n[supply]"}},
		want: `
yard.toml:32: electrode.E2.top = 3 m: all stand on the axis: must not overlap electrode.E1, which is from 2 m (6.562 ft) to 4 m (13.12 ft)`,
	},
	{
		name:  "no outer edge",
		base:  soundAxis,
		edits: []edit{{"radius = \"2 m\"\n", ""}},
		want: `
yard.toml:7: extent.radius: is missing; without an [[array]] the outer edge must be given`,
	},
	{
		name:  "two arrays on one axis",
		base:  soundAxis,
		edits: []edit{{"[supply]", "[[array]]\npattern = \"triangular\"\nspacing = \"4 m\"\ntop = \"5 m\"\nbottom = \"6 m\"\nradius = \"15 cm\"\n[[array]]\nname = \"F\"\npattern = \"triangular\"\nspacing = \"4 m\"\ntop = \"7 m\"\nbottom = \"8 m\"\nradius = \"15 cm\"\n[supply]"}},
		want: `
yard.toml:24: electrode[1].name = E1: is a name that array E gives its own electrodes; name the array or this one otherwise
yard.toml:35: array.F: is one too many: an axisymmetric view takes one rod of one [[array]]`,
	},
	{
		name:  "all at once, in order",
		edits: []edit{{"ambient = \"55.4 degF\"", "ambient = 55.4"}, {"porosity = 0.35", "porosity = 35"}, {"phases = 3", "phases = 2"}, {"duration", "duraton"}},
		want: `
yard.toml:5: site.ambient = 55.4: needs its unit: write "55.4 degF" or "55.4 degC"
yard.toml:17: layer.sand.porosity = 35: must be between 0 and 0.95 (a fraction; 35 % is 0.35)
yard.toml:50: supply.phases = 2: must be 1, 3 or 6
yard.toml:57: time.duration: is missing; must be a time with its unit, such as "12 d"
yard.toml:58: time.duraton: unknown key; nearest is duration; keys of [time] are duration, power_on, tolerance`,
	},
	{
		name: "nothing but a title",
		base: minimal,
		want: `
yard.toml: [site]: is missing; it needs ambient and water_table
yard.toml: [extent]: is missing; it needs length
yard.toml: [surface]: is missing; it needs air
yard.toml: [[layer]]: is missing; at least one is needed
yard.toml: [[target]]: is missing; at least one is needed
yard.toml: [supply]: is missing; it needs phases, voltage and voltage_basis
yard.toml: [time]: is missing; it needs duration
yard.toml: [[electrode]]: is missing; at least one [[array]], [[electrode]] or [[heat]] is needed`,
	},
	{
		name:  "nothing but an axisymmetric title",
		base:  minimal,
		edits: []edit{{"section", "axisymmetric"}},
		want: `
yard.toml: [site]: is missing; it needs ambient and water_table
yard.toml: [surface]: is missing; it needs air
yard.toml: [[layer]]: is missing; at least one is needed
yard.toml: [[target]]: is missing; at least one is needed
yard.toml: [supply]: is missing; it needs phases, voltage and voltage_basis
yard.toml: [time]: is missing; it needs duration
yard.toml: [[electrode]]: is missing; at least one [[array]], [[electrode]] or [[heat]] is needed
yard.toml: extent.radius: is missing; without an [[array]] the outer edge must be given`,
	},
	{
		name:  "section that is no table",
		base:  minimal,
		edits: []edit{{"view", "layer = 3\nsite = \"x\"\nview"}},
		want: `
yard.toml: [extent]: is missing; it needs length
yard.toml: [surface]: is missing; it needs air
yard.toml: [[target]]: is missing; at least one is needed
yard.toml: [supply]: is missing; it needs phases, voltage and voltage_basis
yard.toml: [time]: is missing; it needs duration
yard.toml: [[electrode]]: is missing; at least one [[array]], [[electrode]] or [[heat]] is needed
yard.toml:2: layer = 3: must be a table: write [[layer]]
yard.toml:3: site = x: must be a table: write [site]`,
	},
	{
		name:  "name of two arrays",
		edits: []edit{{"[supply]", "[[array]]\npattern = \"triangular\"\nspacing = \"14 ft\"\ntop = \"8 ft\"\nbottom = \"13 ft\"\nradius = \"6 in\"\nname = \"R\"\n[[array]]\npattern = \"hexagonal\"\nspacing = \"14 ft\"\ntop = \"8 ft\"\nbottom = \"13 ft\"\nradius = \"8 ft\"\nname = \"R\"\n[supply]"}},
		want: `
yard.toml:57: array[2].pattern = hexagonal: must be "triangular", "rectangular" or "ring"
yard.toml:61: array[2].radius = 8 ft: must be less than half the spacing, 4.267 m (14 ft)
yard.toml:62: array[2].name = R: must be unique; array[1] is R too`,
	},
	{
		name:  "six values past their ranges",
		edits: []edit{{"[time]", "[mesh]\nfinest = \"0.05 mm\"\n[surface.x]\n[time]\ntolerance = \"20 degF\""}, {"\"70 d\"", "\"101 yr\""}, {"[extent]", "[extent]\n\"odd key\" = 1"}, {"\"130 V\"", "\"-1 V\""}, {"water_table = \"7 ft\"", "water_table = \"dry\""}},
		want: `
yard.toml:6: site.water_table = dry: must be a length with its unit, such as "12 ft" or "12 m", "none", or the name of a .csv file
yard.toml:8: extent."odd key": unknown key; keys of [extent] are length
yard.toml:52: supply.voltage = -1 V: must be between 0 and 50000 V
yard.toml:59: mesh.finest = 0.05 mm: must be between 0.1 and 10000 mm
yard.toml:60: surface.x: unknown key here; it is a key of [[electrode]] and [[sensor]]; keys of [surface] are air, film, cover, infiltration
yard.toml:62: time.tolerance = 20 degF: must be between 0.0018 and 9 degF
yard.toml:63: time.duration = 101 yr: must be > 0 and at most 100 yr`,
	},
	{
		name:  "array of rods too close",
		edits: []edit{{"name = \"E2\"", "name = \"G2\""}, {"name = \"E1\"", "name = \"G1\""}, {"[supply]", "[[array]]\npattern = \"rectangular\"\nspacing = \"3 ft\"\ntop = \"8 ft\"\nbottom = \"13 ft\"\nradius = \"6 in\"\n[supply]"}},
		want: `
yard.toml:54: array[1].radius = 6 in: must be < the rod spacing in a row / 2π, 0.1455 m (0.4775 ft)`,
	},
	{
		name:  "array of too many rows",
		edits: []edit{{"name = \"E2\"", "name = \"G2\""}, {"name = \"E1\"", "name = \"G1\""}, {"\"75 ft\"", "\"7.5e4 ft\""}, {"[supply]", "[[array]]\npattern = \"rectangular\"\nspacing = \"4 ft\"\ntop = \"8 ft\"\nbottom = \"13 ft\"\nradius = \"6 in\"\n[supply]"}},
		want: `
yard.toml:51: array[1].spacing = 4 ft: gives more than 2000 rows of electrodes`,
	},
	{
		name:  "array on an electrode",
		edits: []edit{{"x = \"20 ft\"", "x = \"35.1 ft\""}, {"name = \"E2\"", "name = \"G2\""}, {"name = \"E1\"", "name = \"G1\""}, {"[supply]", "[[array]]\npattern = \"rectangular\"\nspacing = \"20 ft\"\ntop = \"8 ft\"\nbottom = \"13 ft\"\nradius = \"6 in\"\n[supply]"}},
		want: `
yard.toml:49: array[1]: its electrode E2 is the place of G1: a row carries one phase: in a section, rods of different phases in one row would be one sheet carrying their sum`,
	},
	{
		name:  "array of one row",
		base:  soundArray,
		edits: []edit{{"right = \"75 ft\"", "right = \"20 ft\""}},
		want: `
yard.toml:35: array[1].spacing = 14 ft: no return path: one row fits the first target, so all electrodes are on one phase and no current flows`,
	},
	{
		name: "set of a value",
		sets: []string{"layer.clay.porosity=42", "layer[1].bottom=8", "site.ambient=400 degF"},
		want: `
--set layer.clay.porosity=42: must be between 0 and 0.95 (a fraction; 42 % is 0.42)
--set layer[1].bottom=8: needs its unit: write "8 ft" or "8 m"
--set site.ambient=400 degF: must be between -58 and 203 degF`,
	},
	{
		name: "set of no such row",
		sets: []string{"layer.peat.porosity=0.4", "layer[3].porosity=0.4", "layer.porosity=0.4", "nowhere.x=1", "supply", "supply=3"},
		want: `
--set layer.peat.porosity=0.4: there is no layer named peat; there are sand and clay
--set layer[3].porosity=0.4: there is no layer[3]; the file has 2 of them
--set layer.porosity=0.4: must say which of the 2: layer[1].porosity or layer.NAME.porosity; there are sand and clay
--set nowhere.x=1: there is no section nowhere
--set supply: must be path=value, such as layer.silt.porosity=0.4
--set supply=3: must name a key of [supply], such as supply.phases`,
	},
	{
		// An array without a name has the name that its electrodes are called by.
		name:  "set of arrays without their name",
		base:  soundArray,
		edits: []edit{{"[supply]", "[[array]]\npattern = \"triangular\"\nspacing = \"14 ft\"\ntop = \"15 ft\"\nbottom = \"19 ft\"\nradius = \"6 in\"\nname = \"W\"\n[supply]"}},
		sets:  []string{"array.spacing=20 ft", "array.F.spacing=20 ft", "heat.power=1 kW"},
		want: `
--set array.spacing=20 ft: must say which of the 2: array[1].spacing or array.NAME.spacing; there are E and W
--set array.F.spacing=20 ft: there is no array named F; there are E and W
--set heat.power=1 kW: the file has no [[heat]]`,
	},
	{
		name:  "set of an unknown name of one, and of changes, which have none",
		edits: []edit{{"[time]", "[[change]]\nat = \"3 d\"\non = false\n[[change]]\nat = \"4 d\"\non = true\n[time]"}},
		sets:  []string{"target.zon.top=8 ft", "change.on=false"},
		want: `
--set target.zon.top=8 ft: there is no target named zon; there is zone
--set change.on=false: must say which of the 2: change[1].on`,
	},
	{
		name: "set of an unknown key",
		sets: []string{"mesh.finnest=3 in"},
		want: `
--set mesh.finnest=3 in: unknown key; nearest is finest; keys of [mesh] are finest, growth, max_cells`,
	},
	{
		name: "set against the file",
		sets: []string{"target.zone.bottom=2 m"},
		want: `
--set target.zone.bottom=2 m: must be below the top, 2.438 m (8 ft)`,
	},
}
