package marker

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"
)

func TestTry(t *testing.T) {
	if os.Getenv("TRY") == "" {
		t.Skip()
	}
	d, _ := time.ParseDuration(os.Getenv("TRYSEC"))
	for _, v := range []string{"given", "turned"} {
		sum, n := 0.0, 0
		opt := 0
		for _, p := range readPublished(t, strings.Split(os.Getenv("TRY"), ",")...) {
			in := p.instance(v == "turned", false)
			m := newModel(&in)
			b := m.bound()
			c := climber{m: m, sky: newSkyline(m), rng: rand.New(rand.NewPCG(1, 2))}
			c.start()
			first := c.best
			k := 0
			t0 := time.Now()
			for time.Since(t0) < d && c.best > b {
				for range 16 {
					c.step()
					k++
				}
			}
			gap := 100 * (float64(c.best)/8000/float64(p.least[v]) - 1)
			if p.least[v]*8000 < int(b) {
				t.Errorf("bound too high")
			}
			sum += gap
			n++
			if gap == 0 {
				opt++
			}
			if os.Getenv("V") != "" {
				fmt.Println(p.name, v, "n", m.copies, "bound", b/8000, p.bound[v], "least", p.least[v], p.status[v], "first", first/8000, "best", c.best/8000, "ref", p.skyline3s[v], "its", k)
			}
		}
		fmt.Printf("%s %s mean gap %.3f opt %d/%d\n", os.Getenv("TRY"), v, sum/float64(n), opt, n)
	}
}
