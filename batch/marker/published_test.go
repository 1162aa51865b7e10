package marker

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/testdata/marker/rectangles"
)

// families are the files of testdata/marker/rectangles. The source of each instance stands in them.
var families = rectangles.Families

// published is a strip-packing instance from testdata/marker/rectangles.
type published struct {
	family, name string
	// least is the least known length, by variant; status tells how well it is known.
	least  map[string]int
	status map[string]string
	// bound and skyline3s are by variant "given" and "turned".
	bound, skyline3s map[string]int
	width            int
	pieces           []publishedPiece
}

type publishedPiece struct{ w, l, copies int }

// unit is what one unit of a published instance is in a marker: the sets are pure numbers.
const unit = length.Millimetre

func (p published) instance(turned, straight bool) Instance {
	in := Instance{Width: length.Length(p.width) * unit, StraightCuts: straight}
	turns := []Turn{0}
	if turned {
		turns = []Turn{0, 90}
	}
	for i, q := range p.pieces {
		in.Pieces = append(in.Pieces, Piece{
			Name: fmt.Sprintf("%s-%d", p.name, i), Copies: q.copies,
			Width: length.Length(q.w) * unit, Length: length.Length(q.l) * unit, Turns: turns,
		})
	}
	return in
}

func readPublished(tb testing.TB, families ...string) []published {
	tb.Helper()
	instances, err := rectangles.Read(families...)
	require.NoError(tb, err)
	all := make([]published, len(instances))
	for i, in := range instances {
		all[i] = published{family: in.Family, name: in.Name, least: in.Least, status: in.Status, bound: in.Bound, skyline3s: in.Skyline3s, width: in.Width}
		for _, q := range in.Pieces {
			all[i].pieces = append(all[i].pieces, publishedPiece{q.Width, q.Length, q.Copies})
		}
	}
	return all
}
