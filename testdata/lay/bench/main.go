// Command bench plans generated batches, the demo batch and the published orders and rolls, and
// writes how long that took and how near the bound the plans are to lay/RESULTS.md in the folder
// that it is given.
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/lay/ratio"
	"yardwright/batch/length"
	"yardwright/batch/roll"
	"yardwright/testdata/lay/generate"
)

const seed = 1

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: bench FOLDER, the folder testdata")
		os.Exit(2)
	}
	if err := run(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func run(folder string) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, "# Lays and rolls: measured plans\n\nWritten by `make bench-lay` on %s, %d cores, %s %s, seed %d, the usual budget of steps. Times depend on the\nmachine and on what else it does; plans do not.\n", time.Now().Format(time.DateOnly), runtime.NumCPU(), runtime.GOOS, runtime.GOARCH, seed)
	for _, section := range []func(*strings.Builder, string) error{orders, rolls, demo, generated} {
		if err := section(b, folder); err != nil {
			return err
		}
	}
	fmt.Print(b)
	return os.WriteFile(filepath.Join(folder, "lay", "RESULTS.md"), []byte(b.String()), 0o644)
}

func read(folder, file string, into any) error {
	data, err := os.ReadFile(filepath.Join(folder, file))
	if err != nil {
		return err
	}
	return json.Unmarshal(data, into)
}

func above(value, bound lay.Money) float64 {
	if bound <= 0 {
		return 0
	}
	return 100 * (float64(value)/float64(bound) - 1)
}

func money(m lay.Money) float64 { return float64(m) / 1e6 }

func metres(l length.Length) float64 { return l.Millimetres() / 1000 }

// orders plans the published orders by size, fewest markers first, nothing cut too much.
func orders(b *strings.Builder, folder string) error {
	var rows []struct {
		Name        string    `json:"name"`
		Demand      []int     `json:"demand"`
		Length      []float64 `json:"length_per_garment_yd"`
		MaxPlies    int       `json:"max_plies"`
		MinPlies    int       `json:"min_plies"`
		MaxGarments int       `json:"max_garments_per_marker"`
		MaxLength   float64   `json:"max_marker_length_yd"`
		Best        int       `json:"best_markers"`
		Frontier    []struct {
			Markers int  `json:"markers"`
			Excess  *int `json:"min_excess"`
		} `json:"frontier"`
	}
	if err := read(folder, "cutplan/instances.json", &rows); err != nil {
		return err
	}
	b.WriteString("\n## Published orders by size (testdata/cutplan), markers then length, nothing over-cut\n\n| order | markers | published | bound | length, yd | status | s |\n|---|---|---|---|---|---|---|\n")
	for _, row := range rows {
		p := ratio.Problem{Demand: row.Demand, MaxPlies: row.MaxPlies, MinPlies: row.MinPlies, MaxGarments: row.MaxGarments, Objective: ratio.ObjectiveMarkers, MaxLength: yards(row.MaxLength)}
		for i := range row.Demand {
			p.Sizes = append(p.Sizes, fmt.Sprint(i+1))
		}
		for _, l := range row.Length {
			p.Length = append(p.Length, yards(l))
		}
		published := row.Best
		for _, f := range row.Frontier {
			if f.Excess != nil && *f.Excess == 0 && (published == 0 || f.Markers < published) {
				published = f.Markers
			}
		}
		began := time.Now()
		plan, err := ratio.Solve(context.Background(), p, ratio.Params{Seed: seed})
		if err != nil {
			return fmt.Errorf("%s: %w", row.Name, err)
		}
		fmt.Fprintf(b, "| %s | %d | %d | %d | %.2f | %s | %.2f |\n", row.Name, len(plan.Markers), published, plan.BoundMarkers, float64(plan.Length)/float64(length.Yard), plan.Status, time.Since(began).Seconds())
	}
	return nil
}

func yards(f float64) length.Length { return length.Length(f*float64(length.Yard) + 0.5) }

// rolls plans the published cuts from rolls.
func rolls(b *strings.Builder, folder string) error {
	var rows []struct {
		Name     string `json:"name"`
		Capacity int    `json:"capacity"`
		Optimal  *int   `json:"optimal_bins"`
		Items    []struct {
			Length int `json:"length"`
			Count  int `json:"qty"`
		} `json:"items"`
	}
	if err := read(folder, "rolls/instances.json", &rows); err != nil {
		return err
	}
	published, met, proven, slowest := 0, 0, 0, time.Duration(0)
	var slow string
	for _, row := range rows {
		p := roll.Problem{Stock: []roll.Stock{{Name: "roll", Length: length.Length(row.Capacity) * length.Millimetre}}}
		for i, item := range row.Items {
			p.Cuts = append(p.Cuts, roll.Cut{Name: fmt.Sprint(i + 1), Length: length.Length(item.Length) * length.Millimetre, Count: item.Count})
		}
		began := time.Now()
		plan, err := roll.Solve(context.Background(), p, roll.Params{Seed: seed})
		if err != nil {
			return fmt.Errorf("%s: %w", row.Name, err)
		}
		if took := time.Since(began); took > slowest {
			slowest, slow = took, row.Name
		}
		if row.Optimal != nil {
			published++
			if plan.Opened == *row.Optimal {
				met++
			}
		}
		if plan.Status == roll.StatusOptimal {
			proven++
		}
	}
	fmt.Fprintf(b, "\n## Published cuts from rolls (testdata/rolls)\n\n| instances | with a published optimum | met | proven here | slowest | s |\n|---|---|---|---|---|---|\n| %d | %d | %d | %d | %s | %.2f |\n", len(rows), published, met, proven, slow, slowest.Seconds())
	return nil
}

// demo plans the demo batch.
func demo(b *strings.Builder, folder string) error {
	var in batch.Input
	if err := read(folder, "lay/demo-batch.json", &in); err != nil {
		return err
	}
	began := time.Now()
	plan, err := batch.Make(context.Background(), in, batch.Params{Seed: seed})
	if err != nil {
		return err
	}
	took := time.Since(began)
	fmt.Fprintf(b, "\n## The demo batch: %d garments in %.1f s\n\n| cloth | garments | lays | cost | bound | gap %% | each by itself | each size by itself |\n|---|---|---|---|---|---|---|---|\n", plan.Cut(), took.Seconds())
	var cost, bound, one, size lay.Money
	for _, c := range plan.Cloths {
		garments := 0
		for _, g := range c.Problem.Garments {
			garments += g.Quantity
		}
		fmt.Fprintf(b, "| %s | %d | %d | %.2f | %.2f | %.1f | %.2f | %.2f |\n", c.Cloth.Name, garments, len(c.Plan.Lays), money(c.Plan.Cost), money(c.Plan.Bound), above(c.Plan.Cost, c.Plan.Bound), money(c.Plan.ByGarment.Cost), money(c.Plan.BySize.Cost))
		cost, bound, one, size = cost+c.Plan.Cost, bound+c.Plan.Bound, one+c.Plan.ByGarment.Cost, size+c.Plan.BySize.Cost
	}
	fmt.Fprintf(b, "| all | %d | %d | %.2f | %.2f | %.1f | %.2f | %.2f |\n\nShaped pieces are laid by the rectangle around them, and the bound is for that.\n", plan.Cut(), plan.Lays(), money(cost), money(bound), above(cost, bound), money(one), money(size))
	return nil
}

// generated plans batches of growing size.
func generated(b *strings.Builder, _ string) error {
	b.WriteString("\n## Generated batches of one cloth (testdata/lay/generate)\n\n| asked | seed | garments | kinds | s | memory, MB | lays | cost | bound | gap % | cloth, m | cloth over its bound % | saved against each garment by itself | against each size by itself |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n")
	for _, ask := range []struct {
		garments int
		seed     uint64
	}{{60, 7}, {60, 8}, {250, 7}, {250, 8}, {1000, 7}, {4000, 7}} {
		p := generate.Batch(ask.garments, ask.seed)
		began := time.Now()
		plan, err := lay.Solve(context.Background(), p, lay.Params{Seed: seed})
		if err != nil {
			return err
		}
		took := time.Since(began)
		garments := 0
		for _, g := range p.Garments {
			garments += g.Quantity
		}
		var memory runtime.MemStats
		runtime.ReadMemStats(&memory)
		saved := func(x lay.Practice) string {
			return fmt.Sprintf("%.1f m, %.0f min, %.2f", metres(x.Length-plan.LengthUsed), (x.Work - plan.Work()).Minutes(), money(x.Cost-plan.Cost))
		}
		fmt.Fprintf(b, "| %d | %d | %d | %d | %.1f | %d | %d | %.2f | %.2f | %.2f | %.2f | %.2f | %s | %s |\n", ask.garments, ask.seed, garments, len(p.Garments), took.Seconds(), memory.Sys>>20, len(plan.Lays),
			money(plan.Cost), money(plan.Bound), above(plan.Cost, plan.Bound), metres(plan.LengthUsed), 100*(float64(plan.LengthUsed)/float64(plan.LengthBound)-1), saved(plan.ByGarment), saved(plan.BySize))
	}
	return nil
}
