package cases

import (
	"reflect"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
)

// TestLocate: lines of the keys in every way that TOML has to write them.
func TestLocate(t *testing.T) {
	text := strings.Join([]string{
		/* 1 */ "\ufefftop = 1 # [not.a.table]",
		/* 2 */ "site.ambient = '''",
		/* 3 */ "[layer]",
		/* 4 */ "''' ",
		/* 5 */ `[[layer]]`,
		/* 6 */ `name = "a # b"`,
		/* 7 */ `"quoted key" = "x \" ]"`,
		/* 8 */ `  [[ "layer" ]] # second`,
		/* 9 */ "depth = [ # comment ]",
		/* 10 */ `  "1 ft", # "`,
		/* 11 */ `  "2 ft",`,
		/* 12 */ "]",
		/* 13 */ `name = """`,
		/* 14 */ `  a \""" b`,
		/* 15 */ `"""`,
		/* 16 */ `after = 2026-05-01 14:00:00`,
		/* 17 */ `point = { x = 1, y.z = [1, 2] }`,
		/* 18 */ `  [layer.sub]`,
		/* 19 */ `k = 0x1F`,
		/* 20 */ `[time]`,
		/* 21 */ "power\t=\t'kW'",
	}, "\r\n")
	p := locate(text)
	for path, want := range map[string]int{
		"top": 1, "site": 2, "site.ambient": 2, "layer[1]": 5, "layer[1].name": 6, "layer[1].quoted key": 7,
		"layer[2]": 8, "layer[2].depth": 9, "layer[2].depth[1]": 10, "layer[2].depth[2]": 11, "layer[2].name": 13,
		"layer[2].after": 16, "layer[2].point": 17, "layer[2].point.x": 17, "layer[2].point.y.z": 17,
		"layer[2].sub": 18, "layer[2].sub.k": 19, "time": 20, "time.power": 21,
		"layer[2].missing": 8, "nowhere": 1,
	} {
		if got := p.line(path); got != want {
			t.Errorf("line of %s is %d, want %d", path, got, want)
		}
	}
	for path, want := range map[string]string{"layer[2].sub.k": "0x1F", "layer[2].after": "2026-05-01 14:00:00", "top": "1"} {
		if got := p.values[path]; got != want {
			t.Errorf("value of %s is %q, want %q", path, got, want)
		}
	}
}

// locateAgrees holds the second reading of a text to the library's: the same
// keys in the same order, and paths that lead to a value.
func locateAgrees(t *testing.T, text string) {
	t.Helper()
	p := locate(text)
	if p.deepest > deepestBrackets || p.parts > mostParts || strings.ContainsRune(text, 0) {
		return // refused before the library sees it
	}
	tree, meta, ok := decodeMeta(text)
	if !ok {
		return
	}
	keys := meta.Keys()
	if len(keys) != len(p.places) {
		t.Fatalf("found %d keys, the library %d: %v", len(p.places), len(keys), keys)
	}
	last := 1
	for i, place := range p.places {
		if !reflect.DeepEqual(place.names, []string(keys[i])) {
			t.Fatalf("key %d is %q, the library has %q", i, place.names, []string(keys[i]))
		}
		if place.line < last || place.line > 1+strings.Count(text, "\n") {
			t.Fatalf("key %q has line %d after line %d", place.names, place.line, last)
		}
		last = place.line
	}
	_ = tree
}

// decodeMeta decodes as decode does, and keeps what the library tells of keys.
func decodeMeta(text string) (tree map[string]any, meta toml.MetaData, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	meta, err := toml.Decode(text, &tree)
	return tree, meta, err == nil
}

// locateSeeds are texts that have caught a reader of TOML somewhere.
var locateSeeds = []string{
	sound, soundAxis,
	"a = 1\n[b]\nc.d = {e = [1, {f = 2}], g = ''}\n[[h]]\n[[h.i]]\n[h.i.j]\n[[h]]\n[[h.i]]\n",
	"a = \"\"\"\n\\\"\"\" b\"\"\"\"\"\nc = '''x''''\n",
	"\"a.b\" = 1\n'c[1]' = 2\n\"\" = 3\n\"\\u0061\\\"\" = 4\n",
	"a = [\n  # ]\n  [1, 2], # [\n  ['x', \"y]\"],\n]\r\nb = 2\r\n",
	"\ufeffa = {\n b = 1, # c\n c = 2,\n}\n",
	"a . b = 1\n[ x . 'y' ]\nz = true\n",
	"a = 1979-05-27 07:32:00\nb = +inf\nc = 1_000\nd = 0b11 # x\n",
	"a = [{b = 1}, {b = 2, c = [{d = 3}]}]\n",
	"= 1\n[\n[[a]\nb = {\nc = [",
}

// FuzzLocate: on any bytes locate returns, and on TOML it agrees with the
// library.
func FuzzLocate(f *testing.F) {
	for _, s := range locateSeeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) { locateAgrees(t, text) })
}
