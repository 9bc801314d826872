package cases

import (
	"embed"
	"fmt"
	"strings"
)

//go:embed templates/*.toml
var templates embed.FS

// Template returns a commented case of a view that runs as it is. Its content
// is invented.
func Template(view string) (string, error) {
	for _, v := range []View{Section, Axisymmetric} {
		if view == string(v) {
			data, err := templates.ReadFile("templates/" + view + ".toml")
			return string(data), err
		}
	}
	return "", fmt.Errorf("view %s: must be %s", oneLine(view), strings.Join([]string{string(Section), string(Axisymmetric)}, " or "))
}
