// Package marker lays pattern pieces on one width of cloth so that little length is used.
//
// The problem. A cloth of fixed usable width is open at one end. Every copy of every piece
// is to lie on it, inside the width, over no other copy and over no fault, turned only as its
// grain and the cloth's nap allow; the length used is to be least. With straight cuts only,
// the pieces must come apart by cuts that each run from edge to edge of the part being cut.
// With a repeat, each piece that has a match point is placed so that the point falls on the
// print's grid. On folded cloth, half of a symmetric piece may have its place on the fold. With a longest length, the most valuable set of copies that fits is laid and
// the rest is reported. It is known as the strip packing problem, with rules of the trade added.
//
// Solve lays, Bound proves what no marker can beat, Verify checks a marker apart from both.
// ReadInstance and WriteResult are the file form of the command yardwright marker.
//
// How Solve works. An engine turns a plan (a sequence of pieces with a rule) into a marker: the
// skyline engine, or with straight cuts the straight-cut engine. Two workers lay plans sorted by
// several keys first, then change the best of them step by step by seeded choices, in rounds
// between which they tell each other what they have found. On plain cloth the skyline engine also
// lays across, from the left selvage on; an exact search looks for markers without waste where the
// bound leaves none; and of up to 16 pieces an exact search refutes what is shorter than the best
// known, or finds it. With straight cuts whole blocks of pieces are laid too; of few pieces it is
// searched which of them to put together, two groups at a time; and of fewer still, or of few kinds,
// all sets of them are gone over, which proves the shortest marker. Bounds come from dual feasible
// functions of the widths and from the bar relaxation.
//
// Invariants. All geometry is in whole units of 1/8000 mm (package length), so that no
// tolerance is needed and every machine gives the same answer. An Instance is never changed
// by Solve. Bound never exceeds the length of any valid marker. Verify knows nothing of Solve
// and every Result passes through it before anyone sees it. The same instance, seed and
// iteration budget give the same Result, apart from the time it took. A longer budget is never
// worse.
//
// Not promised: the shortest marker, unless Status says StatusOptimal; and the same Result
// when time, not iterations, ends the search. Shaped pieces are laid by their bounding boxes, so
// that no other piece comes into the corners that an outline leaves free; Bound and Verify
// look at the outline itself.
//
// Coordinates. x runs across the cloth from the left selvage, y along it. A placement's
// (X, Y) is the lower left corner of the bounding box of the mirrored and turned piece.
// Mirroring (left-right) is done first, then turning, counter-clockwise.
package marker
