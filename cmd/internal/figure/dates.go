package figure

import (
	"image/color"
	"time"

	"gonum.org/v1/plot/vg"
)

// datesHeight is the room that dates take under an axis of days: none where the case does
// not say when power comes on.
func (f *folder) datesHeight() vg.Length {
	if f.c.Time.PowerOn.IsZero() {
		return 0
	}
	return lineHeight
}

// belowDays draws a panel's lower axis of days since from, with dates under the labels
// where from is known.
func (p *pen) belowDays(q panel, marks []tick, title string, from time.Time) {
	p.below(q, marks, "")
	y := q.Min.Y - tickHeight - 1
	if !from.IsZero() {
		for _, d := range p.dates(q, marks, from) {
			p.text(body, color.Black, q.atX(d.v), y, 0.5, 1, d.label)
		}
		y -= lineHeight
	}
	p.text(body, color.Black, (q.Min.X+q.Max.X)/2, y, 0.5, 1, title)
}

// dates returns the dates of marks on an axis of days since from, so few that they do not
// run into each other. A date's year is told where it is another than before it.
func (p *pen) dates(q panel, marks []tick, from time.Time) (list []tick) {
	for every := 1; every <= len(marks); every++ {
		list = nil
		before, last := from, ""
		for i := 0; i < len(marks); i += every {
			on := from.Add(time.Duration(marks[i].v * 24 * float64(time.Hour)))
			text := on.Format("2 Jan")
			if on.Year() != before.Year() {
				text = on.Format("2 Jan 2006")
			}
			if text == last { // parts of a day
				continue
			}
			before, last = on, text
			list = append(list, tick{marks[i].v, text})
		}
		if p.apart(q, list, 12) == 1 {
			break
		}
	}
	return list
}
