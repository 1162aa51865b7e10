package page

import (
	"fmt"
	"html/template"
	"slices"
	"time"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// Work is how far a released batch is.
type Work struct {
	// Earned says in one line what the batch came to, once all is sewn and minutes were noted.
	Earned               string
	Lays, LaysCut        int
	Bundles, BundlesSewn int
	// NotionsLeft counts the notions that are not taken from the shelf yet.
	NotionsLeft int
	// Next is the lay to cut next; nil if all are cut.
	Next *LayWork
	// Sewn says when each bundle was sewn, by number; TakenAt when each notion was taken.
	Sewn    map[int]*time.Time
	TakenAt map[int64]*time.Time
	// CanUndo: nothing is cut or taken yet, so that the release can be undone.
	CanUndo bool
}

// LayWork is one lay of a released batch.
type LayWork struct {
	store.BatchLay
	Name  string
	Draws []DrawWork
}

// Anchor is the place of the lay on its page.
func (l LayWork) Anchor() string { return fmt.Sprintf("lay-%d", l.ID) }

// DrawWork is what a lay takes from one bolt, with what the form of it begins with.
type DrawWork struct {
	store.LayDraw
	// Rest is what usually becomes of the end; empty where there is none or others hold it.
	UsualRest string
}

// CutForm marks a lay as cut. Each bolt that it draws on has a row: what was taken, and what becomes
// of the end.
func (p Planned) CutForm(l *LayWork) Form {
	rows := make([][]Field, len(l.Draws))
	for i, d := range l.Draws {
		rows[i] = []Field{
			{Name: "draw", Kind: KindHidden, Value: fmt.Sprint(d.ID)},
			p.TextField(d.TakenField(), "Taken from bolt "+d.BoltName, "planned "+p.ClothUpBoth(d.Length), p.TakenInput(d.Length)),
		}
		if d.UsualRest == "" {
			rows[i] = append(rows[i], Field{Name: d.RestField(), Kind: KindHidden, Value: "stays on its bolt"})
			continue
		}
		rows[i] = append(rows[i], p.Choose(d.RestField(), "Its end", "about "+p.PieceBoth(d.Left()), d.UsualRest, Words(d.Rests()...)),
			p.TextField(d.PlaceField(), "Place of a remnant", "empty: where its bolt lies", d.Place))
	}
	place := fmt.Sprintf("/batches/%d", p.Batch.ID)
	return p.Base.Form(place, fmt.Sprintf("%s/lays/%d/cut", place, l.ID), 0, rows...)
}

// LayWrong reports whether something is wrong with what was typed of a lay that was cut.
func (p Planned) LayWrong(l *LayWork) bool {
	return slices.ContainsFunc(l.Draws, func(d DrawWork) bool {
		return p.Wrong(d.TakenField()) != "" || p.Wrong(d.RestField()) != "" || p.Wrong(d.PlaceField()) != ""
	})
}

// Done reports whether the lay is cut.
func (l LayView) Done() bool { return l.Work != nil && l.Work.CutAt != nil }

// Rests are the choices of what becomes of an end.
func (DrawWork) Rests() []string {
	return []string{store.RestStays, store.RestRemnant, store.RestThrown}
}

// TakenField names the field of what was taken.
func (d DrawWork) TakenField() string { return fmt.Sprintf("taken.%d", d.ID) }

// RestField names the choice of what becomes of the end.
func (d DrawWork) RestField() string { return fmt.Sprintf("rest.%d", d.ID) }

// PlaceField names the place of the remnant.
func (d DrawWork) PlaceField() string { return fmt.Sprintf("place.%d", d.ID) }

// NewWork puts together how far a released batch is.
func NewWork(lays []store.BatchLay, bundles []store.BatchBundle, notions []store.BatchNotion) *Work {
	w := &Work{Lays: len(lays), Bundles: len(bundles), Sewn: map[int]*time.Time{}, TakenAt: map[int64]*time.Time{}}
	for _, l := range lays {
		if l.CutAt != nil {
			w.LaysCut++
		}
	}
	for _, b := range bundles {
		w.Sewn[b.Number] = b.SewnAt
		if b.SewnAt != nil {
			w.BundlesSewn++
		}
	}
	w.CanUndo = w.LaysCut == 0
	for _, n := range notions {
		w.TakenAt[n.NotionID] = n.TakenAt
		if n.TakenAt == nil {
			w.NotionsLeft++
		}
		w.CanUndo = w.CanUndo && n.TakenAt == nil
	}
	return w
}

// NewLayWork makes a lay ready to be marked as cut.
func NewLayWork(l store.BatchLay, name string, keep length.Length) *LayWork {
	work := &LayWork{BatchLay: l, Name: name}
	for _, d := range l.Draws {
		draw := DrawWork{LayDraw: d}
		if d.Others() == 0 {
			draw.UsualRest = workshop.UsualRest(d.Left(), keep)
		}
		work.Draws = append(work.Draws, draw)
	}
	return work
}

// ClothAnchor is the place of a cloth on the page of a batch, NotionAnchor that of a notion.
func (Planned) ClothAnchor(cloth int64) string { return workshop.ClothField(cloth) }

// NotionAnchor is the place of a notion on the page of a batch.
func (Planned) NotionAnchor(notion int64) string { return workshop.NotionField(notion) }

// WorkStages sums the minutes of the plan by stage, those of the lays in their three parts.
func (p Planned) WorkStages() []batch.StageMinutes {
	if p.Plan == nil {
		return nil
	}
	var setUp, spread, cut time.Duration
	for _, planned := range p.Plan.Cloths {
		for _, l := range planned.Plan.Lays {
			setUp, spread, cut = setUp+l.SetUp, spread+l.Spread, cut+l.Cut
		}
	}
	stages := []batch.StageMinutes{{Stage: "set up and mark", Minutes: setUp}, {Stage: "spread", Minutes: spread}, {Stage: "cut", Minutes: cut}}
	for _, stage := range p.Plan.Stages {
		if stage.Stage != batch.StageCut {
			stages = append(stages, stage)
		}
	}
	return stages
}

// SpreadOf says how a lay is spread.
func (Planned) SpreadOf(l lay.Lay) string {
	if l.Way == "" {
		return string(lay.FaceOneWay)
	}
	return string(l.Way)
}

// LotWords says which shade lot a bundle is of, by cloth where there are several.
func (p Planned) LotWords(b batch.Bundle) string { return b.LotWords(*p.Plan, batch.Lot.Words) }

// LotsApart is what to do with a lay whose plies come from several shade lots.
func (Planned) LotsApart() string { return batch.LotsApart }

// MarksOf says where to mark a ply, and what makes up its length.
func (p Planned) MarksOf(l lay.Lay) string {
	own, other := batch.MarksOf(l, p.Units)
	both := func(own, other length.Length) string {
		return p.Units.Piece(own) + " (" + p.Units.Other().Piece(other) + ")"
	}
	return fmt.Sprintf("Mark each ply at %s: marker %s and %s at each end", both(own.Ply, other.Ply), both(own.Marker, other.Marker), both(own.EndLoss, other.EndLoss))
}

// LayName names a lay that a bundle's pieces come from.
func (p Planned) LayName(from batch.BundleLay) string {
	return fmt.Sprintf("%s, lay %d", p.Plan.Cloths[from.Cloth].Cloth.Name, from.Lay+1)
}

// Exactly writes a length of cloth that is known exactly, to the step of pieces if it is short.
func (b Base) Exactly(l length.Length) string { return b.ClothDown(l) }

// TakenInput writes a length that was taken for its form field, exactly: in the unit of cloth, or
// in that of pieces where the other would be a long decimal.
func (b Base) TakenInput(l length.Length) string {
	if text := b.LongInput(l); len(text) <= len("12 1/16 yd") {
		return text
	}
	return b.Input(l)
}

// LengthChange writes by how much a length changed, with its sign.
func (b Base) LengthChange(l length.Length) string {
	switch {
	case l > 0:
		return "+ " + b.ClothDown(l)
	case l < 0:
		return "− " + b.ClothDown(-l)
	}
	return "none"
}

// States are the states that a batch goes through.
func (Batch) States() []string { return store.BatchStates() }

// BatchPlans shows the plans of a batch side by side.
type BatchPlans struct {
	Base
	Batch store.Batch
	Plans []PlanColumn
}

func (BatchPlans) page() string { return "batch_plans" }

// PlanCalled names a plan where its figures stand below each other, as on a phone: when it was
// made, and what is to be known of it.
func (b BatchPlans) PlanCalled(c PlanColumn) template.HTML {
	called := b.Moment(c.CreatedAt)
	if c.Holds {
		called += ", in use"
	}
	if c.Stale {
		called += ", of other orders"
	}
	return called
}

// PlanColumn is one plan among others.
type PlanColumn struct {
	store.BatchPlan
	// Holds: this is the plan that the batch is cut by.
	Holds bool
	// Stale: it is of other orders than the batch has now.
	Stale                    bool
	Cut, Lays, ToBuy         int
	Cloth, Cutting, Cost     lay.Money
	Bound                    lay.Money
	Length                   length.Length
	CuttingTime, Worked      time.Duration
	DoneBy                   time.Time
	Cheapest, Quickest, Most bool
	// exact is Cost before it is rounded to coins.
	exact lay.Money
}

// Gap is how far the cost may be above the least there is, as a share of that least.
func (c PlanColumn) Gap() float64 { return above(c.exact, c.Bound) }

// NewPlanColumn sums a plan up.
func (b Base) NewPlanColumn(kept store.KeptPlan) PlanColumn {
	plan := kept.Plan
	c := PlanColumn{BatchPlan: kept.BatchPlan, Cut: plan.Cut(), Lays: plan.Lays(), ToBuy: len(plan.Shopping), Worked: plan.Worked, DoneBy: plan.DoneBy}
	for _, planned := range plan.Cloths {
		c.Cloth += b.Coins(planned.Plan.ClothCost)
		c.Cutting += b.Coins(planned.Plan.CutCost)
		c.exact += planned.Plan.Cost
		c.Bound += planned.Plan.Bound
		c.Length += planned.Plan.LengthUsed
		for _, l := range planned.Plan.Lays {
			c.CuttingTime += l.SetUp + l.Spread + l.Cut
		}
	}
	c.Cost = c.Cloth + c.Cutting
	return c
}
