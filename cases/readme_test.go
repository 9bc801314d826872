package cases

import (
	"bytes"
	"os"
	"strings"
	"testing"
)

// README's table of keys is the declaration's own. To mend it, paste what
// `soiljoule keys --markdown` prints.
func TestReadmeListsTheKeys(t *testing.T) {
	var want bytes.Buffer
	if err := WriteKeysMarkdown(&want); err != nil {
		t.Fatal(err)
	}
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(readme), want.String()) {
		t.Errorf("README.md does not hold the table that `soiljoule keys --markdown` prints")
	}
}
