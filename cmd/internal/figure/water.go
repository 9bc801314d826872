package figure

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
)

// water draws the ledger of liquid water: what came into the ground since power on, what
// left it, and the change of what it holds.
func water(f *folder, s style) (*drawing, error) {
	in, err := f.readTable("water.csv")
	if err != nil {
		return nil, err
	}
	days, err := in.column("time_d")
	if err != nil {
		return nil, err
	}
	gains := []trace{
		{column: "recharge_kg", text: "recharge, in", width: 1.8, shade: 0.3},
		{column: "rain_kg", text: "rain, in", width: 1.8, shade: 0.3, dash: 1},
		{column: "added_kg", text: "added, in", width: 1.8, shade: 0.3, dash: 2},
	}
	list := append(slices.Clone(gains),
		trace{column: "steam_kg", text: "steam, out", width: 1.8, shade: 0.7, dash: 3},
		trace{column: "to_groundwater_kg", text: "to groundwater", width: 1.8, shade: 0.7, dash: 4},
		trace{column: "stored_kg", text: "change stored", width: 2.4, shade: 1})
	for i := range list {
		if list[i].y, err = in.column(list[i].column); err != nil {
			return nil, err
		}
		list[i].x = days
	}
	residual, err := in.column("residual_kg")
	if err != nil {
		return nil, err
	}
	last := len(days) - 1
	came := list[0].y[last] + list[1].y[last] + list[2].y[last]
	list = some(list)
	if len(list) == 0 {
		return nil, fmt.Errorf("water.csv: no water moves: %w", errNothing)
	}
	out := &table{file: "water.csv"}
	out.add("time_d", days)
	for _, t := range list {
		out.add(t.column, t.y)
	}
	out.add("residual_kg", residual)
	u := s.pair(cubic, gallon)
	units := slices.Clone(u[:])
	if i := slices.Index(units, gallon); largest(list) >= crowded {
		units[i] = gallon.thousands()
	}
	charts := []chart{{title: "Since power on", units: units, traces: list, height: 225}}
	charts[0].span(1e-6)
	notes := []string{"In less out is the change of what the ground holds."}
	if slices.ContainsFunc(list, func(t trace) bool { return t.column == "to_groundwater_kg" }) {
		notes = append(notes, "To groundwater: drained to the water table, or displaced below it.")
	}
	if v := math.Abs(residual[last]); !bad(came) && !bad(v) {
		notes = append(notes, fmt.Sprintf("Came in: %s %s (%s %s); the ledger closes to %.1g kg.", amount(u[0].of(came)), u[0].name, amount(u[1].of(came)), u[1].name, v))
	}
	total := headHeight + chartsHeight(charts) + f.datesHeight() + vg.Length(len(notes))*lineHeight + footHeight + 8
	paint := func(p *pen) {
		p.heading(f, "Where the water comes from and goes", daysRange(days), "water")
		p.charts(s, charts, daysAxis(days), "days since power on", f.c.Time.PowerOn, p.Max.Y-headHeight)
		p.notes(notes)
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// amount writes a quantity whole, but for a small one.
func amount(v float64) string {
	if math.Abs(v) < 10 {
		return short(v)
	}
	return number(math.Round(v), 1)
}
