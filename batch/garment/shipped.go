package garment

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strings"

	"yardwright/batch/length"
)

// Each row of the shipped charts names its own source, which goes with it into the database
// and onto the page.
//
//go:embed shipped/charts.csv
var shippedRows string

// shippedCharts says what the rows do not: who wears the sizes, labels and a note.
var shippedCharts = []SizeChart{
	{
		Name: "Children by height", Wearer: Child,
		Measures: []Measure{{"height", "Height"}, {"waist", "Waist"}, {"knee_height", "Knee height"}},
		Note: "Body measures of children in steps of 6 cm of height. The waist was taped just above the hip bone, so it reads " +
			"larger than a natural waist. Measure the child when you can.",
	},
	{
		Name: "Women by number", Wearer: Adult,
		Measures: []Measure{{"bust", "Bust"}, {"waist", "Waist"}, {"hip", "Hip"}},
		Note: "Body measures of an old American standard, written down from memory and not checked. Bodies have changed since 1970: " +
			"fit one sample of each size before you cut a run.",
	},
	{
		Name: "Women measured 2017 to 2020", Wearer: Adult,
		Measures: []Measure{{"height", "Height"}, {"waist", "Waist"}, {"hip", "Hip"}},
		Note:     "Low, middle and high values of women in the United States. The three columns show the spread; they are not one woman's measures.",
	},
	{
		Name: "Bags and aprons", Wearer: NoOne,
		Measures: []Measure{{"width", "Finished width"}, {"depth", "Finished depth"}},
		Note:     "Finished sizes to start from. Change them to yours.",
	},
}

// ShippedCharts returns the size charts that come with the program.
func ShippedCharts() []SizeChart {
	charts := make([]SizeChart, len(shippedCharts))
	for i, chart := range shippedCharts {
		charts[i] = chart
		charts[i].Measures = append([]Measure(nil), chart.Measures...)
	}
	rows, err := csv.NewReader(strings.NewReader(shippedRows)).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("shipped charts: %v", err)) // embedded at build time
	}
	for _, row := range rows[1:] {
		for i := range charts {
			if charts[i].Name == row[0] {
				charts[i].set(row[1], row[2], shippedValue(row))
			}
		}
	}
	return charts
}

func shippedValue(row []string) Value {
	value, err := length.Parse(row[3]+" "+row[4], length.Centimetres)
	if err != nil {
		panic(fmt.Sprintf("shipped charts: %v", err))
	}
	return Value{Length: value, Source: row[5]}
}

// set puts a value into a size, which is added at the end if it is new.
func (c *SizeChart) set(size, measure string, value Value) {
	for i := range c.Sizes {
		if c.Sizes[i].Name == size {
			c.Sizes[i].Values[measure] = value
			return
		}
	}
	c.Sizes = append(c.Sizes, Size{Name: size, Values: map[string]Value{measure: value}})
}
