package hand

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"soiljoule/cases"
)

// TestEveryNumberInRangeGivesNumbers: whatever inputs in their ranges, a calculation gives
// finite numbers or says which inputs do not go together; a missing number has a note.
// Source: the rule that nothing a user can type may panic or print nonsense.
func TestEveryNumberInRangeGivesNumbers(t *testing.T) {
	const draws = 80
	rng := rand.New(rand.NewPCG(1, 2))
	for _, k := range Calculations() {
		answers := 0
		for range draws {
			var args []string
			for i := range k.inputs {
				if text, ok := draw(rng, &k.inputs[i].Input); ok {
					args = append(args, k.inputs[i].Name+"="+text)
				}
			}
			where := "hand " + k.Name + " " + strings.Join(args, " ")
			a, err := k.WorkOut(nil, args)
			if err != nil {
				for line := range strings.Lines(err.Error()) {
					if !strings.HasPrefix(line, "hand "+k.Name+": ") || strings.Contains(line, "NaN") {
						t.Fatalf("%s: fault %q, want hand NAME: input = value: what is allowed", where, line)
					}
				}
				continue
			}
			answers++
			if _, err := json.Marshal(a); err != nil {
				t.Fatalf("%s: %v", where, err)
			}
			for _, r := range a.Results {
				if (r.SI == nil || r.US == nil) && len(a.Notes) == 0 {
					t.Fatalf("%s: %s is no number, and no note says why", where, r.Name)
				}
			}
			if a.Table != nil {
				for _, r := range a.Table.Rows {
					for i, v := range r.Values {
						if v == nil || len(r.Values) != len(a.Table.Columns) {
							t.Fatalf("%s: column %q of row %q is no number", where, a.Table.Columns[i].Name, r.Label)
						}
					}
				}
			}
		}
		if answers < draws/20 {
			t.Errorf("%s answered %d of %d draws; the test sees too little of it", k.Name, answers, draws)
		}
	}
}

// draw is a value of an input's range, in the unit of the range: an end of it now and
// then, else evenly by ratio; false: left out.
func draw(rng *rand.Rand, in *cases.Input) (string, bool) {
	if (in.Default != "" || in.Left != "") && rng.IntN(3) == 0 {
		return "", false
	}
	switch {
	case in.Words != nil:
		return in.Words[rng.IntN(len(in.Words))], true
	case in.Wholes != nil:
		return strconv.Itoa(in.Wholes[rng.IntN(len(in.Wholes))]), true
	case in.Word != "" && rng.IntN(3) == 0:
		return in.Word, true
	}
	lo, hi := in.Low, in.High
	if in.Above {
		lo = 1e-9 * hi
	}
	x := lo + rng.Float64()*(hi-lo)
	if lo > 0 {
		x = lo * math.Pow(hi/lo, rng.Float64())
	}
	switch rng.IntN(8) {
	case 0:
		x = lo
	case 1:
		x = hi
	}
	return strings.TrimSpace(fmt.Sprintf("%.12g %s", x, in.Unit)), true
}

// TestRepeatGivesTheSame: the command that an answer prints for repeating it does.
// Source: the same inputs must give the same numbers.
func TestRepeatGivesTheSame(t *testing.T) {
	c, err := cases.Load("../../../cases/paved-yard.toml", nil)
	if err != nil {
		t.Fatal(err)
	}
	s := FromCase(c)
	if len(s.Calculations) < 10 {
		t.Errorf("the demo case allows %d calculations, want at least 10", len(s.Calculations))
	}
	for _, a := range s.Calculations {
		var args []string
		for i, word := range strings.Split(a.Repeat, `"`) {
			if i%2 == 1 { // inside quotes
				args = append(args, word)
			} else {
				args = append(args, strings.Fields(word)...)
			}
		}
		again, err := Find(args[0]).WorkOut(nil, args[1:])
		if err != nil {
			t.Errorf("%s: its own command is refused: %v", a.Repeat, err)
			continue
		}
		x, _ := json.Marshal([]any{a.Results, a.Table})
		y, _ := json.Marshal([]any{again.Results, again.Table})
		if string(x) != string(y) {
			t.Errorf("%s gives\n%s\nwant\n%s", a.Repeat, y, x)
		}
	}
}

// TestDemoByHand: what the demo case gives by hand is what its numbers say.
// Source: own arithmetic on the case: active 7.5 to 13.5 ft in sand, silt and clay of 150, 25
// and 15 Ω·m, 0.5 + 5 + 0.5 ft: conductances side by side; 1000 yd³ at 150 kW; c of 0.566.
func TestDemoByHand(t *testing.T) {
	c, err := cases.Load("../../../cases/paved-yard.toml", nil)
	if err != nil {
		t.Fatal(err)
	}
	conduct := (0.5/150 + 5.0/25 + 0.5/15) * foot
	grid, err := Find("grid").WorkOut(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	// Seven digits are handed on, and 0.566 has three: 0.0005/0.566 over the logarithm.
	want := 130 * 2 * math.Pi * conduct / math.Log(0.566*14/0.5)
	near(t, "current of one rod as given [A]", *grid.Table.Rows[0].Values[5], want, 4e-4*want)
	warm, err := Find("heat-up").WorkOut(c, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "power density [W/m³]", *warm.Inputs[0].SI, 150e3/(1000*yard3), 1e-4)
	over, err := Find("grid").WorkOut(c, []string{"voltage=260 V"})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "current at twice the voltage over that of the case", *over.Table.Rows[0].Values[5] / *grid.Table.Rows[0].Values[5], 2, 1e-9)
	if _, err := Find("ring").WorkOut(c, nil); err == nil || !strings.Contains(err.Error(), "hand ring: --case = ../../../cases/paved-yard.toml: does not give it") {
		t.Errorf("hand ring of a case without a ring says %v", err)
	}
}
