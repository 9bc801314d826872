//go:build unix

package main

import (
	"bytes"
	"encoding/binary"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
	"unicode/utf16"
)

// mostAlloc is how much a refusal may allocate in all [bytes], an upper bound of
// what it holds at one time, and longestRefusal how long it may take. A text of
// 4 MiB, the largest that is read, is read twice, with a map or a place of up to a
// kilobyte for each of 100 000 keys: 0.1 to 0.2 GB. The time is that on a machine
// that does three other things.
const (
	mostAlloc      = 512 << 20
	longestRefusal = 10 * time.Second
)

// measured runs a command line and holds it to both bounds.
func measured(t *testing.T, want int, args ...string) outcome {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	started := time.Now()
	o := must(t, want, args...)
	took := time.Since(started)
	runtime.ReadMemStats(&after)
	if n := after.TotalAlloc - before.TotalAlloc; n > mostAlloc || took > longestRefusal {
		t.Errorf("soiljoule %s allocated %d MiB in %v, want at most %d MiB in %v", strings.Join(args, " "), n>>20, took, mostAlloc>>20, longestRefusal)
	}
	return o
}

// inUTF16 returns a text in UTF-16 with its mark, in either order of bytes.
func inUTF16(text string, order binary.AppendByteOrder) []byte {
	var b []byte
	for _, u := range append([]uint16{0xfeff}, utf16.Encode([]rune(text))...) {
		b = order.AppendUint16(b, u)
	}
	return b
}

// random returns n bytes that are no text.
func random(n int) []byte {
	r := rand.New(rand.NewPCG(1, 2))
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	return b
}

// notFiles makes what is no regular file in dir: names and what is said of them.
func notFiles(t *testing.T, dir string) map[string]string {
	t.Helper()
	in := func(name string) string { return filepath.Join(dir, name) }
	for _, err := range []error{
		os.Mkdir(in("folder"), 0o777), syscall.Mkfifo(in("pipe"), 0o666),
		os.Symlink("loop-a", in("loop-b")), os.Symlink("loop-b", in("loop-a")), os.Symlink("gone", in("dangling")), os.Symlink("/dev/zero", in("zero")),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	said := map[string]string{
		"folder": "folder is a folder, not a file", "pipe": "pipe is a pipe or a device, not a file", "zero": "zero is a pipe or a device, not a file",
		"loop-a": "cannot read loop-a: too many levels of symbolic links", "dangling": "there is no file dangling", "nowhere": "there is no file nowhere",
	}
	if os.Getuid() != 0 { // root reads it all the same
		write(t, dir, "secret", "")
		if err := os.Chmod(in("secret"), 0); err != nil {
			t.Fatal(err)
		}
		said["secret"] = "cannot read secret: permission denied"
	}
	return said
}

// TestOddCaseFiles: what is hardly a case file at all gives one clear line, or few,
// ends with 2, and costs neither time nor memory.
func TestOddCaseFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("reads files of 100 MB")
	}
	dir := t.TempDir()
	sound := read(t, yard)
	const large = 4<<20 - 100
	for name, c := range map[string]struct {
		data string
		want string // the whole text, but for the file's name; $ is the last line
	}{
		"empty":         {"", ": is empty; `soiljoule new section` prints a case to start from"},
		"blank":         {" \n\r\n\t", ": is empty; `soiljoule new section` prints a case to start from"},
		"only-bom":      {"\ufeff", ": is empty; `soiljoule new section` prints a case to start from"},
		"comments":      {strings.Repeat("# nothing\n", 10<<20), ": is larger than 4 MiB; a case file is a short text"},
		"one-line":      {`a = "` + strings.Repeat("x", 10<<20) + `"`, ": is larger than 4 MiB; a case file is a short text"},
		"binary":        {string(random(1 << 16)), ": is not a text file (it holds NUL bytes)"},
		"nul":           {sound + "\x00", ": is not a text file (it holds NUL bytes)"},
		"utf-16":        {string(inUTF16(sound, binary.LittleEndian)), ": is text in UTF-16; save the file as UTF-8"},
		"utf-16-big":    {string(inUTF16(sound, binary.BigEndian)), ": is text in UTF-16; save the file as UTF-8"},
		"latin-1":       {"title = \"A\"\nnote = \"90 \xb0F\"\n", ":2: is not text in UTF-8; save the file with that encoding"},
		"cr-alone":      {strings.ReplaceAll(sound, "\n", "\r"), ":1: is not TOML: lines end with a carriage return alone; save the file with line feeds"},
		"deep-list":     {"a = " + strings.Repeat("[", 100000), ": has brackets or keys nested deeper than 8"},
		"deep-lists":    {"a = " + strings.Repeat("[", 100000) + strings.Repeat("]", 100000), ": has brackets or keys nested deeper than 8"},
		"deep-tables":   {"a = " + strings.Repeat("{a = ", 100000) + "1" + strings.Repeat("}", 100000), ": has brackets or keys nested deeper than 8"},
		"deep-key":      {strings.Repeat("a.", 100000) + "a = 1", ": has brackets or keys nested deeper than 8"},
		"deep-header":   {"[" + strings.Repeat("a.", 100000) + "a]", ": has brackets or keys nested deeper than 8"},
		"many-layers":   {sound + strings.Repeat("\n[[layer]]", 100000), ": holds more keys and tables than any case"},
		"many-keys":     {strings.Repeat("a = 1\n", 200000), ": holds more keys and tables than any case"},
		"many-inline":   {"a = {" + strings.Repeat("b = 1, ", 200000) + "}", ": holds more keys and tables than any case"},
		"2001-changes":  {sound + strings.Repeat("\n[[change]]", 2001), ":$: change: has 2001 tables; must be at most 2000"},
		"51-targets":    {sound + strings.Repeat("\n[[target]]", 50), ":$: target: has 51 tables; must be at most 50"},
		"open-text":     {"note = \"\"\"" + strings.Repeat("\n", large), ":1: note: is not TOML: the text that begins here with \"\"\" does not end"},
		"list-of-a-lot": {"[mesh]\nfinest = [" + strings.Repeat("1,", 1<<20) + "]", ""},
		"long-key":      {"\"" + strings.Repeat("k", large) + "\" = 1", ""},
	} {
		t.Run(name, func(t *testing.T) {
			path := write(t, dir, name+".toml", c.data)
			defer os.Remove(path) // some are large
			o := measured(t, wrong, "check", path)
			last := itoa(1 + strings.Count(c.data, "\n"))
			if want := path + strings.Replace(c.want, "$", last, 1) + "\n"; c.want != "" && o.err != want {
				t.Errorf("soiljoule check printed\n%swant\n%s", o.err, want)
			}
			if o.out != "" || len(o.err) > 5000 || strings.Count(o.err, "\n") > 20 {
				t.Errorf("soiljoule check printed %d bytes on stdout, %d on stderr in %d lines, want some lines on stderr alone",
					len(o.out), len(o.err), strings.Count(o.err, "\n"))
			}
		})
	}
	t.Chdir(dir)
	for name, want := range notFiles(t, dir) {
		for _, command := range []string{"check", "run"} {
			if o := measured(t, wrong, command, name); o.err != want+"\n" || o.out != "" {
				t.Errorf("soiljoule %s %s printed %q and %q, want %q on stderr", command, name, o.out, o.err, want)
			}
		}
	}
}

// TestOddButSound: what editors do to a text does not change the case.
func TestOddButSound(t *testing.T) {
	dir := t.TempDir()
	text := read(t, yard)
	checked := func(name, text string) string {
		return must(t, done, "check", write(t, dir, name, text), "--set", "mesh.finest=12 in", "--json").out
	}
	seconds := func(s string) string { // the one line that is of the clock
		before, rest, _ := strings.Cut(s, `"estimated_seconds"`)
		_, after, _ := strings.Cut(rest, "\n")
		return before + after
	}
	want := seconds(checked("plain.toml", text))
	for name, odd := range map[string]string{
		"crlf.toml":       strings.ReplaceAll(text, "\n", "\r\n"),
		"bom.toml":        "\ufeff" + text,
		"no-end.toml":     strings.TrimRight(text, "\n"),
		"bom-crlf.toml":   "\ufeff" + strings.ReplaceAll(text, "\n", "\r\n"),
		"commented.toml":  strings.Repeat("# nothing\n", 200000) + text,
		"blank-tail.toml": text + strings.Repeat("\n", 100000),
	} {
		if got := seconds(checked(name, odd)); got != want {
			t.Errorf("check of %s prints another case than that of the plain file:\n%s\nwant\n%s", name, got, want)
		}
	}
	// Lines are counted as an editor does.
	broken := "\ufeff" + strings.ReplaceAll(strings.Replace(text, `view     = "section"`, `view     = "sektion"`, 1), "\n", "\r\n")
	line := 1 + strings.Count(text[:strings.Index(text, `view     =`)], "\n")
	path := write(t, dir, "broken.toml", broken)
	if o := must(t, wrong, "check", path); !strings.HasPrefix(o.err, path+":"+itoa(line)+": view = sektion") {
		t.Errorf("a fault in line %d of a file with CRLF and a byte-order mark prints %q", line, o.err)
	}
}

// TestOddSeries: the same of a CSV that a case names.
func TestOddSeries(t *testing.T) {
	if testing.Short() {
		t.Skip("reads files of 100 MB")
	}
	text := strings.Replace(read(t, brokenDir, "csv-missing.toml"), "weather/2025.csv", "odd.csv", 1)
	dir := t.TempDir()
	t.Chdir(dir)
	line := itoa(1 + strings.Count(text[:strings.Index(text, "odd.csv")], "\n"))
	write(t, dir, "case.toml", text)
	const needs = "the first row must name the columns time_d or date and air_C, air_F or air_K"
	for name, c := range map[string]struct{ data, want string }{
		"empty":      {"", "odd.csv: is empty; " + needs},
		"comments":   {strings.Repeat("# nothing\n", 10<<20), "odd.csv: is larger than 64 MiB, or with the files before it"},
		"no rows":    {"time_d,air_C\n", "odd.csv: has no rows"},
		"one line":   {"time_d,air_C\n0," + strings.Repeat("1", 10<<20), "odd.csv:2: is longer than 4096 signs; a row has a few numbers"},
		"binary":     {string(random(1 << 12)), ""},
		"utf-16":     {string(inUTF16("time_d,air_C\n0,1\n", binary.LittleEndian)), "odd.csv:1: " + needs},
		"semicolons": {"time_d;air_C\n0;9,5\n", "odd.csv:1: " + needs},
		"two heads":  {"time_d,air_C\ntime_d,air_C\n0,9\n", "odd.csv:2: time_d = time_d: must be a number of days since power-on"},
		"nan":        {"time_d,air_C\n0,nan\n", "odd.csv:2: air_C = nan: must be a number"},
		"inf":        {"time_d,air_C\n0,9\ninf,9\n", "odd.csv:3: time_d = inf: must be a number of days since power-on"},
		"huge":       {"time_d,air_C\n0,1e999\n", "odd.csv:2: air_C = 1e999: must be a number"},
		"backwards":  {"time_d,air_C\n1,9\n0,9\n", "odd.csv:3: time_d = 0: must be later than the row before"},
	} {
		write(t, dir, "odd.csv", c.data)
		o := measured(t, wrong, "check", "case.toml")
		if o.out != "" || c.want != "" && o.err != c.want+"\n" || len(o.err) > 5000 {
			t.Errorf("with a series that is %s, soiljoule check printed %q and\n%s\nwant on stderr alone\n%s", name, o.out, o.err, c.want)
		}
	}
	for name, odd := range map[string]string{
		"CRLF": "time_d,air_C\r\n0,9\r\n90,11\r\n", "byte-order mark": "\ufefftime_d,air_C\n0,9\n90,11\n", "no final newline": "time_d,air_C\n0,9\n90,11",
	} {
		write(t, dir, "odd.csv", odd)
		if o := must(t, done, "check", "case.toml", "--set", "mesh.finest=1 m"); o.err != "" {
			t.Errorf("with a series that has a %s, soiljoule check says %q", name, o.err)
		}
	}
	if err := os.Remove("odd.csv"); err != nil {
		t.Fatal(err)
	}
	for name, said := range notFiles(t, dir) {
		if err := os.Symlink(name, "odd.csv"); err != nil {
			t.Fatal(err)
		}
		// The path is that of the link.
		want := "case.toml:" + line + ": surface.air = odd.csv: " + strings.Replace(said, name, "odd.csv", 1) + "\n"
		if o := measured(t, wrong, "check", "case.toml"); o.err != want {
			t.Errorf("with a series that is a %s, soiljoule check says %q, want %q", name, o.err, want)
		}
		if err := os.Remove("odd.csv"); err != nil {
			t.Fatal(err)
		}
	}
	// A file named by many bodies is read within one bound for all.
	var b bytes.Buffer
	b.WriteString(strings.Replace(text, `"odd.csv"`, `"10 degC"`, 1))
	for i := range 40 {
		b.WriteString("\n[[heat]]\nname = \"h" + itoa(i) + "\"\npower = \"power.csv\"\nleft = \"" + itoa(10+i) + " m\"\nright = \"" + itoa(11+i) + " m\"\ntop = \"1 m\"\nbottom = \"2 m\"\n")
	}
	write(t, dir, "power.csv", "time_d,power_kW\n0,1\n90,1\n"+strings.Repeat("# nothing\n", 200000))
	write(t, dir, "heats.toml", b.String())
	if o := measured(t, wrong, "check", "heats.toml"); !strings.HasPrefix(o.err, "power.csv: is larger than 64 MiB, or with the files before it\n") {
		t.Errorf("40 bodies with a series of 2 MB each say %q, want a refusal of the 80 MB", o.err)
	}
}
