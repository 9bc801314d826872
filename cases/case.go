// Package cases reads a case file: a TOML description of one site, its
// electrodes and its supply, as a specialist writes it, in feet or metres, °F
// or °C. Here units end: a Case is all SI and kelvin, with every default filled
// in, and Build turns it into the problem that the solver steps.
package cases

import (
	"math"
	"time"
)

// View names the two coordinates that a case is solved in.
type View string

// The views. A section is x across and z down, per metre of row times
// Extent.Length; axisymmetric is r from the axis and z down, one electrode's
// cell times Extent.Count; a plan is x across and y along a level slab, from
// Extent.Top to Extent.Bottom.
const (
	Section      View = "section"
	Axisymmetric View = "axisymmetric"
	Plan         View = "plan"
)

// views in the order in which they are named to people.
var views = []string{string(Section), string(Axisymmetric), string(Plan)}

// Case is a case file as understood: every default filled in, every value in
// SI units (temperatures in kelvin, times in seconds since power-on, depths in
// metres below ground). What a file may leave open is NaN or ±Inf as each
// field says.
type Case struct {
	File string // the path it was read from, for messages

	Title, Question, Note string
	View                  View

	Site       Site
	Extent     Extent
	Surface    Surface
	Layers     []Layer     // from the top down
	Targets    []Target    // the first is the treatment zone
	Arrays     []Array     // as drawn on the site plan
	Electrodes []Electrode // by hand; Expand appends those of the arrays
	Heats      []Heat
	Conductors []Conductor
	Supply     Supply   // Phases = 0: none, where no electrode needs one
	Changes    []Change // in order of time
	Control    Control  // Setpoint NaN: none
	Sensors    []Sensor
	Steam      Steam
	WaterAdded []WaterAdded // Expand makes those of an array those of its electrodes
	Time       Time
	Domain     Domain
	Mesh       Mesh
	Output     Output
}

// Site is what holds for the whole ground.
type Site struct {
	Ambient       float64 // [K] the ground at the start
	Elevation     float64 // [m] above sea level
	WaterTable    float64 // [m] depth at power-on; +Inf: none
	Table         Course  // of its depth [m]
	ResistivityAt float64 // [K] temperature that the layers' resistivities refer to
}

// Extent is how much of the site the view stands for.
type Extent struct {
	Length float64 // [m] section: out of the page
	Radius float64 // [m] axisymmetric: outer edge; NaN: from the array, by equal area
	Rim    string  // axisymmetric: "neutral" (0 V at the outer edge) or "insulated"
	Count  float64 // [-] axisymmetric: such cells on the site

	Top, Bottom float64 // [m] plan: the slab
}

// Surface is what lies above the ground.
type Surface struct {
	Air   Air
	Film  float64 // [W/(m²·K)]
	Cover float64 // [m²·K/W] thermal resistance laid on top

	Infiltration Infiltration
}

// Infiltration is the rate of water that goes straight down from the surface, against
// time: constant or a series that runs straight from row to row and is level beyond
// them.
type Infiltration struct {
	Constant float64     // [m/s] used where Series is nil
	File     string      // the CSV's name as written, "" if none
	Series   []RainPoint // from File, in order of time
	Text     []byte      // File as it was read
}

// RainPoint is one row of a series of infiltration.
type RainPoint struct {
	Time float64 // [s] since power-on
	Rate float64 // [m/s]
}

// Air is the air temperature against time: constant, by month, or a series.
type Air struct {
	Constant float64    // [K] used where Monthly and Series are nil
	Monthly  []float64  // [K] twelve, January to December; needs Time.PowerOn
	File     string     // the CSV's name as written, "" if none
	Series   []AirPoint // from File, in order of time
	Text     []byte     // File as it was read
}

// AirPoint is one row of an air-temperature series.
type AirPoint struct {
	Time        float64 // [s] since power-on
	Temperature float64 // [K]
}

// Layer is one level layer of ground.
type Layer struct {
	Name                   string
	Bottom                 float64 // [m] depth; +Inf for a last layer that omits it
	Resistivity            float64 // [Ω·m] as found, at ResistivityAt
	ThermalConductivity    float64 // [W/(m·K)] as found
	HeatCapacity           float64 // [J/(m³·K)] bulk, as found, water included
	Porosity               float64 // [-]
	Saturation             float64 // [-] share of the pores, as found
	Source                 string
	ResistivityAt          float64 // [K]
	TemperatureLaw         string  // "linear" or "viscosity"
	TemperatureCoeff       float64 // [1/K] of the linear law
	SaturationExponent     float64 // [-]
	GrainShare             float64 // [-] of the conductivity as found
	RemovableWater         float64 // [-] share of the pore water
	ResidualConductivity   float64 // [-] of the conductivity as found
	Inflow                 Inflow
	RefillRate             float64 // [1/s] pore volumes per time
	DrySaturation          float64 // [-] of the pores
	FieldCapacity          float64 // [-] of the pores; NaN: as found
	SteamBarrier           bool    // section and axisymmetric: steam does not rise into it
	ThermalConductivityDry float64 // [W/(m·K)]; NaN: by the named law
	Kind                   string  // "soil" or "rock"
	ConductivityLaw        string  // "cote-konrad", "johansen" or, of rock, "geometric-mean"
	Texture                string  // of soil: "fine", "sand", "gravel" or "peat"
	Groundwater            float64 // [m/s] section and plan: Darcy flux towards +x, or in a plan GroundwaterDirection
	GroundwaterDirection   float64 // [rad] plan: counter-clockwise from +x
}

// InflowKind says what replaces the water that boils away.
type InflowKind int

// The ends of a layer's water store. The zero value is the default: unlimited
// below the water table, none above it.
const (
	InflowByWaterTable InflowKind = iota
	InflowUnlimited
	InflowNone
	InflowRate
)

// Inflow is a layer's supply of water to its boiling cells.
type Inflow struct {
	Kind InflowKind
	Rate float64 // [1/s] pore volumes per time, for InflowRate
}

// Target is a box of ground, or a part of a plan's slab, that is to reach a
// temperature. In a plan it has an Outline or a Center and Radius; its sides are
// those of the box round it, its top and bottom the slab's.
type Target struct {
	Name        string
	Left, Right float64      // [m] section and plan
	Front, Back float64      // [m] plan: y of the sides
	Radius      float64      // [m] axisymmetric, NaN: the whole cell; plan, NaN: it has an outline
	Outline     [][2]float64 // [m] plan: x, y of the corners; nil: a circle
	Center      [2]float64   // [m] plan: x, y of a circle's middle; NaN: it has an outline
	Top, Bottom float64      // [m]
	Temperature float64      // [K]; NaN when Boiling
	Boiling     bool         // reached where the ground begins to boil
	Share       float64      // [-] of its volume
	Hold        float64      // [s]
}

// Array is a regular field of electrodes as drawn on the site plan.
type Array struct {
	Name        string
	Pattern     string   // "triangular", "rectangular" or "ring"
	Spacing     float64  // [m] nearest neighbours; NaN for a ring
	Outboard    float64  // [m] beyond the first target's sides
	Top, Bottom float64  // [m] active interval
	Radius      float64  // [m] of the bore with its conductive fill
	Voltage     *float64 // [V] of all its electrodes, in Supply.VoltageBasis; nil: the supply's

	// Of a ring, which a plan alone can carry.
	Center        [2]float64 // [m] x, y; NaN for a grid
	Diameter      float64    // [m] through the electrodes' middles; NaN for a grid
	Count         int        // electrodes on it
	CenterNeutral bool       // one more in the middle, on the neutral
}

// Electrode is one electrode of the view: in a section a row of rods (Radius,
// RodSpacing) or a plate (Width); in an axisymmetric view a rod on the axis; in a
// plan a rod at X, Y.
type Electrode struct {
	Name              string
	Phase             string  // "A" … "F", "N" for the neutral
	Top, Bottom       float64 // [m]
	X                 float64 // [m] section and plan
	Y                 float64 // [m] plan
	Radius            float64 // [m]; 0 for a plate
	RodSpacing        float64 // [m] from rod to rod in the row; 0 otherwise
	RodOffset         float64 // [m] where along y the row starts
	Width             float64 // [m] of a plate; 0 otherwise
	ContactResistance float64 // [Ω·m²]
	// Of its own; nil: the supply's voltage, no limit.
	Voltage      *float64 // [V] in Supply.VoltageBasis
	CurrentLimit *float64 // [A] one rod
}

// Heat is a body of set power: a box of a section, a ring round the axis, or a part
// of a plan's slab as a Target is. Its power is that of the whole body on the site:
// all of Extent.Length of it, or all of the Extent.Count bodies.
type Heat struct {
	Name                string
	Power               Power
	Left, Right         float64      // [m] section and plan
	Front, Back         float64      // [m] plan: y of the sides
	Radius, InnerRadius float64      // [m] axisymmetric; Radius in a plan too, NaN: it has an outline
	Outline             [][2]float64 // [m] plan: x, y of the corners; nil: a circle
	Center              [2]float64   // [m] plan: x, y of a circle's middle; NaN: it has an outline
	Top, Bottom         float64      // [m]
	ThermalConductivity float64      // [W/(m·K)]; NaN: it is the ground it lies in
	HeatCapacity        float64      // [J/(m³·K)]; NaN as well then
}

// Conductor is buried metal that no phase feeds: a bar of a section, that runs on out
// of the page, or a ring round the axis.
type Conductor struct {
	Name                string
	Left, Right         float64      // [m] section; plan: of the box round it
	Front, Back         float64      // [m] plan: y of that box's sides
	Radius, InnerRadius float64      // [m] axisymmetric; plan: of a circle, NaN: it has an outline
	Outline             [][2]float64 // [m] plan: x, y of the corners; nil: a circle
	Center              [2]float64   // [m] plan: x, y of a circle's middle; NaN: it has an outline
	Top, Bottom         float64      // [m]
}

// Solid reports whether the body has a material of its own.
func (h *Heat) Solid() bool { return !math.IsNaN(h.ThermalConductivity) }

// Power is a set power against time: constant, or a series that runs straight from
// row to row.
type Power struct {
	Constant float64      // [W] used where Series is nil
	File     string       // the CSV's name as written, "" if none
	Series   []PowerPoint // from File, in order of time
	Text     []byte       // File as it was read
}

// PowerPoint is one row of a power series.
type PowerPoint struct {
	Time  float64 // [s] since power-on
	Power float64 // [W]
}

// Supply is the electrical supply. Voltages are RMS.
type Supply struct {
	Phases       int
	Voltage      float64 // [V] as written, in VoltageBasis
	VoltageBasis string  // "phase to neutral" or "phase to phase"
	PowerLimit   float64 // [W] whole zone; +Inf: none
	CurrentLimit float64 // [A] one rod; +Inf: none
	Neutral      string  // "floating" or "grounded"

	ApparentLimit  float64 // [VA] whole zone; 0 or +Inf: none
	Outages        Outages
	Metered        Power   // no File: the voltage drives
	DeliveredShare float64 // [-] of Metered
	Off            Off
}

// Change is a planned change of the supply; it holds from At on. A field that
// the file leaves out is nil.
type Change struct {
	At           float64  // [s]
	Electrode    string   // that alone changes, or the array all of whose do; "": the supply
	Voltage      *float64 // [V] in Supply.VoltageBasis
	PowerLimit   *float64 // [W]
	CurrentLimit *float64 // [A]
	On           *bool

	ApparentLimit *float64 // [VA]
}

// Sensor is a temperature string: one x (or r) and one or more depths; in a plan
// one place.
type Sensor struct {
	Name   string
	X      float64   // [m]; r in an axisymmetric view
	Y      float64   // [m] plan
	Depths []float64 // [m]; nil in a plan
	// Labels names each depth's column: "T1@4ft" for several depths ("@" and
	// the depth as written, spaces removed), the bare name for one.
	Labels []string
}

// Steam says what boiling does.
type Steam struct {
	Boiling bool
	Fate    string // "extracted" or "rising"

	Vacuum       float64 // [Pa] applied at power-on
	VacuumCourse Course  // of it [Pa]

	// Of the interval where rising steam is extracted; NaN: there is none.
	Top, Bottom  float64 // [m]
	CaptureShare float64 // [-] of the steam that comes there
}

// WaterAdded is water let into the ground along an electrode's active interval. Rows of
// one electrode add up.
type WaterAdded struct {
	Electrode   string  // by name, or an array, for each of its electrodes
	Rate        float64 // [m³/s] one rod
	Temperature float64 // [K]
	From, To    float64 // [s] To +Inf: to the end
}

// Time is the span of the run.
type Time struct {
	Duration  float64   // [s]
	PowerOn   time.Time // zero: not given
	Tolerance float64   // [K]
}

// Edge is what lies beyond an outer boundary.
type Edge struct {
	Insulated   bool
	Temperature float64 // [K] held there unless Insulated
}

// Domain is how far the ground is modelled; NaN: from 3√(αt), see Build.
type Domain struct {
	Left, Right, Bottom float64 // [m]
	Front, Back         float64 // [m] plan: y of the other two edges
	Below, Sides        Edge
	Duration            float64 // [s] plan: that the ground is laid out for; NaN: Time.Duration
}

// Mesh says how finely.
type Mesh struct {
	Finest   float64 // [m]
	Wall     float64 // [m] axisymmetric: at an electrode's wall; NaN: see wallCell
	Growth   float64 // [-]
	MaxCells int
}

// Output says what is written when.
type Output struct {
	FieldsEvery float64   // [s]
	FieldsAt    []float64 // [s]
	Units       string    // "si" or "us"
}

// PhaseVoltage returns v [V, in the supply's basis] as phase-to-neutral volts:
// v for that basis; from phase to phase, v/2 with two poles and v/√3 with
// three phases.
func (s Supply) PhaseVoltage(v float64) float64 {
	switch {
	case s.VoltageBasis == "phase to neutral":
		return v
	case s.Phases == 1:
		return v / 2
	default:
		return v / math.Sqrt(3)
	}
}
