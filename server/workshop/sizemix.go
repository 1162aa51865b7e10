package workshop

import (
	"context"
	"slices"

	"yardwright/batch/garment"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// SizeMix is how the garments of a usual batch are spread over the sizes of a style.
type SizeMix struct {
	// Sizes are those of the chart, in its order.
	Sizes []MixSize
	// ByMaker tells that the maker set the mix. Otherwise it follows the garments that were Ordered
	// in the last Months.
	ByMaker         bool
	Months, Ordered int
	// Version is what a form that changes it begins from.
	Version string
}

// MixSize is one size of a mix.
type MixSize struct {
	Size    string
	Offered bool
	// Share is the weight that the maker set; nil where she set none.
	Share *int
	// Ordered is how many were ordered in the last months, Garments how many the usual batch has.
	Ordered, Garments int
}

// SizeMix is the mix of a style as it is now.
func (s *Service) SizeMix(ctx context.Context, workshop, style int64) (SizeMix, error) {
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return SizeMix{}, err
	}
	at := slices.IndexFunc(all.Styles, func(known store.Style) bool { return known.ID == style })
	if at < 0 {
		return SizeMix{}, notThere("style")
	}
	return sizeMix(all, style, chartOf(all, all.Styles[at]))
}

// middling is the weight of a size by its place in a chart of n where no orders tell: the square of its
// distance from the end, so that a small batch holds several of the middle sizes and none of the
// outermost, never one of each. Our own assumption.
func middling(i, n int) int64 {
	distance := int64(min(i, n-1-i) + 1)
	return distance * distance
}

// sizeMix spreads a usual batch over the sizes that a style is offered in: as the maker set it, or as
// the orders of the last months went, which count beside one more batch that is largest in the middle
// of the chart, so that few orders don't decide alone.
func sizeMix(all stock, style int64, chart garment.SizeChart) (SizeMix, error) {
	mix := SizeMix{Months: all.Settings.MixMonths}
	said := all.SizesOf(style)
	mix.Version = store.VersionOfSizes(said)
	n := len(chart.Sizes)
	if n == 0 {
		return mix, nil
	}
	none := !slices.ContainsFunc(chart.SizeNames(), func(name string) bool { return offeredIn(said, name) })
	sold, scale, set := make([]money.Decimal, n), make([]money.Decimal, n), make([]money.Decimal, n)
	for i, name := range chart.SizeNames() {
		// Where the chart has changed and none of its sizes is offered, all are.
		size := MixSize{Size: name, Offered: none || offeredIn(said, name)}
		if at := saidOf(said, name); at >= 0 {
			size.Share = said[at].Share
		}
		if at := slices.IndexFunc(all.ordered, func(o store.OrderedSize) bool { return o.StyleID == style && o.Size == name }); at >= 0 {
			size.Ordered = all.ordered[at].Quantity
		}
		if size.Offered {
			mix.Ordered += size.Ordered
			sold[i], scale[i] = money.Int(int64(size.Ordered)), money.Int(middling(i, n))
			if size.Share != nil {
				mix.ByMaker = mix.ByMaker || *size.Share > 0
				set[i] = money.Int(int64(*size.Share))
			}
		}
		mix.Sizes = append(mix.Sizes, size)
	}
	shares := set
	if !mix.ByMaker {
		var err error
		if shares, err = costing.SizeShares(sold, scale, money.Int(int64(all.workshop.UsualBatch))); err != nil {
			return mix, err
		}
	}
	counts, err := costing.AllocateSizes(int64(all.workshop.UsualBatch), shares)
	if err != nil {
		return mix, err
	}
	for i, count := range counts {
		mix.Sizes[i].Garments = int(count)
	}
	return mix, nil
}

func saidOf(said []store.StyleSize, size string) int {
	return slices.IndexFunc(said, func(z store.StyleSize) bool { return z.Size == size })
}

func offeredIn(said []store.StyleSize, size string) bool {
	at := saidOf(said, size)
	return at < 0 || said[at].Offered
}

// Made are the sizes that the usual batch has some of.
func (m SizeMix) Made() []MixSize {
	return slices.DeleteFunc(slices.Clone(m.Sizes), func(size MixSize) bool { return size.Garments == 0 })
}

// counts are the garments by size, 0 for a size that is offered and not in the batch. Sizes that are
// asked for besides count as offered.
func (m SizeMix) counts(also []string) map[string]int {
	counts := map[string]int{}
	for _, size := range m.Sizes {
		if size.Offered || slices.Contains(also, size.Size) {
			counts[size.Size] = size.Garments
		}
	}
	return counts
}

// SaveSizeMix stores in which sizes of a chart of so many a style is offered, and the weights that the
// maker sets. A size that nothing is said of is offered.
func (s *Service) SaveSizeMix(ctx context.Context, workshop, style int64, version string, sizes []store.StyleSize, ofChart int) error {
	offered, weighed, weight := len(sizes) < ofChart, false, false
	for _, size := range sizes {
		offered = offered || size.Offered
		if size.Offered && size.Share != nil {
			weighed, weight = true, weight || *size.Share > 0
		}
	}
	switch {
	case !offered:
		return store.Wrong("sizes", "Tick at least one size that this style is offered in.")
	case weighed && !weight:
		return store.Wrong("sizes", "Write how many of at least one size a usual batch has, or leave all of them empty: the mix then follows your orders.")
	}
	return s.store.ChangeStyleSizes(ctx, workshop, style, version, sizes)
}
