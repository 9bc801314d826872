package main

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// TestCheckSumsPhasors: a phase's conductor carries the sum of its electrodes' currents as
// phasors. Three electrodes on the neutral, each before another of three phases on one
// ring, carry currents that cancel in the conductor of the neutral, by symmetry; a sum of
// amperes would be three times that of one. In a ring alone all are in step.
func TestCheckSumsPhasors(t *testing.T) {
	text := strings.Replace(strings.Replace(ringOfSix, "phases = 6", "phases = 3\nneutral = \"grounded\"", 1), "diameter = ", "count = 3\ndiameter = ", 1)
	for k, at := range []string{"x = \"2 m\"\ny = \"0 m\"", "x = \"-1 m\"\ny = \"1.7320508 m\"", "x = \"-1 m\"\ny = \"-1.7320508 m\""} {
		text += "[[electrode]]\nname = \"M" + string(rune('a'+k)) + "\"\nphase = \"N\"\ntop = \"8 ft\"\nbottom = \"24 ft\"\nradius = \"0.1 m\"\n" + at + "\n"
	}
	var r checked
	if err := json.Unmarshal([]byte(must(t, done, "check", write(t, t.TempDir(), "ring.toml", text), "--json").out), &r); err != nil {
		t.Fatal(err)
	}
	if len(r.Plan.Phases) != 4 || r.Plan.Phases[3].Phase != "N" {
		t.Fatalf("phases are %+v, want A, B, C and N", r.Plan.Phases)
	}
	one := 0.0
	for _, e := range r.Electrodes {
		if e.Phase == "N" {
			one = max(one, e.ModelA)
		}
	}
	// The mesh is not of the ring's symmetry: rods are held to 0.5 %, and so is their sum.
	if got := r.Plan.Phases[3].Amps; !(one > 5) || got > 0.01*one {
		t.Errorf("the neutral's conductor carries %.3g A, each of its electrodes %.3g A; want none of some amperes", got, one)
	}
}

// TestCheckRingAroundNeutral: an electrode on the neutral in the middle of a ring is where
// the ring's potential is the neutral's anyway: it carries nothing, and the ring's closed
// form is that without it. That the rods about it carry I cos(jπ/3) a step round, whose sum
// is 0, makes the potential at the middle 0.
func TestCheckRingAroundNeutral(t *testing.T) {
	text := strings.Replace(strings.Replace(ringOfSix, "phases = 6", "phases = 6\nneutral = \"grounded\"", 1), "diameter = ", "center_neutral = true\ndiameter = ", 1)
	path := write(t, t.TempDir(), "ring.toml", text)
	out := must(t, done, "check", path, "--json").out
	var r checked
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	for _, e := range r.Electrodes {
		want := 2 * math.Pi / 30 * 4.8768 * 100 * r.Plan.Fringe / math.Log(2*math.Sqrt(3)*30)
		if e.Phase == "N" {
			want = 0
		}
		if math.Abs(e.ClosedA-want) > 1e-6*want || math.Abs(e.ModelA-want) > 0.005*want+0.01 {
			t.Errorf("%s on %s: %.5g A in the model, %.5g A by the closed form; want %.5g", e.Name, e.Phase, e.ModelA, e.ClosedA, want)
		}
	}
	if n := strings.Count(out, "closed_form_A"); n != 6 {
		t.Errorf("%d electrodes have a closed form, want the six of the ring alone", n)
	}
}
