package main

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"sort"
	"strings"
)

// cell makes s fit for a cell of a Markdown table.
func cell(s string) string {
	return strings.NewReplacer("|", "\\|", "\n", " ", "\r", " ", "<", "&lt;").Replace(s)
}

// errors returns error and tolerance as the dossier prints them.
func (c check) errors() (err, tol string) {
	e, t, unit := c.relative()
	with := func(v float64) string { return strings.TrimSpace(fmt.Sprintf("%.2g %s", v, cell(unit))) }
	return with(e), with(t)
}

// row is the line of a check in the dossier.
func (c check) row() string {
	d, tol := c.errors()
	return fmt.Sprintf("| %s | %.6g | %.6g | %s | %s | %s | %.2g | %s |", cell(c.Claim), c.Got, c.Want, cell(c.Unit), d, tol, c.share(), cell(c.Source))
}

// chaptered orders the tests that made a check, a figure or a table as their files
// have them.
func (r *report) chaptered(docs map[string]doc) (chapters []string, of map[string][]*test, err error) {
	of = map[string][]*test{}
	for _, t := range r.sorted() {
		if len(t.checks)+len(t.figures)+len(t.tables)+len(t.misses) == 0 && t.skipped == "" {
			continue
		}
		d, ok := docs[t.name]
		switch {
		case !ok:
			return nil, nil, fmt.Errorf("%s ran, and no file of the tests has it", t.name)
		case d.chapter == "":
			return nil, nil, fmt.Errorf("%s, in %s: its file opens with no line %s…", t.name, d.file, directive)
		case d.claim == "":
			return nil, nil, fmt.Errorf("%s, in %s: its comment makes no claim", t.name, d.file)
		case d.source == "":
			return nil, nil, fmt.Errorf("%s, in %s: its comment names no source", t.name, d.file)
		}
		of[d.chapter] = append(of[d.chapter], t)
	}
	for chapter, tests := range of {
		chapters = append(chapters, chapter)
		sort.Slice(tests, func(i, j int) bool {
			a, b := docs[tests[i].name], docs[tests[j].name]
			if a.file != b.file {
				return a.file < b.file
			}
			return a.order < b.order
		})
	}
	sort.Strings(chapters)
	return chapters, of, nil
}

// write writes the dossier and its figures: all of them, or none.
func (r *report) write(path string, docs map[string]doc) error {
	chapters, of, err := r.chaptered(docs)
	if err != nil {
		return err
	}
	folder := filepath.Join(filepath.Dir(path), "figures")
	pictures := map[string][]byte{}
	for _, t := range r.sorted() {
		for _, f := range t.figures {
			if !safeName(f.Name) {
				return fmt.Errorf("%s: a figure is named %q: want lower-case letters, digits and hyphens", t.name, f.Name)
			}
			if pictures[f.Name] != nil {
				return fmt.Errorf("%s: two figures are named %q", t.name, f.Name)
			}
			b, err := f.png()
			if err != nil {
				return fmt.Errorf("%s: figure %s: %w", t.name, f.Name, err)
			}
			pictures[f.Name] = b
		}
	}
	old, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return err
	}
	for name, b := range pictures {
		if err := replace(filepath.Join(folder, name+".png"), b); err != nil {
			return err
		}
	}
	for _, m := range linked.FindAllStringSubmatch(string(old), -1) {
		if pictures[m[1]] != nil {
			continue
		}
		if err := os.Remove(filepath.Join(folder, m[1]+".png")); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	return replace(path, r.markdown(chapters, of, docs))
}

// linked finds the figures of a dossier: those of the last one that no test draws any
// more are removed.
var linked = regexp.MustCompile(`\(figures/([a-z0-9-]+)\.png\)`)

func safeName(s string) bool {
	return s != "" && strings.Trim(s, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
}

// replace puts a whole file in place of another.
func replace(path string, b []byte) error {
	part := path + ".part"
	if err := os.WriteFile(part, b, 0o666); err != nil {
		return errors.Join(err, os.Remove(part))
	}
	return os.Rename(part, path)
}

func (r *report) markdown(chapters []string, of map[string][]*test, docs map[string]doc) []byte {
	var b bytes.Buffer
	n := r.counts()
	fmt.Fprintf(&b, `# Dossier: each claim, its source, its error

Written by `+"`make dossier`"+` from the tests' own numbers; no result in it is typed by hand. [sources.md](sources.md) says how each source was seen; the tolerance is derived beside each test. "Share" is error over tolerance: 1 would be the limit. Errors and tolerances are in %% of the value wanted, or in its unit where that is zero.

**%d checks** in %d tests; %d tables, %d figures. They name %d things that they are held against: published works and tables, other programs, closed forms, laws of conservation, and where there is no more, the program's own finer runs, which each row says. %s on %s/%s.

`, n.checks, n.tests, n.tables, n.figures, n.sources, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	r.missed(&b, chapters, of)
	r.summary(&b, chapters, of, docs)
	r.fuzzed(&b)
	for _, chapter := range chapters {
		fmt.Fprintf(&b, "\n## %s\n", chapter)
		for _, t := range of[chapter] {
			d := docs[t.name]
			fmt.Fprintf(&b, "\n### %s\n\n%s. ", t.name, upper(d.claim))
			if d.source != "" {
				fmt.Fprintf(&b, "Source: %s. ", d.source)
			}
			fmt.Fprintf(&b, "[%s](%s)\n", d.file, d.file)
			if d.equations != "" {
				fmt.Fprintf(&b, "\n```\n%s\n```\n", d.equations)
			}
			if t.skipped != "" {
				fmt.Fprintf(&b, "\nNot run: %s\n", t.skipped)
			}
			t.details(&b)
		}
	}
	return b.Bytes()
}

// upper makes a sentence's first letter a capital.
func upper(s string) string {
	if s != "" && s[0] >= 'a' && s[0] <= 'z' {
		return strings.ToUpper(s[:1]) + s[1:]
	}
	return s
}

// missed lists the bars that are not met.
func (r *report) missed(b *bytes.Buffer, chapters []string, of map[string][]*test) {
	if r.counts().misses == 0 {
		return
	}
	fmt.Fprint(b, "## Bars that are missed\n\n| what | asked | found | test |\n|---|---|---|---|\n")
	for _, chapter := range chapters {
		for _, t := range of[chapter] {
			for _, m := range t.misses {
				fmt.Fprintf(b, "| %s | %s | %s | [%s](#%s) |\n", cell(m.Claim), cell(m.Asked), cell(m.Found), t.name, strings.ToLower(t.name))
			}
		}
	}
}

// brief cuts a claim for the overview; the whole stands with its test.
func brief(s string) string {
	const most = 160
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	cut := string(r[:most])
	return cut[:strings.LastIndex(cut, " ")] + " …"
}

// summary is a line a test: its claim and its worst check.
func (r *report) summary(b *bytes.Buffer, chapters []string, of map[string][]*test, docs map[string]doc) {
	fmt.Fprint(b, "\n## Overview\n\nA line a test, with the check that takes up most of its tolerance.\n")
	for _, chapter := range chapters {
		fmt.Fprintf(b, "\n**%s**\n\n| claim | source | checks | error of the worst | its tolerance | share | figures |\n|---|---|---|---|---|---|---|\n", chapter)
		for _, t := range of[chapter] {
			var figures []string
			for i, f := range t.figures {
				figures = append(figures, fmt.Sprintf("[%d](figures/%s.png)", i+1, f.Name))
			}
			d := docs[t.name]
			claim := fmt.Sprintf("[%s](#%s)", cell(brief(upper(d.claim))), strings.ToLower(t.name))
			if len(t.checks) == 0 {
				fmt.Fprintf(b, "| %s | %s | | | | | %s |\n", claim, cell(brief(d.source)), strings.Join(figures, " "))
				continue
			}
			worst := t.checks[0]
			for _, c := range t.checks {
				if c.share() > worst.share() {
					worst = c
				}
			}
			e, tol := worst.errors()
			fmt.Fprintf(b, "| %s | %s | %d | %s | %s | %.2g | %s |\n", claim, cell(brief(d.source)), len(t.checks), e, tol, worst.share(), strings.Join(figures, " "))
		}
	}
}

func (r *report) fuzzed(b *bytes.Buffer) {
	if len(r.fuzz) == 0 {
		return
	}
	fmt.Fprint(b, "\n## Fuzzing\n\nEach target ran so long without a failure.\n\n| target | seconds | executions | inputs kept for reaching new code |\n|---|---|---|---|\n")
	for _, name := range sortedKeys(r.fuzz) {
		f := r.fuzz[name]
		fmt.Fprintf(b, "| %s | %.0f | %d | %d |\n", name, f.seconds, f.executions, f.found)
	}
}

// long is the number of rows from which a table is folded.
const long = 16

func (t *test) details(b *bytes.Buffer) {
	fold := func(rows int, title string) (end string) {
		if rows <= long {
			return ""
		}
		fmt.Fprintf(b, "\n<details><summary>%s: %d rows</summary>\n", title, rows)
		return "\n</details>\n"
	}
	if len(t.checks) > 0 {
		end := fold(len(t.checks), "checks")
		fmt.Fprintln(b, "\n"+checkHead+"\n|---|---|---|---|---|---|---|---|")
		for _, c := range t.checks {
			fmt.Fprintln(b, c.row())
		}
		fmt.Fprint(b, end)
	}
	for _, m := range t.misses {
		fmt.Fprintf(b, "\nMissed: %s. Asked: %s. Found: %s.\n", m.Claim, m.Asked, m.Found)
	}
	for _, tab := range t.tables {
		fmt.Fprintf(b, "\n%s\n", tab.Title)
		end := fold(len(tab.Rows), "rows")
		fmt.Fprintf(b, "\n| %s |\n|%s\n", strings.Join(cells(tab.Head), " | "), strings.Repeat("---|", len(tab.Head)))
		for _, row := range tab.Rows {
			fmt.Fprintf(b, "| %s |\n", strings.Join(cells(row), " | "))
		}
		fmt.Fprint(b, end)
	}
	for _, f := range t.figures {
		fmt.Fprintf(b, "\n![%s](figures/%s.png)\n", cell(f.Title), f.Name)
	}
}

const checkHead = "| claim | got | want | unit | error | tolerance | share | source |"

func cells(row []string) []string {
	c := make([]string, len(row))
	for i, s := range row {
		c[i] = cell(s)
	}
	return c
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
