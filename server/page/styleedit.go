package page

import (
	"strconv"
	"strings"

	"yardwright/batch/garment"
	"yardwright/server/store"
)

// StyleEdit is the form of a style's name, steps and notions.
type StyleEdit struct {
	Base
	Style   store.Style
	Wearers []Option
	// Known are the names that formulas may use.
	Known []string
	Steps []StepRow
	Needs []NeedRow
}

// StepRow are the boxes of one step.
type StepRow struct{ Place, Name, Stage, SetUp, Each Field }

// NeedRow are the boxes of one notion that a garment takes.
type NeedRow struct{ Name, Length, Count Field }

// StepField names a box of a step, NeedField one of a notion.
func StepField(row int, part string) string { return rowField("step", row, part) }

// NeedField names a box of a notion that a garment takes.
func NeedField(row int, part string) string { return rowField("need", row, part) }

// StepRow makes the boxes of a step.
func (v StyleEdit) StepRow(row int) StepRow {
	var name, setUp, each, stage any = nil, nil, nil, string(garment.Sew)
	if row < len(v.Style.Operations) {
		o := v.Style.Operations[row]
		name, setUp, each, stage = o.Name, v.MinutesInput(o.SetUp), v.MinutesInput(o.Each), string(o.Stage)
	}
	var stages []Option
	for _, known := range garment.Stages() {
		stages = append(stages, Option{Value: string(known), Text: string(known)})
	}
	return StepRow{
		Place: v.NumberField(StepField(row, "place"), "Place", "", strconv.Itoa(row+1)),
		Name:  v.TextField(StepField(row, "name"), "Step", "", name),
		Stage: v.Choose(StepField(row, "stage"), "Stage", "", stage, stages),
		SetUp: v.NumberField(StepField(row, "set_up"), "Set-up, min", "", setUp),
		Each:  v.NumberField(StepField(row, "each"), "Each, min", "", each),
	}
}

// NeedRow makes the boxes of a notion that a garment takes.
func (v StyleEdit) NeedRow(row int) NeedRow {
	var name, length, count any
	if row < len(v.Style.Notions) {
		n := v.Style.Notions[row]
		name, length, count = n.Notion, n.Length, n.Count
	}
	return NeedRow{
		Name:   v.TextField(NeedField(row, "name"), "Notion", "", name),
		Length: v.TextField(NeedField(row, "length"), "Length, as a formula", "empty: counted", length),
		Count:  v.NumberField(NeedField(row, "count"), "How many", "of a garment", count),
	}
}

// KnownWords are the names that formulas may use, in one line.
func (v StyleEdit) KnownWords() string { return strings.Join(v.Known, ", ") }

func (StyleEdit) page() string { return "style_edit" }

func init() { pages["style_edit"] = []string{"form_parts"} }
