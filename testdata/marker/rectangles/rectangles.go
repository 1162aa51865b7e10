// Package rectangles reads the published instances of laying rectangles on a strip that tests and
// measurements use. The source of each instance stands in its file.
package rectangles

import (
	"embed"
	"fmt"
	"strconv"
	"strings"
)

//go:embed *.txt
var files embed.FS

// Families are the files, in the order of tables.
var Families = []string{
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

// Instance is a published instance in whole units.
type Instance struct {
	Family, Name string
	Width        int
	// Least is the least known length and Status how well it is known, by "given", "turned",
	// "straight" and "straight_turned", as far as known.
	Least  map[string]int
	Status map[string]string
	// Bound is the proven lower bound that came with the instance, by "given" and "turned".
	Bound map[string]int
	// Skyline3s is what a minimal skyline search of 3 s came to, by "given" and "turned".
	Skyline3s map[string]int
	Pieces    []Piece
}

// Piece is a rectangle and its number of copies.
type Piece struct{ Width, Length, Copies int }

// Read returns the instances of families; an error names the file and line.
func Read(families ...string) ([]Instance, error) {
	var all []Instance
	for _, family := range families {
		text, err := files.ReadFile(family + ".txt")
		if err != nil {
			return nil, err
		}
		for i, line := range strings.Split(string(text), "\n") {
			if err := readLine(&all, family, strings.TrimSpace(line)); err != nil {
				return nil, fmt.Errorf("%s.txt:%d: %w", family, i+1, err)
			}
		}
	}
	return all, nil
}

func readLine(all *[]Instance, family, line string) error {
	key, rest, _ := strings.Cut(line, " ")
	if key == "" || strings.HasPrefix(key, "#") {
		return nil
	}
	if key == "instance" {
		*all = append(*all, Instance{Family: family, Name: rest, Least: map[string]int{}, Status: map[string]string{}, Bound: map[string]int{}, Skyline3s: map[string]int{}})
		return nil
	}
	if len(*all) == 0 {
		return fmt.Errorf("%s stands before the first instance", key)
	}
	in, fields := &(*all)[len(*all)-1], strings.Fields(rest)
	var err error
	switch key {
	case "source", "note":
	case "width":
		in.Width, err = strconv.Atoi(rest)
	case "given", "turned", "straight", "straight_turned":
		if len(fields) != 2 {
			return fmt.Errorf("%s needs a length and a status", key)
		}
		in.Status[key] = fields[1]
		in.Least[key], err = strconv.Atoi(fields[0])
	case "bound", "skyline_3s":
		into := map[string]map[string]int{"bound": in.Bound, "skyline_3s": in.Skyline3s}[key]
		var given, turned int
		_, err = fmt.Sscan(rest, &given, &turned)
		into["given"], into["turned"] = given, turned
	case "pieces":
		err = in.readPieces(fields)
	default:
		err = fmt.Errorf("%s is not known", key)
	}
	return err
}

func (in *Instance) readPieces(fields []string) error {
	for _, field := range fields {
		p := Piece{Copies: 1}
		sides, copies, several := strings.Cut(field, "*")
		if _, err := fmt.Sscanf(sides, "%dx%d", &p.Width, &p.Length); err != nil {
			return fmt.Errorf("%s: %w", field, err)
		}
		if several {
			var err error
			if p.Copies, err = strconv.Atoi(copies); err != nil {
				return fmt.Errorf("%s: %w", field, err)
			}
		}
		in.Pieces = append(in.Pieces, p)
	}
	return nil
}
