// Package figure draws a run's figures from its results folder alone, so that
// any figure can be drawn again later: each as PNG for the page, as SVG for
// editing, and as the CSV that holds exactly what it draws.
//
// A figure is made to be read in grey at half its width: text is large, lines
// differ in dash as well as in colour, and labels stand at what they name.
package figure

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"soiljoule/cases"
)

// Options say which figures to draw and how. The zero value draws all of them
// in the case's own units.
type Options struct {
	Only  []string // names from Names; nil: every figure that the folder can give
	Units string   // "si" or "us": which unit comes first; "": as the case says
}

// errNothing is the reason why a figure is left out of a full set: the run has
// nothing for it to show. Asked for by name, the same reason is an error.
var errNothing = errors.New("nothing to draw")

// kind is one figure: its name, and how a folder becomes a drawing.
type kind struct {
	name string
	make func(*folder, style) (*drawing, error)
}

// kinds lists the figures in the order in which they are drawn.
func kinds() []kind {
	return []kind{
		{"sensors", sensors},
		{"profiles", profiles},
		{"section", section},
		{"plan", planView},
		{"days", daysMap},
		{"power", powerMap},
		{"share", share},
		{"ledger", ledger},
		{"steam", steam},
		{"water", water},
		{"saturation", saturation},
		{"cool", cool},
		{"supply", supply},
		{"surface", surface},
		{"layout", siteLayout},
	}
}

// Names returns the names of the figures, in the order in which they are drawn.
func Names() []string {
	var names []string
	for _, k := range kinds() {
		names = append(names, k.name)
	}
	return names
}

// Draw draws figures from the results folder dir of case c into dir/figures and
// returns the paths of the files written: NAME.png, NAME.svg and NAME.csv of
// each figure. A figure that the run has nothing for, as sensors in a case
// without any, is left out; named in Options.Only, it is an error. A figure
// that fails does not keep the others from being drawn: all errors are returned
// together, beside the files that are whole. Between figures it looks whether
// ctx was cancelled, and then ends with its error.
//
// Equal folders give byte-equal files.
func Draw(ctx context.Context, dir string, c *cases.Case, opt Options) ([]string, error) {
	return drawAt(ctx, dpi, dir, c, opt)
}

// drawAt is Draw with a resolution [1/in] for the PNG files.
func drawAt(ctx context.Context, resolution int, dir string, c *cases.Case, opt Options) ([]string, error) {
	units := opt.Units
	if units == "" {
		units = c.Output.Units
	}
	if units != "" && units != "si" && units != "us" {
		return nil, fmt.Errorf("units = %s: must be si or us", units)
	}
	for _, name := range opt.Only {
		if !slices.Contains(Names(), name) {
			return nil, fmt.Errorf("%s: unknown figure; known are %s", name, strings.Join(Names(), ", "))
		}
	}
	f, err := openFolder(dir, c)
	if err != nil {
		return nil, err
	}
	out := filepath.Join(dir, "figures")
	if err := os.MkdirAll(out, 0o777); err != nil {
		return nil, err
	}
	s := newStyle(units)
	var files []string
	var errs []error
	for _, k := range kinds() {
		if len(opt.Only) > 0 && !slices.Contains(opt.Only, k.name) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return files, errors.Join(append(errs, err)...)
		}
		written, err := drawOne(out, k, f, s, resolution)
		files = append(files, written...)
		switch {
		case err == nil:
		case errors.Is(err, errNothing) && len(opt.Only) == 0:
		default:
			errs = append(errs, fmt.Errorf("figure %s: %w", k.name, err))
		}
	}
	return files, errors.Join(errs...)
}

// drawOne makes one figure's three files.
func drawOne(out string, k kind, f *folder, s style, resolution int) ([]string, error) {
	d, err := k.make(f, s)
	if err != nil {
		return nil, err
	}
	return d.write(filepath.Join(out, k.name), s, resolution)
}

// write writes a drawing's three files, named stem and what they are. All three are
// ready in memory before the first is written, so that a figure that cannot be drawn
// leaves none.
func (d *drawing) write(stem string, s style, resolution int) ([]string, error) {
	raster, err := d.png(s, resolution)
	if err != nil {
		return nil, err
	}
	vector, err := d.svg(s)
	if err != nil {
		return nil, err
	}
	var files []string
	for _, one := range []struct {
		ext  string
		data []byte
	}{{".png", raster}, {".svg", vector}, {".csv", d.data.csv()}} {
		path := stem + one.ext
		if err := writeWhole(path, one.data); err != nil {
			return files, err
		}
		files = append(files, path)
	}
	return files, nil
}

// writeWhole writes data under a temporary name beside path and renames it, so
// that a file is whole or absent.
func writeWhole(path string, data []byte) error {
	temporary := path + ".part"
	if err := os.WriteFile(temporary, data, 0o666); err != nil {
		os.Remove(temporary)
		return err
	}
	if err := os.Rename(temporary, path); err != nil {
		os.Remove(temporary)
		return err
	}
	return nil
}

// dpi is the resolution of the PNG files [1/in]: 1430 dots across 6.5 in.
const dpi = 220

// drawing is one figure, ready for any canvas, with the numbers it draws.
type drawing struct {
	width, height vg.Length
	paint         func(*pen)
	data          interface{ csv() []byte }
}

// image paints the drawing on a white raster of the given resolution [1/in].
func (d *drawing) image(s style, resolution int) image.Image {
	canvas := vgimg.NewWith(vgimg.UseWH(d.width, d.height), vgimg.UseDPI(resolution))
	d.paint(newPen(s, canvas, d.width, d.height))
	return canvas.Image()
}

// png returns the drawing as a PNG file.
func (d *drawing) png(s style, resolution int) ([]byte, error) {
	var b bytes.Buffer
	err := png.Encode(&b, d.image(s, resolution))
	return b.Bytes(), err
}

// svg returns the drawing as an SVG file.
func (d *drawing) svg(s style) ([]byte, error) {
	canvas := vgsvg.New(d.width, d.height)
	d.paint(newPen(s, canvas, d.width, d.height))
	var b bytes.Buffer
	if _, err := canvas.WriteTo(&b); err != nil {
		return nil, err
	}
	// Fonts are named, not embedded: where Liberation Sans is missing, Arial and
	// Helvetica have the same widths, so labels stay where they were placed. The
	// canvas calls its embedded PNG a JPEG.
	text := strings.NewReplacer(
		"font-family:Liberation Sans;", "font-family:Liberation Sans,Arial,Helvetica,sans-serif;",
		"data:image/jpg;", "data:image/png;",
	).Replace(b.String())
	return []byte(text), nil
}

// style is what all figures of one call share: fonts, colours, units.
type style struct {
	fonts       *font.Cache
	ramp        ramp
	temperature [2]unit // first and second unit
	length      [2]unit
}

func newStyle(units string) style {
	s := style{fonts: font.NewCache(liberation.Collection()), ramp: newRamp()}
	s.temperature = [2]unit{celsius, fahrenheit}
	s.length = [2]unit{metre, foot}
	if units == "us" {
		s.temperature = [2]unit{fahrenheit, celsius}
		s.length = [2]unit{foot, metre}
	}
	return s
}

// unit is a linear scale on the SI-side value v: factor·v + offset.
type unit struct {
	name           string
	factor, offset float64
}

// The units of the figures. Temperatures reach this package in °C.
var (
	celsius    = unit{"°C", 1, 0}
	fahrenheit = unit{"°F", 1.8, 32}
	metre      = unit{"m", 1, 0}
	foot       = unit{"ft", 1 / cases.Foot, 0}
	plain      = unit{"", 1, 0}
)

func (u unit) of(v float64) float64   { return u.factor*v + u.offset }
func (u unit) back(v float64) float64 { return (v - u.offset) / u.factor }

// length2 writes a length [m] in both units, as "45 ft (13.7 m)".
func (s style) length2(v float64) string {
	return fmt.Sprintf("%s %s (%s %s)", short(s.length[0].of(v)), s.length[0].name, short(s.length[1].of(v)), s.length[1].name)
}

// temperature2 writes a temperature [°C] in both units, as "95 °C (203 °F)".
func (s style) temperature2(v float64) string {
	return fmt.Sprintf("%s %s (%s %s)", short(s.temperature[0].of(v)), s.temperature[0].name, short(s.temperature[1].of(v)), s.temperature[1].name)
}

// short writes v with at most three significant digits, and whole numbers whole.
func short(v float64) string {
	digits := 0
	if a := math.Abs(v); a < 9.995 {
		digits = 2
	} else if a < 99.95 {
		digits = 1
	}
	text := fmt.Sprintf("%.*f", digits, v)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}

// newPen returns a pen for a whole page.
func newPen(s style, canvas vg.Canvas, w, h vg.Length) *pen {
	return &pen{
		Canvas: draw.Canvas{Canvas: canvas, Rectangle: vg.Rectangle{Max: vg.Point{X: w, Y: h}}},
		fonts:  s.fonts,
	}
}
