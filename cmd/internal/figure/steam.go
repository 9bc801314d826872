package figure

import (
	"fmt"
	"slices"

	"gonum.org/v1/plot/vg"
)

// steam draws where steam goes: rates out of the ground, by where it leaves, and of what
// condenses on the way; the same since power on; and the pore volumes that boiled.
func steam(f *folder, s style) (*drawing, error) {
	in, err := f.readTable("steam.csv")
	if err != nil {
		return nil, err
	}
	days, err := in.column("time_d")
	if err != nil {
		return nil, err
	}
	out := &table{file: "steam.csv"}
	out.add("time_d", days)
	read := func(list []trace) ([]trace, error) {
		for i := range list {
			if list[i].y, err = in.column(list[i].column); err != nil {
				return nil, err
			}
			list[i].x = days
		}
		kept := some(list)
		for _, t := range kept {
			out.add(t.column, t.y)
		}
		// What leaves in one way only is drawn once.
		return slices.DeleteFunc(kept, func(t trace) bool { return t.part && same(t.y, kept[0].y) }), nil
	}
	rates, err := read([]trace{
		{column: "steam_kg_per_h", text: "out of ground", width: 2, shade: 1},
		{column: "captured_kg_per_h", text: "captured", width: 1.6, shade: 0.6, dash: 1, part: true},
		{column: "surface_kg_per_h", text: "at surface", width: 1.6, shade: 0.3, dash: 2, part: true},
		{column: "held_kg_per_h", text: "held", width: 1.6, shade: 0.45, dash: 4, part: true},
		{column: "condensing_kg_per_h", text: "condensing", width: 1.6, shade: 0.8, dash: 3},
	})
	if err != nil {
		return nil, err
	}
	if len(rates) == 0 {
		return nil, fmt.Errorf("steam.csv: nothing boils: %w", errNothing)
	}
	for i := range rates {
		rates[i].x, rates[i].y = stairs(days, rates[i].y)
	}
	sums, err := read([]trace{
		{column: "steam_kg", text: "out of ground", width: 2, shade: 1},
		{column: "captured_kg", text: "captured", width: 1.6, shade: 0.6, dash: 1, part: true},
		{column: "surface_kg", text: "at surface", width: 1.6, shade: 0.3, dash: 2, part: true},
		{column: "held_kg", text: "held", width: 1.6, shade: 0.45, dash: 4, part: true},
		{column: "condensed_kg", text: "condensed", width: 1.6, shade: 0.8, dash: 3},
	})
	if err != nil {
		return nil, err
	}
	boiled, err := read([]trace{{column: "pore_volumes_boiled", text: "target", width: 2, shade: 1}})
	if err != nil {
		return nil, err
	}
	mass := s.pair(kilogram, pound)
	masses := []unit{mass[0], mass[1], gallon}
	if largest(sums) >= crowded {
		for i := range masses {
			masses[i] = masses[i].thousands()
		}
	}
	list := []chart{
		{title: "Rate", units: []unit{mass[0].rate(), mass[1].rate(), gallon.rate()}, traces: rates, height: 125},
		{title: "Since power on", units: masses, traces: sums, height: 125},
	}
	if len(boiled) > 0 {
		list = append(list, chart{title: "Pore volumes boiled", units: []unit{plain}, traces: boiled, height: 80})
	}
	for i := range list {
		list[i].span(1e-6)
	}
	notes := []string{"Rates are means over each step. gal, gpm: of condensate."}
	if len(boiled) > 0 && len(f.c.Targets) > 0 {
		notes = append(notes, "Pore volumes: water that boiled in "+printable(f.c.Targets[0].Name)+", in what its pores hold.")
	}
	if text := whereTo(in); text != "" {
		notes = append(notes, text)
	}
	total := headHeight + chartsHeight(list) + f.datesHeight() + vg.Length(len(notes))*lineHeight + footHeight + 8
	paint := func(p *pen) {
		p.heading(f, "Steam and condensate", daysRange(days), "steam")
		p.charts(s, list, daysAxis(days), "days since power on", f.c.Time.PowerOn, p.Max.Y-headHeight)
		p.notes(notes)
	}
	return &drawing{pageWidth, total, paint, out}, nil
}

// same says whether two series are equal but for rounding.
func same(a, b []float64) bool {
	_, top, _ := bounds(b)
	for i := range a {
		if d := a[i] - b[i]; !(d <= 1e-9*top && -d <= 1e-9*top) {
			return false
		}
	}
	return true
}

// whereTo says what became of the steam that left the ground, from the last row of
// steam.csv.
func whereTo(in *table) string {
	last := in.rows() - 1
	cols, err := in.columns("steam_kg", "captured_kg", "surface_kg", "held_kg")
	if err != nil || !(cols[0][last] > 0) {
		return ""
	}
	text := ""
	for i, word := range []string{"captured", "at the surface", "held by a barrier"} {
		if v := cols[1+i][last]; v > 0 {
			if text != "" {
				text += ", "
			}
			text += percentOf(v, cols[0][last]) + " " + word
		}
	}
	if text == "" {
		return ""
	}
	return "Steam out: " + text + "."
}

// percentOf writes a share in whole percent.
func percentOf(v, all float64) string {
	p := 100 * v / all
	if p < 0.5 && p > 0 {
		return "<1 %"
	}
	return fmt.Sprintf("%.0f %%", p)
}
