package figure

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"image/color"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"

	"soiljoule/cases"
)

// ErrTaken is wrapped by Layout's error where a file of that name is no layout's.
var ErrTaken = errors.New("is there and was not drawn by this program; name another figure")

// Layout draws the electrodes of an expanded case as on the site, from above and in a
// section, as far as its view knows, and writes path, which ends in .png, and beside it
// the same as .svg and the electrodes as .csv. hash is that of the case's text. It
// returns the paths of the files written. A .svg or .csv that is there already and is
// no layout's stays as it is, and the error wraps ErrTaken.
func Layout(path, hash string, c *cases.Case, opt Options) ([]string, error) {
	stem := strings.TrimSuffix(path, ".png")
	f := &folder{c: c, hash: hash[:min(8, len(hash))], finished: true}
	units := opt.Units
	if units == "" {
		units = c.Output.Units
	}
	s := newStyle(units)
	name := filepath.Base(stem)
	for ext, own := range map[string]string{".csv": strings.Join(layoutColumns, ",") + "\n", ".svg": footerData(name)} {
		data, err := os.ReadFile(stem + ext)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if !bytes.Contains(data, []byte(own)) {
			return nil, fmt.Errorf("%s %w", stem+ext, ErrTaken)
		}
	}
	d, err := layoutOf(f, s, name)
	if err != nil {
		return nil, err
	}
	return d.write(stem, s, dpi)
}

// siteLayout is the layout among the figures of a run.
func siteLayout(f *folder, s style) (*drawing, error) { return layoutOf(f, s, "layout") }

// Sizes of the layout's panels.
const (
	layoutWidth  = vg.Length(250)
	layoutHeight = vg.Length(330) // at most, of the plan
)

// layoutOf draws the layout; name is that of its files.
func layoutOf(f *folder, s style, name string) (*drawing, error) {
	if len(f.c.Targets) == 0 {
		return nil, fmt.Errorf("the case has no target: %w", errNothing)
	}
	w, cut := f.siteBox()
	depth := f.siteDepth()
	wide := w.right - w.left
	scale := min(float64(layoutWidth)/wide, float64(layoutHeight)/(w.bottom-w.top)) // [pt/m] of the plan
	planHeight := vg.Length(scale * (w.bottom - w.top))
	trueHeight := float64(layoutWidth) / wide * depth
	stretch := exaggerate(trueHeight, 110, 190)
	sectionHeight := vg.Length(stretch * trueHeight)

	rods := f.siteRods(w)
	legend := f.phaseLegend(rods)
	// The plan's neighbour on the page may be the taller.
	beside := max(planHeight, vg.Length(f.legendRows(legend))*lineHeight)
	notes := []string{f.layoutCount(rods), "Section: true to scale."}
	if cut > 0 {
		notes = append(notes, fmt.Sprintf("Seen from above: the first %s of %s.", s.length2(w.bottom), s.length2(cut)))
	}
	if stretch != 1 {
		how := "stretched"
		if stretch < 1 {
			how = "shrunk"
		}
		notes[1] = "Section: depths " + how + " × " + short(stretch) + "."
	}
	if r := f.bores(); r > 0 {
		notes[1] += " Marks from above are not to size."
	}
	if text := f.metalBeyond(w); text != "" {
		notes = append(notes, text)
	}
	above := panel{vg.Rectangle{Max: vg.Point{X: vg.Length(scale * wide), Y: planHeight}}, axis{lo: w.left, hi: w.right}, axis{lo: w.top, hi: w.bottom}}
	metal := f.metalFromAbove(above, w)
	keysHeight := func() vg.Length {
		p := &pen{fonts: s.fonts}
		return vg.Length(p.keyRows(p.layoutKeys(f, s, depth, metal), pageWidth-2*margin)) * (lineHeight + 2)
	}()
	total := headHeight + 2*tickHeight + beside + 2*tickHeight + 4 + sectionHeight + tickHeight + lineHeight +
		keysHeight + vg.Length(len(notes))*lineHeight + footHeight + 8

	paint := func(p *pen) {
		p.heading(f, "Layout of the site", f.layoutSubject(), name)
		yAxis, zAxis := above.y, axis{lo: 0, hi: depth, down: true}
		zMarks := [2][]tick{zAxis.ticks(s.length[0], along(sectionHeight)), zAxis.ticks(s.length[1], along(sectionHeight))}
		yMarks := [2][]tick{yAxis.ticks(s.length[0], along(planHeight)), yAxis.ticks(s.length[1], along(planHeight))}
		zTitle, yTitle := "depth ("+s.length[0].name+")", "y ("+s.length[0].name+")"
		x0 := margin + max(p.room(zMarks[0], zTitle), p.room(yMarks[0], yTitle))
		top := p.Max.Y - headHeight
		p.text(bodyBold, color.Black, margin, top-14, 0, 0, "from above")
		top -= 2 * tickHeight
		q := above
		q.Min, q.Max = vg.Point{X: x0, Y: top - planHeight}, vg.Point{X: x0 + above.Max.X, Y: top}
		ticks := max(1, int((q.Max.X-q.Min.X)/40))
		p.fromAbove(f, q, rods, w)
		p.left(q, yMarks[0], yTitle)
		p.right(q, yMarks[1], s.length[1].name)
		p.below(q, q.x.ticks(s.length[0], ticks), "")
		p.above(q, q.x.ticks(s.length[1], ticks), "")
		p.frame(thin, q.Rectangle)
		p.legend(f, s, q.Max.X+p.room(yMarks[1], s.length[1].name)+12, top, scale, legend)

		top -= beside + tickHeight
		p.text(bodyBold, color.Black, margin, top-14, 0, 0, f.layoutSection())
		top -= tickHeight + 4
		z := panel{vg.Rectangle{Min: vg.Point{X: x0, Y: top - sectionHeight}, Max: vg.Point{X: x0 + layoutWidth, Y: top}}, q.x, zAxis}
		p.throughSite(f, z, w)
		p.left(z, zMarks[0], zTitle)
		p.right(z, zMarks[1], s.length[1].name)
		across := "x (" + s.length[0].name + ")"
		p.below(z, z.x.ticks(s.length[0], max(1, int((z.Max.X-z.Min.X)/40))), across)
		strip := z.Rectangle
		strip.Min.X = z.Max.X + p.room(zMarks[1], s.length[1].name) + 4
		strip.Max.X = p.Max.X - margin
		if bands := f.layerBands(0, depth); len(bands) > 0 {
			p.ground(z, strip, bands)
		}
		p.frame(thin, z.Rectangle)
		y := z.Min.Y - tickHeight - lineHeight - 12
		p.keys(p.layoutKeys(f, s, depth, metal), margin, y, p.Max.X-2*margin)
		for i, note := range notes {
			p.text(body, color.Black, margin, footHeight+4+vg.Length(len(notes)-1-i)*lineHeight, 0, 0, p.fit(body, note, p.Max.X-2*margin))
		}
	}
	return &drawing{pageWidth, total, paint, electrodeTable{f.c}}, nil
}

// layoutSubject says what the picture is of, for the subtitle.
func (f *folder) layoutSubject() string {
	switch f.c.View {
	case cases.Axisymmetric:
		return "one cell of " + short(f.c.Extent.Count)
	case cases.Section:
		return "section, its rows as rods"
	}
	return "plan"
}

// layoutSection names the second panel.
func (f *folder) layoutSection() string {
	if f.c.View == cases.Axisymmetric {
		return "through the axis"
	}
	return "from the front, all electrodes"
}

// layoutCount tells how many electrodes there are.
func (f *folder) layoutCount(rods []siteRod) string {
	n := len(f.c.Electrodes)
	if n == 0 {
		return "No electrodes."
	}
	if f.c.View != cases.Section {
		return counted(n, "electrode") + "."
	}
	model, rows := 0.0, 0
	places := map[[3]float64]bool{} // of rows: elements above each other are in one bore
	for i := range f.c.Electrodes {
		if s := f.c.Electrodes[i].RodSpacing; s > 0 {
			model += f.c.Extent.Length / s
			rows++
			places[[3]float64{f.c.Electrodes[i].X, s, f.c.Electrodes[i].RodOffset}] = true
		}
	}
	if rows == 0 {
		return counted(n, "plate") + "."
	}
	text := counted(rows, "row")
	if plates := n - rows; plates > 0 {
		text += " and " + counted(plates, "plate")
	}
	if n := len(places); n < rows {
		return text + fmt.Sprintf(" of elements in %d rows of bores: %s elements in the length.", n, short(model))
	}
	return text + fmt.Sprintf("; the section counts %s rods in its length.", short(model))
}

// counted writes n of something.
func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// layoutKeys are the entries for the marks of the layout, of metal as it is drawn.
func (p *pen) layoutKeys(f *folder, s style, depth float64, metal []metalSeen) []key {
	list := p.boreKeys(f, "electrode in section")
	if z := f.c.Site.WaterTable; z > 0 && z < depth {
		list = append(list, key{func(r vg.Rectangle) {
			p.waterMark(vg.Point{X: (r.Min.X + r.Max.X) / 2, Y: r.Min.Y + 2})
		}, "water table"})
	}
	list = append(list, p.wayKeys(f, 0, depth)...)
	if f.c.View == cases.Axisymmetric {
		list = append(list, key{func(r vg.Rectangle) {
			y := (r.Min.Y + r.Max.Y) / 2
			p.stroke(line(grey(50), 0.8, 6, 3), vg.Point{X: r.Min.X, Y: y}, vg.Point{X: r.Max.X, Y: y})
		}, "edge of the cell"})
	}
	list = append(list, p.metalKeys(f, metal)...)
	for _, k := range p.planKeys(f, s) {
		if k.text != "electrode" && k.text != metalText {
			list = append(list, k)
		}
	}
	return list
}

// layoutColumns heads the table of electrodes.
var layoutColumns = []string{"electrode", "phase", "x_m", "y_m", "top_m", "bottom_m", "radius_m", "rod_spacing_m", "width_m"}

// electrodeTable is the electrodes of a case, a row each: of a row of rods, y is that of
// its first one; empty is what an electrode has not.
type electrodeTable struct{ c *cases.Case }

func (t electrodeTable) csv() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(layoutColumns)
	num := func(v float64, there bool) string {
		if !there || bad(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'g', 10, 64)
	}
	for i := range t.c.Electrodes {
		e := &t.c.Electrodes[i]
		y := e.Y
		if t.c.View == cases.Section {
			y = e.RodOffset
		}
		w.Write([]string{printable(e.Name), e.Phase, num(e.X, true), num(y, e.Width == 0), num(e.Top, true), num(e.Bottom, true),
			num(e.Radius, e.Radius > 0), num(e.RodSpacing, e.RodSpacing > 0), num(e.Width, e.Width > 0)})
	}
	w.Flush() // to memory: no error
	return b.Bytes()
}
