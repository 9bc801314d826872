package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"
)

// doc is what a test's comment says.
type doc struct {
	chapter, file, claim, source string
	equations                    string // indented lines of the comment, a line each
	order                        int    // in its file
}

const directive = "//dossier:chapter "

// readDocs reads the comments of the tests in a folder. The claim is the comment's
// first paragraph up to Source; the chapter stands in the file's first lines.
func readDocs(folder string) (map[string]doc, error) {
	files, err := filepath.Glob(filepath.Join(folder, "*_test.go"))
	if err != nil {
		return nil, err
	}
	docs := map[string]doc{}
	for _, path := range files {
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		if err != nil {
			return nil, err
		}
		chapter := ""
		for _, group := range f.Comments {
			for _, c := range group.List {
				if strings.HasPrefix(c.Text, directive) {
					chapter = strings.TrimPrefix(c.Text, directive)
				}
			}
		}
		for i, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || !strings.HasPrefix(fn.Name.Name, "Test") {
				continue
			}
			claim, source, equations := split(fn.Name.Name, fn.Doc.Text())
			docs[fn.Name.Name] = doc{chapter, filepath.Base(path), claim, source, equations, i}
		}
	}
	if len(docs) == 0 {
		return nil, fmt.Errorf("no test found in %s", folder)
	}
	return docs, nil
}

// split parts a test's comment into its claim and its source, each one sentence,
// and the equations that stand indented in the claim.
func split(name, text string) (claim, source, equations string) {
	before, after, _ := strings.Cut(strings.Replace(text, "Sources:", "Source:", 1), "Source:")
	var prose, maths []string
	for _, line := range strings.Split(before, "\n") {
		switch {
		case strings.HasPrefix(line, "\t"):
			maths = append(maths, strings.TrimPrefix(line, "\t"))
		default:
			prose = append(prose, line)
		}
	}
	flat := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	claim = strings.TrimPrefix(strings.TrimPrefix(flat(strings.Join(prose, "\n")), name), ":")
	return sentence(claim), sentence(flat(after)), strings.Join(maths, "\n")
}

// sentence cuts a text after its first sentence: a stop that no small letter follows
// and no abbreviation precedes.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	for i := 4; i+2 < len(s); i++ {
		next, _ := utf8.DecodeRuneInString(s[i+2:])
		if s[i] == '.' && s[i+1] == ' ' && !unicode.IsLower(next) && !abbreviated(s[:i]) {
			return s[:i]
		}
	}
	return strings.TrimRight(s, ".:,")
}

// abbreviated says whether the stop after s ends a word such as Fig. or J. and no
// sentence.
func abbreviated(s string) bool {
	word := s[strings.LastIndexAny(s, " (")+1:]
	switch word {
	case "ch", "ed", "eq", "fig", "no", "sec", "Trans", "Appl", "Math", "Numer", "Phys", "Comput", "Fluids", "Eng", "Can", "Geotech", "Environ", "Monit", "Assess", "Res", "Pet", "Technol", "Sci", "Am", "Soc", "vol":
		return true
	}
	return len(word) == 1 && word[0] >= 'A' && word[0] <= 'Z'
}
