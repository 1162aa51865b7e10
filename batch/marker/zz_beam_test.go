package marker

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"yardwright/batch/length"
)

// dissect cuts a square of side w into n rectangles, guillotine or with pinwheels.
func dissect(n int, w, h, minSide int, pin bool, seed uint64, turned bool) Instance {
	rng := rand.New(rand.NewPCG(seed, 99))
	type r struct{ w, l int }
	all := []r{{w, h}}
	for len(all) < n {
		// the largest of three random ones
		at := rng.IntN(len(all))
		for range 2 {
			k := rng.IntN(len(all))
			if all[k].w*all[k].l > all[at].w*all[at].l {
				at = k
			}
		}
		b := all[at]
		if pin && len(all)+4 <= n && rng.IntN(3) == 0 && b.w > 4*minSide && b.l > 4*minSide {
			x1 := minSide + rng.IntN(b.w/2-minSide)
			x2 := x1 + minSide + rng.IntN(b.w-x1-2*minSide)
			y1 := minSide + rng.IntN(b.l/2-minSide)
			y2 := y1 + minSide + rng.IntN(b.l-y1-2*minSide)
			all[at] = r{x2, y1}
			all = append(all, r{b.w - x2, y2}, r{b.w - x1, b.l - y2}, r{x1, b.l - y1}, r{x2 - x1, y2 - y1})
			continue
		}
		if (rng.IntN(b.w+b.l) < b.w) && b.w > 2*minSide {
			c := minSide + rng.IntN(b.w-2*minSide)
			all[at] = r{c, b.l}
			all = append(all, r{b.w - c, b.l})
		} else if b.l > 2*minSide {
			c := minSide + rng.IntN(b.l-2*minSide)
			all[at] = r{b.w, c}
			all = append(all, r{b.w, b.l - c})
		}
	}
	in := Instance{Width: length.Length(w) * unit}
	turns := []Turn{0}
	if turned {
		turns = append(turns, 90)
	}
	for _, p := range all {
		in.Pieces = append(in.Pieces, Piece{Copies: 1, Width: length.Length(p.w) * unit, Length: length.Length(p.l) * unit, Turns: turns})
	}
	return in
}

func envInt(name string, d int) int {
	if s := os.Getenv(name); s != "" {
		v, _ := strconv.Atoi(s)
		return v
	}
	return d
}

// TestZZBeam: beams alone, targets one below the best from 208 on; steps budget.
func TestZZBeam(t *testing.T) {
	if os.Getenv("BEAM") == "" {
		t.Skip()
	}
	budget := float64(envInt("MS", 3000)) / 1000
	for _, turned := range []bool{true, false} {
		if (os.Getenv("BEAM") == "turned") != turned && os.Getenv("BEAM") != "both" {
			continue
		}
		for _, sn := range strings.Split(os.Getenv("NS"), ",") {
			n, _ := strconv.Atoi(sn)
			sum, cnt := 0.0, 0
			line := ""
			for seed := range uint64(envInt("SEEDS", 4)) {
				in := dissect(n, 200, 200, 8, seed%2 == 1, seed+100, turned)
				m := newModel(&in)
				b := newFillBeam(m, seed/2%2 == 1, rand.New(rand.NewPCG(seed, 2)))
				best := int64(208)
				began := cpu()
				var taste fillTaste
				beams := 0
				for (cpu()-began).Seconds() < budget && best > 200 {
					tg := best - 1
					switch beams % 3 {
					case 1:
						tg = 200
					case 2:
						tg = 200 + (best-1-200)/2
					}
					beams++
					b.begin(tg * int64(unit))
					for done, found := false, false; !done; {
						for range 200 {
							if done, found = b.step(); done || found {
								break
							}
						}
						if found {
							best = tg
							taste = b.taste
							break
						}
						if (cpu() - began).Seconds() >= budget {
							break
						}
					}
				}
				_ = taste
				line += fmt.Sprintf(" %d", best)
				sum += float64(best-200) / 2
				cnt++
			}
			fmt.Printf("n=%d turned=%v mean %.2f: %s\n", n, turned, sum/float64(cnt), line)
		}
	}
}

// TestZZZero: time to a zero-waste marker, beams alone.
func TestZZZero(t *testing.T) {
	if os.Getenv("ZERO") == "" {
		t.Skip()
	}
	most := float64(envInt("MS", 2000)) / 1000
	for _, turned := range []bool{true, false} {
		total, solved, cnt := 0.0, 0, 0
		for i, d := range [][4]int{{40, 80, 80, 4}, {49, 60, 60, 3}, {73, 60, 90, 3}, {80, 100, 80, 4}, {97, 80, 120, 3}} {
			for seed := range uint64(envInt("SEEDS", 4)) {
				in := dissect(d[0], d[1], d[2], d[3], seed%2 == 1, seed+uint64(i)*50, turned)
				m := newModel(&in)
				b := newFillBeam(m, seed/2%2 == 1, rand.New(rand.NewPCG(seed, 2)))
				began := cpu()
				found := false
				for !found && (cpu()-began).Seconds() < most {
					b.begin(int64(d[2]) * int64(unit))
					for done := false; !done && !found && (cpu()-began).Seconds() < most; {
						for range 200 {
							if done, found = b.step(); done || found {
								break
							}
						}
					}
				}
				cnt++
				used := (cpu() - began).Seconds()
				if found {
					solved++
				}
				total += used
			}
		}
		fmt.Printf("turned=%v solved %d of %d, mean time %.2f\n", turned, solved, cnt, total/float64(cnt))
	}
}
