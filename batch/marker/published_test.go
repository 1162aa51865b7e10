package marker

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"yardwright/batch/length"
)

// families are the files of testdata/marker/rectangles. The source of each instance stands in them.
var families = []string{
	"HT_C",        // Hopper and Turton 2001
	"BKW_N",       // Burke, Kendall and Whitwell 2004
	"BENG",        // Bengtsson 1982
	"HOPPER_NT",   // Hopper 2000
	"CGCUT",       // Christofides and Whitlock 1977
	"GCUT",        // Beasley 1985
	"NGCUT",       // Beasley 1985
	"KROGER",      // Kröger 1995
	"LEUNG2003",   // Leung, Yung and Troutt 2003
	"JAKOBS_RECT", // Jakobs 1996
	"BABU",        // Babu and Babu 1999
	"BWMV",        // Berkey and Wang 1987; Martello and Vigo 1998
	"HIFI_SCP",    // Hifi 1998
}

// published is a strip-packing instance from testdata/marker/rectangles.
type published struct {
	family, name, source string
	width                int
	// least is the least known length, by variant; status tells how well it is known.
	least  map[string]int
	status map[string]string
	// bound and skyline3s are by variant "given" and "turned".
	bound, skyline3s map[string]int
	pieces           []publishedPiece
}

type publishedPiece struct{ w, l, copies int }

// unit is what one unit of a published instance is in a marker: the sets are pure numbers.
const unit = length.Millimetre

func (p published) instance(turned, straight bool) Instance {
	in := Instance{Width: length.Length(p.width) * unit, StraightCuts: straight}
	turns := []Turn{0}
	if turned {
		turns = []Turn{0, 90}
	}
	for i, q := range p.pieces {
		in.Pieces = append(in.Pieces, Piece{
			Name: fmt.Sprintf("%s-%d", p.name, i), Copies: q.copies,
			Width: length.Length(q.w) * unit, Length: length.Length(q.l) * unit, Turns: turns,
		})
	}
	return in
}

func readPublished(tb testing.TB, families ...string) []published {
	tb.Helper()
	var all []published
	for _, family := range families {
		file, err := os.Open(filepath.Join("..", "..", "testdata", "marker", "rectangles", family+".txt"))
		if err != nil {
			tb.Fatal(err)
		}
		defer file.Close()
		scanner := bufio.NewScanner(file)
		for line := 1; scanner.Scan(); line++ {
			if err := readPublishedLine(&all, family, scanner.Text()); err != nil {
				tb.Fatalf("%s:%d: %v", file.Name(), line, err)
			}
		}
		if err := scanner.Err(); err != nil {
			tb.Fatal(err)
		}
	}
	return all
}

func readPublishedLine(all *[]published, family, text string) error {
	key, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	if key == "" || strings.HasPrefix(key, "#") {
		return nil
	}
	if key == "instance" {
		*all = append(*all, published{
			family: family, name: rest, least: map[string]int{}, status: map[string]string{},
			bound: map[string]int{}, skyline3s: map[string]int{},
		})
		return nil
	}
	p := &(*all)[len(*all)-1]
	fields := strings.Fields(rest)
	switch key {
	case "source":
		p.source = rest
	case "note":
	case "width":
		n, err := strconv.Atoi(rest)
		p.width = n
		return err
	case "given", "turned", "straight", "straight_turned":
		n, err := strconv.Atoi(fields[0])
		p.least[key], p.status[key] = n, fields[1]
		return err
	case "bound", "skyline_3s":
		into := map[string]map[string]int{"bound": p.bound, "skyline_3s": p.skyline3s}[key]
		for i, variant := range []string{"given", "turned"} {
			n, err := strconv.Atoi(fields[i])
			if err != nil {
				return err
			}
			into[variant] = n
		}
	case "pieces":
		for _, field := range fields {
			q := publishedPiece{copies: 1}
			format, into := "%dx%d", []any{&q.w, &q.l}
			if strings.Contains(field, "*") {
				format, into = "%dx%d*%d", append(into, &q.copies)
			}
			if _, err := fmt.Sscanf(field, format, into...); err != nil {
				return fmt.Errorf("%s: %w", field, err)
			}
			p.pieces = append(p.pieces, q)
		}
	default:
		return fmt.Errorf("%s is not known", key)
	}
	return nil
}
