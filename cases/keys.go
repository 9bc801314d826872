package cases

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// WriteKeys lists the keys of a section: unit, default, range and meaning. The
// section "" lists all, "top" those at the top of the file, and "units" the
// units with their factors.
func WriteKeys(w io.Writer, section string) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	switch {
	case section == "units":
		writeUnits(t)
	case section == "":
		for i := range sections {
			if i > 0 {
				fmt.Fprintln(t)
			}
			writeSection(t, &sections[i])
		}
	case section == "top" || findSection(section) != nil:
		writeSection(t, findSection(strings.TrimPrefix(section, "top")))
	default:
		names := []string{"top"}
		for _, s := range sections[1:] {
			names = append(names, s.name)
		}
		names = append(names, "units")
		return fmt.Errorf("section %s: unknown;%s sections are %s", oneLine(section), nearestOf(section, names), strings.Join(names, ", "))
	}
	return t.Flush()
}

// writeSection lists one section.
func writeSection(w io.Writer, s *section) {
	fmt.Fprintf(w, "%s: %s\n", s.where(), s.meaning)
	fmt.Fprintln(w, "key\tunit\tdefault\trange\tmeaning")
	for _, k := range keysOf(s.name, "") {
		fmt.Fprintln(w, strings.Join(k.columns(), "\t"))
	}
}

// writeUnits lists the units of each dimension with their factors to SI.
func writeUnits(w io.Writer) {
	fmt.Fprintln(w, "quantity\tunit\tin SI")
	for _, d := range dimensions {
		for i, u := range d.units {
			name := ""
			if i == 0 {
				name = d.name
			}
			si := fmt.Sprintf("%s %s", factorText(u.factor), d.units[0].name)
			if u.shift != 0 {
				si = fmt.Sprintf("(t + %s) × %s %s", digits(u.shift), factorText(u.factor), d.units[0].name)
			}
			fmt.Fprintf(w, "%s\t%s\t%s\n", name, u.name, si)
		}
	}
	fmt.Fprintln(w)
	fmt.Fprintln(w, `Also read: "7 ft 6 in"; °C °F C F; ohm-m Ω·m; m² and ft³; W/(m·K); hr for h. A share is a bare number or "90 %".`)
	fmt.Fprintln(w, "The BTU is that of the International Table, the gallon US liquid, the year 365.25 d; inHg and inH2O are conventional.")
}

// factorText prints a factor to ten significant digits.
func factorText(x float64) string { return fmt.Sprintf("%.10g", x) }

// WriteKeysMarkdown writes the table of all keys for README.
func WriteKeysMarkdown(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "| section | key | unit | default | range | meaning |")
	fmt.Fprintln(b, "|---|---|---|---|---|---|")
	for i := range sections {
		s := &sections[i]
		for j, k := range keysOf(s.name, "") {
			head := ""
			if j == 0 {
				head = "`" + s.header() + "`"
				if s.name == "" {
					head = "top"
				}
			}
			columns := k.columns()
			columns[0] = "`" + columns[0] + "`"
			for n := range columns {
				columns[n] = strings.ReplaceAll(columns[n], "|", `\|`)
			}
			fmt.Fprintf(b, "| %s | %s |\n", head, strings.Join(columns, " | "))
		}
	}
	return b.Flush()
}

// columns returns the key's row in a listing: key, unit, default, range,
// meaning.
func (k *key) columns() []string {
	unit, allowed := k.kind.column(k)
	def := k.def
	switch {
	case k.required:
		def = "required"
	case def == "":
		def = "(" + k.left + ")"
	case k.planDef != "":
		def += "; plan " + k.planDef
	}
	meaning := k.meaning
	if k.only != "" {
		meaning += " (" + string(k.only) + " only)"
	}
	if k.notIn != "" {
		meaning += " (not in the " + string(k.notIn) + " view)"
	}
	return []string{k.name(), unit, def, allowed, meaning}
}
