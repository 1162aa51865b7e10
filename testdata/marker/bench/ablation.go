package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/marker"
	"yardwright/testdata/lay/generate"
	"yardwright/testdata/marker/rectangles"
)

// planned are the budgets, in iterations, that package lay gives its markers.
var planned = []int{20, 100, 400, 1500}

const ablationTitle = "\n## What each searcher earns"

// set is a kind of instances to lay with and without each searcher.
type set struct {
	name      string
	instances []marker.Instance
}

// ablation writes the table of what is lost when one searcher is left out, in the place of the one in the file.
func (s settings) ablation() error {
	var page strings.Builder
	fmt.Fprintf(&page, "%s\n\nWritten by `make bench-marker BENCH=-ablation`. Each searcher is left out by itself (`marker.Params.Without`), and the same instances are laid with it and\n"+
		"without it in turns. A cell says by how many percent markers are longer without it, on average over all of them, and how many are longer and shorter;\n"+
		"– is no change at all; !2 means that two are no longer proven the shortest. Budgets are those that package `lay` gives its markers, in iterations, and %g s. *Time* is that with it over that without it, at %d iterations.\n\n",
		ablationTitle, s.seconds, planned[len(planned)-1])
	sets, err := s.sets()
	if err != nil {
		return err
	}
	for _, cuts := range []bool{false, true} {
		if s.cuts != "" && s.cuts != map[bool]string{false: "any", true: "straight"}[cuts] {
			continue
		}
		fmt.Fprintf(&page, "| %s | left out |", map[bool]string{false: "any cuts", true: "straight cuts only"}[cuts])
		for _, n := range planned {
			fmt.Fprintf(&page, " %d |", n)
		}
		fmt.Fprintf(&page, " time | %g s |\n|---|---|%s---|---|\n", s.seconds, strings.Repeat("---|", len(planned)))
		for _, one := range sets {
			if err := s.without(&page, one, cuts); err != nil {
				return err
			}
		}
		page.WriteString("\n")
	}
	old, err := os.ReadFile(s.out)
	if err != nil {
		return err
	}
	before, rest, _ := strings.Cut(string(old), ablationTitle)
	_, after, more := strings.Cut(rest, "\n## ")
	if more {
		after = "\n## " + after
	}
	return os.WriteFile(s.out, []byte(before+strings.TrimRight(page.String(), "\n")+"\n"+after), 0o644)
}

// sets are markers as the planner asks for them, cutting jobs and published instances.
func (s settings) sets() ([]set, error) {
	var asked set
	asked.name = "markers of plans"
	add := func(lays []lay.Lay) {
		for i := range lays {
			asked.instances = append(asked.instances, lays[i].Instance)
		}
	}
	data, err := os.ReadFile(filepath.Join(s.folder, "..", "lay", "demo-batch.json"))
	if err != nil {
		return nil, err
	}
	var in batch.Input
	if err := json.Unmarshal(data, &in); err != nil {
		return nil, err
	}
	plan, err := batch.Make(context.Background(), in, batch.Params{Seed: s.seed, Iterations: 300, MarkerIterations: 100})
	if err != nil {
		return nil, err
	}
	for _, c := range plan.Cloths {
		add(c.Plan.Lays)
	}
	generated, err := lay.Solve(context.Background(), generate.Batch(60, 7), lay.Params{Seed: s.seed, Iterations: 300, MarkerIterations: 100})
	if err != nil {
		return nil, err
	}
	add(generated.Lays)
	asked.instances = spread(asked.instances, 2*s.jobs)
	jobs := set{name: "cutting jobs"}
	for seed := range uint64(s.jobs) {
		jobs.instances = append(jobs.instances, marker.CuttingJob{Seed: seed, OneWay: seed%3 == 1, UpAndDown: seed%3 == 2}.Instance())
	}
	published := set{name: "published"}
	for _, family := range s.chosenFamilies() {
		all, err := rectangles.Read(family)
		if err != nil {
			return nil, err
		}
		for i, one := range spread(all, s.most) {
			published.instances = append(published.instances, problemOf(one, i%2 == 1, false))
		}
	}
	if s.jobs <= 0 {
		return []set{published}, nil
	}
	return []set{asked, jobs, published}, nil
}

// spread picks at most so many of a list, spread over it; all if most is 0.
func spread[T any](all []T, most int) []T {
	if most <= 0 || len(all) <= most {
		return all
	}
	picked := make([]T, most)
	for i := range picked {
		picked[i] = all[i*len(all)/most]
	}
	return picked
}

// without writes the rows of a set.
func (s settings) without(page *strings.Builder, one set, cuts bool) error {
	if len(one.instances) == 0 {
		return nil
	}
	names := marker.Searchers(cuts)
	if s.searchers != "" {
		names = strings.Split(s.searchers, ",")
	}
	budgets := append(append([]int{}, planned...), 0)
	if s.seconds <= 0 {
		budgets = planned
	}
	type cell struct {
		sum                       float64
		longer, shorter, unproven int
	}
	cells := make(map[string][]cell, len(names))
	with, left := time.Duration(0), map[string]time.Duration{}
	for _, in := range one.instances {
		in.StraightCuts = cuts
		for b, budget := range budgets {
			whole, err := s.layWithout(in, budget)
			if err != nil {
				return err
			}
			if budget == planned[len(planned)-1] {
				with += whole.Stats.Elapsed
			}
			for _, name := range names {
				r, err := s.layWithout(in, budget, name)
				if err != nil {
					return err
				}
				if budget == planned[len(planned)-1] {
					left[name] += r.Stats.Elapsed
				}
				if cells[name] == nil {
					cells[name] = make([]cell, len(budgets))
				}
				c := &cells[name][b]
				c.sum += 100 * (float64(r.Length)/float64(whole.Length) - 1)
				if whole.Status == marker.StatusOptimal && r.Status != marker.StatusOptimal {
					c.unproven++
				}
				switch {
				case r.Length > whole.Length:
					c.longer++
				case r.Length < whole.Length:
					c.shorter++
				}
			}
		}
	}
	n := len(one.instances)
	for _, name := range names {
		fmt.Fprintf(page, "| %s, %d | %s |", one.name, n, name)
		for b := range budgets {
			c := cells[name][b]
			text := "–"
			if c.longer+c.shorter > 0 {
				text = fmt.Sprintf("%.2f (%d, %d)", c.sum/float64(n), c.longer, c.shorter)
			}
			if c.unproven > 0 {
				text += fmt.Sprintf(" !%d", c.unproven)
			}
			if b == len(planned)-1 {
				text += fmt.Sprintf(" | %.2f", float64(with)/float64(left[name]))
			}
			fmt.Fprintf(page, " %s |", text)
		}
		page.WriteString("\n")
		fmt.Fprintln(os.Stderr, one.name, cuts, name, cells[name])
	}
	return nil
}

// layWithout lays an instance with so many iterations, or with none given in the seconds of the settings.
func (s settings) layWithout(in marker.Instance, iterations int, without ...string) (marker.Result, error) {
	ctx, cancel := context.Background(), func() {}
	if iterations == 0 {
		ctx, cancel = context.WithTimeout(ctx, time.Duration(s.seconds*float64(time.Second)))
	}
	defer cancel()
	return marker.Solve(ctx, in, marker.Params{Seed: s.seed, Iterations: iterations, Without: without})
}
