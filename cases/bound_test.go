package cases

import (
	"strings"
	"testing"
)

// TestEndsOfARangeAreWhole: a message names the end of a range that is whole as it is, not
// to four digits, so that what it says is allowed is.
func TestEndsOfARangeAreWhole(t *testing.T) {
	for given, want := range map[string]string{"40000 d": "36525 d", "200 yr": "100 yr"} {
		_, err := Parse("yard.toml", []byte(sound), "testdata", []string{"time.duration=" + given})
		if err == nil || !strings.Contains(err.Error(), "at most "+want) {
			t.Errorf("of time.duration = %s the fault is %v, want one that says at most %s", given, err, want)
		}
	}
	if _, err := Parse("yard.toml", []byte(sound), "testdata", []string{"time.duration=36525 d", "output.fields_every=365 d"}); err != nil {
		t.Error(err)
	}
}
