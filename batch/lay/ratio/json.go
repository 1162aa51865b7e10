package ratio

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/big"
	"strings"

	"yardwright/batch/internal/jsonfile"
	"yardwright/batch/length"
)

// problemFile is the layplan file: lengths are numbers in the file's unit, prices per that unit.
type problemFile struct {
	Unit        string        `json:"unit"`
	Sizes       []string      `json:"sizes"`
	Demand      []int         `json:"demand"`
	Length      []json.Number `json:"length_per_garment"`
	MaxPlies    int           `json:"max_plies"`
	MinPlies    int           `json:"min_plies"`
	MaxGarments int           `json:"max_garments_per_marker"`
	MaxLength   json.Number   `json:"max_marker_length"`
	EndLoss     json.Number   `json:"end_loss"`
	OverCut     int           `json:"over_cut_allowed"`
	Objective   Objective     `json:"objective"`
	Prices      *priceFile    `json:"prices"`
}

type priceFile struct {
	Cloth  json.Number `json:"cloth"`
	Marker json.Number `json:"marker"`
	Ply    json.Number `json:"ply"`
	Cut    json.Number `json:"cut"`
}

// maxFile is the largest layplan file read.
const maxFile = 4 << 20

// Read reads a layplan file and returns the unit that its lengths are in. The
// problem has passed Check; every fault is an *InputError with the field or line that is
// wrong. Without an objective it is ObjectiveMarkers.
func Read(r io.Reader) (Problem, length.Measure, error) {
	var file problemFile
	if err := jsonfile.Read(r, maxFile, &file); err != nil {
		return Problem{}, length.Measure{}, err
	}
	unit, ok := length.MeasureNamed(file.Unit)
	if !ok && (file.Unit != "" || file.hasLengths()) {
		return Problem{}, length.Measure{}, &InputError{Field: "unit", Message: "give the unit of all lengths: mm, cm, m, in, ft or yd"}
	}
	p, err := file.problem(unit)
	if err != nil {
		return Problem{}, length.Measure{}, err
	}
	return p, unit, p.Check()
}

func (f *problemFile) hasLengths() bool {
	return len(f.Length) > 0 || f.MaxLength != "" && f.MaxLength != "0" || f.EndLoss != ""
}

func (f *problemFile) problem(unit length.Measure) (Problem, error) {
	c := &checker{}
	read := func(field string, n json.Number) length.Length {
		if n == "" || n == "0" {
			return 0
		}
		l, err := jsonfile.Length(n, unit)
		if err != nil {
			c.add(field, "%s", err)
		}
		return l
	}
	p := Problem{
		Sizes: f.Sizes, Demand: f.Demand, MaxPlies: f.MaxPlies, MinPlies: f.MinPlies, MaxGarments: f.MaxGarments,
		MaxLength: read("max_marker_length", f.MaxLength), EndLoss: read("end_loss", f.EndLoss),
		OverCut: f.OverCut, Objective: f.Objective,
	}
	if p.Objective == "" {
		p.Objective = ObjectiveMarkers
	}
	for i, n := range f.Length {
		p.Length = append(p.Length, read(fmt.Sprintf("length_per_garment[%d]", i), n))
	}
	switch {
	case f.Prices != nil:
		p.Prices = c.prices(*f.Prices, unit)
	case p.Objective == ObjectiveMoney:
		c.add("prices", "money needs prices: cloth per %s, and if they count, marker, ply and cut", unit.Symbol)
	}
	return p, errors.Join(c.faults...)
}

// prices reads prices, of cloth and cutting per unit of length.
func (c *checker) prices(f priceFile, unit length.Measure) Prices {
	return Prices{
		Per:    unit.Size,
		Cloth:  c.money("prices.cloth", f.Cloth),
		Marker: c.money("prices.marker", f.Marker),
		Ply:    c.money("prices.ply", f.Ply),
		Cut:    c.money("prices.cut", f.Cut),
	}
}

// money reads an amount, to the millionth.
func (c *checker) money(field string, n json.Number) Money {
	if n == "" {
		return 0
	}
	text, err := jsonfile.Plain(n)
	amount, ok := new(big.Rat).SetString(text)
	if err != nil || !ok {
		c.add(field, "%q is not an amount", n)
		return 0
	}
	amount.Mul(amount, big.NewRat(1_000_000, 1))
	whole, ok := new(big.Int).SetString(amount.FloatString(0), 10)
	if !ok || !whole.IsInt64() {
		c.add(field, "the amount is too large")
		return 0
	}
	return Money(whole.Int64())
}

// planFile is the answer to a layplan file.
type planFile struct {
	Unit         string       `json:"unit,omitempty"`
	Markers      []markerFile `json:"markers"`
	OverCut      int          `json:"over_cut"`
	Length       json.Number  `json:"length,omitempty"`
	BoundMarkers int          `json:"bound_markers"`
	BoundLength  json.Number  `json:"bound_length,omitempty"`
	Cost         *costFile    `json:"cost,omitempty"`
	Status       Status       `json:"status"`
	Seed         uint64       `json:"seed"`
}

type markerFile struct {
	Plies  int         `json:"plies"`
	Ratio  []int       `json:"ratio"`
	Length json.Number `json:"length,omitempty"`
}

type costFile struct {
	Cloth json.Number `json:"cloth"`
	Work  json.Number `json:"work"`
	Total json.Number `json:"total"`
	Bound json.Number `json:"bound"`
}

// Write writes a plan with its lengths as numbers in a unit, and money as numbers in
// the currency's unit.
func Write(w io.Writer, p Problem, unit length.Measure, plan Plan) error {
	file := planFile{
		Unit: unit.Symbol, Markers: []markerFile{}, OverCut: plan.OverCut, BoundMarkers: plan.BoundMarkers,
		Status: plan.Status, Seed: plan.Seed,
	}
	for _, m := range plan.Markers {
		row := markerFile{Plies: m.Plies, Ratio: m.Ratio}
		if p.Length != nil {
			long := length.Length(0)
			for i, n := range m.Ratio {
				long += p.Length[i] * length.Length(n)
			}
			row.Length = json.Number(long.In(unit))
		}
		file.Markers = append(file.Markers, row)
	}
	if p.Length != nil {
		file.Length, file.BoundLength = json.Number(plan.Length.In(unit)), json.Number(plan.BoundLength.In(unit))
	}
	if p.Objective == ObjectiveMoney {
		file.Cost = &costFile{moneyNumber(plan.Cloth), moneyNumber(plan.Work), moneyNumber(plan.Cost), moneyNumber(plan.BoundCost)}
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	if err := e.Encode(file); err != nil {
		return fmt.Errorf("write the plan: %w", err)
	}
	return nil
}

// moneyNumber writes an amount without trailing zeros.
func moneyNumber(m Money) json.Number {
	text := big.NewRat(int64(m), 1_000_000).FloatString(6)
	return json.Number(strings.TrimSuffix(strings.TrimRight(text, "0"), "."))
}
