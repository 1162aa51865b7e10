package exports

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/batch/words"
)

// CuttingWorkbook writes a planned batch as a workbook: the batch with its minutes and
// cautions, garments, lays, bolts, pieces in inches and centimetres, notions and the rolls
// that they are cut from, bundles, shopping and steps. Totals are formulas that keep their
// values.
func CuttingWorkbook(w io.Writer, plan batch.Plan, options Options) error {
	return cuttingBook(plan, options).write(w)
}

// cuttingBook makes the pages of the cutting workbook.
func cuttingBook(plan batch.Plan, options Options) *cutting {
	c := &cutting{book: newBook(options, oneLine(plan.Name)), plan: plan, options: options}
	overview := c.page("Batch", column{20, 26}, column{14, 14}, column{14, 14}, column{14, 14}, column{14, 14}, column{28, 34})
	c.garments()
	c.lays()
	c.bolts()
	c.pieces()
	c.notions()
	c.rolls()
	c.bundles()
	c.shopping()
	c.steps()
	c.overview(overview)
	return c
}

// cutting is the cutting workbook while it is being written.
type cutting struct {
	*book
	plan    batch.Plan
	options Options
	// Where totals stand that the overview shows.
	wanted, cut, taken, cost, work elsewhere
	stages                         span // the stages and minutes of the steps
}

// elsewhere is a number of another page, as a formula, with its value.
type elsewhere struct {
	formula string
	value   any
}

// sumOf is the sum of rows of a column, for another page; unlike the totals of the page itself
// it minds no filter.
func (p *page) sumOf(column, from, to int, value any) elsewhere {
	return elsewhere{fmt.Sprintf("SUM(%s%s:%s)", p.quoted(), fixed(column, from), fixed(column, to)), value}
}

// cell shows the number on this page; a page without rows has none.
func (e elsewhere) cell(format string) cell {
	if e.formula == "" {
		return cell{value: 0, look: look{format: format, align: "left"}}
	}
	return formulaCell(e.formula, e.value, format).aligned("left")
}

// clothCost is what the cloths of the plan count for, each to the smallest coin, as the pages add them up.
func (c *cutting) clothCost() (sum lay.Money) {
	for _, planned := range c.plan.Cloths {
		sum += c.options.coins(planned.Plan.ClothCost)
	}
	return sum
}

// about is the line under a title.
func (c *cutting) about() string {
	parts := []string{oneLine(c.plan.Name)}
	if c.options.Workshop != "" {
		parts = append(parts, oneLine(c.options.Workshop))
	}
	return strings.Join(parts, " · ")
}

// none says that a page has nothing to list.
func none(p *page, text string) { p.wide(text, lookFaint) }

func (c *cutting) overview(p *page) {
	p.wide("Cutting batch: "+oneLine(c.plan.Name), lookTitle)
	if c.options.Workshop != "" {
		p.wide(oneLine(c.options.Workshop), lookFaint)
	}
	p.blank()
	fact := func(label string, value cell) {
		row := p.add(textCell(label), value)
		p.merge(2, 4, row)
	}
	fact("Made on", dateCell(c.options.Date))
	fact("Work starts", dateCell(c.plan.Start))
	if c.plan.DoneBy.IsZero() {
		fact("Done by", textCell("the calendar has too few working minutes"))
	} else {
		fact("Done by", dateCell(c.plan.DoneBy))
	}
	fact("Garments ordered", c.wanted.cell(wholeFormat))
	fact("Garments cut", c.cut.cell(wholeFormat))
	fact("Lays", countCell(c.plan.Lays()).aligned("left"))
	fact("Bundles", countCell(len(c.plan.Bundles)).aligned("left"))
	fact("Cloth spread, "+c.options.long().Symbol, c.taken.cell(longFormat))
	if !c.options.WithoutMoney {
		fact("Cost of the cloth", c.options.paidCell(c.clothCost()).aligned("left"))
		fact("To spend on shopping", c.cost.cell(c.options.moneyFormat(0)))
	}
	c.minutes(p, fact)
	if c.plan.Stopped {
		p.wide("Planning was stopped early: this is the best plan found until then.", lookWarning)
	}
	c.late(p)
	c.uncut(p)
	c.cautions(p)
}

// minutes adds all work, at standard pace and at the workroom's own, then by stage, drawn beside.
func (c *cutting) minutes(p *page, fact func(string, cell)) {
	fact("Standard minutes", c.work.cell(minutesFormat))
	all := cellName(2, len(p.rows))
	pace := 1.0
	if c.plan.Worked > 0 {
		pace = math.Round(float64(c.plan.Minutes)/float64(c.plan.Worked)*1000) / 1000
	}
	fact("Pace: standard ÷ worked", numberCell(pace, percentFormat).aligned("left").as(lookInput))
	paceCell := cellName(2, len(p.rows))
	c.name(p, paceCell, "pace", "")
	p.above(paceCell)
	fact("Minutes to work", formulaCell(all+"/"+cellName(2, len(p.rows)), minutes(c.plan.Minutes)/pace, minutesFormat).aligned("left"))
	p.blank()
	p.wide("Minutes by stage", lookSection)
	p.headings("Stage", "Minutes", "Share")
	first := p.next()
	for _, stage := range c.plan.Stages {
		row := p.next()
		value := minutes(stage.Minutes)
		share := 0.0
		if c.plan.Minutes > 0 {
			share = float64(stage.Minutes) / float64(c.plan.Minutes)
		}
		sum := fmt.Sprintf("SUMIF(%s,%s,%s)", c.stageColumn(1), cellName(1, row), c.stageColumn(7))
		p.body(textCell(stage.Stage), formulaCell(sum, value, minutesFormat),
			formulaCell(fmt.Sprintf("IF(%s=0,0,%s/%s)", fixed(2, first+len(c.plan.Stages)), cellName(2, row), fixed(2, first+len(c.plan.Stages))), share, percentFormat))
	}
	if len(c.plan.Stages) > 0 {
		last := p.next() - 1
		p.sums(textCell("All"), formulaCell(fmt.Sprintf("SUM(%s:%s)", cellName(2, first), cellName(2, last)), minutes(c.plan.Minutes), minutesFormat), cell{})
		p.drawBeside(chart{kind: excelize.Bar, title: "Standard minutes by stage", categories: 1, from: first, to: last, series: []chartSeries{{column: 2, nameColumn: 2, nameRow: first - 1}}, format: "#,##0", level: true}, 5, factsTop)
	}
	p.blank()
}

// factsTop is the row of the first fact of a batch.
const factsTop = 4

// stageColumn is a column of the steps.
func (c *cutting) stageColumn(column int) string {
	return "'Steps'!" + fixed(column, c.stages.top) + ":" + fixed(column, c.stages.bottom)
}

func (c *cutting) late(p *page) {
	if len(c.plan.Late) == 0 {
		return
	}
	p.wide("Orders due before the batch is done", lookSection)
	row := p.headings("Order", "Customer", "", "Due", "Days late")
	p.merge(2, 3, row)
	for _, late := range c.plan.Late {
		row := p.body(textCell(late.Order), textCell(late.Customer), cell{}, dateCell(late.Due), countCell(late.Days))
		p.merge(2, 3, row)
	}
	p.blank()
}

func (c *cutting) uncut(p *page) {
	if len(c.plan.Uncut) == 0 {
		return
	}
	p.wide("Not cut", lookWarning)
	row := p.headings("Garment", "Quantity", "Cloth", "Why, and what would make it possible")
	p.merge(4, 6, row)
	for _, uncut := range c.plan.Uncut {
		name := ""
		if uncut.Garment >= 0 && uncut.Garment < len(c.plan.Garments) {
			name = c.plan.Garments[uncut.Garment].Name()
		}
		row := p.body(textCell(name), countCell(uncut.Quantity), textCell(uncut.Cloth), textCell(strings.TrimSpace(sentence(uncut.Reason)+" "+uncut.Remedy)), cell{}, cell{})
		p.merge(4, 6, row)
	}
	p.blank()
}

// sentence ends a text with a full stop.
func sentence(text string) string {
	text = oneLine(text)
	if text == "" || strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}

func (c *cutting) cautions(p *page) {
	p.wide("Cautions", lookSection)
	row := p.headings("About", "", "", "", "", "Source")
	p.merge(1, 1, row)
	for _, caution := range c.plan.Cautions {
		row := p.body(textCell(caution.Topic), textCell(caution.Text), cell{}, cell{}, cell{}, textCell(caution.Source))
		p.merge(2, 5, row)
	}
	p.wide(batch.LocalRules, lookWarning)
}

func (c *cutting) garments() {
	p := c.page("Garments", column{16, 34}, column{14, 30}, column{8, 16}, column{10, 10}, column{10, 10})
	p.titles("Garments", c.about())
	if len(c.plan.Garments) == 0 {
		none(p, "No garments.")
		return
	}
	head := p.headings("Style", "Colourway", "Size", "Ordered", "Cut")
	wanted, cut := 0, 0
	for _, g := range c.plan.Garments {
		p.body(textCell(g.Style), textCell(g.Colourway), textCell(g.Size), countCell(g.Wanted), countCell(g.Quantity))
		wanted, cut = wanted+g.Wanted, cut+g.Quantity
	}
	p.tabled(head, 5)
	last := len(p.rows)
	p.sums(textCell("All"), cell{}, cell{}, formulaCell(subtotal(4, head+1, last), wanted, wholeFormat), formulaCell(subtotal(5, head+1, last), cut, wholeFormat))
	c.wanted, c.cut = p.sumOf(4, head+1, last, wanted), p.sumOf(5, head+1, last, cut)
}

// eachLay visits the lays of all cloths.
func (c *cutting) eachLay(visit func(planned batch.ClothPlan, at int, l lay.Lay)) {
	for _, planned := range c.plan.Cloths {
		for at, l := range planned.Plan.Lays {
			visit(planned, at, l)
		}
	}
}

// boltOf returns the bolt that a lay draws from; ok is false for cloth to buy.
func boltOf(planned batch.ClothPlan, at int) (bolt batch.Bolt, ok bool) {
	if at < 0 || at >= len(planned.Bolts) {
		return batch.Bolt{}, false
	}
	return planned.Bolts[at], true
}

// bolt names a bolt on a page: name, lot, place.
func boltWords(planned batch.ClothPlan, at int) (name, lot, place string) {
	bolt, ok := boltOf(planned, at)
	if !ok {
		return "to buy", blankLot, ""
	}
	return bolt.Name, cmp.Or(bolt.Lot, blankLot), bolt.Place
}

func (c *cutting) lays() {
	p := c.page("Lays", column{12, 16}, column{5, 5}, column{9, 9}, column{6, 11}, column{6, 9}, column{8, 11}, column{8, 8}, column{6, 6}, column{8, 8}, column{8, 8},
		column{8, 8}, column{8, 8}, column{8, 8}, column{8, 8}, column{24, 36}, column{8, 8}, column{9, 9}, column{7, 7})
	// How good the markers are is for the screen: on paper it would make what is cut from small.
	p.landscape, p.onScreen = true, laysColumns-garmentsColumn
	small, long := c.options.small().Symbol, c.options.long().Symbol
	p.titles("Lays: what to spread and cut", c.about())
	if c.plan.Lays() == 0 {
		none(p, "No lays.")
		return
	}
	head := p.headings("Cloth", "Lay", "Spread", "Bolt", "Lot", "Place", "First ply begins at, "+long, "Plies", "Marker, "+small, "End loss each end, "+small, "Ply, "+small,
		"Mark each ply at, "+small, "Mark each ply at, "+c.options.system().Other().Small().Symbol, "Cloth, "+long, "Garments per ply", "Used by pieces", "Shortest possible, "+small, "Gap to it")
	plies, taken := 0, length.Length(0)
	c.eachLay(func(planned batch.ClothPlan, at int, l lay.Lay) {
		for _, draw := range l.Draws {
			c.layRow(p, planned, at, l, draw)
			plies, taken = plies+draw.Plies, taken+l.PlyLength*length.Length(draw.Plies)
		}
	})
	p.tabled(head, laysColumns)
	last := len(p.rows)
	cells := make([]cell, laysColumns)
	cells[0] = textCell("All")
	cells[pliesColumn-1] = formulaCell(subtotal(pliesColumn, head+1, last), plies, wholeFormat)
	cells[clothColumn-1] = formulaCell(subtotal(clothColumn, head+1, last), inUnit(taken, c.options.long()), longFormat)
	p.sums(cells...)
	c.taken = p.sumOf(clothColumn, head+1, last, inUnit(taken, c.options.long()))
	p.blank()
	for _, note := range c.layNotes() {
		p.wide(note, lookFaint)
	}
}

// The columns of the lays that formulas use.
const (
	pliesColumn    = 8
	markerColumn   = 9
	endColumn      = 10
	plyColumn      = 11
	clothColumn    = 14
	garmentsColumn = 15 // the last one that is printed
	boundColumn    = 17
	laysColumns    = 18
)

func (c *cutting) layRow(p *page, planned batch.ClothPlan, at int, l lay.Lay, draw lay.Draw) {
	row := p.next()
	name, lot, place := boltWords(planned, draw.Bolt)
	end := (l.PlyLength - l.Marker.Length) / 2
	ply := c.options.exactCell(l.PlyLength)
	ply.formula = fmt.Sprintf("%s+2*%s", cellName(markerColumn, row), cellName(endColumn, row))
	taken := formulaCell(fmt.Sprintf("%s*%s/%d", cellName(pliesColumn, row), cellName(plyColumn, row), c.options.perLong()),
		inUnit(l.PlyLength*length.Length(draw.Plies), c.options.long()), longFormat)
	efficiency, marked := batch.Efficiency(l), cellName(markerColumn, row)
	used := formulaCell(fmt.Sprintf("IF(%[1]s>0,%[2]s/%[1]s,0)", marked, strconv.FormatFloat(efficiency*inUnit(l.Marker.Length, c.options.small()), 'g', 12, 64)), efficiency, percentFormat)
	gap := numberCell(l.Marker.GapPercent()/100, percentFormat)
	if l.Marker.Status != marker.StatusPartial {
		gap.formula = fmt.Sprintf("IF(%[1]s>0,(%[2]s-%[1]s)/%[1]s,0)", cellName(boundColumn, row), marked)
	}
	p.body(textCell(planned.Cloth.Name), countCell(at+1), textCell(string(wayOf(l))), textCell(name), textCell(lot), textCell(place), c.options.clothCell(draw.From), countCell(draw.Plies),
		c.options.exactCell(l.Marker.Length), c.options.exactCell(end), ply, c.markAt(l, row, false), c.markAt(l, row, true), taken,
		textCell(perPly(planned, l)), used, c.options.exactCell(l.Marker.Bound), gap)
}

// wayOf is how a lay is spread.
func wayOf(l lay.Lay) lay.Spread {
	if l.Way == "" {
		return lay.FaceOneWay
	}
	return l.Way
}

// layNotes explain the table of lays.
func (c *cutting) layNotes() []string {
	notes := []string{"The columns at the right, for the screen alone, say how good each marker is; the gap says how far it may at most be above the shortest possible one."}
	ways := map[lay.Spread]bool{}
	var pitched []string
	c.eachLay(func(planned batch.ClothPlan, at int, l lay.Lay) {
		ways[wayOf(l)] = true
		for _, draw := range l.Draws {
			if draw.Plies > 1 && draw.Pitch > l.PlyLength {
				pitched = append(pitched, fmt.Sprintf("%s, lay %d: begin a ply every %s", oneLine(planned.Cloth.Name), at+1, c.options.Lengths.PieceBoth(draw.Pitch)))
			}
		}
	})
	if ways[lay.FaceToFace] {
		notes = append(notes, "Face to face: every second ply is folded back and lies face down, end for end.")
	}
	if ways[lay.FoldedLengthwise] {
		notes = append(notes, "Folded lengthwise: the marker lies on half of the width, and each place gives two pieces, the second one mirrored; a place on the fold gives one whole piece.")
	}
	if several := c.severalLots(); len(several) > 0 {
		notes = append(notes, strings.Join(several, "; ")+". "+batch.LotsApart)
	}
	if len(pitched) > 0 {
		notes = append(notes, "So that the print falls alike on every ply: "+strings.Join(pitched, "; ")+".")
	}
	return notes
}

// markAt is where a ply is marked on the table in the workshop's units or the other ones: the marks
// of its marker and of its ends added up, as batch.MarksOf has them.
func (c *cutting) markAt(l lay.Lay, row int, inOther bool) cell {
	own, other := batch.MarksOf(l, c.options.Lengths)
	stepsOf := func(system length.System) int { return int(system.Small().Size / c.options.styleIn(system).Step()) }
	system, to := c.options.system(), c.options.system().Other()
	// Rounded to six places first, so that the noise of binary fractions doesn't make it a step more.
	onRuler := func(how, value string, steps int) string {
		return fmt.Sprintf("%s(ROUND(%s*%d,6),0)/%d", how, value, steps, steps)
	}
	marked, end, steps := cellName(markerColumn, row), cellName(endColumn, row), stepsOf(system)
	ends := onRuler("ROUND", end, steps)
	nearest := onRuler("ROUND", marked, steps)
	long := fmt.Sprintf("IF(%s+%s+0.000001<%s,%s,%s)", nearest, ends, marked, onRuler("ROUNDUP", marked, steps), nearest)
	if !inOther {
		return formulaCell(long+"+2*"+ends, inUnit(own.Ply, system.Small()), c.options.pieceFormat(system))
	}
	times := "*2.54"
	if to == length.Imperial {
		times = "/2.54"
	}
	text := onRuler("ROUND", long+times, stepsOf(to)) + "+2*" + onRuler("ROUND", ends+times, stepsOf(to))
	return formulaCell(text, inUnit(other.Ply, to.Small()), c.options.pieceFormat(to))
}

// perPly lists the garments that one ply gives.
func perPly(planned batch.ClothPlan, l lay.Lay) string {
	var parts []string
	for i, n := range l.PerPly {
		if n > 0 && i < len(planned.Problem.Garments) {
			parts = append(parts, fmt.Sprintf("%d × %s", n, oneLine(planned.Problem.Garments[i].Name)))
		}
	}
	return strings.Join(parts, "\n")
}

// bolts lists what is taken from each bolt, to fetch and to put back.
func (c *cutting) bolts() {
	p := c.page("Bolts", column{14, 26}, column{10, 18}, column{8, 14}, column{10, 18}, column{10, 10}, column{10, 10}, column{10, 10}, column{16, 22})
	long := c.options.long().Symbol
	p.titles("Bolts to fetch", c.about())
	head := 0
	var used length.Length
	for _, planned := range c.plan.Cloths {
		for _, use := range planned.Plan.Uses {
			bolt, ok := boltOf(planned, use.Bolt)
			if !ok {
				continue
			}
			if head == 0 {
				head = p.headings("Cloth", "Bolt", "Lot", "Place", "There is, "+long, "Taken, "+long, "Left, "+long, "Put the end")
			}
			row := p.next()
			left := formulaCell(fmt.Sprintf("%s-%s", cellName(5, row), cellName(6, row)), inUnit(use.Left, c.options.long()), longFormat)
			p.body(textCell(planned.Cloth.Name), textCell(bolt.Name), textCell(cmp.Or(bolt.Lot, blankLot)), textCell(bolt.Place),
				c.options.clothCell(use.Used+use.Left), c.options.clothCell(use.Used), left, textCell(whereTo(use)))
			used += use.Used
		}
	}
	if head == 0 {
		none(p, "No cloth comes from the shelf.")
		return
	}
	p.tabled(head, 8)
	last := len(p.rows)
	p.sums(textCell("All"), cell{}, cell{}, cell{}, cell{}, formulaCell(subtotal(6, head+1, last), inUnit(used, c.options.long()), longFormat), cell{}, cell{})
}

// whereTo says what becomes of the end of a bolt.
func whereTo(use lay.BoltUse) string {
	switch {
	case use.Left == 0:
		return "used up"
	case use.Keep:
		return "back on the shelf"
	}
	return "with the scraps"
}

func (c *cutting) pieces() {
	p := c.page("Pieces", column{14, 22}, column{5, 5}, column{14, 26}, column{12, 22}, column{8, 12}, column{16, 30},
		column{9, 9}, column{9, 9}, column{9, 9}, column{9, 9}, column{11, 11}, column{8, 8}, column{7, 7}, column{8, 8})
	p.landscape = true
	p.titles("Pieces to cut", c.about())
	if c.plan.Lays() == 0 {
		none(p, "No pieces.")
		return
	}
	own, other := c.options.system(), c.options.system().Other()
	head := p.headings("Cloth", "Lay", "Style", "Colourway", "Size", "Piece",
		"Width, "+own.Small().Symbol, "Length, "+own.Small().Symbol, "Width, "+other.Small().Symbol, "Length, "+other.Small().Symbol,
		"Shape", "Per ply", "Plies", "Copies")
	copies := 0
	c.eachLay(func(planned batch.ClothPlan, at int, l lay.Lay) {
		for g, garment := range planned.Problem.Garments {
			for _, piece := range garment.Pieces {
				n := l.PerPly[g] * piece.Copies // a ply gives whole garments
				if n == 0 {
					continue
				}
				row := p.next()
				made := c.plan.Garments[planned.Garments[g]]
				shape, shaped := "rectangle", len(piece.Outline) > 0
				if shaped {
					shape = "shaped"
				}
				p.body(textCell(planned.Cloth.Name), countCell(at+1), textCell(made.Style), textCell(made.Colourway), textCell(made.Size), textCell(piece.Name),
					c.options.cutCell(piece.Width, shaped, own), c.options.cutCell(piece.Length, shaped, own), c.options.cutCell(piece.Width, shaped, other), c.options.cutCell(piece.Length, shaped, other),
					textCell(shape), countCell(n), countCell(l.Plies), formulaCell(fmt.Sprintf("%s*%s", cellName(12, row), cellName(13, row)), n*l.Plies, wholeFormat))
				copies += n * l.Plies
			}
		}
	})
	p.tabled(head, 14)
	last := len(p.rows)
	cells := make([]cell, 14)
	cells[0], cells[13] = textCell("All"), formulaCell(subtotal(14, head+1, last), copies, wholeFormat)
	p.sums(cells...)
	p.blank()
	p.wide("Sizes are cut sizes, seams, hems and shrinkage included, to the nearest "+c.options.stepWords()+"; of a shaped piece they are those of the box around it, along its own length, to the nearest 1/16 in or half a millimetre.", lookFaint)
}

// stepWords names the step of the workshop's ruler.
func (o Options) stepWords() string { return o.Lengths.Piece(o.Lengths.Step()) }

func (c *cutting) notions() {
	p := c.page("Notions", column{16, 26}, column{12, 18}, column{14, 26}, column{12, 22}, column{8, 12}, column{9, 9}, column{9, 9}, column{9, 9}, column{10, 10})
	own, other := c.options.system(), c.options.system().Other()
	p.titles("Elastic and other notions", c.about())
	head := 0
	for _, n := range c.plan.Notions {
		for _, cut := range n.Cuts {
			if cut.Count == 0 {
				continue
			}
			if head == 0 {
				head = p.headings("Notion", "For", "Style", "Colourway", "Size", "Length each, "+own.Small().Symbol, "Length each, "+other.Small().Symbol,
					"How many", "Together, "+c.options.long().Symbol)
			}
			row := p.next()
			g := c.plan.Garments[cut.Garment]
			each, both, sum := cell{}, cell{}, cell{}
			switch {
			case n.Notion.Kind == batch.ByLength: // thread is not cut to length
				sum = c.options.clothCell(cut.Length * length.Length(cut.Count))
			case cut.Length > 0:
				each, both = c.options.pieceCell(cut.Length, own), c.options.pieceCell(cut.Length, other)
				sum = formulaCell(fmt.Sprintf("%s*%s/%d", cellName(6, row), cellName(8, row), c.options.perLong()),
					each.value.(float64)*float64(cut.Count)/float64(c.options.perLong()), longFormat)
			}
			p.body(textCell(n.Notion.Name), textCell(cut.Need), textCell(g.Style), textCell(g.Colourway), textCell(g.Size), each, both, countCell(cut.Count), sum)
		}
	}
	if head == 0 {
		none(p, "No notions.")
		return
	}
	p.tabled(head, 9)
	p.blank()
	p.wide("Lengths are to the nearest "+c.options.stepWords()+". The sheet Rolls says which roll they are cut from.", lookFaint)
}

// rolls lists what is cut from each roll.
func (c *cutting) rolls() {
	p := c.page("Rolls", column{16, 28}, column{6, 6}, column{16, 26}, column{9, 9}, column{9, 9}, column{9, 9}, column{9, 9}, column{10, 10}, column{20, 24})
	p.landscape = true
	own, other := c.options.system(), c.options.system().Other()
	p.titles("What to cut from which roll", c.about())
	head := 0
	for _, n := range c.plan.Notions {
		for number, opened := range n.Rolls.Rolls {
			for i, pieces := range opened.Counts {
				if pieces == 0 {
					continue
				}
				if head == 0 {
					head = p.headings("Notion", "Roll", "A roll of", "Rolls alike", "Cut each, "+own.Small().Symbol, "Cut each, "+other.Small().Symbol,
						"From one roll", "All", "Left of each roll")
				}
				row := p.next()
				stock := n.Problem.Stock[opened.Stock]
				each := n.Problem.Cuts[i].Length
				of := c.options.Lengths.Roll(stock.Length)
				if opened.Stock >= boughtFrom(n) {
					of += ", to buy"
				}
				p.body(textCell(n.Notion.Name), countCell(number+1), textCell(of), countCell(opened.Times), c.options.pieceCell(each, own), c.options.pieceCell(each, other),
					countCell(pieces), formulaCell(fmt.Sprintf("%s*%s", cellName(4, row), cellName(7, row)), opened.Times*pieces, wholeFormat),
					textCell(c.options.leftWords(opened.Left)))
			}
		}
	}
	if head == 0 {
		none(p, "Nothing is cut from rolls.")
		return
	}
	p.tabled(head, 9)
}

// leftWords writes what is left of a roll: a long rest as cloth is written.
func (o Options) leftWords(left length.Length) string {
	if left >= 2*o.long().Size {
		return o.Lengths.Cloth(left, length.Down)
	}
	return o.Lengths.PieceRounded(left, length.Down)
}

// allowanceWords says what the plan of a notion allows for where lengths are cut from rolls;
// nothing for plans that allow for nothing.
func (o Options) allowanceWords(n batch.NotionPlan) string {
	if n.Problem.End == 0 || len(n.Rolls.Rolls) == 0 {
		return ""
	}
	return fmt.Sprintf("Cut to the mark. The plan leaves room for %s too much at each cut and %s at the ends of each roll.",
		o.Lengths.PieceBoth(n.Problem.Kerf), o.Lengths.PieceBoth(n.Problem.End))
}

// boughtFrom is the index of the first roll of a notion's problem that is to be bought.
func boughtFrom(n batch.NotionPlan) int {
	onShelf := 0
	for _, r := range n.Notion.Rolls {
		if r.Count > 0 && r.Length > 0 {
			onShelf++
		}
	}
	return onShelf
}

func (c *cutting) bundles() {
	p := c.page("Bundles", column{8, 8}, column{14, 24}, column{12, 22}, column{8, 12}, column{10, 10}, column{26, 44}, column{22, 30}, column{12, 20}, column{9, 9}, column{6, 6})
	p.landscape = true
	p.titles("Bundles to tie", c.about())
	if len(c.plan.Bundles) == 0 {
		none(p, "No bundles.")
		return
	}
	head := p.headings("Bundle", "Style", "Colourway", "Size", "Garments", "Pieces in it", "Out of", "Shade lot", "Pieces", "Tied")
	garments, all := 0, 0
	for _, b := range c.plan.Bundles {
		g := c.plan.Garments[b.Garment]
		pieces := 0
		var list, from []string
		for _, piece := range b.Pieces {
			pieces += piece.Count
			list = append(list, strconv.Itoa(piece.Count)+" × "+oneLine(piece.Name))
		}
		for _, l := range b.Lays {
			from = append(from, fmt.Sprintf("%s, lay %d", oneLine(c.plan.Cloths[l.Cloth].Cloth.Name), l.Lay+1))
		}
		p.body(countCell(b.Number), textCell(g.Style), textCell(g.Colourway), textCell(g.Size), countCell(b.Quantity), textCell(strings.Join(list, ", ")), textCell(strings.Join(from, "; ")), textCell(c.lotWords(b)), countCell(pieces), textCell("☐").aligned("center"))
		garments, all = garments+b.Quantity, all+pieces
	}
	p.tabled(head, 10)
	last := len(p.rows)
	p.sums(textCell("All"), cell{}, cell{}, cell{}, formulaCell(subtotal(5, head+1, last), garments, wholeFormat), cell{}, cell{}, cell{}, formulaCell(subtotal(9, head+1, last), all, wholeFormat), cell{})
}

// blankLot is a line to write a shade lot on: of cloth that is still to be bought, or of a bolt that
// came in without one.
const blankLot = "________"

// lotOnPaper says which shade lot it is, with a line to write on where only the bolt will tell.
func lotOnPaper(l batch.Lot) string {
	switch {
	case l.Name != "":
		return l.Words()
	case l.Bought:
		return "bought: " + blankLot
	}
	return "lot " + blankLot
}

func (c *cutting) lotWords(b batch.Bundle) string { return oneLine(b.LotWords(c.plan, lotOnPaper)) }

// severalLots names the lays whose plies come from several shade lots.
func (c *cutting) severalLots() (names []string) {
	c.eachLay(func(planned batch.ClothPlan, at int, l lay.Lay) {
		if len(planned.LotsOf(l)) > 1 {
			names = append(names, fmt.Sprintf("%s, lay %d", oneLine(planned.Cloth.Name), at+1))
		}
	})
	return names
}

func (c *cutting) shopping() {
	money := !c.options.WithoutMoney
	columns := []column{{18, 30}, {10, 10}, {10, 10}, {18, 22}, {10, 10}, {18, 22}, {12, 12}, {20, 30}, {22, 34}}
	if money {
		columns = slices.Insert(columns, 6, column{12, 12})
	}
	p := c.page("Shopping", columns...)
	p.landscape = true
	long := c.options.long().Symbol
	p.titles("Shopping list", c.about())
	if len(c.plan.Shopping) == 0 {
		none(p, "Nothing to buy: the shelf has it all.")
		return
	}
	heads := []string{"Buy", "Length, " + long, "Needed, " + long, "Usable width", "Rolls or packs", "Each holds", "Bought", "Or about, in other widths", "Note"} // bought: to be ticked by hand
	if money {
		heads = slices.Concat(heads[:6], []string{"Price of a " + long + ", roll or pack", "Cost"}, heads[7:])
	}
	head := p.headings(heads...)
	sum := lay.Money(0)
	for _, s := range c.plan.Shopping {
		c.shoppingRow(p, s)
		sum += c.options.coins(s.Cost)
	}
	p.tabled(head, len(heads))
	last := len(p.rows)
	p.checks = append(p.checks, notBelowZero(cellName(2, head+1)+":"+cellName(2, last)), notBelowZero(cellName(5, head+1)+":"+cellName(5, last)))
	if !money {
		return
	}
	p.checks = append(p.checks, notBelowZero(cellName(priceOfShopping, head+1)+":"+cellName(priceOfShopping, last)))
	value := c.options.amountOf(sum).Number().Float64()
	cells := make([]cell, len(heads))
	cells[0], cells[priceOfShopping] = textCell("All"), formulaCell(subtotal(priceOfShopping+1, head+1, last), value, c.options.moneyFormat(0))
	p.sums(cells...)
	c.cost = p.sumOf(priceOfShopping+1, head+1, last, value)
	p.blank()
	p.wide("Framed cells may be changed: the cost follows.", lookFaint)
}

// priceOfShopping is the column of what one yard or metre, roll or pack costs.
const priceOfShopping = 7

// shoppingRow writes one thing to buy, with its price and cost as a formula where the plan's
// cost is a multiple of a price.
func (c *cutting) shoppingRow(p *page, s batch.Shopping) {
	row := p.next()
	buy, need, width, packs, holds, price := cell{}, cell{}, cell{}, cell{}, cell{}, cell{}
	cost := c.options.paidCell(s.Cost)
	times := 0
	if s.Length > 0 {
		buy, need, times = c.options.clothCell(s.Length).as(lookInput), c.options.clothCell(s.Need), 2
		width = textCell(c.options.Lengths.PieceBoth(s.Width))
	}
	if s.Count > 0 {
		packs, times = countCell(s.Count).as(lookInput), 5
	}
	switch {
	case s.RollLength > 0:
		holds = textCell(c.options.Lengths.ClothBoth(s.RollLength, length.Down))
	case s.PackCount > 0:
		holds = textCell(words.Count(s.PackCount, "piece"))
	}
	if each, ok := c.priceEach(s); ok && times > 0 {
		price = numberCell(each, c.options.moneyFormat(c.options.currency().Digits()+2)).as(lookInput)
		cost.formula = fmt.Sprintf("ROUND(%s*%s,%d)", cellName(times, row), cellName(priceOfShopping, row), c.options.currency().Digits())
	}
	cells := []cell{textCell(s.Name), buy, need, width, packs, holds, price, cost, textCell(c.otherWidths(s)), textCell(s.Note)}
	if c.options.WithoutMoney {
		cells = slices.Concat(cells[:6], []cell{{}}, cells[8:])
	}
	p.body(cells...)
}

// priceEach is what a yard or metre of cloth to buy costs, or a roll or pack.
func (c *cutting) priceEach(s batch.Shopping) (each float64, ok bool) {
	if s.Count > 0 && s.Cost%lay.Money(s.Count) == 0 {
		return c.options.amountOf(s.Cost / lay.Money(s.Count)).Number().Float64(), true
	}
	whole := float64(c.options.amountOf(s.Cost).Number().Float64())
	for _, planned := range c.plan.Cloths {
		if planned.Cloth.Name != s.Name {
			continue
		}
		perMetre := c.options.amountOf(planned.Problem.Rules.BuyPricePerMetre).Number().Float64()
		each := perMetre * inUnit(c.options.long().Size, length.Metres)
		if math.Abs(each*inUnit(s.Length, c.options.long())-whole) < 1e-5 {
			return math.Round(each*1e6) / 1e6, true
		}
	}
	return 0, false
}

// otherWidths lists how much would do of cloth of other widths.
func (c *cutting) otherWidths(s batch.Shopping) string {
	var parts []string
	for _, other := range s.Alternatives {
		parts = append(parts, c.options.Lengths.Cloth(other.Length, length.Up)+" at "+c.options.Lengths.Piece(other.FullWidth))
	}
	return strings.Join(parts, "; ")
}

func (c *cutting) steps() {
	p := c.page("Steps", column{10, 12}, column{16, 28}, column{24, 44}, column{9, 9}, column{11, 11}, column{11, 11}, column{11, 11}, column{16, 34})
	p.landscape = true
	p.titles("Steps and minutes", c.about())
	if len(c.plan.Steps) == 0 {
		none(p, "No steps.")
		c.stages = span{1, p.next(), 1, p.next()}
		return
	}
	head := p.headings("Stage", "Style", "Step", "Times", "Set-up minutes", "Minutes each", "Minutes", "Where the minutes come from")
	sum := 0.0
	for _, step := range c.plan.Steps {
		row := p.next()
		p.body(textCell(step.Stage), textCell(step.Style), textCell(step.Name), countCell(step.Times), numberCell(minutes(step.SetUp), minutesFormat+"#").as(lookInput), numberCell(minutes(step.Each), minutesFormat+"#").as(lookInput),
			formulaCell(fmt.Sprintf("%s+%s*%s", cellName(5, row), cellName(4, row), cellName(6, row)), minutes(step.Minutes), minutesFormat), textCell(step.Basis))
		sum += minutes(step.Minutes)
	}
	p.tabled(head, 8)
	last := len(p.rows)
	p.checks = append(p.checks, notBelowZero(cellName(5, head+1)+":"+cellName(6, last)))
	c.stages = span{1, head + 1, 8, last}
	p.sums(textCell("All"), cell{}, cell{}, cell{}, cell{}, cell{}, formulaCell(subtotal(7, head+1, last), sum, minutesFormat), cell{})
	c.work = p.sumOf(7, head+1, last, sum)
	p.blank()
	p.wide("Minutes are at standard pace; framed cells may be changed. The sheet Batch turns them into minutes worked.", lookFaint)
}
