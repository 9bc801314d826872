package cases

import (
	"strings"
	"testing"
)

// TestWordsOfTheLibrary: what the library is recognised by is still what it says.
func TestWordsOfTheLibrary(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{"[site\n", saysHeaderOpen},
		{"[[site\n", saysHeaderOpen},
		{"[[site]\n", saysArrayOpen},
		{"a = 1\na = 2\n", saysTwice},
		{"[a]\n[a]\n", saysTwice},
		{"a = \"\"\"\n", saysOpen},
		{"a = '''\n", saysOpen},
		{"a = 1\rb = 2\r", saysReturn},
		{"a = 1e999\n", saysRange},
		{"a = 99999999999999999999\n", saysRange},
	} {
		if _, fault := decode(c.text); fault == nil || !strings.Contains(fault.Allowed, c.says) {
			t.Errorf("%q is refused with %v, which is recognised by %q", c.text, fault, c.says)
		}
	}
}

// TestFaultsOfSyntax: a fault of syntax says what is wrong with the value that stands
// there, not with one of another kind.
func TestFaultsOfSyntax(t *testing.T) {
	const (
		date     = "is not TOML: a date and time is written 2026-05-01T14:00:00, and its day must exist"
		exponent = "is not TOML: an exponent is a whole number, as in 1.5e3"
		base     = "is not TOML: a number is written with the digits 0 to 9"
		quotes   = "is not TOML: a number with its unit stands in quotes, "
		header   = "is not TOML: the header does not end; write [name] or [[name]]"
		large    = "is too large a number"
	)
	for _, c := range []struct{ line, want string }{
		{"power_on = 2026-02-30T08:00:00", "power_on = 2026-02-30T08:00:00: " + date},
		{"power_on = 2026-02-30", "power_on = 2026-02-30: " + date},
		{"power_on = 2026-02-28 8:00 # early", "power_on = 2026-02-28 8:00: " + date},
		{"power_on = 2026-2-3", "power_on = 2026-2-3: " + date},
		{"power_on = 28.02.2026", "power_on = 28.02.2026: " + date},
		{"power_on = 2026-13-01T00:00:00", "power_on = 2026-13-01T00:00:00: " + date},
		{"count = 0x1G", "count = 0x1G: " + base},
		{"count = 0b12", "count = 0b12: " + base},
		{"count = 0o8", "count = 0o8: " + base},
		{"count = 1.5e", "count = 1.5e: " + exponent},
		{"count = 1e+", "count = 1e+: " + exponent},
		{"count = -2E1.5", "count = -2E1.5: " + exponent},
		{"count = 1e999", "count = 1e999: " + large},
		{"bottom = 8 ft", `bottom = 8 ft: ` + quotes + `"8 ft"`},
		{"bottom = 1.5e3 m", `bottom = 1.5e3 m: ` + quotes + `"1.5e3 m"`},
		{"bottom = 0 bar", `bottom = 0 bar: ` + quotes + `"0 bar"`},
		{"share = 42%", `share = 42%: ` + quotes + `"42%"`},
		{"[site", header},
		{"[[site]", header},
		{"[[site", header},
	} {
		_, err := Parse("case.toml", []byte("title = \"a\"\n"+c.line+"\nview = \"section\"\n"), ".", nil)
		got, _, _ := strings.Cut(errorText(err), "\n")
		if want := "case.toml:2: " + c.want; got != want {
			t.Errorf("the line %s gives\n%s\nwant\n%s", c.line, got, want)
		}
	}
}

func errorText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}
