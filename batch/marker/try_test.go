package marker

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"
	"yardwright/batch/length"
)

func TestTry(t *testing.T) {
	if os.Getenv("TRY") == "" {
		t.Skip()
	}
	d, _ := time.ParseDuration(os.Getenv("TRYSEC"))
	for _, v := range []string{"given", "turned"} {
		if os.Getenv("VAR") != "" && os.Getenv("VAR") != v {
			continue
		}
		sum, n := 0.0, 0
		opt := 0
		for _, p := range readPublished(t, strings.Split(os.Getenv("TRY"), ",")...) {
			in := p.instance(v == "turned", os.Getenv("STRAIGHT") != "")
			ctx, cancel := context.WithTimeout(context.Background(), d)
			r, err := Solve(ctx, in, Params{Seed: 1})
			cancel()
			if err != nil {
				t.Fatal(p.name, err)
			}
			gap := 100 * (float64(r.Length)/8000/float64(p.least[v]) - 1)
			if p.least[v]*8000 < int(r.Bound) {
				t.Errorf("bound too high")
			}
			sum += gap
			n++
			if gap <= 0 {
				opt++
			}
			if os.Getenv("V") != "" && r.Length/8000 != length.Length(p.least[v]) {
				fmt.Println(p.name, v, "n", in.copies(), "bound", r.Bound/8000, p.bound[v], "least", p.least[v], p.status[v], "best", r.Length/8000, "ref", p.skyline3s[v], "its", r.Stats.Iterations)
			}
		}
		fmt.Printf("%s %s mean gap %.3f opt %d/%d\n", os.Getenv("TRY"), v, sum/float64(n), opt, n)
	}
}
