// Package generate makes up batches of any size, for measuring how well and how fast lays are
// planned.
package generate

import (
	"fmt"
	"math/rand/v2"
	"time"

	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
)

const inch = length.Inch

var either = []marker.Turn{0, 180}

func bolt(name string, long length.Length) lay.Bolt {
	return lay.Bolt{Name: name, Lot: name, Width: 43 * inch, Length: long, PricePerMetre: 9_000_000}
}

// Batch is a batch of about so many garments for one cloth: up to 12 styles of two panels,
// two bands and now and then two pockets, in 6 to 9 sizes with the middle ones most wanted, and
// bolts of 1 to 25 m in three shade lots for about a quarter of it (all invented).
func Batch(garments int, seed uint64) lay.Problem {
	rng := rand.New(rand.NewPCG(seed, 1))
	eighths := func(least, more int) length.Length { return length.Length(least+rng.IntN(more)) * inch / 8 }
	p := lay.Problem{
		Cloth: "linen",
		Rules: lay.Rules{
			TableLength: 3 * length.Metre, MaxPlies: 8, Spread: lay.FaceOneWay, EndLoss: inch / 2, KeepLength: 10 * inch,
			BuyWidth: 43 * inch, BuyStep: length.Yard / 8, BuyPricePerMetre: 9_000_000,
		},
		Rates: lay.Rates{SetUp: 8 * time.Minute, SpreadPerMetre: 30 * time.Second, CutPerMetre: 40 * time.Second, PerHour: 15_000_000},
	}
	styles := min(12, 1+garments/60)
	for style := range styles {
		width, long := eighths(60, 90), eighths(60, 140)
		sizes := 6 + rng.IntN(4)
		for size := range sizes {
			fromMiddle := float64(size) - float64(sizes-1)/2
			g := lay.Garment{
				Name:     fmt.Sprintf("style %d size %d", style, size),
				Quantity: int(float64(garments)/float64(styles)*0.35/(1+fromMiddle*fromMiddle/2)) + rng.IntN(3),
			}
			w, l := width+length.Length(size)*inch*3/8, long+length.Length(size)*inch*5/8
			g.Pieces = []lay.Piece{
				{Name: "panel", Copies: 2, Width: w, Length: l, Turns: either},
				{Name: "band", Copies: 2, Width: w, Length: 6 * inch, Turns: either},
			}
			if style%2 == 0 {
				g.Pieces = append(g.Pieces, lay.Piece{Name: "pocket", Copies: 2, Width: 6 * inch, Length: 7 * inch, Turns: either})
			}
			p.Garments = append(p.Garments, g)
		}
	}
	for b := range 2 + garments/100 {
		p.Bolts = append(p.Bolts, bolt(fmt.Sprint(b%3), length.Length(1+rng.IntN(25))*length.Metre))
	}
	return p
}
