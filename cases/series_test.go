package cases

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestSeriesKeepTheirFiles: a case holds the bytes of the files that it named as
// they were read, whatever becomes of the files.
func TestSeriesKeepTheirFiles(t *testing.T) {
	dir := t.TempDir()
	// No line ends as the program writes it, nor does the last.
	air, power := "# invented\r\ntime_d,air_C\r\n0,4\r\n90,7", "time_h,power_kW\n0,1\n\n9000,2\n"
	text := strings.NewReplacer(`"12 degC"`, `"air.csv"`, `"power.csv"`, `"drum.csv"`).Replace(heated)
	for name, data := range map[string]string{"air.csv": air, "drum.csv": power, "case.toml": text} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	c, err := Load(filepath.Join(dir, "case.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, is := range map[string]struct{ got, want string }{"air": {string(c.Surface.Air.Text), air}, "power": {string(c.Heats[0].Power.Text), power}} {
		if is.got != is.want {
			t.Errorf("the case's file of %s is kept as %q, want %q", name, is.got, is.want)
		}
	}
}
