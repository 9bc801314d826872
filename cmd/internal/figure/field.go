package figure

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"

	"github.com/sbinet/npyio/npy"

	"soiljoule/cases"
	"soiljoule/mesh"
)

// grid is the mesh of a results folder. x is r in an axisymmetric view; z is
// depth, in a plan y.
type grid struct {
	x, z   []float64 // [m] edges, ascending
	xc, zc []float64 // [m] centres
}

// field is one saved quantity, [k*nx + i].
type field struct {
	time float64 // [d]
	v    []float64
}

// entry is one element of fields/index.json.
type entry struct {
	File     string   `json:"file"`
	Quantity string   `json:"quantity"`
	Unit     string   `json:"unit"`
	Days     *float64 `json:"time_d"` // null: of no one time
	Shape    []int    `json:"shape"`
}

// readNpy reads an array of float64 from the folder, C order.
func (f *folder) readNpy(name string) (v []float64, shape []int, err error) {
	file, err := os.Open(filepath.Join(f.dir, filepath.FromSlash(name)))
	if err != nil {
		return nil, nil, fileError(name, err)
	}
	defer file.Close()
	// The reader slices its header by positions it did not find; a cut file
	// must be an error here, not a stack trace.
	defer func() {
		if r := recover(); r != nil {
			v, shape, err = nil, nil, fmt.Errorf("%s: broken .npy header", name)
		}
	}()
	info, err := file.Stat()
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	r, err := npy.NewReader(file)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	n := 1
	for _, s := range r.Header.Descr.Shape {
		if s <= 0 || s > 1<<31 {
			return nil, nil, fmt.Errorf("%s: shape %v: every extent must be > 0", name, r.Header.Descr.Shape)
		}
		n *= s
	}
	switch {
	case r.Header.Descr.Type != "<f8":
		return nil, nil, fmt.Errorf("%s: type %s: must be <f8", name, r.Header.Descr.Type)
	case r.Header.Descr.Fortran:
		return nil, nil, fmt.Errorf("%s: must be in C order", name)
	}
	// The reader fills what a cut file lacks with zeros, so count the bytes first.
	at, err := file.Seek(0, io.SeekCurrent)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	if got := info.Size() - at; got != int64(n)*8 {
		return nil, nil, fmt.Errorf("%s: cut off: %d bytes of data, want %d for shape %v", name, got, int64(n)*8, r.Header.Descr.Shape)
	}
	if err := r.Read(&v); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	return v, r.Header.Descr.Shape, nil
}

// readGrid reads the mesh.
func (f *folder) readGrid() (*grid, error) {
	g := new(grid)
	second := "mesh/z_edges.npy"
	if f.c.View == cases.Plan {
		second = "mesh/y_edges.npy"
	}
	for _, e := range []struct {
		name string
		dst  *[]float64
	}{{"mesh/x_edges.npy", &g.x}, {second, &g.z}} {
		v, shape, err := f.readNpy(e.name)
		if err != nil {
			return nil, err
		}
		if len(shape) != 1 || len(v) < 2 {
			return nil, fmt.Errorf("%s: shape %v: must be one row of at least two edges", e.name, shape)
		}
		for i := 1; i < len(v); i++ {
			if !(v[i] > v[i-1]) || math.IsInf(v[i], 0) {
				return nil, fmt.Errorf("%s: edge %d = %g m: must be finite and > %g m", e.name, i+1, v[i], v[i-1])
			}
		}
		*e.dst = v
	}
	g.xc, g.zc = centres(g.x), centres(g.z)
	return g, nil
}

func centres(edges []float64) []float64 {
	c := make([]float64, len(edges)-1)
	for i := range c {
		c[i] = (edges[i] + edges[i+1]) / 2
	}
	return c
}

// plane reads what a figure in the plane of the view starts from: the mesh, the
// saved temperatures and the part of the ground worth showing.
func (f *folder) plane() (*grid, []entry, box, error) {
	g, err := f.readGrid()
	if err != nil {
		return nil, nil, box{}, err
	}
	saved, err := f.temperatures()
	if err != nil {
		return nil, nil, box{}, err
	}
	w, err := f.window(g)
	return g, saved, w, err
}

// temperatures lists the saved temperature fields in order of time.
func (f *folder) temperatures() ([]entry, error) { return f.saved("temperature", "degC") }

// saved lists the saved fields of a quantity in order of time.
func (f *folder) saved(quantity, unit string) ([]entry, error) {
	var all []entry
	if err := f.readJSON("fields/index.json", &all); err != nil {
		return nil, err
	}
	var kept []entry
	for _, e := range all {
		if e.Quantity == quantity {
			if e.Unit != unit {
				return nil, fmt.Errorf("fields/index.json: %s in %s: must be %s", e.File, e.Unit, unit)
			}
			if e.Days == nil {
				return nil, fmt.Errorf("fields/index.json: %s: no time_d", e.File)
			}
			kept = append(kept, e)
		}
	}
	sort.SliceStable(kept, func(i, j int) bool { return *kept[i].Days < *kept[j].Days })
	if len(kept) == 0 {
		return nil, fmt.Errorf("no %s field was saved: %w", strings.ReplaceAll(quantity, "_", " "), errNothing)
	}
	return kept, nil
}

// readField reads one field and holds it to the mesh.
func (f *folder) readField(name string, g *grid) ([]float64, error) {
	v, shape, err := f.readNpy("fields/" + name)
	if err != nil {
		return nil, err
	}
	if want := []int{len(g.zc), len(g.xc)}; !slices.Equal(shape, want) {
		return nil, fmt.Errorf("fields/%s: shape %v: the mesh has %v", name, shape, want)
	}
	return v, nil
}

// readFields reads the entries given.
func (f *folder) readFields(list []entry, g *grid) ([]field, error) {
	var fields []field
	for _, e := range list {
		v, err := f.readField(e.File, g)
		if err != nil {
			return nil, err
		}
		fields = append(fields, field{*e.Days, v})
	}
	return fields, nil
}

// boiling reads the boiling point [°C] of each cell; nil if the run saved none.
func (f *folder) boiling(g *grid) ([]float64, error) {
	v, err := f.readField("boiling_point.npy", g)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	return v, err
}

// spacedEntries picks at most n entries, at near even steps of time from the day
// first to the last of the list: the first of them after one step if after is
// set, else at first itself. The last entry is always among them.
func spacedEntries(list []entry, n int, first float64, after bool) []entry {
	if len(list) <= n {
		return list
	}
	last := *list[len(list)-1].Days
	steps := n - 1
	if after {
		steps = n
	}
	var picked []entry
	next := 0 // the first that is not before one already picked
	for j := range n {
		want := last - (last-first)*float64(n-1-j)/float64(max(1, steps))
		// Leave enough for those that follow.
		end := len(list) - (n - 1 - j)
		best := next
		for i := next; i < end; i++ {
			if math.Abs(*list[i].Days-want) < math.Abs(*list[best].Days-want) {
				best = i
			}
		}
		picked = append(picked, list[best])
		next = best + 1
	}
	return picked
}

// column samples a field at x [m] for every row, linearly between centres.
func (g *grid) column(v []float64, x float64) []float64 {
	i, w := bracket(g.xc, x)
	out := make([]float64, len(g.zc))
	for k := range out {
		row := v[k*len(g.xc) : (k+1)*len(g.xc)]
		out[k] = row[i]
		if w > 0 {
			out[k] = (1-w)*row[i] + w*row[i+1]
		}
	}
	return out
}

// bracket returns the index i and weight w with which x lies between c[i] and
// c[i+1]; beyond the ends, the end with no weight.
func bracket(c []float64, x float64) (i int, w float64) {
	n := len(c)
	if n == 1 || x <= c[0] {
		return 0, 0
	}
	if x >= c[n-1] {
		return n - 1, 0
	}
	i = sort.SearchFloat64s(c, x) - 1
	return i, (x - c[i]) / (c[i+1] - c[i])
}

// box is a rectangle of ground [m]. top and bottom are depths, in a plan the least and
// the largest y.
type box struct{ left, right, top, bottom float64 }

// targetBox returns target t's box in the plane of the view.
func (f *folder) targetBox(t cases.Target, g *grid) box {
	b := box{t.Left, t.Right, t.Top, t.Bottom}
	if f.c.View == cases.Plan {
		b.top, b.bottom = t.Front, t.Back
	}
	if f.c.View == cases.Axisymmetric {
		b.left, b.right = 0, t.Radius
		if math.IsNaN(t.Radius) {
			b.right = g.x[len(g.x)-1]
		}
	}
	return b
}

// electrodeBox returns electrode e's box in the plane of the view.
func (f *folder) electrodeBox(e cases.Electrode) box {
	half := e.Radius
	if e.Width > 0 {
		half = e.Width / 2
	}
	if f.c.View == cases.Axisymmetric {
		return box{0, e.Radius, e.Top, e.Bottom}
	}
	if f.c.View == cases.Plan {
		return box{e.X - half, e.X + half, e.Y - half, e.Y + half}
	}
	return box{e.X - half, e.X + half, e.Top, e.Bottom}
}

// window is the part of the ground worth showing: targets and electrodes with a
// margin, up to the surface unless the target is deep, within the mesh. A plan has one
// margin on all sides.
func (f *folder) window(g *grid) (box, error) {
	if len(f.c.Targets) == 0 {
		return box{}, fmt.Errorf("the case has no target: %w", errNothing)
	}
	w := f.targetBox(f.c.Targets[0], g)
	grow := func(b box) {
		w.left, w.right = min(w.left, b.left), max(w.right, b.right)
		w.top, w.bottom = min(w.top, b.top), max(w.bottom, b.bottom)
	}
	for _, t := range f.c.Targets[1:] {
		grow(f.targetBox(t, g))
	}
	for _, e := range f.c.Electrodes {
		grow(f.electrodeBox(e))
	}
	for _, h := range f.c.Heats {
		grow(f.heatBox(h))
	}
	down := max(1.5, 0.6*(w.bottom-w.top))
	across := max(1.5, 0.12*(w.right-w.left))
	if f.c.View == cases.Plan {
		across = max(1.5, 0.12*max(w.right-w.left, w.bottom-w.top))
		down = across
	}
	w.top -= down
	w.bottom += down
	// With a third of the picture or less above it, the surface is worth showing.
	if w.top < 0.35*w.bottom && f.c.View != cases.Plan {
		w.top = 0
	}
	if f.c.View != cases.Axisymmetric {
		w.left -= across
		w.right += across
	} else {
		// Far beyond all that heats, the rest of the cell would take the page.
		w.right *= 1.6
	}
	w = f.offTheFrame(w, across, down)
	w.left, w.right = max(w.left, g.x[0]), min(w.right, g.x[len(g.x)-1])
	w.top, w.bottom = max(w.top, g.z[0]), min(w.bottom, g.z[len(g.z)-1])
	if !(w.left < w.right && w.top < w.bottom) {
		return box{}, errors.New("the target lies outside the mesh")
	}
	return w, nil
}

// offTheFrame moves the sides of a window outwards past the edges of buried metal and, in
// a plan, past sensors that lie near them: on the frame they would not be seen for what
// they are.
func (f *folder) offTheFrame(w box, across, down float64) box {
	var list []box
	for _, m := range f.c.Conductors {
		if b := f.metalBox(m); b.left < w.right+across && b.right > w.left-across && b.top < w.bottom+down && b.bottom > w.top-down {
			list = append(list, b)
		}
	}
	if f.c.View == cases.Plan {
		for _, s := range f.c.Sensors {
			list = append(list, box{s.X, s.X, s.Y, s.Y})
		}
	}
	near := w
	for _, b := range list {
		dx, dy := 0.3*across, 0.3*down
		if near.left-across < b.left && b.left < near.left+dx {
			w.left = min(w.left, b.left-dx)
		}
		if near.right-dx < b.right && b.right < near.right+across {
			w.right = max(w.right, b.right+dx)
		}
		if near.top-down < b.top && b.top < near.top+dy {
			w.top = min(w.top, b.top-dy)
		}
		if near.bottom-dy < b.bottom && b.bottom < near.bottom+down {
			w.bottom = max(w.bottom, b.bottom+dy)
		}
	}
	return w
}

// weights returns how much volume cell (i, k) shares with target t: [m²] per metre of
// section or of a slab's thickness; in an axisymmetric view [m³/π].
func (f *folder) weights(t cases.Target, g *grid) func(i, k int) float64 {
	if f.c.View == cases.Plan {
		slab := mesh.NewPlan(g.x, g.z, 1)
		zone := t.Zone(slab)
		return func(i, k int) float64 { return zone.Weight(i, k) * slab.Volume[slab.Index(i, k)] }
	}
	b := f.targetBox(t, g)
	return func(i, k int) float64 { return g.overlap(i, k, b, f.c.View == cases.Axisymmetric) }
}

// overlap returns how much volume cell (i, k) shares with b: [m²] per metre of
// section; in an axisymmetric view [m³/π].
func (g *grid) overlap(i, k int, b box, round bool) float64 {
	x0, x1 := max(g.x[i], b.left), min(g.x[i+1], b.right)
	z0, z1 := max(g.z[k], b.top), min(g.z[k+1], b.bottom)
	if x0 >= x1 || z0 >= z1 {
		return 0
	}
	if round {
		return (x1*x1 - x0*x0) * (z1 - z0)
	}
	return (x1 - x0) * (z1 - z0)
}

// layerBand is a layer as far as it lies in a window.
type layerBand struct {
	name        string
	top, bottom float64 // [m]
	odd         bool    // for alternate shading
}

// layerBands returns the layers that reach into depths [top, bottom].
func (f *folder) layerBands(top, bottom float64) []layerBand {
	var bands []layerBand
	above := 0.0
	for i, l := range f.c.Layers {
		z0, z1 := max(above, top), min(l.Bottom, bottom)
		if z0 < z1 {
			bands = append(bands, layerBand{printable(l.Name), z0, z1, i%2 == 1})
		}
		above = l.Bottom
	}
	return bands
}
