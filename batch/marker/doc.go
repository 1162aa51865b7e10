// Package marker lays pattern pieces on one width of cloth so that little length is used.
//
// The problem. A cloth of fixed usable width is open at one end. Every copy of every piece
// is to lie on it, inside the width, over no other copy and over no fault, turned only as its
// grain and the cloth's nap allow; the length used is to be least. With straight cuts only,
// the pieces must come apart by cuts that each run from edge to edge of the part being cut.
// With a repeat, each piece that has a match point is placed so that the point falls on the
// print's grid. With a longest length, the most valuable set of copies that fits is laid and
// the rest is reported.
//
// Invariants. All geometry is in whole units of 1/8000 mm (package length), so that no
// tolerance is needed and every machine gives the same answer. An Instance is never changed
// by Solve. Bound never exceeds the length of any valid marker. Verify knows nothing of Solve
// and every Result passes through it before anyone sees it. The same instance, seed and
// iteration budget give the same Result.
//
// Not promised: the shortest marker, unless Status says StatusOptimal; and the same Result
// when time, not iterations, ends the search.
//
// Coordinates. x runs across the cloth from the left selvage, y along it. A placement's
// (X, Y) is the lower left corner of the bounding box of the mirrored and turned piece.
// Mirroring (left-right) is done first, then turning, counter-clockwise.
package marker
