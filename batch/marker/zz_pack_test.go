package marker

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"yardwright/batch/length"
)

func cpu() time.Duration {
	var r syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &r)
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

func cpuSolve(in Instance, seed uint64, budget time.Duration, least length.Length) (Result, time.Duration) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	began := cpu()
	var at time.Duration
	go func() {
		for ctx.Err() == nil {
			time.Sleep(5 * time.Millisecond)
			if cpu()-began > budget {
				cancel()
			}
		}
	}()
	r, err := Solve(ctx, in, Params{Seed: seed, Progress: func(p Progress) {
		at = cpu() - began
		if p.Length <= least && p.Left == 0 {
			cancel()
		}
	}})
	if err != nil {
		panic(err)
	}
	return r, at
}

func TestZZPack(t *testing.T) {
	spec := os.Getenv("PACK") // family:variant[,..]
	if spec == "" {
		t.Skip()
	}
	secs := 6.0
	if s := os.Getenv("CPU"); s != "" {
		secs, _ = strconv.ParseFloat(s, 64)
	}
	only := os.Getenv("ONLY")
	seed := uint64(1)
	if s := os.Getenv("SEED"); s != "" {
		v, _ := strconv.Atoi(s)
		seed = uint64(v)
	}
	step := 1
	if s := os.Getenv("STEP"); s != "" {
		step, _ = strconv.Atoi(s)
	}
	for _, fv := range strings.Split(spec, ",") {
		family, variant, _ := strings.Cut(fv, ":")
		vs := []string{variant}
		if variant == "" {
			vs = []string{"given", "turned"}
		}
		for _, variant := range vs {
			gap, sky, n, met := 0.0, 0.0, 0, 0
			for i, p := range readPublished(t, family) {
				if p.least[variant] == 0 || only != "" && !strings.Contains(","+only+",", ","+p.name+",") || i%step != 0 {
					continue
				}
				in := p.instance(variant == "turned", false)
				r, at := cpuSolve(in, seed, time.Duration(secs*1e9), length.Length(p.least[variant])*unit)
				g := 100 * (float64(r.Length)/float64(unit)/float64(p.least[variant]) - 1)
				sk := 100 * (float64(p.skyline3s[variant])/float64(p.least[variant]) - 1)
				fmt.Printf("  %-12s %-7s n=%3d %6d least %6d bound %6d gap %5.2f sky %5.2f at %4.1fs it %8d %s\n", p.name, variant, in.copies(), r.Length/unit, p.least[variant], r.Bound/unit, g, sk, at.Seconds(), r.Stats.Iterations, r.Stats.Engine)
				gap += g
				sky += sk
				n++
				if g <= 0 {
					met++
				}
			}
			if n > 0 {
				fmt.Printf("%-12s %-7s n=%d mean %.3f met %d sky %.3f\n", family, variant, n, gap/float64(n), met, sky/float64(n))
			}
		}
	}
}
