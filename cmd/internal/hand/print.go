package hand

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"
)

// number prints four significant digits, without an exponent where that is short.
func number(v *float64) string {
	if v == nil {
		return "-"
	}
	x := *v
	switch a := math.Abs(x); {
	case x == 0:
		return "0"
	case a >= 9999.5 && a < 1e9:
		return strconv.FormatFloat(x, 'f', 0, 64)
	case a < 1e-4 || a >= 1e9:
		return strconv.FormatFloat(x, 'e', 3, 64)
	}
	s, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 4, 64), 64)
	return strconv.FormatFloat(s, 'f', -1, 64)
}

// inBoth prints a value in both systems: two columns, the second empty where the
// unit is the same.
func (v *Value) inBoth() string {
	unit := func(u string) string {
		if u == "-" || u == "" {
			return ""
		}
		return " " + u
	}
	one := number(v.SI) + unit(v.Unit)
	if v.Unit == v.UnitUS {
		return one + "\t"
	}
	return one + "\t" + number(v.US) + unit(v.UnitUS)
}

// Print writes an answer in full.
func (a *Answer) Print(w io.Writer) {
	fmt.Fprintf(w, "%s: %s\n\ninputs\n", a.Name, a.Title)
	t := newLines(w, 0)
	for i := range a.Inputs {
		in := &a.Inputs[i]
		value := in.inBoth()
		switch {
		case in.Word != "":
			value = in.Word + "\t"
		case in.SI == nil:
			continue // left out, and nothing stands in for it
		}
		from := ""
		switch in.From {
		case "default":
			from = "default"
		case "case":
			from = "from the case"
		}
		fmt.Fprintf(t, "  %s\t%s\t%s\n", in.Name, value, from)
	}
	t.end()
	fmt.Fprintln(w)
	a.printResults(w)
	fmt.Fprintln(w, "formula")
	for _, l := range a.Formula {
		fmt.Fprintln(w, "  "+l)
	}
	fmt.Fprintln(w, "source  "+a.Source)
	for _, s := range a.Assumes {
		fmt.Fprintln(w, "assumes  "+s)
	}
	for _, s := range a.Fails {
		fmt.Fprintln(w, "does not hold  "+s)
	}
	printCautions(w, a.Cautions)
}

// printResults writes the numbers, the table and what they call for.
func (a *Answer) printResults(w io.Writer) {
	fmt.Fprintln(w, "results")
	t := newLines(w, 0)
	for i := range a.Results {
		fmt.Fprintf(t, "  %s\t%s\n", a.Results[i].Name, a.Results[i].inBoth())
	}
	t.end()
	if a.Table != nil {
		a.Table.print(w)
	}
	for _, n := range a.Notes {
		fmt.Fprintln(w, "  note: "+n)
	}
	fmt.Fprintln(w)
}

func (b *Table) print(w io.Writer) {
	t := newLines(w, tabwriter.AlignRight)
	names, units := "\t", "\t"
	for _, c := range b.Columns {
		names += c.Name + "\t"
		units += strings.TrimPrefix(c.Unit, "-") + "\t"
		if c.Unit != c.UnitUS {
			names += "\t"
			units += c.UnitUS + "\t"
		}
	}
	fmt.Fprintf(t, "%s\n%s\n", names, units)
	for _, r := range b.Rows {
		line := r.Label + "\t"
		for i, c := range b.Columns {
			line += number(r.Values[i]) + "\t"
			if c.Unit != c.UnitUS {
				line += number(r.ValuesUS[i]) + "\t"
			}
		}
		fmt.Fprintln(t, line)
	}
	t.end()
}

// lines is a table on its way to w: aligned columns, no blanks at a line's end.
type lines struct {
	*tabwriter.Writer
	text bytes.Buffer
	to   io.Writer
}

func newLines(w io.Writer, flags uint) *lines {
	l := &lines{to: w}
	l.Writer = tabwriter.NewWriter(&l.text, 0, 0, 2, ' ', flags)
	return l
}

// end writes the table out.
func (l *lines) end() {
	_ = l.Flush() // to memory: it takes everything
	for line := range strings.Lines(l.text.String()) {
		fmt.Fprintln(l.to, strings.TrimRight(line, " \n"))
	}
}

// List lists the calculations.
func List(w io.Writer) {
	fmt.Fprint(w, `soiljoule hand NAME key=value …  one of these, each value with its unit: hand grid "spacing=14 ft" "resistivity=25 ohm*m"
soiljoule hand NAME --help       its inputs, with units, ranges and defaults
soiljoule hand --case FILE       all that a case's numbers allow; with NAME that one, where arguments go before the case

`)
	t := newLines(w, 0)
	for _, k := range Calculations() {
		fmt.Fprintf(t, "  %s\t%s\n", k.Name, k.Title)
	}
	t.end()
	fmt.Fprintln(w)
	printCautions(w, cautions(0))
}

// Describe lists a calculation's inputs.
func (k *Calculation) Describe(w io.Writer) {
	fmt.Fprintf(w, "%s: %s\n\n", k.Name, k.Title)
	t := newLines(w, 0)
	fmt.Fprintln(t, "input\tunit\tdefault\trange\tmeaning")
	for i := range k.inputs {
		fmt.Fprintln(t, strings.Join(k.inputs[i].Columns(), "\t"))
	}
	t.end()
	fmt.Fprintln(w, "\nformula")
	for _, l := range k.formula {
		fmt.Fprintln(w, "  "+l)
	}
	fmt.Fprintln(w, "source  "+k.source)
	fmt.Fprintln(w, "units   soiljoule keys units")
}

// printCautions writes the cautions, last of all.
func printCautions(w io.Writer, cautions []string) {
	fmt.Fprintln(w, "cautions")
	for _, c := range cautions {
		fmt.Fprintln(w, "  -", c)
	}
}
