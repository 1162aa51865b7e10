package marker

import (
	"fmt"
	"math/rand/v2"

	"yardwright/batch/length"
)

// garmentJob is a cutting job of our own making, as a small workshop has them: pieces of a few
// graded garments in eighths of an inch, on one of the usual cloth widths.
type garmentJob struct {
	seed uint64
	// garments is how many garments are cut.
	garments int
	nap      bool // one way: no half turns
	straight bool
	faults   bool
	repeat   bool
}

func (j garmentJob) name() string {
	return fmt.Sprintf("seed %d, %d garments, nap %v, straight cuts %v, faults %v, repeat %v", j.seed, j.garments, j.nap, j.straight, j.faults, j.repeat)
}

func (j garmentJob) instance() Instance {
	rng := rand.New(rand.NewPCG(j.seed, 7))
	widths := []length.Length{36, 42, 43, 44, 54, 58, 60}
	in := Instance{Width: widths[rng.IntN(len(widths))] * length.Inch, StraightCuts: j.straight}
	kinds := 1 + rng.IntN(3)
	for style := range kinds {
		garment := drafts[rng.IntN(len(drafts))]
		sizes := 1 + rng.IntN(5)
		for size := range sizes {
			quantity := max(j.garments/(kinds*sizes)+rng.IntN(3)-1, 1)
			for _, d := range garment {
				turns := []Turn{0}
				if d.crosswise {
					turns = append(turns, 90)
				}
				if !j.nap {
					turns = append(turns, 180)
				}
				p := Piece{
					Name: fmt.Sprintf("%s %d-%d", d.name, style, size), Copies: d.copies * quantity, Turns: turns,
					Width: length.Length(d.width+size*d.moreWide) * eighth, Length: length.Length(d.along+size*d.moreL) * eighth,
				}
				if j.repeat {
					p.Match = &Point{0, p.Length}
				}
				in.Pieces = append(in.Pieces, p)
			}
		}
	}
	if j.repeat {
		in.Repeat = Repeat{Length: length.Length(rng.IntN(8)+2) * length.Inch}
	}
	if j.faults {
		for range 3 {
			in.Faults = append(in.Faults, Fault{
				X: length.Length(rng.IntN(30)) * length.Inch, Y: length.Length(rng.IntN(80)) * length.Inch,
				Width: length.Length(rng.IntN(4)+1) * length.Inch, Length: length.Length(rng.IntN(4)+1) * length.Inch,
			})
		}
	}
	return in
}
