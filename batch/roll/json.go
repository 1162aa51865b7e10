package roll

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"yardwright/batch/internal/jsonfile"
	"yardwright/batch/length"
)

// problemFile is the rolls file: lengths are numbers in the file's unit.
type problemFile struct {
	Unit  string      `json:"unit"`
	Kerf  json.Number `json:"kerf"`
	End   json.Number `json:"end"`
	Stock []stockFile `json:"stock"`
	Cuts  []cutFile   `json:"cuts"`
}

type stockFile struct {
	Name   string      `json:"name"`
	Length json.Number `json:"length"`
	Count  int         `json:"count"`
}

type cutFile struct {
	Name   string      `json:"name"`
	Length json.Number `json:"length"`
	Count  int         `json:"count"`
}

// maxFile is the largest rolls file read.
const maxFile = 16 << 20

// ReadProblem reads a rolls file and returns the unit that its lengths are in. The problem has
// passed Check; every fault is an *InputError with the field or line that is wrong.
func ReadProblem(r io.Reader) (Problem, length.Measure, error) {
	var file problemFile
	if err := jsonfile.Read(r, maxFile, &file); err != nil {
		if fault := (*jsonfile.Fault)(nil); errors.As(err, &fault) {
			return Problem{}, length.Measure{}, &InputError{fault.Field, fault.Message}
		}
		return Problem{}, length.Measure{}, err
	}
	unit, ok := length.MeasureNamed(file.Unit)
	if !ok {
		return Problem{}, length.Measure{}, &InputError{"unit", "give the unit of all lengths: mm, cm, m, in, ft or yd"}
	}
	problem, err := file.problem(unit)
	if err != nil {
		return Problem{}, length.Measure{}, err
	}
	return problem, unit, problem.Check()
}

func (f problemFile) problem(unit length.Measure) (Problem, error) {
	var faults []error
	read := func(field string, n json.Number) length.Length {
		l, err := jsonfile.Length(n, unit)
		if err != nil {
			faults = append(faults, &InputError{field, err.Error()})
		}
		return l
	}
	p := Problem{}
	if f.Kerf != "" {
		p.Kerf = read("kerf", f.Kerf)
	}
	if f.End != "" {
		p.End = read("end", f.End)
	}
	for i, s := range f.Stock {
		p.Stock = append(p.Stock, Stock{s.Name, read(fmt.Sprintf("stock[%d].length", i), s.Length), s.Count})
	}
	for i, c := range f.Cuts {
		p.Cuts = append(p.Cuts, Cut{c.Name, read(fmt.Sprintf("cuts[%d].length", i), c.Length), c.Count})
	}
	return p, errors.Join(faults...)
}

// planFile is the answer to a rolls file, one row for each roll opened.
type planFile struct {
	Unit           string      `json:"unit"`
	Rolls          []rollFile  `json:"rolls"`
	Opened         int         `json:"opened"`
	OpenedLength   json.Number `json:"opened_length"`
	LongestLeft    json.Number `json:"longest_left"`
	LeftoverProven bool        `json:"leftover_proven"`
	Bound          int         `json:"bound"`
	BoundLength    json.Number `json:"bound_length"`
	Status         Status      `json:"status"`
	Unmet          []cutCount  `json:"unmet,omitempty"`
	Seed           uint64      `json:"seed"`
}

type rollFile struct {
	Stock  int         `json:"stock"`
	Length json.Number `json:"length"`
	Cuts   []cutCount  `json:"cuts"`
	Left   json.Number `json:"left"`
}

type cutCount struct {
	Cut   int    `json:"cut"`
	Count int    `json:"count"`
	Name  string `json:"name,omitempty"`
}

// WritePlan writes a plan with its lengths as numbers in a unit.
func WritePlan(w io.Writer, p Problem, unit length.Measure, plan Plan) error {
	number := func(l length.Length) json.Number { return json.Number(l.In(unit)) }
	file := planFile{
		Unit: unit.Symbol, Rolls: []rollFile{}, Opened: plan.Opened, OpenedLength: number(plan.OpenedLength),
		LongestLeft: number(plan.LongestLeft), LeftoverProven: plan.LeftoverProven,
		Bound: plan.Bound, BoundLength: number(plan.BoundLength), Status: plan.Status,
		Unmet: cutCounts(p, plan.Unmet), Seed: plan.Seed,
	}
	for _, r := range plan.Rolls {
		row := rollFile{r.Stock, number(p.Stock[r.Stock].Length), cutCounts(p, r.Counts), number(r.Left)}
		for range r.Times {
			file.Rolls = append(file.Rolls, row)
		}
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	if err := e.Encode(file); err != nil {
		return fmt.Errorf("write the plan: %w", err)
	}
	return nil
}

func cutCounts(p Problem, counts []int) []cutCount {
	var list []cutCount
	for c, n := range counts {
		if n > 0 {
			list = append(list, cutCount{c, n, p.Cuts[c].Name})
		}
	}
	return list
}
