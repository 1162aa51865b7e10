package marker

import (
	"context"
	"fmt"
	"os"
	"testing"
	"time"
)

func TestTryGarment(t *testing.T) {
	if os.Getenv("TRYG") == "" {
		t.Skip()
	}
	d, _ := time.ParseDuration(os.Getenv("TRYG"))
	for _, straight := range []bool{false, true} {
		sum, n, opt := 0.0, 0, 0
		for seed := range uint64(20) {
			j := garmentJob{seed: seed, garments: []int{4, 10, 25, 60}[seed%4], nap: seed%2 == 0, straight: straight, faults: os.Getenv("FAULTS") != "", repeat: os.Getenv("REPEAT") != ""}
			in := j.instance()
			ctx, cancel := context.WithTimeout(context.Background(), d)
			r, err := Solve(ctx, in, Params{Seed: 1})
			cancel()
			if err != nil {
				t.Fatal(j.name(), err)
			}
			sum += r.GapPercent()
			n++
			if r.Status == StatusOptimal {
				opt++
			}
			if os.Getenv("V") != "" {
				fmt.Printf("%-70s W %v pieces %d kinds %d length %.3f bound %.3f gap %.2f its %d\n", j.name(), in.Width.Inches(), in.copies(), len(newModel(&in).kinds), r.Length.Inches(), r.Bound.Inches(), r.GapPercent(), r.Stats.Iterations)
			}
		}
		fmt.Printf("garments straight %v mean gap %.3f opt %d/%d\n", straight, sum/float64(n), opt, n)
	}
}
