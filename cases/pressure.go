package cases

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"soiljoule/materials"
	"soiljoule/physics"
)

// Course is a number that changes with time: straight from row to row, and level beyond
// them. Without rows the number is constant, and not told here.
type Course struct {
	File   string // the CSV's name as written, "" if none
	Series []CoursePoint
	Text   []byte // File as it was read
}

// CoursePoint is one row of a course.
type CoursePoint struct {
	Time  float64 // [s] since power-on
	Value float64 // [SI]
}

// at returns the number at t [s].
func (c *Course) at(t float64) float64 {
	s := c.Series
	switch i := sort.Search(len(s), func(i int) bool { return s[i].Time > t }); i {
	case 0:
		return s[0].Value
	case len(s):
		return s[i-1].Value
	default:
		a, b := s[i-1], s[i]
		return a.Value + (b.Value-a.Value)*(t-a.Time)/(b.Time-a.Time)
	}
}

// turns adds the times [s] of the rows within a run of a length [s], at which the number
// may turn.
func (c *Course) turns(times []float64, end float64) []float64 {
	for _, p := range c.Series {
		if p.Time > 0 && p.Time < end {
			times = append(times, p.Time)
		}
	}
	return times
}

// PressureVaries reports whether water table or vacuum, and so the boiling point, change
// with time.
func (c *Case) PressureVaries() bool {
	return len(c.Site.Table.Series) > 0 || len(c.Steam.VacuumCourse.Series) > 0
}

// TableAt returns the depth of the water table [m] at t [s] since power-on; +Inf: none.
func (c *Case) TableAt(t float64) float64 {
	if len(c.Site.Table.Series) > 0 {
		return c.Site.Table.at(t)
	}
	return c.Site.WaterTable
}

// VacuumAt returns the vacuum applied [Pa] at t [s] since power-on.
func (c *Case) VacuumAt(t float64) float64 {
	if len(c.Steam.VacuumCourse.Series) > 0 {
		return c.Steam.VacuumCourse.at(t)
	}
	return c.Steam.Vacuum
}

// BoilingPoint returns that of water [K] at a depth [m] and t [s] since power-on; NaN
// outside the range of the steam tables.
func (c *Case) BoilingPoint(depth, t float64) float64 {
	return materials.SaturationTemperature(c.pressureSite().At(t).Pressure(depth))
}

// A step's error in temperature does not show that its boiling points move: over a step
// the pressure may change by pressureStep [Pa], 0.5 K at that of the air. mostTurns is how
// many steps a run may end for that.
const (
	pressureStep = 2000
	mostTurns    = 2000
)

// stepEnds returns the times at which steps are to end for the sake of water table and
// vacuum [s]; of more than mostTurns, none. Between rows they lie where they would in a
// longer run, which may go on from this one.
func (c *Case) stepEnds() []float64 {
	var ends []float64
	from := 0.0
	for _, to := range c.turnsBefore(inf) {
		if from >= c.Time.Duration {
			break
		}
		change := math.Abs(c.VacuumAt(to) - c.VacuumAt(from))
		if len(c.Site.Table.Series) > 0 {
			change += materials.RhoWater * materials.Gravity * math.Abs(c.TableAt(to)-c.TableAt(from))
		}
		n := math.Max(1, math.Ceil(change/pressureStep*(1-1e-9)))
		for i := 1.0; i <= n; i++ {
			end := from + (to-from)*i/n
			if end >= c.Time.Duration {
				break // the run's end is one anyway
			}
			if len(ends) == mostTurns {
				return nil
			}
			ends = append(ends, end)
		}
		from = to
	}
	return ends
}

// pressureTurns returns the times [s] between power-on and the end at which water table
// or vacuum may turn, in order.
func (c *Case) pressureTurns() []float64 { return c.turnsBefore(c.Time.Duration) }

// turnsBefore is that for a run of a length [s].
func (c *Case) turnsBefore(end float64) []float64 {
	times := c.Site.Table.turns(nil, end)
	times = c.Steam.VacuumCourse.turns(times, end)
	slices.Sort(times)
	return slices.Compact(times)
}

// extremes returns the least and the largest of a function of time during the run, and
// when [s]: of one that runs straight between the turns of water table and vacuum, or
// bends upward there.
func (c *Case) extremes(f func(t float64) float64) (least, leastAt, most, mostAt float64) {
	least = f(0)
	most = least
	for _, t := range append(c.pressureTurns(), c.Time.Duration) {
		v := f(t)
		if v < least {
			least, leastAt = v, t
		}
		if v > most {
			most, mostAt = v, t
		}
	}
	return
}

// BoilingRange returns the least and the highest boiling point [K] at a depth [m] during
// the run, and when [s].
func (c *Case) BoilingRange(depth float64) (least, leastAt, most, mostAt float64) {
	return c.extremes(func(t float64) float64 { return c.BoilingPoint(depth, t) })
}

// TableRange returns the least and the largest depth of the water table [m] during the
// run, and when [s].
func (c *Case) TableRange() (least, leastAt, most, mostAt float64) { return c.extremes(c.TableAt) }

// tables returns the depths [m] at which the boiling point has a kink: the water table at
// power-on, and its highest and deepest of all rows: a run that goes on for longer has the
// mesh that it began with.
func (c *Case) tables() []float64 {
	at := []float64{c.Site.WaterTable}
	for _, p := range c.Site.Table.Series {
		at = append(at, p.Value)
	}
	at = []float64{c.Site.WaterTable, slices.Min(at), slices.Max(at)}
	slices.Sort(at)
	return slices.Compact(at)
}

// pressureSite is what sets the boiling point of the case's ground, but for what comes
// in below the water table.
func (c *Case) pressureSite() physics.Site {
	s := physics.Site{Ambient: c.Site.Ambient, AirPressure: materials.AirPressure(c.Site.Elevation),
		WaterTable: c.Site.WaterTable, Vacuum: c.Steam.Vacuum, Boiling: c.Steam.Boiling}
	if len(c.Site.Table.Series) > 0 {
		s.TableAt = c.Site.Table.at
	}
	if len(c.Steam.VacuumCourse.Series) > 0 {
		s.VacuumAt = c.Steam.VacuumCourse.at
	}
	return s
}

// checkRange is an error where the water's pressure leaves the steam tables at any time
// of the run, at the depth [m] of the deepest cell.
func (c *Case) checkRange(depth float64) error {
	if !c.Steam.Boiling {
		return nil
	}
	if _, _, most, at := c.extremes(func(t float64) float64 { return c.pressureSite().At(t).Pressure(depth) }); math.IsNaN(materials.SaturationTemperature(most)) {
		return fmt.Errorf("at %.3g m the water's pressure, %.3g Pa on day %.4g, is outside the range of the steam tables; model less depth, or let nothing boil (steam.boiling = false)", depth, most, at/day)
	}
	return nil
}

// slabSupply returns how water comes into a plan's slab with the water table at a depth.
// Between the middles of the slab's parts that is the same, so it is worked out once.
func (c *Case) slabSupply() func(soil int, z, table float64) physics.WaterSupply {
	var middles []float64
	for _, p := range c.inSlab() {
		middles = append(middles, (p.top+p.bottom)/2)
	}
	var supplies []physics.WaterSupply // of a table above each middle, and of one below all
	for _, table := range append(slices.Clone(middles), inf) {
		d := *c
		d.Site.WaterTable = math.Nextafter(table, -inf)
		slab := d.slab()
		supplies = append(supplies, physics.WaterSupply{Removable: slab.RemovableWater, Inflow: slab.inflow(false), Refill: slab.RefillRate})
	}
	return func(_ int, _, table float64) physics.WaterSupply {
		i := 0
		for i < len(middles) && table >= middles[i] {
			i++
		}
		return supplies[i]
	}
}

// leastPressure [Pa] is what a vacuum must leave at least: as much as `hand boiling`
// asks for.
const leastPressure = 1000

// checkPressure refuses a vacuum that no pump could hold: the ground as found would boil.
func (l *loader) checkPressure() {
	c := l.c
	most, at := c.Steam.Vacuum, 0.0
	if len(c.Steam.VacuumCourse.Series) > 0 {
		_, _, most, at = c.extremes(c.VacuumAt)
	}
	air := materials.AirPressure(c.Site.Elevation)
	limit := air - math.Max(leastPressure, materials.SaturationPressure(math.Max(c.Site.Ambient, materials.TableMin)))
	if !(most > 0 && most >= limit) { // false for NaN: what is wrong there is told
		return
	}
	u := c.vacuumUnit(l)
	given, allowed := "", "must be 0: water at site.ambient boils under the air alone"
	if len(c.Steam.VacuumCourse.Series) > 0 {
		given = fmt.Sprintf("reaches %s %s on day %s; ", about(u.fromSI(most)), u.name, about(at/day))
	}
	if limit > 0 {
		allowed = fmt.Sprintf("must be below %s %s, or the ground as found would boil: the air at this elevation has %s %s", about(u.fromSI(limit)), u.name, about(u.fromSI(air)), u.name)
	}
	l.no("steam", 0, "vacuum", "%s", given+allowed)
}

// vacuumUnit returns the unit that the vacuum is given in.
func (c *Case) vacuumUnit(l *loader) unit {
	for line := range strings.Lines(string(c.Steam.VacuumCourse.Text)) {
		cells := strings.Split(strings.TrimSpace(strings.TrimPrefix(line, "\ufeff")), ",")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if at, _, u := pick(cells, vacuumSeries.values, pressure); at >= 0 {
			return u
		}
	}
	if len(l.rows["steam"]) > 0 {
		if text, ok := l.rows["steam"][0]["vacuum"].(string); ok {
			if _, u, err := pressure.parse(text); err == nil {
				return u
			}
		}
	}
	u, _ := pressure.find(vacuumSeries.base)
	return u
}

// pressureCautions says what the model of water table and vacuum leaves out, and names
// what is likely not what was meant.
func (c *Case) pressureCautions() []string {
	var out []string
	ends := func(key string, s *Course) {
		if n := len(s.Series); n > 0 && s.Series[n-1].Time < c.Time.Duration*(1-1e-9) {
			out = append(out, fmt.Sprintf("The rows of %s end on day %.4g: the last one holds on to day %.4g.", key, s.Series[n-1].Time/day, c.Time.Duration/day))
		}
	}
	if s := &c.Site.Table; len(s.Series) > 0 {
		least, _, most, _ := c.TableRange()
		if least < most {
			out = append(out, fmt.Sprintf("The water table moves, between %s deep, and is level over all the ground: its slope towards a well or a drain is left out.",
				c.told(fmt.Sprintf("%.3g and %.3g ft", least/Foot, most/Foot), fmt.Sprintf("%.3g and %.3g m", least, most))))
		}
		ends("site.water_table", s)
	}
	_, _, most, _ := c.extremes(c.VacuumAt)
	if most > 0 {
		text := fmt.Sprintf("Vacuum, at most %.4g kPa, is taken to act on all pores alike, at any depth and from one moment to the next: how it falls off away from the wells and in wet or tight ground, where water then boils at more, and the air and water that it draws are left out.", most/1e3)
		if !c.Steam.Boiling {
			text = "steam.vacuum changes nothing: boiling is off."
		}
		out = append(out, text)
	}
	ends("steam.vacuum", &c.Steam.VacuumCourse)
	if c.PressureVaries() && c.stepEnds() == nil && len(c.pressureTurns()) > 0 {
		out = append(out, fmt.Sprintf("Water table and vacuum go up and down too often for steps to follow, in %d rows within the run: what they do between the ends of a step is passed over.", len(c.pressureTurns())))
	}
	return out
}

// The columns of the two courses.
var (
	tableSeries = seriesKind{times: []column{{"time_d", "d"}}, dates: "date", values: []column{{"water_table_ft", "ft"}, {"water_table_m", "m"}},
		of: length, base: "m"}
	vacuumSeries = seriesKind{times: []column{{"time_d", "d"}}, dates: "date", values: []column{{"vacuum_kPa", "kPa"}, {"vacuum_inHg", "inHg"}, {"vacuum_inH2O", "inH2O"}},
		of: pressure, base: "kPa"}
)

// courses is a quantity that a CSV may tell against time, at a coursed.
type courses struct {
	quantity
	series *seriesKind
}

// coursed is the address of such a quantity.
type coursed struct {
	number *float64 // at power-on; +Inf where the quantity's word holds
	course *Course
}

func (k courses) wants(key *key) string {
	return strings.Replace(k.quantity.wants(key), `, or "`, `, "`, 1) + ", or the name of a .csv file"
}

func (k courses) read(in input, dst any) {
	p := dst.(coursed)
	v, text := in.raw.(string)
	switch {
	case text && strings.HasSuffix(strings.ToLower(v), ".csv"):
		p.course.File = v
		var rows []point
		rows, p.course.Text = readSeries(in, v, *k.series)
		for _, row := range rows {
			p.course.Series = append(p.course.Series, CoursePoint{row.time, row.value})
		}
		*p.number = nan
		if len(rows) > 0 {
			*p.number = p.course.at(0)
		}
	case k.word != "":
		k.quantity.read(in, worded{number: p.number, blank: inf})
	case text && !strings.ContainsAny(v, "0123456789"):
		in.wrongKind()
		*p.number = nan
	default:
		k.quantity.read(in, p.number)
	}
}

func (k courses) write(key *key, src any) string {
	p := src.(coursed)
	switch {
	case p.course.File != "":
		return quote(baseName(p.course.File))
	case k.word != "":
		return k.quantity.write(key, worded{number: p.number, blank: inf})
	}
	return k.quantity.write(key, p.number)
}

func (k courses) column(key *key) (string, string) {
	unit, allowed := k.quantity.column(key)
	return unit, allowed + " | a .csv file"
}
