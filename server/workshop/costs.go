package workshop

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// SaveChoices checks and stores the costing settings, and how the workshop's readers write
// money.
func (s *Service) SaveChoices(ctx context.Context, workshop int64, c store.CostSettings, locale string) error {
	if _, err := Choices(c); err != nil {
		return store.Wrong("", "One of the choices isn't known: choose from the lists.")
	}
	if c.Valuation == costing.LastInFirstOut.String() {
		return store.Wrong("valuation", "Choose first in, first out, or weighted average.")
	}
	return s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.SaveCostSettings(ctx, workshop, c); err != nil {
			return err
		}
		w, err := tx.Workshop(ctx, workshop)
		if err != nil || w.Locale == locale {
			return err
		}
		w.Locale = locale
		return tx.SaveWorkshop(ctx, w)
	})
}

// YearOf turns stored costs of a year and its hours into those of package costing.
func YearOf(costs []store.YearCost, w store.Workshop, currency money.Currency) ([]costing.YearCost, costing.WorkingYear) {
	list := make([]costing.YearCost, len(costs))
	for i, cost := range costs {
		list[i] = costing.YearCost{Name: cost.Name, Amount: money.NewAmount(cost.Amount, currency), Years: cost.Years, Share: money.Fraction(cost.Share)}
	}
	return list, costing.WorkingYear{Hours: w.HoursWorked, Productive: money.Fraction(w.Productive)}
}

// SaveYear stores the hours of a year, by the minutes that are worked on each weekday, and what the
// overhead of the year is made up of; where no costs were listed, it stays as it was entered in one sum.
func (s *Service) SaveYear(ctx context.Context, workshop int64, costs []store.YearCost, c store.CostSettings, dayMinutes []int) error {
	if err := checkDays(dayMinutes, c); err != nil {
		return err
	}
	return s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.SaveCostSettings(ctx, workshop, c); err != nil {
			return err
		}
		before, err := tx.YearCosts(ctx, workshop)
		if err != nil {
			return err
		}
		if err := tx.SetYearCosts(ctx, workshop, costs); err != nil {
			return err
		}
		w, err := tx.Workshop(ctx, workshop)
		if err != nil {
			return err
		}
		w.DayMinutes = dayMinutes
		if err := tx.SaveWorkshop(ctx, w); err != nil {
			return err
		}
		if w, err = tx.Workshop(ctx, workshop); err != nil {
			return err
		}
		currency, err := Currency(w)
		if err != nil {
			return err
		}
		list, year := YearOf(costs, w, currency)
		rate, err := costing.Overhead(list, year, currency)
		if err != nil || len(costs)+len(before) == 0 {
			return atYear(err)
		}
		w.OverheadYear = rate.Total.Number()
		return tx.SaveWorkshop(ctx, w)
	})
}

// checkDays refuses days that nobody can work, and a year without hours.
func checkDays(dayMinutes []int, c store.CostSettings) error {
	fault := &store.Fault{Kind: store.Invalid}
	hands, sum := handsOf(c.YearPeople), 0
	for i, minutes := range dayMinutes {
		sum += minutes
		if minutes > hands*minutesOfDay {
			fault.Problems = append(fault.Problems, store.Problem{Field: "day." + strconv.Itoa(i), Message: fmt.Sprintf(
				"A %s has %d minutes, and %s: write at most %d, or say below that more people work here.",
				time.Weekday(i), minutesOfDay, words.Count(hands, "person works here", "people work here"), hands*minutesOfDay)})
		}
	}
	if sum == 0 {
		fault.Problems = append(fault.Problems, store.Problem{Field: "day.1", Message: "Write on which days you work, and how many minutes."})
	}
	if len(fault.Problems) > 0 {
		return fault
	}
	return nil
}

func atYear(err error) error {
	var inputs costing.InputErrors
	if !errors.As(err, &inputs) {
		return err
	}
	fault := &store.Fault{Kind: store.Invalid}
	for _, e := range inputs {
		field := e.Field
		var at int
		if _, scanErr := fmt.Sscanf(field, "costs[%d].", &at); scanErr == nil {
			field = fmt.Sprintf("cost.%d.%s", at, field[strings.Index(field, "].")+2:])
		}
		fault.Problems = append(fault.Problems, store.Problem{Field: field, Message: "This " + e.Message + "."})
	}
	return fault
}

// SeamLength is one seam in one size: its length in one garment, and the thread it takes.
type SeamLength struct {
	Length, Thread length.Length
}

// ThreadNeed is the need of a style that its seams add up to.
const ThreadNeed = "thread"

// SeamRatio is the thread that a length of a seam takes: what the maker measured, or the
// stitch class's own.
func SeamRatio(seam store.Seam) money.Decimal {
	if seam.Ratio.Sign() > 0 {
		return seam.Ratio
	}
	known, _ := costing.StitchOf(seam.Class)
	return known.Ratio
}

// threadFormula is the formula of the thread of all seams.
func threadFormula(seams []store.Seam) string {
	parts := make([]string, len(seams))
	for i, seam := range seams {
		count := ""
		if seam.Count > 1 {
			count = fmt.Sprintf("%d*", seam.Count)
		}
		parts[i] = fmt.Sprintf("%s%s*(%s)", count, SeamRatio(seam), seam.Length)
	}
	return strings.Join(parts, " + ")
}

// MeasureSeams works seams out in every size of a style's chart, and checks them.
func MeasureSeams(style garment.Style, chart garment.SizeChart, seams []store.Seam) (map[string][]SeamLength, error) {
	fault := &store.Fault{Kind: store.Invalid}
	for i, seam := range seams {
		if _, known := costing.StitchOf(seam.Class); !known {
			fault.Problems = append(fault.Problems, store.Problem{Field: fmt.Sprintf("seam.%d.class", i), Message: "Choose a stitch class."})
		}
	}
	if len(fault.Problems) > 0 {
		return nil, fault
	}
	measured := map[string][]SeamLength{}
	style.Pieces, style.Notions = nil, nil
	for _, seam := range seams {
		style.Notions = append(style.Notions,
			garment.NotionNeed{Length: seam.Length, Count: seam.Count},
			garment.NotionNeed{Length: fmt.Sprintf("%s*(%s)", SeamRatio(seam), seam.Length), Count: seam.Count})
	}
	for _, size := range chart.SizeNames() {
		graded, err := style.Grade(chart, size)
		if err != nil {
			return nil, atSeams(err, len(seams))
		}
		for i := range seams {
			one, thread := graded.Notions[2*i], graded.Notions[2*i+1]
			measured[size] = append(measured[size], SeamLength{one.Length * length.Length(one.Count), thread.Length * length.Length(thread.Count)})
		}
	}
	return measured, nil
}

// atSeams moves what is wrong with a formula to its seam, once.
func atSeams(err error, seams int) error {
	var problems garment.Problems
	if !errors.As(err, &problems) {
		return err
	}
	fault := &store.Fault{Kind: store.Invalid}
	said := make([]bool, seams)
	for _, p := range problems {
		var at int
		if _, scanErr := fmt.Sscanf(p.Field, "notions[%d].", &at); scanErr != nil || at/2 >= seams || said[at/2] {
			continue
		}
		said[at/2] = true
		fault.Problems = append(fault.Problems, store.Problem{Field: fmt.Sprintf("seam.%d.length", at/2), Message: "This seam, in size " + p.Size + ": " + p.Message + "."})
	}
	return fault
}

// SaveSeams stores the seams of a style, whose thread is from then on the sum of theirs. With
// no seam the style keeps the thread that it has.
func (s *Service) SaveSeams(ctx context.Context, workshop int64, style store.Style, seams []store.Seam) error {
	chart, err := s.Chart(ctx, workshop, style.ChartID)
	if err != nil {
		return err
	}
	if _, err := MeasureSeams(style.Style, chart.SizeChart, seams); err != nil {
		return err
	}
	if len(seams) > 0 {
		at := slices.IndexFunc(style.Notions, func(n garment.NotionNeed) bool { return n.Notion == ThreadNeed })
		if at < 0 {
			return store.Wrong("", "This style takes no thread: its needs have none of that name.")
		}
		style.Notions = slices.Clone(style.Notions)
		style.Notions[at].Length, style.Notions[at].Count = threadFormula(seams), 1
		if err := style.Check(chart.SizeChart); err != nil {
			return store.Wrong("", "The seams together make a formula that is too long: join some of one stitch class, such as length of hem + waist.")
		}
	}
	return s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.SaveStyle(ctx, workshop, style); err != nil {
			return err
		}
		return tx.SetSeams(ctx, workshop, style.ID, seams)
	})
}

// AddStudy checks and stores a time study of an operation of a style.
func (s *Service) AddStudy(ctx context.Context, workshop, style int64, t store.TimeStudy) (int64, error) {
	if _, err := t.Study.Time(); err != nil {
		return 0, atStudy(err)
	}
	if t.WatchedOn.IsZero() {
		t.WatchedOn = s.Today()
	}
	if t.WatchedOn.After(s.Today()) {
		return 0, store.Wrong("watched_on", "This day is still to come.")
	}
	return s.store.AddTimeStudy(ctx, workshop, style, t)
}

func atStudy(err error) error {
	var inputs costing.InputErrors
	if !errors.As(err, &inputs) {
		return err
	}
	fault := &store.Fault{Kind: store.Invalid}
	for _, e := range inputs {
		field := e.Field
		var at int
		if _, scanErr := fmt.Sscanf(field, "elements[%d].", &at); scanErr == nil {
			field = field[strings.Index(field, "].")+2:]
			field, _, _ = strings.Cut(field, "[")
			field = fmt.Sprintf("element.%d.%s", at, field)
		}
		message := strings.ToUpper(e.Message[:1]) + e.Message[1:] + "."
		if field == "elements" {
			field = "element.0.readings"
		}
		fault.Problems = append(fault.Problems, store.Problem{Field: field, Message: message})
	}
	return fault
}

// TakeStudy gives an operation the standard minutes of a study.
func (s *Service) TakeStudy(ctx context.Context, workshop int64, style store.Style, study store.TimeStudy) error {
	found, err := study.Study.Time()
	if err != nil {
		return err
	}
	at := slices.IndexFunc(style.Operations, func(o garment.Operation) bool { return o.Name == study.Operation })
	if at < 0 {
		return store.Wrong("", "The style has no step of this name any more.")
	}
	minutes, err := store.Minutes(found.Standard)
	if err != nil {
		return err
	}
	cycles := 0
	for _, e := range study.Study.Elements {
		cycles = max(cycles, len(e.Readings))
	}
	style.Operations = slices.Clone(style.Operations)
	style.Operations[at].Each = minutes
	style.Operations[at].Basis = fmt.Sprintf("timed by you, %s: %s, allowance %s of the %s", study.WatchedOn.Format("2 Jan 2006"), words.Count(cycles, "cycle"), study.Study.Allowance, study.Study.Rule)
	return s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.SaveStyle(ctx, workshop, style); err != nil {
			return err
		}
		return tx.MarkTaken(ctx, workshop, style.ID, study)
	})
}
