package cases

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"soiljoule/solver"
)

// lot is a case drawn by lot, kept as numbers so that it can be turned, mirrored and scaled
// before it is written. Lengths are metres, resistivities Ω·m, voltages V phase to neutral.
type lot struct {
	view                     View
	left, right, front, back float64 // of the modelled ground; front and back in a plan
	depth                    float64 // of a section and an axisymmetric case
	top, bottom              float64 // of the slab of a plan, and of the zone
	zone                     [4]float64
	finest                   float64
	layers                   []lotLayer
	rods                     []lotRod
	metal                    []lotMetal
	phases                   int
	neutral                  string
	rim                      string
	voltage                  float64
	surface, supply, control string // further keys, at the top, of [supply], and a section
	changes                  []lotChange
	days, shift              float64 // [d] shift: how long nothing happens first
	boiling                  bool
	ambient, air             float64 // [degC]
	table                    string
}

type lotLayer struct {
	bottom, resistivity, conductivity, capacity, porosity float64
	flow, direction                                       float64 // [m/d], [deg]
	more                                                  string
}

type lotRod struct {
	name, phase            string
	x, y, top, bottom      float64
	radius, spacing, width float64
	offset                 float64
	contact                float64
	voltage, limit         float64 // NaN: none
}

type lotChange struct {
	at   float64 // [d]
	what string
}

type lotMetal struct {
	name                     string
	left, right, front, back float64 // in a section front is the top, back the bottom
	radius                   float64 // in a plan: a disc about left, front; 0: a box
}

// text writes the case.
func (c *lot) text() string {
	var b strings.Builder
	f := func(format string, a ...any) { fmt.Fprintf(&b, format, a...) }
	f("title = \"drawn\"\nview = %q\n", c.view)
	f("site = { ambient = \"%.17g degC\", water_table = %q }\nsurface.air = \"%.17g degC\"\n%s", c.ambient, c.table, c.air, c.surface)
	f("time.duration = \"%.17g d\"\nsteam.boiling = %v\nmesh.finest = \"%.17g m\"\n", c.days, c.boiling, c.finest)
	f("output.fields_every = \"%.17g d\"\n", c.days/2)
	switch c.view {
	case Section:
		f("extent.length = \"10 m\"\ndomain = { left = \"%.17g m\", right = \"%.17g m\", bottom = \"%.17g m\" }\n", c.left, c.right, c.depth)
	case Axisymmetric:
		f("extent = { radius = \"%.17g m\", rim = %q, count = 3 }\ndomain.bottom = \"%.17g m\"\n", c.right, c.rim, c.depth)
	case Plan:
		f("extent = { top = \"%.17g m\", bottom = \"%.17g m\" }\ndomain = { left = \"%.17g m\", right = \"%.17g m\", front = \"%.17g m\", back = \"%.17g m\", bottom = \"%.17g m\" }\n",
			c.top, c.bottom, c.left, c.right, c.front, c.back, c.depth)
	}
	for i, l := range c.layers {
		f("[[layer]]\nname = \"L%d\"\n", i)
		if i < len(c.layers)-1 {
			f("bottom = \"%.17g m\"\n", l.bottom)
		}
		f("resistivity = \"%.17g ohm*m\"\nthermal_conductivity = \"%.17g W/m/K\"\nheat_capacity = \"%.17g MJ/m3/K\"\nporosity = %.17g\nsaturation = 1.0\n%s",
			l.resistivity, l.conductivity, l.capacity, l.porosity, l.more)
		if l.flow != 0 {
			f("groundwater = \"%.17g mm/d\"\n", 1000*l.flow)
			if c.view == Plan {
				f("groundwater_direction = \"%.17g deg\"\n", l.direction)
			}
		}
	}
	f("[[target]]\nname = \"zone\"\ntemperature = \"80 degC\"\n")
	z := c.zone
	switch c.view {
	case Plan:
		f("outline = [[\"%.17g m\", \"%.17g m\"], [\"%.17g m\", \"%.17g m\"], [\"%.17g m\", \"%.17g m\"], [\"%.17g m\", \"%.17g m\"]]\n", z[0], z[2], z[1], z[2], z[1], z[3], z[0], z[3])
	case Section:
		f("left = \"%.17g m\"\nright = \"%.17g m\"\ntop = \"%.17g m\"\nbottom = \"%.17g m\"\n", z[0], z[1], z[2], z[3])
	case Axisymmetric:
		f("top = \"%.17g m\"\nbottom = \"%.17g m\"\n", z[2], z[3])
	}
	for _, r := range c.rods {
		f("[[electrode]]\nname = %q\nphase = %q\ntop = \"%.17g m\"\nbottom = \"%.17g m\"\n", r.name, r.phase, r.top, r.bottom)
		if c.view != Axisymmetric {
			f("x = \"%.17g m\"\n", r.x)
		}
		if c.view == Plan {
			f("y = \"%.17g m\"\n", r.y)
		}
		switch {
		case r.width > 0:
			f("width = \"%.17g m\"\n", r.width)
		case r.spacing > 0:
			f("radius = \"%.17g m\"\nrod_spacing = \"%.17g m\"\nrod_offset = \"%.17g m\"\n", r.radius, r.spacing, r.offset)
		default:
			f("radius = \"%.17g m\"\n", r.radius)
		}
		if r.contact > 0 {
			f("contact_resistance = \"%.17g ohm*m2\"\n", r.contact)
		}
		if !math.IsNaN(r.voltage) {
			f("voltage = \"%.17g V\"\n", r.voltage)
		}
		if !math.IsNaN(r.limit) {
			f("current_limit = \"%.17g A\"\n", r.limit)
		}
	}
	for _, m := range c.metal {
		f("[[conductor]]\nname = %q\n", m.name)
		switch {
		case c.view == Axisymmetric:
			f("inner_radius = \"%.17g m\"\nradius = \"%.17g m\"\ntop = \"%.17g m\"\nbottom = \"%.17g m\"\n", m.left, m.right, m.front, m.back)
		case c.view == Section:
			f("left = \"%.17g m\"\nright = \"%.17g m\"\ntop = \"%.17g m\"\nbottom = \"%.17g m\"\n", m.left, m.right, m.front, m.back)
		case m.radius > 0:
			f("center = [\"%.17g m\", \"%.17g m\"]\nradius = \"%.17g m\"\n", m.left, m.front, m.radius)
		default:
			f("outline = [[\"%.17g m\", \"%.17g m\"], [\"%.17g m\", \"%.17g m\"], [\"%.17g m\", \"%.17g m\"], [\"%.17g m\", \"%.17g m\"]]\n",
				m.left, m.front, m.right, m.front, m.right, m.back, m.left, m.back)
		}
	}
	f("[supply]\nphases = %d\nvoltage = \"%.17g V\"\nvoltage_basis = \"phase to neutral\"\nneutral = %q\n%s", c.phases, c.voltage, c.neutral, c.supply)
	if c.shift > 0 {
		f("[[change]]\nat = \"0 d\"\non = false\n[[change]]\nat = \"%.17g d\"\non = true\n", c.shift)
	}
	for _, h := range c.changes {
		f("[[change]]\nat = \"%.17g d\"\n%s", h.at+c.shift, h.what)
	}
	f("%s", c.control)
	return b.String()
}

// clone returns a copy that can be changed.
func (c *lot) clone() *lot {
	d := *c
	d.layers = append([]lotLayer(nil), c.layers...)
	d.rods = append([]lotRod(nil), c.rods...)
	d.metal = append([]lotMetal(nil), c.metal...)
	return &d
}

// build builds the case; CSV files are of dir.
func (c *lot) build(dir string) (*solver.Problem, error) {
	k, err := Parse("lot.toml", []byte(c.text()), dir, nil)
	if err != nil {
		return nil, err
	}
	k, _ = k.Expand()
	return k.Build()
}

// scaled returns the case with all lengths k times as long, contact resistances with them.
func (c *lot) scaled(k float64) *lot {
	d := c.clone()
	for _, v := range []*float64{&d.left, &d.right, &d.front, &d.back, &d.depth, &d.top, &d.bottom, &d.finest, &d.zone[0], &d.zone[1], &d.zone[2], &d.zone[3]} {
		*v *= k
	}
	for i := range d.layers {
		d.layers[i].bottom *= k
	}
	for i := range d.rods {
		r := &d.rods[i]
		for _, v := range []*float64{&r.x, &r.y, &r.top, &r.bottom, &r.radius, &r.spacing, &r.width, &r.offset, &r.contact} {
			*v *= k
		}
	}
	for i := range d.metal {
		m := &d.metal[i]
		for _, v := range []*float64{&m.left, &m.right, &m.front, &m.back, &m.radius} {
			*v *= k
		}
	}
	return d
}

// mirrored returns the case with −x for x.
func (c *lot) mirrored() *lot {
	d := c.clone()
	d.left, d.right, d.zone[0], d.zone[1] = -c.right, -c.left, -c.zone[1], -c.zone[0]
	for i := range d.rods {
		d.rods[i].x *= -1
	}
	for i := range d.metal {
		if m := &d.metal[i]; m.radius > 0 {
			m.left *= -1
		} else {
			m.left, m.right = -m.right, -m.left
		}
	}
	return d
}

// turned returns a plan turned by 90°, x to y.
func (c *lot) turned() *lot {
	d := c.clone()
	d.left, d.right, d.front, d.back = -c.back, -c.front, c.left, c.right
	d.zone = [4]float64{-c.zone[3], -c.zone[2], c.zone[0], c.zone[1]}
	for i := range d.rods {
		d.rods[i].x, d.rods[i].y = -c.rods[i].y, c.rods[i].x
	}
	for i := range d.metal {
		if m, o := &d.metal[i], &c.metal[i]; m.radius > 0 {
			m.left, m.front = -o.front, o.left
		} else {
			m.left, m.right, m.front, m.back = -o.back, -o.front, o.left, o.right
		}
	}
	return d
}

// nextPhases returns the case with each phase the next.
func (c *lot) nextPhases() *lot {
	d, names := c.clone(), "ABCDEF"[:max(2, c.phases)]
	for i := range d.rods {
		if p := strings.Index(names, d.rods[i].phase); p >= 0 {
			d.rods[i].phase = string(names[(p+1)%len(names)])
		}
	}
	return d
}

// backwards returns the case with its electrodes listed the other way round.
func (c *lot) backwards() *lot {
	d := c.clone()
	slices.Reverse(d.rods)
	return d
}

// drawCircuit draws ground, electrodes, metal and a supply.
func drawCircuit(seed uint64) *lot {
	rng := rand.New(rand.NewPCG(seed, 31))
	between := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	log := func(a, b float64) float64 { return a * math.Pow(b/a, rng.Float64()) }
	chance := func(p float64) bool { return rng.Float64() < p }
	c := &lot{view: []View{Plan, Plan, Section, Section, Axisymmetric}[rng.IntN(5)], phases: []int{1, 3, 3, 6}[rng.IntN(4)], neutral: "floating", rim: "neutral",
		voltage: log(20, 500), days: 1, ambient: 12, air: 12, table: "none"}
	if chance(0.5) {
		c.neutral = "grounded"
	}
	names := "ABCDEF"[:max(2, c.phases)]
	for range 1 + rng.IntN(4) {
		c.layers = append(c.layers, lotLayer{resistivity: log(3, 3000), conductivity: between(1, 2.5), capacity: between(2.4, 3), porosity: between(0.2, 0.4)})
	}
	c.depth = between(8, 14)
	for i := range c.layers {
		c.layers[i].bottom = c.depth * (float64(i) + between(0.3, 0.9)) / float64(len(c.layers))
	}
	c.top = between(1, 3)
	c.bottom = c.top + between(1, 4)
	rod := func(n int) lotRod {
		r := lotRod{name: fmt.Sprintf("E%d", n), top: c.top, bottom: c.bottom, radius: log(0.03, 0.2), voltage: nan, limit: nan}
		r.phase = string(names[rng.IntN(len(names))])
		if n < len(names) {
			r.phase = string(names[n])
		}
		if chance(0.3) {
			r.contact = log(0.01, 10)
		}
		if chance(0.15) && c.neutral == "grounded" && n >= 2 {
			r.phase = "N"
		} else if chance(0.15) {
			r.voltage = between(0, 1.3) * c.voltage
		}
		return r
	}
	c.zone = [4]float64{1, 9, c.top, c.bottom}
	switch c.view {
	case Plan:
		c.left, c.right, c.front, c.back = -between(2, 6), 10+between(2, 6), -between(2, 6), 10+between(2, 6)
		c.zone = [4]float64{1, 9, 1, 9}
		c.finest = between(0.25, 0.5)
		count := 2 + rng.IntN(7)
		apart := func(x, y, d float64) bool {
			for _, r := range c.rods {
				if math.Hypot(r.x-x, r.y-y) < d {
					return false
				}
			}
			for _, m := range c.metal {
				if m.radius > 0 && math.Hypot(m.left-x, m.front-y) < d+m.radius {
					return false
				}
				if m.radius == 0 && x > m.left-d && x < m.right+d && y > m.front-d && y < m.back+d {
					return false
				}
			}
			return true
		}
		for n := 0; n < 200 && len(c.rods) < count; n++ {
			if x, y := between(0, 10), between(0, 10); apart(x, y, 1) {
				r := rod(len(c.rods))
				r.x, r.y = x, y
				if chance(0.3) {
					r.top, r.bottom = between(0.5, c.bottom-0.3), c.bottom+between(-0.2, 2)
				}
				c.rods = append(c.rods, r)
			}
		}
		for n := range rng.IntN(3) {
			x, y := between(0, 10), between(0, 10)
			m := lotMetal{name: fmt.Sprintf("M%d", n), left: x, front: y}
			if chance(0.5) {
				m.radius = between(0.5, 1.2)
			} else {
				m.right, m.back = x+between(0.5, 3), y+between(0.5, 3)
			}
			ok := apart(x, y, 2.2)
			for u := 0.0; u <= 1 && m.radius == 0; u += 0.2 {
				for v := 0.0; v <= 1; v += 0.2 {
					ok = ok && apart(x+u*(m.right-x), y+v*(m.back-y), 2.2)
				}
			}
			if ok {
				c.metal = append(c.metal, m)
			}
		}
	case Section:
		c.left, c.right = -between(3, 8), 10+between(3, 8)
		c.finest = between(0.2, 0.4)
		x := between(0, 1)
		spacing := between(2.5, 4)
		for len(c.rods) < 2 || x < 10 && chance(0.8) {
			r := rod(len(c.rods))
			r.x = x
			if chance(0.4) {
				r.width = between(0.1, 0.3)
			} else {
				r.spacing, r.offset = spacing, between(0, 3)
			}
			if chance(0.4) {
				r.top, r.bottom = between(0.5, c.bottom-0.5), c.bottom+between(0, 2)
			}
			c.rods = append(c.rods, r)
			x += between(1.8, 4)
		}
		for n := range rng.IntN(3) {
			x, z := between(-1, 9), between(0.2, 6)
			m := lotMetal{name: fmt.Sprintf("M%d", n), left: x, right: x + between(0.5, 2), front: z, back: z + between(0.5, 2)}
			clear := true
			for _, r := range c.rods {
				clear = clear && (m.right < r.x-0.6 || m.left > r.x+0.6 || m.back < r.top-0.5 || m.front > r.bottom+0.5)
			}
			if clear {
				c.metal = append(c.metal, m)
			}
		}
	case Axisymmetric:
		c.right = between(1.5, 4)
		c.finest = between(0.1, 0.2)
		r := rod(0)
		r.phase, r.contact = "A", 0
		c.rods = append(c.rods, r)
		if chance(0.5) {
			r := rod(1)
			r.radius, r.top, r.bottom = c.rods[0].radius, c.bottom+between(0.5, 1), c.bottom+2
			c.rods = append(c.rods, r)
			if chance(0.5) {
				c.rim = "insulated"
			}
		}
		if chance(0.3) {
			c.metal = append(c.metal, lotMetal{name: "M0", left: between(0.5, 0.8), right: between(1, 1.3), front: between(0.3, c.bottom), back: c.bottom + between(0.3, 1)})
		}
	}
	return c
}

// drawRun draws a circuit as drawCircuit, on coarser cells, with what drives it and the water
// of its ground; CSV files go to dir.
func drawRun(t *testing.T, seed uint64, dir string) *lot {
	t.Helper()
	c := drawCircuit(seed)
	rng := rand.New(rand.NewPCG(seed, 32))
	between := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	log := func(a, b float64) float64 { return a * math.Pow(b/a, rng.Float64()) }
	chance := func(p float64) bool { return rng.Float64() < p }
	write := func(name, head string, rows [][]float64) {
		var b strings.Builder
		b.WriteString(head + "\n")
		for _, r := range rows {
			for i, v := range r {
				if i > 0 {
					b.WriteByte(',')
				}
				fmt.Fprintf(&b, "%.17g", v)
			}
			b.WriteByte('\n')
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	c.finest *= map[View]float64{Plan: 1.6, Section: 1.6, Axisymmetric: 1.5}[c.view]
	c.days = log(1, 60)
	c.voltage = log(40, 400)
	c.ambient, c.air = between(5, 25), between(-5, 30)
	if chance(0.5) {
		c.air = c.ambient
	}
	c.boiling = chance(0.6)
	c.table = []string{"none", "1 m", "3 m"}[rng.IntN(3)]
	for i := range c.layers {
		l := &c.layers[i]
		switch rng.IntN(4) {
		case 0:
			l.more += "inflow = \"none\"\n"
		case 1:
			l.more += fmt.Sprintf("inflow = \"%.3g 1/d\"\n", log(0.001, 0.1))
		}
		if chance(0.3) {
			l.more += fmt.Sprintf("removable_water = %.3g\n", between(0, 1))
		}
	}
	if c.view != Axisymmetric && chance(0.35) {
		for i := range c.layers {
			c.layers[i].flow, c.layers[i].direction = between(-0.3, 0.3), between(-180, 180)
		}
	}
	meter := chance(0.2)
	if !meter && chance(0.4) {
		c.supply += fmt.Sprintf("power_limit = \"%.3g kW\"\n", log(0.2, 20))
	}
	if !meter && chance(0.3) {
		c.supply += fmt.Sprintf("current_limit = \"%.3g A\"\n", log(0.3, 30))
	}
	if !meter && chance(0.2) {
		c.supply += fmt.Sprintf("kva_limit = \"%.3g kVA\"\n", log(0.3, 30))
	}
	if !meter && chance(0.2) {
		var rows [][]float64
		for at := between(0, 0.2) * c.days; at < c.days && len(rows) < 6; {
			to := at + log(0.001, 0.2)*c.days
			rows = append(rows, []float64{at, to})
			at = to + between(0.01, 0.3)*c.days
		}
		write("outages.csv", "from_d,to_d", rows)
		c.supply += "outages = \"outages.csv\"\n"
	}
	if meter {
		var rows [][]float64
		at, last := 0.0, log(0.1, 10)
		for ; at < c.days; at += log(0.001, 0.2) * c.days {
			if chance(0.6) {
				last = log(0.1, 10)
			}
			if chance(0.2) {
				last = 0
			}
			rows = append(rows, []float64{at, last})
		}
		rows = append(rows, []float64{c.days * 1.01, last})
		write("meter.csv", "time_d,power_kW", rows)
		c.supply += fmt.Sprintf("metered = \"meter.csv\"\ndelivered_share = %.3g\n", between(0.6, 1))
	}
	if !meter && chance(0.35) {
		c.control = fmt.Sprintf("[control]\nsetpoint = \"%.3g degC\"\ndeadband = \"%.3g K\"\nfollow = %q\n", c.ambient+log(1, 60), log(0.1, 3), []string{"mean", "coldest"}[rng.IntN(2)])
	}
	if !meter {
		for i := range c.rods {
			if chance(0.1) && c.rods[i].phase != "N" {
				c.rods[i].limit = log(0.3, 30)
			}
		}
		for range rng.IntN(3) {
			at, what := between(0.05, 0.95)*c.days, ""
			switch rng.IntN(4) {
			case 0:
				what = fmt.Sprintf("voltage = \"%.4g V\"\n", c.voltage*between(0.3, 1.5))
			case 1:
				what = "on = false\n"
				c.changes = append(c.changes, lotChange{at + between(0.01, 0.04)*c.days, "on = true\n"})
			case 2:
				what = fmt.Sprintf("electrode = %q\non = false\n", c.rods[rng.IntN(len(c.rods))].name)
			case 3:
				what = fmt.Sprintf("power_limit = \"%.3g kW\"\n", log(0.2, 10))
			}
			c.changes = append(c.changes, lotChange{at, what})
		}
	}
	if chance(0.5) {
		c.surface += fmt.Sprintf("surface.film = \"%.3g W/m2/K\"\nsurface.cover = \"%.3g m2*K/W\"\n", log(1, 100), between(0, 3))
	}
	if c.boiling && chance(0.4) {
		c.surface += "steam.fate = \"rising\"\n"
		if chance(0.4) && c.view != Plan {
			c.surface += fmt.Sprintf("steam.top = \"0.5 m\"\nsteam.bottom = \"1.5 m\"\nsteam.capture_share = %.3g\n", between(0.2, 1))
		}
	}
	if c.view == Section && chance(0.2) {
		c.surface += "surface.infiltration = \"0.2 in/d\"\n"
	}
	if chance(0.2) {
		c.supply += fmt.Sprintf("off = \"%.4g d\"\n", between(0.3, 0.9)*c.days)
	}
	return c
}
