package store

import (
	"context"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
)

// Whole is everything of a workshop that batches are planned from and garments are costed and
// priced from, but for its own settings.
type Whole struct {
	Settings   CostSettings
	Charts     []Chart
	Styles     []Style
	Colourways []Colourway
	Cloths     []Cloth
	Notions    []Notion
	DaysOff    []time.Time
	Bolts      []Bolt
	Faults     []BoltFault
	BoltCosts  []BoltCost
	Channels   []Channel
	// Costs of every style, in no order; Seams and Expenses by style, in theirs.
	Costs     []StyleCosts
	Seams     []Seam
	Expenses  []StyleExpense
	Sizes     []StyleSize
	YearCosts []YearCost
	// Typed are the prices that the maker typed, by style.
	Typed []TypedPrice
}

// InUse are the colourways that are not put away.
func (w *Whole) InUse() []Colourway {
	return slices.DeleteFunc(slices.Clone(w.Colourways), func(c Colourway) bool { return c.PutAway })
}

// SeamsOf are the seams of one style.
func (w *Whole) SeamsOf(style int64) []Seam {
	var seams []Seam
	for _, seam := range w.Seams {
		if seam.StyleID == style {
			seams = append(seams, seam)
		}
	}
	return seams
}

// ExpensesOf are the direct expenses of one style.
func (w *Whole) ExpensesOf(style int64) []StyleExpense {
	var expenses []StyleExpense
	for _, e := range w.Expenses {
		if e.StyleID == style {
			expenses = append(expenses, e)
		}
	}
	return expenses
}

// SizesOf is what was said of the sizes of one style.
func (w *Whole) SizesOf(style int64) []StyleSize {
	var sizes []StyleSize
	for _, size := range w.Sizes {
		if size.StyleID == style {
			sizes = append(sizes, size)
		}
	}
	return sizes
}

// Whole reads a workshop in one round trip. In a context of Remember it is read once, and must
// not be changed.
func (s *Store) Whole(ctx context.Context, workshop int64) (*Whole, error) {
	kept, _ := ctx.Value(rememberKey{}).(*remembered)
	if kept != nil && kept.whole != nil && kept.wholeOf == workshop {
		return kept.whole, nil
	}
	whole, err := s.whole(ctx, workshop)
	if kept != nil && err == nil {
		kept.whole, kept.wholeOf = whole, workshop
	}
	return whole, err
}

func (s *Store) whole(ctx context.Context, workshop int64) (*Whole, error) {
	w := &Whole{}
	var settings []CostSettings
	var days []dayRow
	round, named := &pgx.Batch{}, args{"workshop": workshop}
	queued(round, &settings, settingsOfWorkshop, named)
	charts := queueCharts(round, `c.workshop_id = @workshop`, named)
	styles := queueStyles(round, `s.workshop_id = @workshop`, named)
	colourways := queueColourways(round, named)
	notions := queueNotions(round, named)
	queued(round, &w.Cloths, clothsOfWorkshop, named)
	queued(round, &days, daysOfWorkshop, named)
	queued(round, &w.Bolts, boltsOfWorkshop, named)
	queued(round, &w.Faults, faultsOfWorkshop, named)
	queued(round, &w.BoltCosts, boltCostsOfWorkshop, named)
	queued(round, &w.Channels, channelsOfWorkshop, named)
	queued(round, &w.Costs, styleCosts, named)
	queued(round, &w.Seams, styleSeams+` ORDER BY e.style_id, e.position`, named)
	queued(round, &w.Expenses, styleExpenses+` ORDER BY e.style_id, e.position`, named)
	queued(round, &w.Typed, typedPrices+typedOrder, named)
	queued(round, &w.Sizes, styleSizes+` ORDER BY z.style_id, z.size`, named)
	queued(round, &w.YearCosts, yearOfWorkshop, named)
	if err := readAll(ctx, s.db, round); err != nil {
		return nil, err
	}
	if len(settings) != 1 {
		return nil, missing("workshop")
	}
	w.Settings, w.DaysOff = settings[0], daysOf(days)
	w.Charts, w.Colourways, w.Notions = charts(), colourways(), notions()
	var err error
	w.Styles, err = styles()
	return w, err
}
