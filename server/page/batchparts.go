package page

import (
	"bytes"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/server/store"
)

// Made is one style in one colourway of a batch: how many, and of which sizes.
type Made struct {
	Name  string
	Count int
	Sizes []CountOf
}

// Makes sums up what a plan makes, by style and colourway.
func (p Planned) Makes() []Made {
	var list []Made
	for _, g := range p.Plan.Garments {
		if g.Quantity == 0 {
			continue
		}
		name := g.Colourway + " " + g.Style
		at := slices.IndexFunc(list, func(m Made) bool { return m.Name == name })
		if at < 0 {
			at = len(list)
			list = append(list, Made{Name: name})
		}
		list[at].Count += g.Quantity
		list[at].Sizes = append(list[at].Sizes, CountOf{Count: g.Quantity, Name: g.Size})
	}
	return list
}

// Fetched is the cloth to fetch from the shelf, and what is to be bought of it.
type Fetched struct {
	Name, Anchor string
	Length, Buy  length.Length
	Bolts        []string
}

// Fetch sums up the cloth of a plan.
func (p Planned) Fetch() []Fetched {
	var list []Fetched
	for _, planned := range p.Plan.Cloths {
		f := Fetched{Name: planned.Cloth.Name, Anchor: p.ClothAnchor(planned.Cloth.ID)}
		for _, use := range planned.Plan.Uses {
			f.Length += use.Used
			f.Bolts = append(f.Bolts, planned.Bolts[use.Bolt].Name)
		}
		for _, purchase := range planned.Plan.Purchases {
			f.Buy += purchase.Buy
		}
		if f.Length > 0 || f.Buy > 0 {
			list = append(list, f)
		}
	}
	return list
}

// Way is one way to cut the garments of a plan, beside the others.
type Way struct {
	Name    string
	Length  length.Length
	Work    time.Duration
	Cloth   lay.Money
	Cutting lay.Money
	Cost    lay.Money
	// Saves is what the plan saves beside this way, More what it costs beyond it; one of them
	// is nothing. LessCloth is the cloth that it saves.
	Saves, More lay.Money
	LessCloth   length.Length
	IsPlan      bool
}

// Goodness says how good the plan of a cloth, or of all of them, is.
type Goodness struct {
	Name, Anchor string
	Ways         []Way
	// Bound and LengthBound are what no plan can be below.
	Bound       lay.Money
	Cost        lay.Money
	LengthBound length.Length
	Limits      []string
}

// Gap is how far the cost may be above the least there is, as a share of that least.
func (g Goodness) Gap() float64 { return above(g.Cost, g.Bound) }

func above(cost, bound lay.Money) float64 {
	if bound <= 0 || cost <= bound {
		return 0
	}
	return float64(cost-bound) / float64(bound)
}

// Best tells whether no plan can be cheaper.
func (g Goodness) Best() bool { return g.Cost <= g.Bound }

// The plan, and the plain practice that it is compared with.
const (
	wayPlan = "This plan"
	waySize = "Each size by itself"
)

// Good compares the plan of each cloth with plain practice.
func (p Planned) Good() []Goodness {
	var list []Goodness
	for _, planned := range p.Plan.Cloths {
		plan := planned.Plan
		if len(plan.Lays) == 0 {
			continue
		}
		list = append(list, Goodness{
			Name: planned.Cloth.Name, Anchor: p.ClothAnchor(planned.Cloth.ID), Bound: plan.Bound, Cost: plan.Cost, LengthBound: plan.LengthBound, Limits: plan.Limits,
			Ways: compared(p.asPractice(plan), p.inCoins(plan.BySize)),
		})
	}
	return list
}

// GoodInAll is Good of all cloths together.
func (p Planned) GoodInAll() Goodness {
	var plan, bySize lay.Practice
	all := Goodness{Name: "All cloths"}
	for _, planned := range p.Plan.Cloths {
		add(&plan, p.asPractice(planned.Plan))
		add(&bySize, p.inCoins(planned.Plan.BySize))
		all.Cost += planned.Plan.Cost
		all.Bound += planned.Plan.Bound
		all.LengthBound += planned.Plan.LengthBound
	}
	all.Ways = compared(plan, bySize)
	return all
}

// asPractice is what a plan of one cloth takes, as plain practice says it.
func (p Planned) asPractice(plan lay.Plan) lay.Practice {
	return p.inCoins(lay.Practice{Length: plan.LengthUsed, Work: plan.Work(), ClothCost: plan.ClothCost, CutCost: plan.CutCost})
}

// inCoins rounds what a way of cutting costs, so that what is shown adds up.
func (p Planned) inCoins(way lay.Practice) lay.Practice {
	way.ClothCost, way.CutCost = p.Coins(way.ClothCost), p.Coins(way.CutCost)
	way.Cost = way.ClothCost + way.CutCost
	return way
}

func add(sum *lay.Practice, p lay.Practice) {
	sum.Length += p.Length
	sum.Work += p.Work
	sum.ClothCost += p.ClothCost
	sum.CutCost += p.CutCost
	sum.Cost += p.Cost
}

// compared puts plain practice beside a plan. Plans that were kept before practice was worked
// out have none, and stand alone.
func compared(plan, bySize lay.Practice) []Way {
	ways := []Way{{Name: wayPlan, Length: plan.Length, Work: plan.Work, Cloth: plan.ClothCost, Cutting: plan.CutCost, Cost: plan.Cost, IsPlan: true}}
	if bySize.Length == 0 {
		return ways
	}
	return append(ways, Way{
		Name: waySize, Length: bySize.Length, Work: bySize.Work, Cloth: bySize.ClothCost, Cutting: bySize.CutCost, Cost: bySize.Cost,
		Saves: max(0, bySize.Cost-plan.Cost), More: max(0, plan.Cost-bySize.Cost), LessCloth: max(0, bySize.Length-plan.Length),
	})
}

// GoodOnPage is how good a plan is, with the page that it stands on.
type GoodOnPage struct {
	Page Planned
	Good Goodness
}

// WithGood joins how good a plan is with the page, for the part that shows it.
func (p Planned) WithGood(g Goodness) GoodOnPage { return GoodOnPage{p, g} }

// FirstDue is the day on which the first order of the batch is due; zero if it has none.
func (b Batch) FirstDue() time.Time {
	if len(b.Orders) == 0 {
		return time.Time{}
	}
	return b.Orders[0].DueOn // they come first due first
}

// Least is what no plan can cost less than; where the plan itself costs that, what it is shown to cost.
func (g Goodness) Least() lay.Money {
	if g.Best() {
		return g.Ways[0].Cost
	}
	return min(g.Bound, g.Ways[0].Cost)
}

// BySize is plain practice beside the plan; nil if it is not known.
func (g Goodness) BySize() *Way {
	for i := range g.Ways {
		if g.Ways[i].Name == waySize {
			return &g.Ways[i]
		}
	}
	return nil
}

// CutTime is the time of all lays: setting up, spreading, cutting.
func (p Planned) CutTime() time.Duration {
	var sum time.Duration
	for _, planned := range p.Plan.Cloths {
		sum += planned.Plan.Work()
	}
	return sum
}

// ClothCost is what all cloth of the plan counts for.
func (p Planned) ClothCost() lay.Money { return p.GoodInAll().Ways[0].Cloth }

// OverAll is how much of the cloth of all lays the pieces cover.
func (p Planned) OverAll() float64 {
	var covered, laid float64
	for _, cloth := range p.Lays {
		for _, l := range cloth.Lays {
			area := float64(l.Lay.Instance.Width) * float64(l.Lay.PlyLength) * float64(l.Lay.Plies)
			covered, laid = covered+l.Efficiency*area, laid+area
		}
	}
	if laid == 0 {
		return 0
	}
	return covered / laid
}

// Parts of the page of a batch that can be folded.
const (
	PartPlan     = "plan"
	PartShopping = "shopping"
	PartLays     = "lays"
	PartNotions  = "elastic"
	PartBundles  = "bundles-part"
	PartMinutes  = "minutes"
	PartMoney    = "money"
	PartCautions = "cautions"
	PartHistory  = "history"
	PartOrders   = "orders"
)

// Open tells whether a part stands open: what the maker needs in the state that the batch is in,
// and what something is wrong in.
func (p Planned) Open(part string) bool {
	for _, problem := range p.Problems {
		if partOf(problem.Field) == part {
			return true
		}
	}
	switch p.Batch.State {
	case store.BatchDraft:
		return part == PartPlan || part == PartShopping
	case store.BatchReleased, store.BatchBeingCut:
		return part == PartLays
	case store.BatchCut:
		return part == PartBundles
	}
	return part == PartBundles || part == PartMoney
}

// partOf names the part of the page that a field stands in.
func partOf(field string) string {
	switch {
	case strings.HasPrefix(field, "notion-"):
		return PartNotions
	case strings.HasPrefix(field, "bundle"):
		return PartBundles
	case strings.HasPrefix(field, "cloth-"), strings.HasPrefix(field, "taken."), strings.HasPrefix(field, "rest."), strings.HasPrefix(field, "place."):
		return PartLays
	}
	return ""
}

// LayOpen tells whether a lay stands open: the one to cut next, and one that something is wrong
// with.
func (p Planned) LayOpen(l LayView) bool {
	if p.Work == nil || l.Work == nil || l.Work.CutAt != nil {
		return false
	}
	if p.Work.Next != nil && p.Work.Next.ID == l.Work.ID {
		return true
	}
	return p.LayWrong(l.Work)
}

// Event is something that has happened to a batch.
type Event struct {
	At   time.Time
	What string
}

// History lists what has happened to a released batch, newest first.
func (p Planned) History() []Event {
	var list []Event
	if p.Batch.ReleasedAt != nil {
		list = append(list, Event{*p.Batch.ReleasedAt, "ready to cut: its cloth and notions kept for it"})
	}
	if p.Work != nil {
		for _, cloth := range p.Lays {
			for _, l := range cloth.Lays {
				if l.Work != nil && l.Work.CutAt != nil {
					list = append(list, Event{*l.Work.CutAt, l.Work.Name + " cut"})
				}
			}
		}
		for _, n := range p.Plan.Notions {
			if at := p.Work.TakenAt[n.Notion.ID]; at != nil {
				list = append(list, Event{*at, n.Notion.Name + " taken from the shelf"})
			}
		}
		for _, b := range p.Plan.Bundles {
			if at := p.Work.Sewn[b.Number]; at != nil {
				list = append(list, Event{*at, fmt.Sprintf("bundle %d sewn", b.Number)})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b Event) int { return b.At.Compare(a.At) })
	return list
}

// bar is one bar of a plot: what it stands for, its value in words, and its share of the longest
// that a bar can be.
type bar struct {
	name, value string
	share       float64
}

// Heights of the parts of a plot, in pixels; its width is that of the page.
const (
	barRow  = 38
	barDown = 16
	barHigh = 10
	barText = 12
)

// plot draws bars, one below the other, each with its name and value above it. Widths are in
// percent, so that the words keep their size on every screen. The title and description are read
// out in its place; a table beside it must say the same.
func plot(id, title, description string, bars []bar) template.HTML {
	var svg bytes.Buffer
	escaped := template.HTMLEscapeString
	fmt.Fprintf(&svg, `<svg class="bars" role="img" aria-labelledby="%s-title %s-about" width="100%%" height="%d"><title id="%s-title">%s</title><desc id="%s-about">%s</desc>`,
		id, id, barRow*len(bars), id, escaped(title), id, escaped(description))
	for i, b := range bars {
		top := i * barRow
		fmt.Fprintf(&svg, `<text x="0" y="%d">%s</text><text x="100%%" y="%d" class="end">%s</text>`, top+barText, escaped(b.name), top+barText, escaped(b.value))
		fmt.Fprintf(&svg, `<rect class="whole" x="0" y="%d" width="100%%" height="%d"/><rect class="part" x="0" y="%d" width="%.1f%%" height="%d"/>`,
			top+barDown, barHigh, top+barDown, 100*min(1, max(0, b.share)), barHigh)
	}
	svg.WriteString(`</svg>`)
	return template.HTML(svg.String()) //nolint:gosec // every text is escaped above
}

// EfficiencyPlot draws how much of the cloth of each lay the pieces cover.
func (p Planned) EfficiencyPlot() template.HTML {
	var bars []bar
	for _, cloth := range p.Lays {
		for _, l := range cloth.Lays {
			bars = append(bars, bar{fmt.Sprintf("%s, lay %d", l.Cloth, l.Number), p.Percent(l.Efficiency), l.Efficiency})
		}
	}
	return plot("efficiency", "Efficiency by lay", "How much of the cloth of each lay its pieces cover. The table of lays says the same.", bars)
}

// MinutesPlot draws the minutes of each stage beside each other.
func (p Planned) MinutesPlot() template.HTML {
	stages := p.WorkStages()
	most := time.Minute
	for _, stage := range stages {
		most = max(most, stage.Minutes)
	}
	bars := make([]bar, 0, len(stages))
	for _, stage := range stages {
		bars = append(bars, bar{stage.Stage, p.Minutes(stage.Minutes), float64(stage.Minutes) / float64(most)})
	}
	return plot("stages", "Minutes by stage", "How long each stage of the work takes at standard pace. The table below says the same.", bars)
}

// Gap is how much longer the marker may be than the shortest there is, at most, as a share.
func (l LayView) Gap() float64 { return l.Lay.Marker.GapPercent() / 100 }

// Minutes is the time of the lay: setting up, spreading, cutting.
func (l LayView) Minutes() time.Duration { return l.Lay.SetUp + l.Lay.Spread + l.Lay.Cut }
