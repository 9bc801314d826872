package cases

import (
	"embed"
	"fmt"
	"slices"
)

//go:embed templates/*.toml
var templates embed.FS

// Template returns a commented case of a view that runs as it is. Its content
// is invented.
func Template(view string) (string, error) {
	if slices.Contains(views, view) {
		data, err := templates.ReadFile("templates/" + view + ".toml")
		return string(data), err
	}
	return "", fmt.Errorf("view %s: must be %s", oneLine(view), list(views, "or"))
}
