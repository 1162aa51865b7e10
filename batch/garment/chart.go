// Package garment holds what a workshop makes: size charts, styles with their pieces, and
// grading, which turns a chart and a style into the cut size of every piece in every size.
//
// Grading gives exact sizes before shrinkage. Shrink and CutSize turn them into what is
// marked on the cloth. Nothing here touches a database, a file or the clock.
package garment

import (
	"fmt"
	"regexp"
	"strings"

	"yardwright/batch/length"
	"yardwright/batch/words"
)

// Wearer says who wears a garment; cautions depend on it.
type Wearer string

// The wearers.
const (
	Child Wearer = "child"
	Adult Wearer = "adult"
	NoOne Wearer = "thing" // a bag, an apron for the wall: no body inside
)

// Measure is one body measure, or one measure of a thing such as a bag.
type Measure struct {
	// Name is used in formulas: a letter, then letters, digits and underscores.
	Name string
	// Label is what people read.
	Label string
}

// Value is one measure of one size with where it comes from.
type Value struct {
	Length length.Length
	Source string
}

// Size is one column of a chart.
type Size struct {
	Name string
	// Values by Measure.Name. A measure may be missing in a size.
	Values map[string]Value
}

// SizeChart holds body measures by size.
type SizeChart struct {
	Name     string
	Wearer   Wearer
	Measures []Measure
	// Sizes from small to large.
	Sizes []Size
	// Note says what the chart rests on and how far to trust it.
	Note string
}

// Size returns the size with the given name.
func (c SizeChart) Size(name string) (Size, bool) {
	for _, size := range c.Sizes {
		if size.Name == name {
			return size, true
		}
	}
	return Size{}, false
}

// SizeNames lists the sizes from small to large.
func (c SizeChart) SizeNames() []string {
	names := make([]string, len(c.Sizes))
	for i, size := range c.Sizes {
		names[i] = size.Name
	}
	return names
}

// Problem is one thing wrong with a chart or a style, at its field.
type Problem struct {
	// Field is a path such as "pieces[2].width" or "sizes[0].name".
	Field string
	// Size is the size in which it shows, if it shows only there.
	Size    string
	Message string
}

func (p Problem) String() string {
	if p.Size != "" {
		return fmt.Sprintf("%s, size %s: %s", p.Field, p.Size, p.Message)
	}
	return p.Field + ": " + p.Message
}

// Problems is an error made of everything that is wrong, so that all can be mended at once.
type Problems []Problem

func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, problem := range p {
		lines[i] = problem.String()
	}
	return strings.Join(lines, "\n")
}

// orNil returns nil for no problems, so that callers can test for an error.
func (p Problems) orNil() error {
	if len(p) == 0 {
		return nil
	}
	return p
}

func (p *Problems) add(field, format string, args ...any) {
	*p = append(*p, Problem{Field: field, Message: fmt.Sprintf(format, args...)})
}

var identifier = regexp.MustCompile(`^[a-z][a-z0-9_]{0,39}$`)

// longestMeasure is more than anything a garment has, so that a slip of the unit is found.
const longestMeasure = 20 * length.Metre

// Check returns everything wrong with the chart as Problems, or nil.
func (c SizeChart) Check() error {
	var problems Problems
	checkName(&problems, "name", c.Name)
	measures := map[string]bool{}
	for i, measure := range c.Measures {
		field := fmt.Sprintf("measures[%d].name", i)
		switch {
		case !identifier.MatchString(measure.Name):
			problems.add(field, "write a short name in small letters, such as waist or waist_to_knee")
		case reservedNames[measure.Name]:
			problems.add(field, "%q already means something in formulas; choose another name", measure.Name)
		case measures[measure.Name]:
			problems.add(field, "%q appears twice", measure.Name)
		}
		measures[measure.Name] = true
	}
	if len(c.Measures) == 0 {
		problems.add("measures", "add at least one measure, such as waist")
	}
	if len(c.Sizes) == 0 {
		problems.add("sizes", "add at least one size")
	}
	seen := map[string]bool{}
	for i, size := range c.Sizes {
		field := fmt.Sprintf("sizes[%d]", i)
		checkName(&problems, field+".name", size.Name)
		if seen[size.Name] {
			problems.add(field+".name", "size %q appears twice", size.Name)
		}
		seen[size.Name] = true
		for name, value := range size.Values {
			if !measures[name] {
				problems.add(field+"."+name, "%q is not a measure of this chart", name)
			}
			if value.Length <= 0 || value.Length > longestMeasure {
				problems.add(field+"."+name, "write a length above zero and below 20 m")
			}
		}
	}
	return problems.orNil()
}

func checkName(problems *Problems, field, name string) {
	switch {
	case strings.TrimSpace(name) == "":
		problems.add(field, "write a name")
	default:
		if fault := words.LineFault(name, words.LongestName); fault != "" {
			problems.add(field, "%s", fault)
		}
	}
}
