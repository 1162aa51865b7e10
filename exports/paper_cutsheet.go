package exports

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/batch/words"
)

// CutSheet writes a planned batch as a PDF to work from: a cover with what to fetch, the tools
// and the cautions; each lay with its drawing to scale; what to buy; elastic and other
// notions; bundles; and the steps with their minutes. It shows no money, so that it can be
// given to helpers. It fails with w's error, or if a marker doesn't belong to its pieces.
func CutSheet(w io.Writer, plan batch.Plan, options Options) error {
	s, err := cutSheet(plan, options)
	if err != nil {
		return err
	}
	return s.write(w)
}

// paperSheet is the cut sheet while it is being written.
type paperSheet struct {
	*sheets
	plan batch.Plan
}

func cutSheet(plan batch.Plan, options Options) (*sheets, error) {
	s := &paperSheet{newSheets(options, "Cut sheet: "+oneLine(plan.Name)), plan}
	s.cover()
	for _, planned := range plan.Cloths {
		for at := range planned.Plan.Lays {
			drawn, err := newPaperLay(s.sheets, plan, planned, at)
			if err != nil {
				return nil, err
			}
			drawn.writeLay()
		}
	}
	s.page(false)
	s.notions()
	s.bundles()
	s.lackedNote()
	return s.sheets, nil
}

func (s *paperSheet) cover() {
	s.page(false)
	s.y += 2
	for _, line := range s.wrap("Cut sheet: "+s.name(s.plan.Name), 20, true, s.inner(), 3) {
		s.line(line, 20, true, blackInk)
	}
	s.y += 2
	done := "the calendar has too few working minutes"
	if !s.plan.DoneBy.IsZero() {
		done = s.plan.DoneBy.Format("Mon 2 Jan 2006")
	}
	s.facts(4,
		[2]string{"Garments", strconv.Itoa(s.plan.Cut())},
		[2]string{"Lays", strconv.Itoa(s.plan.Lays())},
		[2]string{"Bundles", strconv.Itoa(len(s.plan.Bundles))},
		[2]string{"Minutes to work, at your pace", strconv.Itoa(int(minutes(s.plan.Worked) + 0.5))},
		[2]string{"Work starts", s.plan.Start.Format("Mon 2 Jan 2006")},
		[2]string{"Done by", done},
		[2]string{"Cloths", strconv.Itoa(len(s.plan.Cloths))},
		[2]string{"Done by whom", "____________________"},
	)
	s.warnings()
	s.fetch()
	s.shopping()
	s.cloths()
	s.garments()
	s.tools()
	s.cautions()
	s.steps()
}

// warnings are what must be known before anything is cut.
func (s *paperSheet) warnings() {
	if s.plan.Stopped {
		s.y += 1
		s.box("Planning was stopped early", []string{"This is the best plan found until then."})
	}
	var lines []string
	for _, uncut := range s.plan.Uncut {
		name := ""
		if uncut.Garment >= 0 && uncut.Garment < len(s.plan.Garments) {
			name = s.plan.Garments[uncut.Garment].Name()
		}
		lines = append(lines, fmt.Sprintf("%d × %s (%s): %s %s", uncut.Quantity, s.name(name), s.name(uncut.Cloth), sentence(uncut.Reason), uncut.Remedy))
	}
	if len(lines) > 0 {
		s.y += 1
		s.box("Not cut", lines)
		lines = nil
	}
	for _, late := range s.plan.Late {
		lines = append(lines, fmt.Sprintf("%s for %s, due %s: %s late", s.name(late.Order), s.name(late.Customer), late.Due.Format("Mon 2 Jan 2006"), words.Count(late.Days, "day")))
	}
	if len(lines) > 0 {
		s.y += 1
		s.box("Orders due before the batch is done", lines)
	}
}

func (s *paperSheet) fetch() {
	var rows [][]string
	for _, planned := range s.plan.Cloths {
		for _, use := range planned.Plan.Uses {
			bolt, ok := boltOf(planned, use.Bolt)
			if !ok {
				continue
			}
			rows = append(rows, []string{
				"", s.name(planned.Cloth.Name), s.name(bolt.Name), cmp.Or(s.name(bolt.Lot), blankLot), s.name(bolt.Place), s.options.Lengths.TapeBoth(use.Used+use.Left, length.Down),
				s.options.Lengths.TakenBoth(use.Used+use.Left, use.Left), whereTo(use),
			})
		}
	}
	s.heading("Bolts to fetch")
	if len(rows) == 0 {
		s.paragraph("No cloth comes from the shelf.", bodyLetter, false, greyInk, 0)
		return
	}
	s.tableIn(8, []paperColumn{
		{tick: true, share: 5},
		{head: "Cloth", share: 26},
		{head: "Bolt", share: 11, bold: true},
		{head: "Shade lot", share: 13},
		{head: "Place", share: 19, bold: true},
		{head: "There is", share: 23},
		{head: "Taken", share: 23},
		{head: "Put the end", share: 25},
	}, rows)
}

func (s *paperSheet) cloths() {
	var rows [][]string
	for _, planned := range s.plan.Cloths {
		c := planned.Cloth
		var notes []string
		if c.PreWashed {
			notes = append(notes, "pre-washed")
		}
		if r := c.Repeat; r.Length > 0 || r.Width > 0 {
			notes = append(notes, "match the print, repeat "+s.repeatWords(r.Length, r.Width))
		}
		if care := s.name(c.Care); care != "" {
			notes = append(notes, "care: "+care)
		}
		plies := 0
		for _, l := range planned.Plan.Lays {
			plies += l.Plies
		}
		name := s.name(c.Name)
		if content := s.name(c.Content); content != "" {
			name += "\n" + content
		}
		rows = append(rows, []string{name, s.options.Lengths.PieceBoth(c.UsableWidth()), napWord(c.Nap), strconv.Itoa(len(planned.Plan.Lays)), strconv.Itoa(plies), strings.Join(notes, "; ")})
	}
	s.heading("Cloths")
	s.tableIn(8, []paperColumn{
		{head: "Cloth", share: 30, bold: true}, {head: "Usable width", share: 26}, {head: "Nap", share: 17}, {head: "Lays", share: 8, right: true}, {head: "Plies", share: 8, right: true}, {head: "Mind", share: 38},
	}, rows)
}

func (s *paperSheet) repeatWords(along, across length.Length) string {
	var parts []string
	if along > 0 {
		parts = append(parts, s.options.Lengths.Piece(along)+" along")
	}
	if across > 0 {
		parts = append(parts, s.options.Lengths.Piece(across)+" across")
	}
	return strings.Join(parts, ", ")
}

// garments lists what is made, a colourway of a style on a row with its sizes.
func (s *paperSheet) garments() {
	type run struct {
		name, style string
		sizes       []string
		count       int
	}
	var runs []run
	for _, g := range s.plan.Garments {
		at := slices.IndexFunc(runs, func(r run) bool { return r.name == g.Colourway && r.style == g.Style })
		if at < 0 {
			at = len(runs)
			runs = append(runs, run{name: g.Colourway, style: g.Style})
		}
		runs[at].sizes = append(runs[at].sizes, fmt.Sprintf("%s\u00a0×\u00a0%d", s.name(g.Size), g.Quantity))
		runs[at].count += g.Quantity
	}
	var rows [][]string
	for _, r := range runs {
		rows = append(rows, []string{s.name(r.style), s.name(r.name), strings.Join(r.sizes, ", "), strconv.Itoa(r.count)})
	}
	s.heading("Garments")
	s.tableIn(8, []paperColumn{{head: "Style", share: 26, bold: true}, {head: "Colourway", share: 26}, {head: "Sizes", share: 60}, {head: "In all", share: 9, right: true, bold: true}}, rows)
}

// tools lists what to have at the table. Common practice, no source.
func (s *paperSheet) tools() {
	plies, longest := 0, length.Length(0)
	cuts := false
	for _, planned := range s.plan.Cloths {
		for _, l := range planned.Plan.Lays {
			layers := l.Plies
			plies, longest = max(plies, layers), max(longest, l.PlyLength)
			cuts = cuts || len(l.Marker.Cuts) > 0
		}
	}
	s.heading("Tools")
	words := []string{
		fmt.Sprintf("Cutter with a sharp blade, for up to %s, and a mat or a clear table for %s", words.Count(plies, "ply"), s.options.Lengths.PieceBoth(longest)),
		"Tape and a long ruler; a square for the ends",
		"Weights and clips; pins counted out: ______ counted in: ______",
		"Chalk or a washable pen, tried on a scrap of each cloth",
		fmt.Sprintf("Ties and tickets for all bundles (%d), this sheet, a pencil", len(s.plan.Bundles)),
	}
	if cuts {
		words[1] += "; a straight edge as long as the width, for the straight cuts"
	}
	for _, line := range words {
		s.item(line, true)
	}
}

func (s *paperSheet) cautions() {
	if len(s.plan.Cautions) == 0 {
		return
	}
	s.heading("Cautions")
	for _, caution := range s.plan.Cautions {
		s.item(caution.Text+" ("+caution.Source+")", false)
	}
	s.y += 1
	s.paragraph(batch.LocalRules, bodyLetter, true, blackInk, 0)
}

func (s *paperSheet) shopping() {
	s.heading("To buy")
	if len(s.plan.Shopping) == 0 {
		s.paragraph("Nothing to buy: the shelf has it all.", bodyLetter, false, greyInk, 0)
		return
	}
	var rows [][]string
	for _, b := range s.plan.Shopping {
		much, note := "", b.Note
		switch {
		case b.Length > 0:
			note = strings.TrimSpace(note + " Its shade lot: " + blankLot + blankLot)
			much = s.options.Lengths.ClothBoth(b.Length, length.Up) + "\nneeded: " + s.options.Lengths.ClothBoth(b.Need, length.Up)
			note = strings.TrimSpace(note + " Usable width " + s.options.Lengths.PieceBoth(b.Width) + ".")
		case b.RollLength > 0:
			much = fmt.Sprintf("%d × %s", b.Count, s.options.Lengths.ClothBoth(b.RollLength, length.Down))
		case b.PackCount > 0:
			much = fmt.Sprintf("%d × pack of %d", b.Count, b.PackCount)
		default:
			much = strconv.Itoa(b.Count)
		}
		if len(b.Alternatives) > 0 {
			var others []string
			for _, other := range b.Alternatives {
				others = append(others, s.options.Lengths.Cloth(other.Length, length.Up)+" of cloth "+s.options.Lengths.Piece(other.FullWidth)+" wide")
			}
			note += "\nBy area, about: " + strings.Join(others, ", ") + "."
		}
		rows = append(rows, []string{"", s.name(b.Name), much, note})
	}
	s.table([]paperColumn{{tick: true, share: 4}, {head: "What", share: 28, bold: true}, {head: "How much", share: 34}, {head: "Note", share: 50}}, rows)
}

func (s *paperSheet) notions() {
	if len(s.plan.Notions) == 0 {
		return
	}
	s.heading("Elastic and other notions")
	for _, n := range s.plan.Notions {
		s.notion(n)
	}
}

func (s *paperSheet) notion(n batch.NotionPlan) {
	s.y += 2
	s.need(25)
	s.line(s.name(n.Notion.Name), 11, true, blackInk)
	own, other := s.options.styleIn(s.options.system()), s.options.styleIn(s.options.system().Other())
	switch n.Notion.Kind {
	case batch.FromRoll:
		var rows [][]string
		for _, cut := range s.sameCuts(n) {
			rows = append(rows, []string{"", s.name(cut.style), s.name(cut.size), s.name(cut.need), strings.Join(cut.colourways, ", "), own.Piece(cut.each), s.options.Lengths.OtherPiece(cut.each), strconv.Itoa(cut.count)})
		}
		s.tableIn(8, []paperColumn{
			{tick: true, share: 4},
			{head: "Style", share: 24},
			{head: "Size", share: 10, bold: true},
			{head: "For", share: 14},
			{head: "Colourways", share: 36},
			{head: "Cut each, " + own.System.Small().Symbol, share: 16, right: true, bold: true},
			{head: "Cut each, " + other.System.Small().Symbol, share: 16, right: true},
			{head: "How many", share: 12, right: true, bold: true},
		}, rows)
		s.rolls(n)
	case batch.ByLength:
		s.paragraph("About "+s.options.Lengths.ClothBoth(n.Length, length.Up)+" in all.", bodyLetter, false, blackInk, 0)
	default:
		s.paragraph(strconv.Itoa(n.Count)+" in all.", bodyLetter, false, blackInk, 0)
	}
	if n.Buy > 0 {
		s.paragraph(fmt.Sprintf("Buy %d: see the shopping list.", n.Buy), bodyLetter, true, blackInk, 0)
	}
}

// sameCut is one length of a notion for all colourways of a style and size.
type sameCut struct {
	style, size, need string
	colourways        []string
	each              length.Length
	count             int
}

// sameCuts joins the cuts of a notion that are alike but for the colourway.
func (s *paperSheet) sameCuts(n batch.NotionPlan) []sameCut {
	var cuts []sameCut
	for _, cut := range n.Cuts {
		if cut.Count == 0 || cut.Garment < 0 || cut.Garment >= len(s.plan.Garments) {
			continue
		}
		g := s.plan.Garments[cut.Garment]
		at := slices.IndexFunc(cuts, func(c sameCut) bool {
			return c.style == g.Style && c.size == g.Size && c.need == cut.Need && c.each == cut.Length
		})
		if at < 0 {
			at = len(cuts)
			cuts = append(cuts, sameCut{style: g.Style, size: g.Size, need: cut.Need, each: cut.Length})
		}
		cuts[at].colourways = append(cuts[at].colourways, fmt.Sprintf("%s\u00a0×\u00a0%d", s.name(g.Colourway), cut.Count))
		cuts[at].count += cut.Count
	}
	return cuts
}

// rolls says what is cut from each roll.
func (s *paperSheet) rolls(n batch.NotionPlan) {
	for _, opened := range n.Rolls.Rolls {
		if opened.Stock < 0 || opened.Stock >= len(n.Problem.Stock) {
			continue
		}
		of := s.options.Lengths.Roll(n.Problem.Stock[opened.Stock].Length)
		if opened.Stock >= boughtFrom(n) {
			of += ", to buy"
		}
		said := "A roll of " + of + ": "
		if opened.Times > 1 {
			said = words.Count(opened.Times, "roll") + ", each of " + of + ": "
		}
		var cuts []string
		for i, count := range opened.Counts {
			if count > 0 && i < len(n.Problem.Cuts) {
				cuts = append(cuts, fmt.Sprintf("%d × %s", count, s.options.Lengths.Piece(n.Problem.Cuts[i].Length)))
			}
		}
		s.item(said+strings.Join(cuts, ", ")+"; "+s.options.leftWords(opened.Left)+" left", true)
	}
	if words := s.options.allowanceWords(n); words != "" {
		s.paragraph(words, 8, false, greyInk, 0)
	}
}

// denseLetter is the size of letters of long lists.
const denseLetter = 7.0

func (s *paperSheet) bundles() {
	if len(s.plan.Bundles) == 0 {
		return
	}
	s.heading("Bundles to tie")
	var rows [][]string
	for _, b := range s.plan.Bundles {
		garment, pieces, from := bundleWords(s.plan, b)
		rows = append(rows, []string{"", strconv.Itoa(b.Number), s.name(garment), strconv.Itoa(b.Quantity), s.clean(pieces), s.clean(from)})
	}
	s.tableIn(denseLetter, []paperColumn{
		{tick: true, share: 5}, {head: "No.", share: 6, bold: true}, {head: "Garment", share: 49, bold: true}, {head: "×", share: 6, right: true}, {head: "Pieces in it", share: 42}, {head: "Out of, and shade lot", share: 84},
	}, rows)
}

// bundleWords says what is in a bundle: garment, pieces, and by cloth the lays that they come out
// of with their shade lot.
func bundleWords(plan batch.Plan, b batch.Bundle) (garment, pieces, from string) {
	if b.Garment >= 0 && b.Garment < len(plan.Garments) {
		garment = oneLine(plan.Garments[b.Garment].Name())
	}
	var list, sources []string
	for _, piece := range b.Pieces {
		list = append(list, strconv.Itoa(piece.Count)+" × "+oneLine(withoutSize(piece.Name, plan.Garments, b.Garment)))
	}
	for c, planned := range plan.Cloths {
		var lays []string
		for _, l := range b.Lays {
			if number := strconv.Itoa(l.Lay + 1); l.Cloth == c && !slices.Contains(lays, number) {
				lays = append(lays, number)
			}
		}
		if len(lays) == 0 {
			continue
		}
		source := oneLine(planned.Cloth.Name) + ", " + words.Noun(len(lays), "lay") + " " + strings.Join(lays, ", ")
		for _, lot := range b.LotsIn(c) {
			if lot.Bought && lot.Name == "" {
				source += ", bought lot"
				continue
			}
			source += ", " + oneLine(lot.Words())
		}
		sources = append(sources, source)
	}
	return garment, strings.Join(list, ", "), strings.Join(sources, "; ")
}

// withoutSize is the name of a piece without the size of its garment, where both stand together.
func withoutSize(name string, garments []batch.Garment, at int) string {
	if at < 0 || at >= len(garments) || garments[at].Size == "" {
		return name
	}
	short := strings.TrimSuffix(strings.Replace(name, " "+garments[at].Size+" ", " ", 1), " "+garments[at].Size)
	if strings.TrimSpace(short) == "" {
		return name
	}
	return short
}

// layStep is the row of all lays together: the minutes of each stand on its own page.
func (s *paperSheet) layStep() []string {
	var all time.Duration
	count := 0
	for _, step := range s.plan.Steps {
		if step.Stage == batch.StageCut {
			count, all = count+1, all+step.Minutes
		}
	}
	if count == 0 {
		return nil
	}
	return []string{"", batch.StageCut, "", "spread and cut " + words.Count(count, "lay") + ", the minutes of each on its page", strconv.Itoa(count), "", "", fmt.Sprintf("%.0f", minutes(all))}
}

func (s *paperSheet) steps() {
	if len(s.plan.Steps) == 0 {
		return
	}
	s.heading("Steps and minutes")
	var stages []string
	for _, stage := range s.plan.Stages {
		stages = append(stages, fmt.Sprintf("%s %.0f", stage.Stage, minutes(stage.Minutes)))
	}
	s.paragraph(fmt.Sprintf("Minutes at standard pace: %s; %.0f in all, %.0f at your own pace.", strings.Join(stages, ", "), minutes(s.plan.Minutes), minutes(s.plan.Worked)), bodyLetter, false, blackInk, 0)
	s.y += 1
	var rows [][]string
	assumed := false
	if row := s.layStep(); row != nil {
		rows = append(rows, row)
	}
	for _, step := range s.plan.Steps {
		if step.Stage == batch.StageCut {
			continue
		}
		name := s.name(step.Name)
		if step.Basis == garment.Assumed {
			name += " ~"
			assumed = true
		} else if step.Basis != "" {
			name += " (" + s.name(step.Basis) + ")"
		}
		each := fmt.Sprintf("%.1f", minutes(step.Each))
		rows = append(rows, []string{"", step.Stage, s.name(step.Style), name, strconv.Itoa(step.Times), fmt.Sprintf("%.1f", minutes(step.SetUp)), each, fmt.Sprintf("%.0f", minutes(step.Minutes))})
	}
	s.tableIn(denseLetter, []paperColumn{
		{tick: true, share: 4}, {head: "Stage", share: 12}, {head: "Style", share: 26}, {head: "Step", share: 60, bold: true}, {head: "Times", share: 10, right: true}, {head: "Set-up", share: 11, right: true}, {head: "Each", share: 10, right: true}, {head: "Minutes", share: 13, right: true, bold: true},
	}, rows)
	if assumed {
		s.paragraph("~ "+garment.Assumed+".", 8, false, greyInk, 0)
	}
}
