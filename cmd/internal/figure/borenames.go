package figure

import (
	"slices"
	"strings"

	"soiljoule/cases"
)

// boreNames are the names and phases of the elements of one bore, from the first on.
type boreNames struct{ names, phases []string }

// add adds an element.
func (b *boreNames) add(e *cases.Electrode) {
	b.names = append(b.names, printable(e.Name))
	if !slices.Contains(b.phases, e.Phase) {
		b.phases = append(b.phases, e.Phase)
	}
}

// boreTexts returns what bores may be called, fullest first: names and phases, names, phases.
func boreTexts(bores []boreNames) (texts [3][]string) {
	for _, b := range bores {
		names, phases := strings.Join(b.names, " "), printable(strings.Join(b.phases, " "))
		for n, text := range []string{names + " " + phases, names, phases} {
			texts[n] = append(texts[n], text)
		}
	}
	return texts
}
