package hand

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"soiljoule/cases"
)

// Calculation is one closed form that `hand` offers.
type Calculation struct {
	Name, Title string
	inputs      []input
	formula     []string
	source      string
	assumes     []string
	fails       []string // when it does not hold
	// check finds what inputs that are each in range do wrong together. Those refused
	// before are NaN: no comparison with them may be a fault.
	check func(v *cases.Values) []cases.Fault
	work  func(v *cases.Values) results
	// fill takes the inputs that a case has, or says why it has none.
	fill func(c *cases.Case) (have filled, why string)
}

// input is a declared input and how it is printed.
type input struct {
	cases.Input
	as measure
}

// filled are the inputs taken from a case, by name: SI numbers or words.
type filled map[string]any

// result is one number worked out.
type result struct {
	name  string
	value float64 // SI
	as    measure
}

// results are what a calculation gives.
type results struct {
	values  []result
	columns []column
	rows    []row
	notes   []string // what the numbers themselves call for
	volts   float64  // [V] the highest printed; 0: none
}

// column is the head of a column of the table.
type column struct {
	name string
	as   measure
}

// row is a row of the table: a label and SI numbers; NaN prints as "-".
type row struct {
	label  string
	values []float64
}

// Calculations returns the closed forms in the order of the list.
func Calculations() []*Calculation {
	return []*Calculation{
		ringCalculation(), gridCalculation(), rowsCalculation(), rodCalculation(), resistivityCalculation(),
		lossCalculation(), heatUpCalculation(), coolDownCalculation(), heatedAreaCalculation(), coverCalculation(),
		energyCalculation(), groundwaterCalculation(), boilingCalculation(),
	}
}

// Answer is a calculation with its inputs and results; --json prints it as it is.
type Answer struct {
	Name     string   `json:"name"`
	Title    string   `json:"title"`
	Inputs   []Input  `json:"inputs"`
	Results  []Value  `json:"results"`
	Table    *Table   `json:"table,omitempty"`
	Notes    []string `json:"notes"`
	Formula  []string `json:"formula"`
	Source   string   `json:"source"`
	Assumes  []string `json:"assumes"`
	Fails    []string `json:"does_not_hold"`
	Cautions []string `json:"cautions"`
	Repeat   string   `json:"repeat"` // the arguments that give it again
}

// Value is one number in both systems.
type Value struct {
	Name   string   `json:"name"`
	SI     *float64 `json:"value"` // null: there is none
	Unit   string   `json:"unit"`
	US     *float64 `json:"value_us"`
	UnitUS string   `json:"unit_us"`
}

// Input is an input as understood.
type Input struct {
	Value
	Word string `json:"word,omitempty"`
	From string `json:"from"` // given, case or default
}

// Table is a table of numbers in both systems.
type Table struct {
	Columns []Column   `json:"columns"`
	Rows    []TableRow `json:"rows"`
}

// Column is the head of a column.
type Column struct {
	Name   string `json:"name"`
	Unit   string `json:"unit"`
	UnitUS string `json:"unit_us"`
}

// TableRow is a row; null: there is no number.
type TableRow struct {
	Label    string     `json:"label"`
	Values   []*float64 `json:"values"`
	ValuesUS []*float64 `json:"values_us"`
}

// workOut works a calculation out from what a case gives, arguments that go before
// it, and defaults.
func (k *Calculation) workOut(from filled, args []string) (*Answer, cases.Faults) {
	declared := make([]cases.Input, len(k.inputs))
	for i := range k.inputs {
		declared[i] = k.inputs[i].Input
	}
	given := map[string]bool{}
	for _, a := range args {
		name, _, _ := strings.Cut(a, "=")
		given[strings.TrimSpace(name)] = true
	}
	all := append([]string(nil), args...)
	for _, in := range declared {
		if v, ok := from[in.Name]; ok && !given[in.Name] {
			all = append(all, in.Name+"="+text(in, v))
		}
	}
	v, faults := cases.ReadInputs("hand "+k.Name, declared, all)
	if k.check != nil {
		faults = append(faults, k.check(v)...)
	}
	if len(faults) > 0 {
		return nil, faults
	}
	r := k.work(v)
	a := &Answer{Name: k.Name, Title: k.Title, Notes: append([]string{}, r.notes...), Formula: k.formula, Source: k.source, Assumes: k.assumes, Fails: k.fails,
		Cautions: cautions(r.volts), Repeat: k.Name}
	for i := range k.inputs {
		in := &k.inputs[i]
		x := Input{Value: in.as.value(in.Name, v.Number(in.Name)), Word: v.Word(in.Name), From: "default"}
		if in.Word != "" && math.IsInf(v.Number(in.Name), 1) {
			x.Word = in.Word
		}
		switch {
		case given[in.Name]:
			x.From = "given"
		case v.Given(in.Name):
			x.From = "case"
		}
		if x.Word != "" {
			x.Value = Value{Name: in.Name}
		}
		if v.Given(in.Name) {
			a.Repeat += " " + quoted(in.Name+"="+v.Text(in.Name))
		}
		a.Inputs = append(a.Inputs, x)
	}
	a.Results = []Value{}
	for _, x := range r.values {
		a.Results = append(a.Results, x.as.value(x.name, x.value))
	}
	if len(r.rows) > 0 {
		a.Table = r.table()
	}
	return a, nil
}

// table is the results' table in both systems.
func (r *results) table() *Table {
	t := &Table{}
	for _, c := range r.columns {
		t.Columns = append(t.Columns, Column{c.name, c.as.si, c.as.us})
	}
	for _, line := range r.rows {
		x := TableRow{Label: line.label}
		for i, v := range line.values {
			si, us := r.columns[i].as.in(v)
			x.Values, x.ValuesUS = append(x.Values, si), append(x.ValuesUS, us)
		}
		t.Rows = append(t.Rows, x)
	}
	return t
}

// text writes what a case gives, a word, a whole number or a number [SI], as the
// value of an argument, with seven digits.
func text(in cases.Input, v any) string {
	switch x := v.(type) {
	case string:
		return x
	case int:
		return strconv.Itoa(x)
	}
	x := v.(float64)
	switch {
	case in.Word != "" && math.IsInf(x, 1):
		return in.Word
	case in.Of == cases.OfTemperature:
		return strconv.FormatFloat(x-zeroC, 'g', 7, 64) + " degC"
	}
	if seven, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 7, 64), 64); err == nil {
		x = seven
	}
	return in.Of.Text(x)
}

// quoted is an argument as a shell takes it.
func quoted(s string) string {
	if strings.ContainsAny(s, " *'()&;<>|$") {
		return `"` + s + `"`
	}
	return s
}

// cautions are what every answer carries.
func cautions(highest float64) []string {
	out := []string{"Estimates by closed forms, for design review. They clear nothing: local codes and licensed practice decide."}
	if highest > 0 {
		out = append(out, fmt.Sprintf("Electrodes at %.4g V RMS phase to neutral: lethal. Live parts at 50 V or more must be guarded (29 CFR 1910.303(g)(2)(i)); step, touch and stray voltages are not computed, and a qualified person measures them on site.", highest))
	}
	return out
}
