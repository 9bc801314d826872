package cases

import (
	"fmt"
	"strings"
	"testing"
)

// TestSensorDepthsAreBounded: each sensor could have its 5,000 depths, and all of
// them together any number of columns.
func TestSensorDepthsAreBounded(t *testing.T) {
	for _, c := range []struct {
		each int
		want string
	}{{2500, ""}, {2501, "5000"}} {
		var text strings.Builder
		text.WriteString(plateAndRow)
		for i := range 2 {
			fmt.Fprintf(&text, "[[sensor]]\nname = \"T%d\"\nx = \"%d m\"\ndepth = [", i, i)
			for j := range c.each {
				fmt.Fprintf(&text, "\"%d mm\",", j+1)
			}
			text.WriteString("]\n")
		}
		_, err := Parse("case.toml", []byte(text.String()), ".", nil)
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("two sensors of %d depths each: %v, want %q", c.each, err, c.want)
		}
	}
}
