package marker

import (
	"fmt"
	"math/rand/v2"

	"yardwright/batch/length"
)

// CuttingJob is a cutting job of our own making, as a small workshop has them: pieces of one to
// three graded garments on one of the usual cloth widths. It is for measuring and testing; the
// same job is always the same instance.
type CuttingJob struct {
	Seed uint64
	// OneWay is cloth with a one-way nap or print: no half turns, and no quarter turns.
	OneWay bool
	// UpAndDown is cloth whose nap lets each garment lie either way up, its pieces alike.
	UpAndDown bool
	// StraightCuts, Faults and Repeat ask for these rules of the cloth.
	StraightCuts, Faults, Repeat bool
}

// Bounds of a drawn job.
const (
	leastJobKinds, mostJobKinds   = 3, 24
	leastJobCopies, mostJobCopies = 20, 400
)

// eighth of an inch is the step of our drafts.
const eighth = length.Inch / 8

// draft is a piece of a garment: its size in eighths of an inch for the smallest size and what
// each size adds.
type draft struct {
	name            string
	copies          int
	width, along    int
	moreWide, moreL int
	crosswise       bool // may lie across the grain too
}

// drafts are our own garments.
var drafts = [][]draft{
	{{"skirt panel", 2, 150, 84, 6, 8, false}, {"skirt band", 2, 150, 48, 6, 0, true}, {"skirt pocket", 2, 44, 52, 0, 2, true}},
	{{"shorts leg", 4, 96, 108, 5, 7, false}, {"shorts pocket", 2, 48, 56, 1, 1, true}},
	{{"apron skirt", 1, 192, 120, 8, 10, false}, {"apron bib", 1, 80, 88, 4, 4, false}, {"apron tie", 2, 20, 240, 0, 8, false}, {"apron pocket", 1, 96, 64, 2, 2, true}},
	{{"bag body", 2, 112, 128, 0, 0, true}, {"bag strap", 2, 28, 192, 0, 0, true}},
	{{"dress front", 1, 140, 176, 6, 12, false}, {"dress back", 1, 148, 176, 6, 12, false}, {"dress tie", 2, 16, 128, 0, 4, true}},
}

// jobWidths are usual widths of cloth between the selvages, in inches.
var jobWidths = []length.Length{36, 42, 43, 44, 54, 58, 60}

// jobSize is one garment in one size, and how many of it are cut.
type jobSize struct{ style, size, quantity int }

// Instance returns the job as a checked instance of 3 to 24 pieces with 20 to 400 copies.
func (j CuttingJob) Instance() Instance {
	rng := rand.New(rand.NewPCG(j.Seed, 11))
	in := Instance{Width: jobWidths[rng.IntN(len(jobWidths))] * length.Inch, StraightCuts: j.StraightCuts}
	for group, s := range drawSizes(rng) {
		for _, d := range drafts[s.style] {
			in.Pieces = append(in.Pieces, j.piece(d, s, group+1))
		}
	}
	if j.Repeat {
		in.Repeat = Repeat{Length: length.Length(rng.IntN(15)+4) * length.Inch / 2}
	}
	if j.Faults {
		in.Faults = drawFaults(rng, in)
	}
	return in
}

// drawSizes draws garments in sizes until there are enough kinds of piece, then how many of each.
func drawSizes(rng *rand.Rand) []jobSize {
	wanted := leastJobKinds + rng.IntN(mostJobKinds-leastJobKinds+1)
	// The number of copies is spread evenly over its orders of magnitude: small runs are as usual.
	copies := leastJobCopies
	for most := mostJobCopies / leastJobCopies; most > 1 && rng.IntN(3) > 0; most /= 2 {
		copies *= 2
	}
	copies += rng.IntN(copies / 4)
	var sizes []jobSize
	kinds, perRun := 0, 0
	for kinds < wanted {
		style, first := rng.IntN(len(drafts)), rng.IntN(3)
		for size := first; size < first+1+rng.IntN(5); size++ {
			if kinds+len(drafts[style]) > mostJobKinds {
				break
			}
			quantity := 1 + rng.IntN(4)
			sizes = append(sizes, jobSize{style, size, quantity})
			kinds += len(drafts[style])
			perRun += quantity * draftCopies(style)
		}
		if mostJobKinds-kinds < len(drafts[2]) {
			break
		}
	}
	for i := range sizes {
		sizes[i].quantity = max(sizes[i].quantity*copies/perRun, 1)
	}
	for total := 0; ; total = 0 {
		for _, s := range sizes {
			total += s.quantity * draftCopies(s.style)
		}
		if total >= leastJobCopies {
			return sizes
		}
		sizes[rng.IntN(len(sizes))].quantity++
	}
}

func draftCopies(style int) int {
	n := 0
	for _, d := range drafts[style] {
		n += d.copies
	}
	return n
}

func (j CuttingJob) piece(d draft, s jobSize, group int) Piece {
	p := Piece{
		Name: fmt.Sprintf("%s size %d", d.name, s.size+1), Copies: d.copies * s.quantity, Turns: []Turn{0},
		Width: length.Length(d.width+s.size*d.moreWide) * eighth, Length: length.Length(d.along+s.size*d.moreL) * eighth,
	}
	if d.crosswise && !j.OneWay {
		p.Turns = append(p.Turns, 90)
	}
	if !j.OneWay {
		p.Turns = append(p.Turns, 180)
	}
	if j.UpAndDown {
		p.Turns, p.NapGroup = []Turn{0, 180}, group
	}
	if j.Repeat && !d.crosswise {
		// The hem of a main piece lies on the print; pockets, bands and ties lie where they may.
		p.Match = &Point{0, p.Length}
	}
	return p
}

// drawFaults draws one to four faults on the stretch that the pieces take at least.
func drawFaults(rng *rand.Rand, in Instance) []Fault {
	area := length.Area(0)
	for _, p := range in.Pieces {
		area += p.Area() * length.Area(p.Copies)
	}
	across, along := int(in.Width/length.Inch), int(area/length.Area(in.Width)/length.Area(length.Inch))
	var faults []Fault
	for range 1 + rng.IntN(4) {
		f := Fault{Width: length.Length(rng.IntN(8)+1) * length.Inch / 2, Length: length.Length(rng.IntN(8)+1) * length.Inch / 2}
		f.X, f.Y = length.Length(rng.IntN(across-4))*length.Inch, length.Length(rng.IntN(max(along, 4)))*length.Inch
		faults = append(faults, f)
	}
	return faults
}
