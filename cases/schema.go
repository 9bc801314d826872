package cases

import (
	"fmt"
	"math"

	"soiljoule/materials"
)

// key declares one key of the case file. The loader, its messages, the keys
// listing, README's table and the writer of case.toml all read this
// declaration, so they cannot disagree.
type key struct {
	path     string // "layer.porosity"; a top-level key has no section
	kind     kind   // what a value may be
	unit     string // the unit of the range; "" for a bare number
	span     span   // the allowed range, in unit
	required bool
	def      string             // the default as a user would write it
	planDef  string             // the default in a plan, where that is another
	left     string             // where there is no default: what leaving the key out means
	blank    float64            // where there is no default: what an absent number becomes
	only     View               // the one view it belongs to; "" for every view
	notIn    View               // the one view it does not belong to; "" for none
	why      string             // why not to that; "": it would mean nothing there
	suits    func(row any) bool // the rows that it belongs to; nil: all
	meaning  string
	at       func(row any) any // from a row of the section to the field's address
}

// span is a range of numbers. The zero value allows every finite number.
type span struct {
	lo, hi float64
	above  bool // lo itself is excluded
	set    bool
}

// between allows lo ≤ x ≤ hi.
func between(lo, hi float64) span { return span{lo: lo, hi: hi, set: true} }

// above allows lo < x ≤ hi.
func above(lo, hi float64) span { return span{lo: lo, hi: hi, above: true, set: true} }

// section declares one table, or array of tables, of the case file.
type section struct {
	name    string
	many    bool // an array of tables
	least   int  // how many there must be
	meaning string
	rows    func(c *Case) []any // addresses of the rows
	given   func(c *Case) bool  // of a table that a case may do without; nil: it must have it, or all of its keys have defaults
	add     func(c *Case) any   // appends a row, for an array of tables
}

// single declares a table that occurs once.
func single[R any](name, meaning string, row func(*Case) *R) section {
	return section{name: name, meaning: meaning, rows: func(c *Case) []any { return []any{row(c)} }}
}

// many declares an array of tables.
func many[R any](name string, least int, meaning string, rows func(*Case) *[]R) section {
	return section{name: name, many: true, least: least, meaning: meaning,
		rows: func(c *Case) []any {
			var out []any
			for i := range *rows(c) {
				out = append(out, &(*rows(c))[i])
			}
			return out
		},
		add: func(c *Case) any {
			s := rows(c)
			*s = append(*s, *new(R))
			return &(*s)[len(*s)-1]
		}}
}

// field makes a key's accessor from one on the row's own type.
func field[R any](f func(*R) any) func(any) any { return func(row any) any { return f(row.(*R)) } }

// sections in the order of the file. The first is the top of the file.
var sections = []section{
	single("", "the case and its view", func(c *Case) *Case { return c }),
	single("site", "what holds for the whole ground", func(c *Case) *Site { return &c.Site }),
	single("extent", "how much of the site the view stands for", func(c *Case) *Extent { return &c.Extent }),
	single("surface", "what lies above the ground", func(c *Case) *Surface { return &c.Surface }),
	many("layer", 1, "level layers of ground, from the top down", func(c *Case) *[]Layer { return &c.Layers }),
	many("target", 1, "boxes of ground to heat; the first is the treatment zone", func(c *Case) *[]Target { return &c.Targets }),
	many("array", 0, "a regular field of electrodes, as drawn on the site plan", func(c *Case) *[]Array { return &c.Arrays }),
	many("electrode", 0, "electrodes by hand", func(c *Case) *[]Electrode { return &c.Electrodes }),
	many("heat", 0, "bodies of set power: boxes of a section, rings round an axis, parts of a plan's slab; they carry no potential", func(c *Case) *[]Heat { return &c.Heats }),
	many("conductor", 0, "buried metal that no phase feeds: bars of a section, rings round an axis, parts of a plan's slab; no net current, one potential each", func(c *Case) *[]Conductor { return &c.Conductors }),
	single("supply", "the electrical supply; voltages are RMS", func(c *Case) *Supply { return &c.Supply }),
	many("change", 0, "planned changes of the supply; each holds from its time on", func(c *Case) *[]Change { return &c.Changes }),
	controlSection,
	many("sensor", 0, "temperature strings", func(c *Case) *[]Sensor { return &c.Sensors }),
	single("steam", "what boiling does", func(c *Case) *Steam { return &c.Steam }),
	many("water_added", 0, "water let into the ground at electrodes", func(c *Case) *[]WaterAdded { return &c.WaterAdded }),
	single("time", "the span of the run", func(c *Case) *Time { return &c.Time }),
	single("domain", "how far the ground is modelled", func(c *Case) *Domain { return &c.Domain }),
	single("mesh", "how finely the ground is divided", func(c *Case) *Mesh { return &c.Mesh }),
	single("output", "what is written when", func(c *Case) *Output { return &c.Output }),
}

// inGrid and inRing are the arrays that a key belongs to.
func inGrid(row any) bool { return row.(*Array).Pattern != "ring" }
func inRing(row any) bool { return !inGrid(row) }

// What leaving a key out means, where more than one key says the same.
const (
	noLimit    = "no limit"
	unchanged  = "unchanged"
	diffusion  = "3√(αt) beyond zone and electrodes, and as far as their field asks"
	notOfPlate = "for a plate"
	asGround   = "that of the ground it lies in"
)

var (
	nan = math.NaN()
	inf = math.Inf(1)
)

// schema declares every key, once, in the order of the file. Ranges are wide:
// they catch slips of unit and of sign, not unusual ground.
var schema = []key{
	{path: "title", kind: textKind{}, required: true, meaning: "name of the case", at: field(func(c *Case) any { return &c.Title })},
	{path: "question", kind: textKind{}, left: "none", meaning: "what the run is to answer; opens the memo", at: field(func(c *Case) any { return &c.Question })},
	{path: "note", kind: textKind{}, left: "none", meaning: "remark", at: field(func(c *Case) any { return &c.Note })},
	{path: "view", kind: wordKind{"section", "axisymmetric", "plan"}, required: true, meaning: "the coordinates: across and down, from an axis and down, or a level slab seen from above", at: field(func(c *Case) any { return (*string)(&c.View) })},

	{path: "site.ambient", kind: quantity{dim: temperature}, unit: "degC", span: between(-50, 95), required: true, meaning: "the ground at the start", at: field(func(s *Site) any { return &s.Ambient })},
	{path: "site.elevation", kind: quantity{dim: length}, unit: "m", span: between(-500, 6000), def: "0 ft", meaning: "above sea level; sets the air pressure, so the boiling point", at: field(func(s *Site) any { return &s.Elevation })},
	{path: "site.water_table", kind: courses{quantity{dim: length, word: "none"}, &tableSeries}, unit: "m", span: between(0, 1000), required: true, meaning: "depth of the water table: one, or a CSV with time_d or date and water_table_ft or water_table_m; below it its column adds to the pressure that sets the boiling point", at: field(func(s *Site) any { return coursed{&s.WaterTable, &s.Table} })},
	{path: "site.resistivity_at", kind: quantity{dim: temperature}, unit: "degC", span: between(-5, 100), def: "25 degC", meaning: "the temperature that the layers' resistivities refer to", at: field(func(s *Site) any { return &s.ResistivityAt })},

	{path: "extent.length", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), required: true, only: Section, meaning: "how much of the site, out of the page, the section stands for", at: field(func(e *Extent) any { return &e.Length })},
	{path: "extent.radius", kind: quantity{dim: length}, unit: "m", span: above(0, 1000), left: "with an array, the circle of equal area", blank: nan, only: Axisymmetric, meaning: "outer edge; no heat passes it", at: field(func(e *Extent) any { return &e.Radius })},
	{path: "extent.rim", kind: wordKind{"neutral", "insulated"}, def: "neutral", only: Axisymmetric, meaning: "potential at the outer edge: 0 V, or no current", at: field(func(e *Extent) any { return &e.Rim })},
	{path: "extent.count", kind: bareKind{}, span: above(0, 100000), def: "1", only: Axisymmetric, meaning: "such cells on the site; totals and power_limit are for all", at: field(func(e *Extent) any { return &e.Count })},
	{path: "extent.top", kind: quantity{dim: length}, unit: "m", span: between(0, 10000), required: true, only: Plan, meaning: "depth of the slab's upper side; the ground above takes heat, column by column", at: field(func(e *Extent) any { return &e.Top })},
	{path: "extent.bottom", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), required: true, only: Plan, meaning: "depth of the slab's lower side; the ground below takes heat, column by column", at: field(func(e *Extent) any { return &e.Bottom })},

	{path: "surface.air", kind: airs{}, unit: "degC", span: between(-90, 60), required: true, meaning: "air temperature: one, or twelve for January to December, or a CSV with time_d or date and air_C or air_F, straight between its rows", at: field(func(s *Surface) any { return &s.Air })},
	{path: "surface.film", kind: quantity{dim: film}, unit: "W/m2/K", span: above(0, 1e6), def: "12 W/m2/K", meaning: "heat exchange between ground and air", at: field(func(s *Surface) any { return &s.Film })},
	{path: "surface.cover", kind: quantity{dim: insulation}, unit: "m2*K/W", span: between(0, 1000), def: "0 m2*K/W", meaning: "thermal resistance laid on top", at: field(func(s *Surface) any { return &s.Cover })},
	{path: "surface.infiltration", kind: rains{}, unit: "in/d", span: between(0, 40), def: "0 in/d", meaning: "rain or leakage that goes straight down to the water table, at the air's temperature: one rate, or a CSV with time_d or date and infiltration_in_per_d, infiltration_mm_per_d or infiltration_m_per_s, straight between its rows", at: field(func(s *Surface) any { return &s.Infiltration })},

	{path: "layer.name", kind: nameKind{}, required: true, meaning: "name, used once", at: field(func(l *Layer) any { return &l.Name })},
	{path: "layer.bottom", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), left: "the last layer goes on down; required of the others", blank: inf, meaning: "depth of the lower side", at: field(func(l *Layer) any { return &l.Bottom })},
	{path: "layer.resistivity", kind: quantity{dim: resistivity}, unit: "ohm*m", span: between(1e-3, 1e7), required: true, meaning: "as found, at resistivity_at", at: field(func(l *Layer) any { return &l.Resistivity })},
	{path: "layer.thermal_conductivity", kind: quantity{dim: conductivity}, unit: "W/m/K", span: between(0.01, 20), required: true, meaning: "as found", at: field(func(l *Layer) any { return &l.ThermalConductivity })},
	{path: "layer.heat_capacity", kind: quantity{dim: capacity}, unit: "MJ/m3/K", span: between(0.05, 10), required: true, meaning: "bulk, as found, water included", at: field(func(l *Layer) any { return &l.HeatCapacity })},
	{path: "layer.porosity", kind: shareKind{}, span: between(0, 0.95), required: true, meaning: "share of the volume that is pores", at: field(func(l *Layer) any { return &l.Porosity })},
	{path: "layer.saturation", kind: shareKind{}, span: between(0, 1), required: true, meaning: "share of the pores that is water, as found", at: field(func(l *Layer) any { return &l.Saturation })},
	{path: "layer.source", kind: textKind{}, left: "none", meaning: "where the numbers are from", at: field(func(l *Layer) any { return &l.Source })},
	{path: "layer.resistivity_at", kind: quantity{dim: temperature}, unit: "degC", span: between(-5, 100), left: "site.resistivity_at", blank: nan, meaning: "the temperature that this resistivity refers to", at: field(func(l *Layer) any { return &l.ResistivityAt })},
	{path: "layer.temperature_law", kind: wordKind{"linear", "viscosity"}, def: "linear", meaning: "how the conductivity rises with temperature", at: field(func(l *Layer) any { return &l.TemperatureLaw })},
	{path: "layer.temperature_coefficient", kind: quantity{dim: perKelvin}, unit: "1/K", span: between(0, 0.04), def: fmt.Sprint(materials.TemperatureCoeffDefault) + " 1/K", meaning: "of the linear law", at: field(func(l *Layer) any { return &l.TemperatureCoeff })},
	{path: "layer.saturation_exponent", kind: bareKind{}, span: between(1, 10), def: fmt.Sprint(materials.SaturationExponentDefault), meaning: "conductivity against saturation", at: field(func(l *Layer) any { return &l.SaturationExponent })},
	{path: "layer.grain_share", kind: shareKind{}, span: between(0, 1), def: "0", meaning: "share of the conductivity as found that runs on grain surfaces", at: field(func(l *Layer) any { return &l.GrainShare })},
	{path: "layer.removable_water", kind: shareKind{}, span: between(0, 1), def: fmt.Sprint(RemovableWaterDefault), meaning: "share of the pore water that boiling can take", at: field(func(l *Layer) any { return &l.RemovableWater })},
	{path: "layer.residual_conductivity", kind: shareKind{}, span: between(1e-6, 1), def: fmt.Sprint(materials.ResidualConductivityDefault), meaning: "electrical conductivity left when dry, as a share of that as found", at: field(func(l *Layer) any { return &l.ResidualConductivity })},
	{path: "layer.inflow", kind: inflows{}, unit: "1/d", span: between(0, 1000), left: "unlimited below the water table, none above", meaning: "water that replaces what boils: unlimited, none, or a rate in pore volumes per time", at: field(func(l *Layer) any { return &l.Inflow })},
	{path: "layer.refill_rate", kind: quantity{dim: rate}, unit: "1/d", span: between(0, 1000), def: "0.01 1/d", meaning: "pore volumes per time into a cell that has cooled below boiling", at: field(func(l *Layer) any { return &l.RefillRate })},
	{path: "layer.field_capacity", kind: shareKind{}, span: above(0, 1), left: "as found", blank: nan, meaning: "share of the pores whose water does not drain above the water table, or the saturation as found where that is more", at: field(func(l *Layer) any { return &l.FieldCapacity })},
	{path: "layer.steam_barrier", kind: flagKind{}, def: "false", notIn: Plan, why: "steam of a plan's slab rises in the column of ground above it and does not spread", meaning: "whether rising steam does not enter it from below: it spreads sideways beneath, to the nearest electrode that crosses the lower face", at: field(func(l *Layer) any { return &l.SteamBarrier })},
	{path: "layer.dry_saturation", kind: shareKind{}, span: between(0, 1), def: fmt.Sprint(materials.DrySaturationDefault), meaning: "share of the pores that stays wet where the ground dries out", at: field(func(l *Layer) any { return &l.DrySaturation })},
	{path: "layer.thermal_conductivity_dry", kind: quantity{dim: conductivity}, unit: "W/m/K", span: between(0.0001, 20), left: "by conductivity_law", blank: nan, meaning: "when dry; at most that as found", at: field(func(l *Layer) any { return &l.ThermalConductivityDry })},
	{path: "layer.kind", kind: wordKind{"soil", "rock"}, def: "soil", meaning: "rock has primary pores alone, which do not drain above the water table; its fractures are not modelled", at: field(func(l *Layer) any { return &l.Kind })},
	{path: "layer.conductivity_law", kind: wordKind{"cote-konrad", "johansen", "geometric-mean"}, left: "cote-konrad of soil, geometric-mean of rock", meaning: "thermal conductivity against saturation, and when dry; the geometric mean is of intact rock, the other two take rock as crushed", at: field(func(l *Layer) any { return &l.ConductivityLaw })},
	{path: "layer.texture", kind: wordKind{"fine", "sand", "gravel", "peat"}, def: "fine", suits: ofSoil, meaning: "of soil, for conductivity_law: silt and clay, medium and fine sand, gravel and coarse sand, or peat (cote-konrad alone); not of rock", at: field(func(l *Layer) any { return &l.Texture })},
	{path: "layer.groundwater", kind: quantity{dim: flux}, unit: "ft/d", span: between(-10, 10), def: "0 ft/d", notIn: Axisymmetric, meaning: "Darcy flux of groundwater, + towards +x, in a plan towards groundwater_direction; not its seepage velocity, which is this over porosity", at: field(func(l *Layer) any { return &l.Groundwater })},
	{path: "layer.groundwater_direction", kind: quantity{dim: angle}, unit: "deg", span: between(-360, 360), def: "0 deg", only: Plan, meaning: "where that flux goes, counter-clockwise from +x", at: field(func(l *Layer) any { return &l.GroundwaterDirection })},

	{path: "target.name", kind: nameKind{}, required: true, meaning: "name, used once", at: field(func(t *Target) any { return &t.Name })},
	{path: "target.left", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, only: Section, meaning: "x of the left side", at: field(func(t *Target) any { return &t.Left })},
	{path: "target.right", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, only: Section, meaning: "x of the right side", at: field(func(t *Target) any { return &t.Right })},
	{path: "target.radius", kind: quantity{dim: length}, unit: "m", span: above(0, 1000), left: "axisymmetric: the whole cell", blank: nan, notIn: Section, meaning: "outer edge of the target; in a plan of a circle about center", at: field(func(t *Target) any { return &t.Radius })},
	{path: "target.outline", kind: outlines{}, unit: "m", span: between(-1e5, 1e5), left: "with a circle", only: Plan, meaning: "its corners in turn, each x and y", at: field(func(t *Target) any { return &t.Outline })},
	{path: "target.center", kind: spots{}, unit: "m", span: between(-1e5, 1e5), left: "with an outline", blank: nan, only: Plan, meaning: "x and y of a circle's middle", at: field(func(t *Target) any { return &t.Center })},
	{path: "target.top", kind: quantity{dim: length}, unit: "m", span: between(0, 10000), required: true, notIn: Plan, meaning: "depth of the upper side", at: field(func(t *Target) any { return &t.Top })},
	{path: "target.bottom", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), required: true, notIn: Plan, meaning: "depth of the lower side", at: field(func(t *Target) any { return &t.Bottom })},
	{path: "target.temperature", kind: quantity{dim: temperature, word: "boiling"}, unit: "degC", span: between(-50, 400), required: true, meaning: "to be reached; boiling is where the ground begins to boil", at: field(func(t *Target) any { return worded{number: &t.Temperature, is: &t.Boiling, blank: nan} })},
	{path: "target.share", kind: shareKind{}, span: above(0, 1), def: "0.9", meaning: "share of the volume that is to reach it", at: field(func(t *Target) any { return &t.Share })},
	{path: "target.hold", kind: quantity{dim: duration}, unit: "d", span: between(0, 36525), def: "0 d", meaning: "how long that share is to be kept", at: field(func(t *Target) any { return &t.Hold })},

	{path: "array.pattern", kind: wordKind{"triangular", "rectangular", "ring"}, required: true, meaning: "arrangement on the site plan; a ring in a plan only", at: field(func(a *Array) any { return &a.Pattern })},
	{path: "array.spacing", kind: quantity{dim: length}, unit: "m", span: above(0, 1000), left: "of a ring; else required", blank: nan, suits: inGrid, meaning: "nearest neighbours; not the distance of rows", at: field(func(a *Array) any { return &a.Spacing })},
	{path: "array.top", kind: quantity{dim: length}, unit: "m", span: between(0, 10000), required: true, meaning: "upper end of the active interval", at: field(func(a *Array) any { return &a.Top })},
	{path: "array.bottom", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), required: true, meaning: "lower end of the active interval", at: field(func(a *Array) any { return &a.Bottom })},
	{path: "array.radius", kind: quantity{dim: length}, unit: "m", span: above(0, 10), required: true, meaning: "of the bore with its conductive fill, not the diameter", at: field(func(a *Array) any { return &a.Radius })},
	{path: "array.voltage", kind: quantity{dim: voltage}, unit: "V", span: between(0, 50000), left: "the supply's", meaning: "of the tap that all its electrodes share, RMS, in supply.voltage_basis; 0 V holds them at the neutral, which is not off", at: field(func(a *Array) any { return &a.Voltage })},
	{path: "array.name", kind: nameKind{}, def: "E", meaning: "its electrodes are this and a number", at: field(func(a *Array) any { return &a.Name })},
	{path: "array.outboard", kind: quantity{dim: length}, unit: "m", span: between(0, 1000), def: "0 ft", suits: inGrid, meaning: "how far beyond the first target's sides electrodes may stand", at: field(func(a *Array) any { return &a.Outboard })},
	{path: "array.center", kind: spots{}, unit: "m", span: between(-1e5, 1e5), left: "of a grid", blank: nan, only: Plan, suits: inRing, meaning: "x and y of a ring's middle", at: field(func(a *Array) any { return &a.Center })},
	{path: "array.diameter", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), left: "of a grid", blank: nan, only: Plan, suits: inRing, meaning: "of a ring, through the electrodes' middles", at: field(func(a *Array) any { return &a.Diameter })},
	{path: "array.count", kind: wholeKind{}, span: between(2, mostRods), def: "6", only: Plan, suits: inRing, meaning: "electrodes of a ring", at: field(func(a *Array) any { return &a.Count })},
	{path: "array.center_neutral", kind: flagKind{}, def: "false", only: Plan, suits: inRing, meaning: "whether one more electrode, on the neutral, stands in the middle of a ring", at: field(func(a *Array) any { return &a.CenterNeutral })},

	{path: "electrode.name", kind: nameKind{}, required: true, meaning: "name, used once", at: field(func(e *Electrode) any { return &e.Name })},
	{path: "electrode.phase", kind: wordKind{"A", "B", "C", "D", "E", "F", "N"}, required: true, meaning: "phase it is connected to; N is the neutral", at: field(func(e *Electrode) any { return &e.Phase })},
	{path: "electrode.top", kind: quantity{dim: length}, unit: "m", span: between(0, 10000), required: true, meaning: "upper end of the active interval", at: field(func(e *Electrode) any { return &e.Top })},
	{path: "electrode.bottom", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), required: true, meaning: "lower end of the active interval", at: field(func(e *Electrode) any { return &e.Bottom })},
	{path: "electrode.x", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, notIn: Axisymmetric, meaning: "place across the section or plan", at: field(func(e *Electrode) any { return &e.X })},
	{path: "electrode.y", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, only: Plan, meaning: "place along the plan", at: field(func(e *Electrode) any { return &e.Y })},
	{path: "electrode.radius", kind: quantity{dim: length}, unit: "m", span: above(0, 10), left: notOfPlate, meaning: "of the bore with its conductive fill, not the diameter", at: field(func(e *Electrode) any { return &e.Radius })},
	{path: "electrode.rod_spacing", kind: quantity{dim: length}, unit: "m", span: above(0, 1000), left: notOfPlate, only: Section, meaning: "from rod to rod in the row along y", at: field(func(e *Electrode) any { return &e.RodSpacing })},
	{path: "electrode.rod_offset", kind: quantity{dim: length}, unit: "m", span: between(-1000, 1000), def: "0 ft", only: Section, meaning: "where along y the row starts", at: field(func(e *Electrode) any { return &e.RodOffset })},
	{path: "electrode.width", kind: quantity{dim: length}, unit: "m", span: above(0, 100), left: "for rods", only: Section, meaning: "of a plate that runs on out of the page", at: field(func(e *Electrode) any { return &e.Width })},
	{path: "electrode.contact_resistance", kind: quantity{dim: contact}, unit: "ohm*m2", span: between(0, 1e6), def: "0 ohm*m2", meaning: "between electrode and ground, times area", at: field(func(e *Electrode) any { return &e.ContactResistance })},
	{path: "electrode.voltage", kind: quantity{dim: voltage}, unit: "V", span: between(0, 50000), left: "the supply's", meaning: "of its own tap, RMS, in supply.voltage_basis", at: field(func(e *Electrode) any { return &e.Voltage })},
	{path: "electrode.current_limit", kind: quantity{dim: current}, unit: "A", span: above(0, 1e6), left: noLimit, meaning: "one rod; its own voltage is lowered to it, not the others'", at: field(func(e *Electrode) any { return &e.CurrentLimit })},

	{path: "heat.name", kind: nameKind{}, required: true, meaning: "name, used once", at: field(func(h *Heat) any { return &h.Name })},
	{path: "heat.power", kind: powers{}, unit: "kW", span: between(0, 1e6), required: true, meaning: "of the whole body on the site (over extent.length, all extent.count of them together, or the slab): one, or a CSV with time_d, time_h, time_s or date and power_kW or power_W, from power-on to the end", at: field(func(h *Heat) any { return &h.Power })},
	{path: "heat.left", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, only: Section, meaning: "x of the left side", at: field(func(h *Heat) any { return &h.Left })},
	{path: "heat.right", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, only: Section, meaning: "x of the right side", at: field(func(h *Heat) any { return &h.Right })},
	{path: "heat.radius", kind: quantity{dim: length}, unit: "m", span: above(0, 1000), left: "plan: with an outline; axisymmetric: required", blank: nan, notIn: Section, meaning: "outer edge of the ring or rod; in a plan of a circle about center", at: field(func(h *Heat) any { return &h.Radius })},
	{path: "heat.inner_radius", kind: quantity{dim: length}, unit: "m", span: between(0, 1000), def: "0 ft", only: Axisymmetric, meaning: "inner edge of a ring", at: field(func(h *Heat) any { return &h.InnerRadius })},
	{path: "heat.outline", kind: outlines{}, unit: "m", span: between(-1e5, 1e5), left: "with a circle", only: Plan, meaning: "its corners in turn, each x and y", at: field(func(h *Heat) any { return &h.Outline })},
	{path: "heat.center", kind: spots{}, unit: "m", span: between(-1e5, 1e5), left: "with an outline", blank: nan, only: Plan, meaning: "x and y of a circle's middle", at: field(func(h *Heat) any { return &h.Center })},
	{path: "heat.top", kind: quantity{dim: length}, unit: "m", span: between(0, 10000), required: true, notIn: Plan, meaning: "depth of the upper side", at: field(func(h *Heat) any { return &h.Top })},
	{path: "heat.bottom", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), required: true, notIn: Plan, meaning: "depth of the lower side", at: field(func(h *Heat) any { return &h.Bottom })},
	{path: "heat.thermal_conductivity", kind: quantity{dim: conductivity}, unit: "W/m/K", span: between(0.01, 1e6), left: asGround, blank: nan, notIn: Plan, meaning: "of a solid body, dry and an electrical insulator; needs heat_capacity", at: field(func(h *Heat) any { return &h.ThermalConductivity })},
	{path: "heat.heat_capacity", kind: quantity{dim: capacity}, unit: "MJ/m3/K", span: between(0.001, 10), left: asGround, blank: nan, notIn: Plan, meaning: "of a solid body; needs thermal_conductivity", at: field(func(h *Heat) any { return &h.HeatCapacity })},

	{path: "conductor.name", kind: nameKind{}, required: true, meaning: "name, used once", at: field(func(c *Conductor) any { return &c.Name })},
	{path: "conductor.left", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, only: Section, meaning: "x of the left side", at: field(func(c *Conductor) any { return &c.Left })},
	{path: "conductor.right", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, only: Section, meaning: "x of the right side", at: field(func(c *Conductor) any { return &c.Right })},
	{path: "conductor.radius", kind: quantity{dim: length}, unit: "m", span: above(0, 1000), left: "plan: with an outline; axisymmetric: required", blank: nan, notIn: Section, meaning: "outer edge of the ring or rod; in a plan of a circle about center", at: field(func(c *Conductor) any { return &c.Radius })},
	{path: "conductor.inner_radius", kind: quantity{dim: length}, unit: "m", span: between(0, 1000), def: "0 ft", only: Axisymmetric, meaning: "inner edge of a ring", at: field(func(c *Conductor) any { return &c.InnerRadius })},
	{path: "conductor.outline", kind: outlines{}, unit: "m", span: between(-1e5, 1e5), left: "with a circle", only: Plan, meaning: "its corners in turn, each x and y", at: field(func(c *Conductor) any { return &c.Outline })},
	{path: "conductor.center", kind: spots{}, unit: "m", span: between(-1e5, 1e5), left: "with an outline", blank: nan, only: Plan, meaning: "x and y of a circle's middle", at: field(func(c *Conductor) any { return &c.Center })},
	{path: "conductor.top", kind: quantity{dim: length}, unit: "m", span: between(0, 10000), required: true, notIn: Plan, meaning: "depth of the upper side", at: field(func(c *Conductor) any { return &c.Top })},
	{path: "conductor.bottom", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), required: true, notIn: Plan, meaning: "depth of the lower side", at: field(func(c *Conductor) any { return &c.Bottom })},

	{path: "supply.phases", kind: wholeKind{1, 3, 6}, required: true, meaning: "1 is two poles A and B, 180° apart", at: field(func(s *Supply) any { return &s.Phases })},
	{path: "supply.voltage", kind: quantity{dim: voltage}, unit: "V", span: between(0, 50000), required: true, meaning: "RMS, in voltage_basis", at: field(func(s *Supply) any { return &s.Voltage })},
	{path: "supply.voltage_basis", kind: wordKind{"phase to neutral", "phase to phase"}, required: true, meaning: "what the voltage is between; no default, for the two differ by 1.73, with one phase of two poles by 2", at: field(func(s *Supply) any { return &s.VoltageBasis })},
	{path: "supply.power_limit", kind: quantity{dim: power}, unit: "kW", span: above(0, 1e6), left: noLimit, blank: inf, meaning: "whole zone, at the electrodes", at: field(func(s *Supply) any { return &s.PowerLimit })},
	{path: "supply.current_limit", kind: quantity{dim: current}, unit: "A", span: above(0, 1e6), left: noLimit, blank: inf, meaning: "one rod", at: field(func(s *Supply) any { return &s.CurrentLimit })},
	{path: "supply.kva_limit", kind: quantity{dim: apparent}, unit: "kVA", span: above(0, 1e6), left: noLimit, blank: inf, meaning: apparentMeaning, at: field(func(s *Supply) any { return &s.ApparentLimit })},
	{path: "supply.outages", kind: outages{}, unit: "d", span: between(-1e5, 1e5), left: "none", meaning: "a CSV with from_d, from_h or from_s since power-on or from_date, and to_ likewise, in order: the supply is off between", at: field(func(s *Supply) any { return &s.Outages })},
	{path: "supply.metered", kind: metered{}, unit: "kW", span: between(0, 1e6), left: "the voltage drives", meaning: "a CSV as of heat.power: the voltage is what makes the power at the electrodes delivered_share of it; limits and voltage are not applied, a caution says where they would be passed", at: field(func(s *Supply) any { return &s.Metered })},
	{path: "supply.delivered_share", kind: shareKind{}, span: above(0, 1), def: "1", meaning: "of the metered power that reaches the electrodes", at: field(func(s *Supply) any { return &s.DeliveredShare })},
	{path: "supply.off", kind: offKind{}, unit: "d", span: above(0, 36525), left: "never", meaning: "when the supply goes off for good: a time since power-on, a date, or held: when the first target has been held for its hold; whatever control, changes and a metered power say", at: field(func(s *Supply) any { return &s.Off })},
	{path: "supply.neutral", kind: wordKind{"floating", "grounded"}, def: "floating", meaning: "whether the supply's neutral is connected", at: field(func(s *Supply) any { return &s.Neutral })},

	{path: "change.at", kind: quantity{dim: duration, dates: true}, unit: "d", span: between(0, 36525), required: true, meaning: "when: since power-on, or a date", at: field(func(c *Change) any { return &c.At })},
	{path: "change.electrode", kind: nameKind{}, left: "the supply: all that have no voltage of their own", meaning: "the electrode that alone changes, by name; those of an array are its name and a number, and its name alone is all of them", at: field(func(c *Change) any { return &c.Electrode })},
	{path: "change.voltage", kind: quantity{dim: voltage}, unit: "V", span: between(0, 50000), left: unchanged, meaning: "RMS, in supply.voltage_basis", at: field(func(c *Change) any { return &c.Voltage })},
	{path: "change.power_limit", kind: quantity{dim: power}, unit: "kW", span: above(0, 1e6), left: unchanged, meaning: "whole zone, at the electrodes", at: field(func(c *Change) any { return &c.PowerLimit })},
	{path: "change.current_limit", kind: quantity{dim: current}, unit: "A", span: above(0, 1e6), left: unchanged, meaning: "one rod", at: field(func(c *Change) any { return &c.CurrentLimit })},
	{path: "change.kva_limit", kind: quantity{dim: apparent}, unit: "kVA", span: above(0, 1e6), left: unchanged, meaning: apparentMeaning, at: field(func(c *Change) any { return &c.ApparentLimit })},
	{path: "change.on", kind: flagKind{}, left: unchanged, meaning: "false stops the supply, or opens the circuit of one electrode; true starts it again", at: field(func(c *Change) any { return &c.On })},

	{path: "control.setpoint", kind: quantity{dim: temperature}, unit: "degC", span: between(-50, 400), required: true, meaning: "the supply is off above setpoint + deadband, and on again below setpoint − deadband", at: field(func(c *Control) any { return &c.Setpoint })},
	{path: "control.deadband", kind: quantity{dim: difference}, unit: "K", span: above(0, 100), def: "1 K", meaning: "either side of the setpoint; at least 0.05 K", at: field(func(c *Control) any { return &c.Deadband })},
	{path: "control.follow", kind: followKind{}, def: "mean", meaning: "the mean or the coldest place of the first target, or a sensor by its column in sensors.csv; the bare name of a sensor with several depths is the coldest of them", at: field(func(c *Control) any { return &c.Follow })},

	{path: "sensor.name", kind: nameKind{dots: true}, required: true, meaning: "name, used once", at: field(func(s *Sensor) any { return &s.Name })},
	{path: "sensor.x", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, notIn: Axisymmetric, meaning: "place across the section or plan", at: field(func(s *Sensor) any { return &s.X })},
	{path: "sensor.y", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), required: true, only: Plan, meaning: "place along the plan", at: field(func(s *Sensor) any { return &s.Y })},
	{path: "sensor.r", kind: quantity{dim: length}, unit: "m", span: between(0, 1000), required: true, only: Axisymmetric, meaning: "distance from the axis", at: field(func(s *Sensor) any { return &s.X })},
	{path: "sensor.depth", kind: depths{}, unit: "m", span: between(0, 10000), required: true, notIn: Plan, meaning: "one depth, or a list of them", at: field(func(s *Sensor) any { return s })},

	{path: "steam.boiling", kind: flagKind{}, def: "true", meaning: "whether water boils", at: field(func(s *Steam) any { return &s.Boiling })},
	{path: "steam.fate", kind: wordKind{"extracted", "rising"}, def: "extracted", meaning: "where the steam goes: out of the ground where it forms, or straight up, condensing in ground below its boiling point", at: field(func(s *Steam) any { return &s.Fate })},
	{path: "steam.vacuum", kind: courses{quantity{dim: pressure}, &vacuumSeries}, unit: "kPa", span: between(0, 110), def: "0 kPa", meaning: "applied to the ground, below the pressure of the air; it lowers the boiling point: one, or a CSV with time_d or date and vacuum_kPa, vacuum_inHg or vacuum_inH2O", at: field(func(s *Steam) any { return coursed{&s.Vacuum, &s.VacuumCourse} })},
	{path: "steam.top", kind: quantity{dim: length}, unit: "m", span: between(0, 10000), left: "no interval", blank: nan, meaning: "upper end of the interval in which rising steam is extracted", at: field(func(s *Steam) any { return &s.Top })},
	{path: "steam.bottom", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), left: "no interval", blank: nan, meaning: "its lower end; in a plan above the slab", at: field(func(s *Steam) any { return &s.Bottom })},
	{path: "steam.capture_share", kind: shareKind{}, span: between(0, 1), def: "1", meaning: "of the steam that rises into the interval or forms in it, what is extracted there", at: field(func(s *Steam) any { return &s.CaptureShare })},

	{path: "water_added.electrode", kind: nameKind{}, required: true, meaning: "the electrode that it is added at, by name; those of an array are its name and a number, and its name alone is each of them", at: field(func(w *WaterAdded) any { return &w.Electrode })},
	{path: "water_added.rate", kind: quantity{dim: flow}, unit: "L/min", span: between(0, 10000), required: true, meaning: "one electrode, in a section one rod; goes out evenly along its active interval", at: field(func(w *WaterAdded) any { return &w.Rate })},
	{path: "water_added.temperature", kind: quantity{dim: temperature}, unit: "degC", span: between(0, 180), left: "site.ambient", blank: nan, meaning: "as it enters the ground", at: field(func(w *WaterAdded) any { return &w.Temperature })},
	{path: "water_added.from", kind: quantity{dim: duration, dates: true}, unit: "d", span: between(0, 36525), def: "0 d", meaning: "when it begins: since power-on, or a date", at: field(func(w *WaterAdded) any { return &w.From })},
	{path: "water_added.to", kind: quantity{dim: duration, dates: true}, unit: "d", span: between(0, 36525), left: "the end", blank: inf, meaning: "when it ends", at: field(func(w *WaterAdded) any { return &w.To })},

	{path: "time.duration", kind: quantity{dim: duration}, unit: "d", span: above(0, 36525), required: true, meaning: "from power-on to the end", at: field(func(t *Time) any { return &t.Duration })},
	{path: "time.power_on", kind: dateKind{}, left: "no dates", meaning: "date of power-on, on the site's clock, which is taken to run evenly: no summer time begins or ends; with it a key or a CSV may give dates, such as 2026-05-01 or 2026-05-01T14:00:00", at: field(func(t *Time) any { return &t.PowerOn })},
	{path: "time.tolerance", kind: quantity{dim: difference}, unit: "K", span: between(0.001, 5), def: "0.1 K", meaning: "error in temperature that a step may make", at: field(func(t *Time) any { return &t.Tolerance })},

	{path: "domain.left", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), left: diffusion, blank: nan, notIn: Axisymmetric, meaning: "x of the left edge", at: field(func(d *Domain) any { return &d.Left })},
	{path: "domain.right", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), left: diffusion, blank: nan, notIn: Axisymmetric, meaning: "x of the right edge", at: field(func(d *Domain) any { return &d.Right })},
	{path: "domain.front", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), left: diffusion, blank: nan, only: Plan, meaning: "y of the edge where y is least", at: field(func(d *Domain) any { return &d.Front })},
	{path: "domain.back", kind: quantity{dim: length}, unit: "m", span: between(-1e5, 1e5), left: diffusion, blank: nan, only: Plan, meaning: "y of the edge where y is most", at: field(func(d *Domain) any { return &d.Back })},
	{path: "domain.bottom", kind: quantity{dim: length}, unit: "m", span: above(0, 10000), left: diffusion, blank: nan, meaning: "depth of the lower edge", at: field(func(d *Domain) any { return &d.Bottom })},
	{path: "domain.duration", kind: quantity{dim: duration}, unit: "d", span: above(0, 36525), left: "time.duration", blank: nan, only: Plan, meaning: "what the ground round the slab and its columns above and below are laid out for; a run that goes on keeps those it began with", at: field(func(d *Domain) any { return &d.Duration })},
	{path: "domain.below", kind: quantity{dim: temperature, word: "insulated"}, unit: "degC", span: between(-50, 400), def: "insulated", meaning: "what lies below: no heat flow, or a temperature held", at: field(func(d *Domain) any { return worded{number: &d.Below.Temperature, is: &d.Below.Insulated} })},
	{path: "domain.sides", kind: quantity{dim: temperature, word: "insulated"}, unit: "degC", span: between(-50, 400), def: "insulated", notIn: Axisymmetric, meaning: "what lies beside: no heat flow, or a temperature held", at: field(func(d *Domain) any { return worded{number: &d.Sides.Temperature, is: &d.Sides.Insulated} })},

	{path: "mesh.finest", kind: quantity{dim: length}, unit: "m", span: between(0.0001, 10), def: "3 in", planDef: "1 ft", meaning: "largest cell at electrodes and targets; whole cells between given places may be smaller", at: field(func(m *Mesh) any { return &m.Finest })},
	{path: "mesh.wall", kind: quantity{dim: length}, unit: "m", span: between(0.0001, 10), left: "a tenth of the bore's radius where the ground beside it may dry out, that is above the water table or with an inflow that is none or limited; else mesh.finest", blank: nan, only: Axisymmetric, meaning: "largest cell across at an electrode's wall, where mesh.finest is not less", at: field(func(m *Mesh) any { return &m.Wall })},
	{path: "mesh.growth", kind: bareKind{}, span: between(1.02, 1.3), def: "1.2", meaning: "by how much cells grow away from there, from one to the next; up to 1.3 where cells must fit between given places", at: field(func(m *Mesh) any { return &m.Growth })},
	{path: "mesh.max_cells", kind: wholeKind{}, span: between(100, 20e6), def: "1000000", meaning: "most cells that a run may have", at: field(func(m *Mesh) any { return &m.MaxCells })},

	{path: "output.fields_every", kind: quantity{dim: duration}, unit: "d", span: above(0, 36525), def: "5 d", meaning: "between stored fields", at: field(func(o *Output) any { return &o.FieldsEvery })},
	{path: "output.fields_at", kind: moments{}, unit: "d", span: between(0, 36525), def: "[]", meaning: "further times of stored fields", at: field(func(o *Output) any { return &o.FieldsAt })},
	{path: "output.units", kind: wordKind{"si", "us"}, def: "si", meaning: "which come first in summary.txt and figures; CSV and JSON stay SI", at: field(func(o *Output) any { return &o.Units })},
}

// section returns the key's section, "" at the top of the file.
func (k *key) section() string { return parent(k.path) }

// name returns the key within its section.
func (k *key) name() string {
	if s := k.section(); s != "" {
		return k.path[len(s)+1:]
	}
	return k.path
}

// in reports whether the key belongs to a view. Where the view is not known it
// belongs, so that one bad word does not condemn the rest of the file.
func (k *key) in(v View) bool { return v == "" || (k.only == "" || k.only == v) && k.notIn != v }

// everywhere reports whether the key belongs to every view.
func (k *key) everywhere() bool { return k.only == "" && k.notIn == "" }

// defaultIn returns the default in a view as a user would write it; "": there is none.
func (k *key) defaultIn(v View) string {
	if v == Plan && k.planDef != "" {
		return k.planDef
	}
	return k.def
}

// keysOf returns the keys of a section in a view, in order.
func keysOf(section string, v View) []*key {
	var out []*key
	for i := range schema {
		if k := &schema[i]; k.section() == section && k.in(v) {
			out = append(out, k)
		}
	}
	return out
}

// findKey returns the key of a path without indices, whatever its view.
func findKey(path string) *key {
	for i := range schema {
		if schema[i].path == path {
			return &schema[i]
		}
	}
	return nil
}

// findSection returns the section of a name.
func findSection(name string) *section {
	for i := range sections {
		if sections[i].name == name {
			return &sections[i]
		}
	}
	return nil
}

// text returns the range as a phrase: "0 to 0.95", "> 0 and ≤ 10".
func (s span) text() string {
	switch {
	case !s.set:
		return ""
	case s.above:
		return "> " + digits(s.lo) + " and ≤ " + digits(s.hi)
	}
	return digits(s.lo) + " to " + digits(s.hi)
}

// in returns the range, given in one unit, in another: people read a range best
// in the unit that they wrote.
func (s span) in(from, to unit) span {
	if from.name != to.name {
		s.lo, s.hi = to.fromSI(from.toSI(s.lo)), to.fromSI(from.toSI(s.hi))
	}
	return s
}

// refuse returns what is allowed instead of x [SI], or "" if x is allowed. The
// range is in unit u.
func (s span) refuse(x float64, u unit) string {
	if !s.set {
		return ""
	}
	lo, hi, name := u.toSI(s.lo), u.toSI(s.hi), u.name
	if name != "" {
		name = " " + name
	}
	switch {
	case s.above && x <= lo && s.lo == 0:
		return "must be > 0"
	case s.above && (x <= lo || x > hi):
		return "must be > " + bound(s.lo) + " and at most " + bound(s.hi) + name
	case x < lo || x > hi:
		return "must be between " + bound(s.lo) + " and " + bound(s.hi) + name
	}
	return ""
}
