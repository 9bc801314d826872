package cases

import (
	"math"
	"strings"
	"testing"

	"soiljoule/solver"
)

// plateAndRow is a plate far from a row of rods whose column holds x = 0.
const plateAndRow = `title = "plate and row"
view = "section"
[site]
ambient = "12 degC"
water_table = "none"
[extent]
length = "20 m"
[surface]
air = "12 degC"
[[layer]]
name = "silt"
resistivity = "40 ohm*m"
thermal_conductivity = "1.6 W/m/K"
heat_capacity = "2.9 MJ/m3/K"
porosity = 0.4
saturation = 1.0
[[target]]
name = "zone"
top = "1 m"
bottom = "3 m"
left = "-3 m"
right = "3 m"
temperature = "60 degC"
[[electrode]]
name = "P"
phase = "A"
top = "1 m"
bottom = "3 m"
width = "0.25 m"
x = "-2 m"
[[electrode]]
name = "R"
phase = "B"
top = "1 m"
bottom = "3 m"
radius = "0.1 m"
rod_spacing = "2 m"
x = "0.1 m"
[supply]
phases = 1
voltage_basis = "phase to neutral"
voltage = "20 V"
[time]
duration = "5 d"
[mesh]
finest = "0.5 m"
`

// TestPlatesAndColumns: a plate was taken to stand in the column at x = 0, wherever
// it stood, and the row there was refused. It fills its own width: a row beside it is
// free, one whose column reaches into it is not.
func TestPlatesAndColumns(t *testing.T) {
	for _, c := range []struct{ x, want string }{
		{"-2 m", ""},
		{"-0.2 m", "puts P and R, 0.3 m (0.9843 ft) apart, in one column of the mesh; make mesh.finest smaller"},
	} {
		text := strings.Replace(plateAndRow, `x = "-2 m"`, `x = "`+c.x+`"`, 1)
		_, err := Parse("case.toml", []byte(text), ".", nil)
		if c.want == "" && err != nil {
			t.Errorf("a plate at %s beside a row at 0.1 m is refused: %v", c.x, err)
		}
		if c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("a plate at %s beside a row at 0.1 m: %v, want %q", c.x, err, c.want)
		}
	}
}

// TestHeatKeepsOutOfARowsColumn: a target's side that runs through a row puts its
// column beside that side, here from -0.6 to -0.1 m for a row at 0.1 m, farther from
// it than mesh.finest. A body that reaches in would be in the row's place.
func TestHeatKeepsOutOfARowsColumn(t *testing.T) {
	text := strings.Replace(plateAndRow, `left = "-3 m"`, `left = "-0.1 m"`, 1)
	text = strings.Replace(text, `x = "-2 m"`, `x = "-3 m"`, 1) + `[[heat]]
name = "box"
power = "1 kW"
left = "-1.5 m"
right = "RIGHT"
top = "1 m"
bottom = "3 m"
`
	for _, c := range []struct{ right, want string }{
		{"-0.6 m", ""},
		{"-0.5 m", "heat.box: overlaps electrode R, or comes nearer to its row than mesh.finest, 0.5 m (1.64 ft), or reaches the column of the mesh that stands for it"},
	} {
		_, err := Parse("case.toml", []byte(strings.Replace(text, "RIGHT", c.right, 1)), ".", nil)
		if c.want == "" && err != nil {
			t.Errorf("a body that ends at %s, beside the column of a row, is refused: %v", c.right, err)
		}
		if c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("a body that ends at %s, in the column of a row: %v, want %q", c.right, err, c.want)
		}
	}
}

// TestSolidBodyLeavesARowOn: a solid body, an insulator, beside a row joins the row to
// its column as one of heated ground does; it once switched the row off. The ground is
// even and the row's own drop lies in it alone: to rounding, 1e-12.
func TestSolidBodyLeavesARowOn(t *testing.T) {
	joined := func(solid string) []float64 {
		c, err := Parse("case.toml", []byte(plateAndRow+`[[heat]]
name = "box"
power = "1 kW"
left = "1 m"
right = "1.5 m"
top = "1.5 m"
bottom = "2.5 m"
`+solid), ".", nil)
		if err != nil {
			t.Fatal(err)
		}
		c, _ = c.Expand()
		p, err := c.Build()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := solver.Start(p); err != nil {
			t.Fatal(err)
		}
		var y []float64
		for _, couple := range p.Electric.Couples {
			y = append(y, couple.Y...)
		}
		return y
	}
	want := joined("")
	for i, got := range joined("thermal_conductivity = \"2 W/m/K\"\nheat_capacity = \"2 MJ/m3/K\"\n") {
		if math.Abs(got-want[i]) > 1e-12*math.Abs(want[i]) {
			t.Errorf("admittance %d of the row beside a solid body is %v S, want %v as beside heated ground", i, got, want[i])
		}
	}
	if len(want) == 0 {
		t.Error("the case has no row")
	}
}
