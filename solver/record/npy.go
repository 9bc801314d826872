package record

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/sbinet/npyio"
	"gonum.org/v1/gonum/mat"

	"soiljoule/solver"
)

// fieldEntry is one line of fields/index.json.
type fieldEntry struct {
	File     string   `json:"file"`
	Quantity string   `json:"quantity"`
	Unit     string   `json:"unit"`
	TimeD    *float64 `json:"time_d"` // null: does not belong to one time
	Shape    [2]int   `json:"shape"`  // down (along y in a plan), across
}

// meshFiles writes the grid's edges, each cell's layer (from 0; a plan's one slab)
// and zone (0 outside, n in the n-th target, the first that holds half the cell or
// more).
func (f *Folder) meshFiles() error {
	g := f.problem.Ground.Grid
	if err := f.npy("mesh/x_edges.npy", g.X); err != nil {
		return err
	}
	second := "mesh/z_edges.npy"
	if g.Level {
		second = "mesh/y_edges.npy"
	}
	if err := f.npy(second, g.Z); err != nil {
		return err
	}
	v := f.buffer
	put := func(path string, value func(i, k int) float64) error {
		for k := range g.NZ {
			for i := range g.NX {
				v[g.Index(i, k)] = value(i, k)
			}
		}
		return f.npy(path, mat.NewDense(g.NZ, g.NX, v))
	}
	if err := put("mesh/layer.npy", func(_, k int) float64 { return float64(f.problem.Ground.Layer[k]) }); err != nil {
		return err
	}
	if err := put("mesh/zone.npy", func(i, k int) float64 {
		for n := range f.problem.Targets {
			if f.problem.Targets[n].Zone.Contains(i, k) {
				return float64(n + 1)
			}
		}
		return 0
	}); err != nil {
		return err
	}
	for c := range v {
		v[c] = f.problem.Ground.BoilingPoint(c) - celsius
		if math.IsInf(v[c], 1) {
			v[c] = math.NaN()
		}
	}
	return f.field("boiling_point", "degC", nil, v)
}

// fields writes the fields of one time.
func (f *Folder) fields(r *solver.Report) error {
	s := r.State
	f.last = s.Time
	if f.surface != nil {
		if err := f.add(surfaceFile, f.surface.rows(s, f.plan.PowerOn, f.written[surfaceFile] == 0)); err != nil {
			return err
		}
	}
	v := f.buffer
	put := func(quantity, unit string, value func(c int) float64) error {
		for c := range v {
			v[c] = value(c)
		}
		t := s.Time / day
		return f.field(quantity, unit, &t, v)
	}
	if err := put("temperature", "degC", func(c int) float64 { return s.T[c] - celsius }); err != nil {
		return err
	}
	t := s.Time / day
	f.problem.Ground.SaturationTo(v, s.W)
	if err := f.field("saturation", "-", &t, v); err != nil {
		return err
	}
	// at is a field of the potential, 0 where there is none.
	at := func(field []float64, c int) float64 {
		if field == nil {
			return 0
		}
		return field[c]
	}
	if err := put("potential_re", "V", func(c int) float64 { return at(s.Re, c) * s.Voltage }); err != nil {
		return err
	}
	if err := put("potential_im", "V", func(c int) float64 { return at(s.Im, c) * s.Voltage }); err != nil {
		return err
	}
	volume := f.problem.Ground.Grid.Volume
	return put("power_density", "W/m3", func(c int) float64 {
		q := at(s.Joule, c) * s.Voltage * s.Voltage
		if r.Imposed != nil {
			q += r.Imposed[c]
		}
		return q / volume[c]
	})
}

// crossingName is the quantity of crossings, of the first target.
const crossingName = "days_to_target"

// crossings writes the day on which each cell first reached each target's
// temperature: days_to_target.npy for the first, days_to_target_2.npy … for more.
func (f *Folder) crossings(r *solver.Report) error {
	for n, t := range r.Targets {
		name := crossingName
		if n > 0 {
			name += "_" + strconv.Itoa(n+1)
		}
		d := make([]float64, len(t.Crossing))
		for c, s := range t.Crossing {
			d[c] = s / day
		}
		if err := f.field(name, "d", nil, d); err != nil {
			return err
		}
	}
	return nil
}

func (f *Folder) field(quantity, unit string, timeD *float64, v []float64) error {
	g := f.problem.Ground.Grid
	file := quantity + ".npy"
	if timeD != nil {
		file = quantity + "_" + dayName(*timeD) + ".npy"
	}
	f.index = append(f.index, fieldEntry{file, quantity, unit, timeD, [2]int{g.NZ, g.NX}})
	return f.npy("fields/"+file, mat.NewDense(g.NZ, g.NX, v))
}

// dayName returns a day for a file's name: 0030d, 0000.5d.
func dayName(d float64) string {
	s := strconv.FormatFloat(math.Round(d*1e6)/1e6, 'f', -1, 64)
	whole, rest, _ := strings.Cut(s, ".")
	if rest != "" {
		rest = "." + rest
	}
	return strings.Repeat("0", max(0, 4-len(whole))) + whole + rest + "d"
}

func (f *Folder) npy(name string, v any) (err error) {
	file, err := os.Create(filepath.Join(f.stage.results(), name))
	if err != nil {
		return err
	}
	w := bufio.NewWriter(file)
	if err := npyio.Write(w, v); err != nil {
		file.Close()
		return fmt.Errorf("%s: %w", name, err)
	}
	if err := w.Flush(); err != nil {
		file.Close()
		return err
	}
	if f.written[name], err = file.Seek(0, io.SeekCurrent); err != nil {
		file.Close()
		return err
	}
	return file.Close()
}
