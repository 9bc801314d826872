package cases

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/BurntSushi/toml"
)

// mostBytes is the largest case file that is read; a real one has a few
// thousand bytes.
const mostBytes = 4 << 20

// mostFaults is how many faults of one case are told.
const mostFaults = 200

// Load reads a case file and returns it as understood, after the settings of
// --set, each path=value. If anything is wrong the error is a Faults that
// holds every fault of the file.
func Load(file string, sets []string) (*Case, error) {
	l, err := load(file, sets)
	if err != nil {
		return nil, err
	}
	return l.c, nil
}

// load is Load that returns what knows where each value of the case stands.
func load(file string, sets []string) (*loader, error) {
	f, err := openRegular(file)
	if err != nil { // names the file itself
		return nil, Faults{{Allowed: err.Error()}}
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err != nil {
		return nil, Faults{{File: file, Allowed: "cannot be read: " + cause(err)}}
	}
	return parse(file, data, filepath.Dir(file), sets)
}

// Parse reads a case from memory. name stands for the file in messages; dir is
// where the files it names are looked for.
func Parse(name string, data []byte, dir string, sets []string) (*Case, error) {
	l, err := parse(name, data, dir, sets)
	if err != nil {
		return nil, err
	}
	return l.c, nil
}

// parse is Parse that returns what knows where each value of the case stands.
func parse(name string, data []byte, dir string, sets []string) (*loader, error) {
	switch {
	case len(data) > mostBytes:
		return nil, Faults{{File: name, Allowed: "is larger than 4 MiB; a case file is a short text"}}
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		return nil, Faults{{File: name, Allowed: "is text in UTF-16; save the file as UTF-8"}}
	case bytes.IndexByte(data, 0) >= 0:
		return nil, Faults{{File: name, Allowed: "is not a text file (it holds NUL bytes)"}}
	case !utf8.Valid(data):
		valid := 0
		for r, n := utf8.DecodeRune(data); r != utf8.RuneError || n > 1; r, n = utf8.DecodeRune(data[valid:]) {
			valid += n
		}
		line := 1 + bytes.Count(data[:valid], []byte("\n"))
		return nil, Faults{{File: name, Line: line, Allowed: "is not text in UTF-8; save the file with that encoding"}}
	case len(bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\ufeff")))) == 0:
		return nil, Faults{{File: name, Allowed: "is empty; `soiljoule new section` prints a case to start from"}}
	}
	l := &loader{file: name, dir: dir, c: &Case{File: name}, pos: locate(string(data)), setAt: map[string]string{}, forSeries: mostSeriesBytes}
	if l.pos.deepest > deepestBrackets {
		return nil, Faults{{File: name, Allowed: fmt.Sprintf("has brackets or keys nested deeper than %d", deepestBrackets)}}
	}
	if l.pos.parts > mostParts {
		return nil, Faults{{File: name, Allowed: "holds more keys and tables than any case"}}
	}
	tree, fault := decode(string(data))
	if fault != nil {
		return nil, syntaxFaults(name, string(data), fault, l.pos)
	}
	l.tree = tree
	l.table()
	for _, s := range sets {
		l.set(s)
	}
	l.read()
	l.check()
	if len(l.faults) > 0 {
		l.faults.inOrder(name, sets)
		if len(l.faults) > mostFaults {
			l.faults = append(l.faults[:mostFaults], Fault{File: name, Allowed: "and more faults, not told"})
		}
		return nil, l.faults
	}
	l.finish()
	return l, nil
}

// decode parses TOML into a tree of maps. Line ends are made one kind first: with
// carriage returns the library tells some faults of the line before.
func decode(text string) (tree map[string]any, fault *Fault) {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	// The library reports what it takes for its own errors by panic.
	defer func() {
		if r := recover(); r != nil {
			tree, fault = nil, &Fault{Allowed: "is not TOML"}
		}
	}()
	_, err := toml.Decode(text, &tree)
	if err == nil {
		return tree, nil
	}
	var syntax toml.ParseError
	if errors.As(err, &syntax) {
		return nil, &Fault{Line: syntax.Position.Line, Allowed: "is not TOML: " + oneLine(syntax.Message)}
	}
	return nil, &Fault{Allowed: "is not TOML: " + oneLine(err.Error())}
}

// loader fills one Case.
//
// A number that is missing or refused is left as NaN and a text as "", and
// check compares in such a way that neither gives a second fault.
type loader struct {
	file, dir string
	c         *Case
	pos       *positions
	tree      map[string]any
	rows      map[string][]map[string]any // the tables of each section, as decoded
	labels    map[string][]string         // each row's path in messages: "layer.clay"
	setAt     map[string]string           // the --set that gave the value at a path
	forSeries int                         // [bytes] that the series files to come may have
	unordered bool                        // the layers' bottoms do not increase
	changeRow []int                       // of each change, when finished, its number in the file (from 0)
	faults    Faults
}

// add keeps a fault; far more than are told are not kept.
func (l *loader) add(f Fault) {
	if len(l.faults) < 50*mostFaults {
		l.faults = append(l.faults, f)
	}
}

// fault records a fault of the value at loc.
func (l *loader) fault(loc, path, given, allowed string) {
	for at := loc; at != ""; at = parent(at) {
		if set, ok := l.setAt[at]; ok {
			l.add(Fault{File: setPrefix + set, Key: path, Given: given, Allowed: allowed})
			return
		}
	}
	l.add(Fault{File: l.file, Line: l.pos.line(loc), Key: path, Given: given, Allowed: allowed})
}

// absence records that a section is missing: a fault of the file as a whole.
// One whose name is only misspelt has been told of.
func (l *loader) absence(header, allowed string) {
	if len(l.tree) < 100 { // more is no case that someone misspelt
		for name := range l.tree {
			if findSection(name) == nil && findKey(name) == nil && nearest(name, sectionNames()) == strings.Trim(header, "[]") {
				return
			}
		}
	}
	l.add(Fault{File: l.file, Key: header, Allowed: allowed})
}

// given returns the value at loc as it was written, on one line.
func (l *loader) given(loc string, raw any) string {
	switch v := raw.(type) {
	case string:
		return oneLine(v)
	case map[string]any, []map[string]any:
		return "a table"
	case []any:
		if _, ok := l.pos.values[loc]; !ok { // an element of a list: x and y
			texts := make([]string, min(len(v), 4))
			for i := range texts {
				texts[i] = fmt.Sprint(v[i])
			}
			return oneLine("[" + strings.Join(texts, ", ") + "]")
		}
	case time.Time:
		if _, ok := l.pos.values[loc]; !ok { // an element of a list
			return v.Format("2006-01-02T15:04:05")
		}
	}
	if text, ok := l.pos.values[loc]; ok && text != "" && l.setAt[loc] == "" {
		return oneLine(text)
	}
	return oneLine(fmt.Sprint(raw))
}
