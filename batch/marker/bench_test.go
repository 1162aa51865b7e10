package marker

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"yardwright/batch/length"
)

// manyPieces are n different rectangles of our own making on a cloth of 1.5 m, the scale of the
// largest published sets.
func manyPieces(n int) Instance {
	rng := rand.New(rand.NewPCG(uint64(n), 5))
	in := Instance{Width: 1500 * length.Millimetre}
	for range n {
		in.Pieces = append(in.Pieces, Piece{
			Copies: 1, Turns: []Turn{0, 90, 180, 270},
			Width: length.Length(40+rng.IntN(400)) * length.Millimetre, Length: length.Length(40+rng.IntN(400)) * length.Millimetre,
		})
	}
	return in
}

// BenchmarkFirstMarker measures the time to the first valid marker, checks and bounds included.
func BenchmarkFirstMarker(b *testing.B) {
	for _, n := range []int{10, 100, 1000, 5000} {
		for _, straight := range []bool{false, true} {
			b.Run(fmt.Sprintf("pieces=%d/straight=%v", n, straight), func(b *testing.B) {
				in := manyPieces(n)
				in.StraightCuts = straight
				b.ReportAllocs()
				gap := 0.0
				for b.Loop() {
					r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 1})
					if err != nil {
						b.Fatal(err)
					}
					gap = r.GapPercent()
				}
				b.ReportMetric(gap, "gap%")
			})
		}
	}
}

// BenchmarkSmallBudget measures a whole Solve as package lay asks for by the hundred: one ply of a
// few garments, checks, bounds and Verify included.
func BenchmarkSmallBudget(b *testing.B) {
	for _, job := range []garmentJob{{seed: 1, garments: 2}, {seed: 2, garments: 6}, {seed: 1, garments: 6, straight: true}, {seed: 2, garments: 6, faults: true}, {seed: 2, garments: 6, repeat: true}} {
		in := job.instance()
		b.Run(fmt.Sprintf("pieces=%d/straight=%v/faults=%v/repeat=%v", in.copies(), job.straight, job.faults, job.repeat), func(b *testing.B) {
			b.ReportAllocs()
			steps := 0
			for b.Loop() {
				r, err := Solve(context.Background(), in, Params{Seed: 1, Iterations: 60})
				if err != nil {
					b.Fatal(err)
				}
				steps = r.Stats.Iterations
			}
			b.ReportMetric(float64(steps), "steps")
		})
	}
}

// BenchmarkLay measures one laying of a plan, the inner loop of the search.
func BenchmarkLay(b *testing.B) {
	for _, n := range []int{20, 100, 400} {
		for _, name := range []string{"skyline", "straight"} {
			b.Run(fmt.Sprintf("%s/pieces=%d", name, n), func(b *testing.B) {
				in := manyPieces(n)
				m := newModel(&in)
				var e engine = newStripEngine(m)
				if name == "straight" {
					e = newStraight(m)
				}
				p := startsOf(m)[0].plan
				g := goal{room: noCap, target: noCap, excess: noCap}
				e.lay(p, g) // makes room
				b.ReportAllocs()
				for b.Loop() {
					e.lay(p, g)
				}
			})
		}
	}
}

// variants of the published instances: pieces as given, turned by quarters, by straight cuts only.
var variants = []string{"given", "turned", "straight"}

// BenchmarkPublished measures the mean gap to the least known length that 3 s an instance reach,
// by family and variant: go test -bench Published -benchtime 1x -timeout 1h.
func BenchmarkPublished(b *testing.B) {
	for _, family := range families {
		for _, variant := range variants {
			b.Run(family+"/"+variant, func(b *testing.B) {
				for range b.N {
					benchmarkFamily(b, family, variant, 3*time.Second, 0)
				}
			})
		}
	}
}

// BenchmarkBudget measures the mean gap by iteration budget, which does not depend on the machine:
// go test -bench Budget -benchtime 1x.
func BenchmarkBudget(b *testing.B) {
	for _, family := range families {
		for _, variant := range variants {
			for _, iterations := range []int{1, 60, 1000, 20_000} {
				b.Run(fmt.Sprintf("%s/%s/iterations=%d", family, variant, iterations), func(b *testing.B) {
					for range b.N {
						benchmarkFamily(b, family, variant, time.Hour, iterations)
					}
				})
			}
		}
	}
}

// benchmarkFamily lays the instances of a family and reports the mean gap, the share that meet the
// least known length and, beside them, what a minimal skyline search of 3 s came to.
func benchmarkFamily(b *testing.B, family, variant string, most time.Duration, iterations int) {
	gap, skyline, n, met := 0.0, 0.0, 0, 0
	for _, p := range readPublished(b, family) {
		if p.least[variant] == 0 {
			continue
		}
		ctx, cancel := context.WithTimeout(context.Background(), most)
		in := p.instance(variant == "turned", variant == "straight")
		r, err := Solve(ctx, in, Params{Seed: 1, Iterations: iterations})
		cancel()
		if err != nil {
			b.Fatal(p.name, err)
		}
		n++
		least := float64(p.least[variant])
		one := 100 * (float64(r.Length)/float64(unit)/least - 1)
		gap += one
		if p.skyline3s[variant] > 0 {
			skyline += 100 * (float64(p.skyline3s[variant])/least - 1)
		}
		if one <= 0 {
			met++
		} else if iterations == 0 {
			b.Logf("%s %s: %d, least known %d (%s), bound %d", p.name, variant, r.Length/unit, p.least[variant], p.status[variant], r.Bound/unit)
		}
	}
	if n == 0 {
		b.Skip("no such variant is known")
	}
	b.ReportMetric(gap/float64(n), "mean-gap%")
	b.ReportMetric(float64(met)/float64(n), "met-share")
	if variant != "straight" {
		b.ReportMetric(skyline/float64(n), "skyline-3s-gap%")
	}
}

// BenchmarkGarments measures the mean gap to the proven bound that 3 s reach on cutting jobs:
// go test -bench Garments -benchtime 1x -timeout 1h.
func BenchmarkGarments(b *testing.B) {
	for _, kind := range []garmentJob{{}, {nap: true}, {straight: true}, {faults: true}, {repeat: true}} {
		b.Run(fmt.Sprintf("nap=%v/straight=%v/faults=%v/repeat=%v", kind.nap, kind.straight, kind.faults, kind.repeat), func(b *testing.B) {
			for range b.N {
				gap, n := 0.0, 0
				for seed := range uint64(12) {
					kind.seed, kind.garments = seed, []int{4, 10, 25, 60}[seed%4]
					ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
					r, err := Solve(ctx, kind.instance(), Params{Seed: 1})
					cancel()
					if err != nil {
						b.Fatal(kind.name(), err)
					}
					gap += r.GapPercent()
					n++
				}
				b.ReportMetric(gap/float64(n), "mean-gap%")
			}
		})
	}
}

// BenchmarkFill measures the searches for markers without waste, by nodes and by fillings followed:
// once they have made room they allocate nothing.
func BenchmarkFill(b *testing.B) {
	for _, p := range readPublished(b, "HT_C", "BKW_N") {
		if p.name != "C3P2" && p.name != "N8" {
			continue
		}
		for _, variant := range []string{"given", "turned"} {
			in := p.instance(variant == "turned", false)
			m := newModel(&in)
			f := newFill(m, int64(p.least[variant])*int64(unit), false, rand.New(rand.NewPCG(1, 2)))
			b.Run(p.name+"/"+variant+"/depth", func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					f.search(1)
				}
			})
			beam := newFillBeam(m, false, rand.New(rand.NewPCG(1, 2)))
			b.Run(p.name+"/"+variant+"/beam", func(b *testing.B) {
				b.ReportAllocs()
				done := true
				for b.Loop() {
					if done {
						beam.begin(int64(p.least[variant]) * int64(unit))
					}
					done, _ = beam.step()
				}
			})
		}
	}
}
