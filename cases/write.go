package cases

import (
	"bufio"
	"fmt"
	"io"
)

// WriteTOML writes the case as understood: every default filled in, SI units,
// keys in the order of the schema, electrodes one by one. It loads again to a
// case of the same bits.
//
// An air-temperature file is written by its base name: whoever writes the case
// into a folder puts that file beside it. A depth of a sensor with several is
// written as the user wrote it, because the names of the columns come from it.
func (c *Case) WriteTOML(w io.Writer) error {
	b := bufio.NewWriter(w)
	for i := range sections {
		s := &sections[i]
		if s.name == "supply" && c.Supply.Phases == 0 {
			continue // there is none
		}
		if s.given != nil && !s.given(c) {
			continue
		}
		for _, row := range s.rows(c) {
			if s.name != "" {
				fmt.Fprintf(b, "\n%s\n", s.header())
			}
			for _, k := range keysOf(s.name, c.View) {
				if k.suits != nil && !k.suits(row) {
					continue
				}
				if text := k.kind.write(k, k.at(row)); text != "" {
					fmt.Fprintf(b, "%s = %s\n", k.name(), text)
				}
			}
		}
	}
	return b.Flush()
}
