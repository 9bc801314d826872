package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// dice turns bytes into choices; once they are used up every choice is the
// plain one, so that short inputs are simple cases.
type dice struct {
	data  []byte
	at    int
	usual byte // below it value draws a usual number
}

// tame says that places are kept apart by what the mesh needs, three cases in four:
// the others show that it says so where it cannot.
func (d *dice) tame() bool { return d.usual > 192 }

func (d *dice) byte() byte {
	if d.at >= len(d.data) {
		return 0
	}
	d.at++
	return d.data[d.at-1]
}

// upTo returns 0 … n − 1.
func (d *dice) upTo(n int) int { return int(d.byte()) % n }

// one says yes once in n.
func (d *dice) one(n int) bool { return d.upTo(n) == n-1 }

// unit returns 0 … 1.
func (d *dice) unit() float64 {
	return float64(uint16(d.byte())<<8|uint16(d.byte())) / 65535
}

// within returns lo … hi, evenly by ratio where both are above zero.
func (d *dice) within(lo, hi float64) float64 {
	u := d.unit()
	if lo > 0 && hi/lo > 10 {
		return lo * math.Pow(hi/lo, u)
	}
	return lo + u*(hi-lo)
}

// value draws a number: mostly a usual one, else anywhere in the range that the
// key allows, or at one of its ends.
func (d *dice) value(lo, hi, usualLo, usualHi float64) float64 {
	b := d.byte()
	if b < d.usual {
		return d.within(usualLo, usualHi)
	}
	switch b % 4 {
	case 0, 1:
		return math.Min(d.within(math.Max(lo, 1e-6), hi), hi)
	case 2:
		return lo
	default:
		return hi
	}
}

// length draws a length [m] and, seven times in eight, puts it on a lattice, so
// that most meshes have few faces that nearly coincide and stay small.
func (d *dice) length(lo, hi, usualLo, usualHi, lattice float64) float64 {
	x := d.value(lo, hi, usualLo, usualHi)
	if d.one(8) {
		return x
	}
	return math.Min(math.Max(math.Round(x/lattice)*lattice, lo), hi)
}

// either picks a word.
func (d *dice) either(words ...string) string { return words[d.upTo(len(words))] }

// drawn is a case drawn from bytes.
type drawn struct {
	*dice
	text    strings.Builder
	beside  map[string]string // the series files that it names
	section string
	first   string          // the name of an electrode, "": there is none
	used    map[string]bool // the keys given, "layer.porosity"
	figures bool            // whether its figures are drawn too
}

func (c *drawn) table(name string) {
	fmt.Fprintf(&c.text, "[%s]\n", name)
	c.section = strings.Trim(name, "[]")
}

// put writes a key, its value in TOML.
func (c *drawn) put(key, value string) {
	fmt.Fprintf(&c.text, "%s = %s\n", key, value)
	if c.section != "" {
		key = c.section + "." + key
	}
	c.used[key] = true
}

func short(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }

func (c *drawn) word(key, value string) { c.put(key, strconv.Quote(value)) }

func (c *drawn) number(key string, value float64) { c.put(key, short(value)) }

func (c *drawn) quantity(key string, value float64, unit string) {
	c.word(key, short(value)+" "+unit)
}

// maybe writes an optional key every third time.
func (c *drawn) maybe(key, unit string, lo, hi, usualLo, usualHi float64) {
	if !c.one(3) {
		return
	}
	if v := c.value(lo, hi, usualLo, usualHi); unit == "" {
		c.number(key, v)
	} else {
		c.quantity(key, v, unit)
	}
}
