// Command bench measures package marker on the published instances and on cutting jobs, beside
// general-purpose packers, and writes testdata/marker/RESULTS.md. Run it with make bench-marker.
package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/testdata/marker/rectangles"
)

// settings are the flags.
type settings struct {
	seconds  float64
	families string
	most     int
	jobs     int
	small    int
	seed     uint64
	folder   string
	out      string
	first    int
	ablate   bool
	// Of an ablation: the cuts, any or straight, and the searchers left out; all of them if empty.
	cuts, searchers string
}

func main() {
	var s settings
	flag.Float64Var(&s.seconds, "seconds", 3, "budget of an instance")
	flag.StringVar(&s.families, "families", "all", "families of published instances, with commas between them; none for none")
	flag.IntVar(&s.most, "most", 0, "most instances of a family, spread over it; 0 for all")
	flag.IntVar(&s.jobs, "jobs", 12, "cutting jobs of each kind")
	flag.IntVar(&s.small, "small", 25, "drawn instances of 12 pieces of each kind")
	flag.Uint64Var(&s.seed, "seed", 1, "seed of the search")
	flag.StringVar(&s.folder, "folder", filepath.Join("testdata", "marker"), "folder with the peers")
	flag.StringVar(&s.out, "out", filepath.Join("testdata", "marker", "RESULTS.md"), "file to write")
	flag.IntVar(&s.first, "first", 0, "only lay the first marker of so many pieces, and print what it took")
	flag.BoolVar(&s.ablate, "ablation", false, "only write the table of what each searcher earns, with so many jobs and at most so many instances of a family")
	flag.StringVar(&s.cuts, "cuts", "", "of an ablation, only with any cuts or only with straight cuts")
	flag.StringVar(&s.searchers, "searchers", "", "of an ablation, the searchers to leave out, with commas between them; all if empty")
	flag.Parse()
	err := s.run()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func (s settings) run() error {
	if s.first > 0 {
		return printFirst(s.first)
	}
	if s.ablate {
		return s.ablation()
	}
	var page strings.Builder
	fmt.Fprintf(&page, "# Laying pieces: what is reached\n\nWritten by `make bench-marker` on %s; seed %d, %d cores, %s, %s/%s.\n",
		time.Now().UTC().Format("2006-01-02"), s.seed, runtime.NumCPU(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
	for _, part := range []func(*strings.Builder) error{s.published, s.garments, s.few, s.firsts} {
		if err := part(&page); err != nil {
			return err
		}
	}
	return os.WriteFile(s.out, []byte(page.String()), 0o644)
}

func (s settings) chosenFamilies() []string {
	switch s.families {
	case "all":
		return rectangles.Families
	case "none":
		return nil
	}
	return strings.Split(s.families, ",")
}

// published writes the table of published instances.
func (s settings) published(page *strings.Builder) error {
	families := s.chosenFamilies()
	if len(families) == 0 {
		return nil
	}
	fmt.Fprintf(page, "\n## Published rectangles, %g s an instance\n\n", s.seconds)
	page.WriteString("Gaps are means over the family, in percent of the optimum or the least known length (not of the bound); for straight cuts the\n" +
		"optimum without straight cuts where no other is known, so that it may not be reachable: going over all sets of pieces shows that the least by\n" +
		"straight cuts of T1a to T1e is 214, 212, 214, 247 and 221 as given, and 205, 206, 207, 205 and 207 turned. *3 s skyline* is a minimal skyline search\n" +
		"measured once on another machine. *maxrects* and *shelves* are general-purpose packers from npm (maxrects-packer, @mapbox/shelf-pack), run\n" +
		"beside ours; the shelf packer does not turn pieces. A ratio is the mean of our length over theirs.\n\n")
	page.WriteString("| family | pieces | instances | ours % | at the least known | 3 s skyline % | maxrects % | ratio | shelves % | ratio |\n|---|---|---|---|---|---|---|---|---|---|\n")
	for _, family := range families {
		instances, err := rectangles.Read(family)
		if err != nil {
			return err
		}
		instances = spread(instances, s.most)
		for _, variant := range []string{"given", "turned", "straight", "straight_turned"} {
			if err := s.family(page, family, variant, instances); err != nil {
				return err
			}
		}
	}
	return nil
}

// leastOf returns the least known length to compare with; 0 if there is none.
func leastOf(in rectangles.Instance, variant string) int {
	if variant == "straight_turned" && in.Least[variant] == 0 && in.Least["straight"] > 0 {
		return in.Least["turned"]
	}
	return in.Least[variant]
}

// tally adds up a row.
type tally struct {
	n, met, measured             int
	ours, skyline                float64
	maxrects, shelf              float64
	maxrectsRatio, shelfRatio    float64
	maxrectsPacked, shelfsPacked int
}

func (s settings) family(page *strings.Builder, family, variant string, all []rectangles.Instance) error {
	var instances []rectangles.Instance
	for _, in := range all {
		if leastOf(in, variant) > 0 {
			instances = append(instances, in)
		}
	}
	if len(instances) == 0 {
		return nil
	}
	turned := strings.HasSuffix(variant, "turned")
	peers, err := s.peers(instances, turned)
	if err != nil {
		return err
	}
	var t tally
	for i, in := range instances {
		problem := problemOf(in, turned, strings.HasPrefix(variant, "straight"))
		ctx, cancel := context.WithTimeout(context.Background(), time.Duration(s.seconds*float64(time.Second)))
		r, err := marker.Solve(ctx, problem, marker.Params{Seed: s.seed})
		cancel()
		if err != nil {
			return fmt.Errorf("%s: %w", in.Name, err)
		}
		t.add(in, variant, float64(r.Length)/float64(unit), peers[i])
	}
	name := map[string]string{"given": "as given", "turned": "turned", "straight": "straight cuts, as given", "straight_turned": "straight cuts, turned"}[variant]
	fmt.Fprintf(page, "| %s | %s | %d | %s | %d | %s | %s | %s | %s | %s |\n", family, name, t.n, mean(t.ours, t.n), t.met, mean(t.skyline, t.measured),
		mean(t.maxrects, t.maxrectsPacked), mean3(t.maxrectsRatio, t.maxrectsPacked), mean(t.shelf, t.shelfsPacked), mean3(t.shelfRatio, t.shelfsPacked))
	fmt.Fprintln(os.Stderr, family, name, mean(t.ours, t.n))
	return nil
}

func mean(sum float64, n int) string {
	if n == 0 {
		return "–"
	}
	return strconv.FormatFloat(sum/float64(n), 'f', 2, 64)
}

func mean3(sum float64, n int) string {
	if n == 0 {
		return "–"
	}
	return strconv.FormatFloat(sum/float64(n), 'f', 3, 64)
}

func (t *tally) add(in rectangles.Instance, variant string, ours float64, peer packed) {
	least := float64(leastOf(in, variant))
	gap := func(l float64) float64 { return 100 * (l/least - 1) }
	t.n++
	t.ours += gap(ours)
	if ours <= least {
		t.met++
	}
	if known := in.Skyline3s[variant]; known > 0 {
		t.measured++
		t.skyline += gap(float64(known))
	}
	if peer.MaxRects != nil {
		t.maxrectsPacked++
		t.maxrects += gap(*peer.MaxRects)
		t.maxrectsRatio += ours / *peer.MaxRects
	}
	if peer.Shelf != nil {
		t.shelfsPacked++
		t.shelf += gap(*peer.Shelf)
		t.shelfRatio += ours / *peer.Shelf
	}
}

// unit is what one unit of a published instance is: they are pure numbers.
const unit = length.Millimetre

func problemOf(in rectangles.Instance, turned, straight bool) marker.Instance {
	problem := marker.Instance{Width: length.Length(in.Width) * unit, StraightCuts: straight}
	turns := []marker.Turn{0}
	if turned {
		turns = []marker.Turn{0, 90}
	}
	for _, p := range in.Pieces {
		problem.Pieces = append(problem.Pieces, marker.Piece{
			Copies: p.Copies, Width: length.Length(p.Width) * unit, Length: length.Length(p.Length) * unit, Turns: turns,
		})
	}
	return problem
}

// packed are the lengths that the peers reach; nil where they cannot pack an instance.
type packed struct{ MaxRects, Shelf *float64 }

// peers runs the general-purpose packers.
func (s settings) peers(instances []rectangles.Instance, turned bool) ([]packed, error) {
	var input bytes.Buffer
	for _, in := range instances {
		strip := struct {
			Width  int      `json:"width"`
			Turned bool     `json:"turned"`
			Pieces [][2]int `json:"pieces"`
		}{Width: in.Width, Turned: turned}
		for _, p := range in.Pieces {
			for range p.Copies {
				strip.Pieces = append(strip.Pieces, [2]int{p.Width, p.Length})
			}
		}
		if err := json.NewEncoder(&input).Encode(strip); err != nil {
			return nil, err
		}
	}
	command := exec.Command("node", filepath.Join(s.folder, "peers", "pack.mjs"))
	command.Stdin, command.Stderr = &input, os.Stderr
	output, err := command.Output()
	if err != nil {
		return nil, fmt.Errorf("the peers cannot be run (npm ci --prefix testdata/marker/peers --ignore-scripts installs them): %w", err)
	}
	var all []packed
	for scanner := bufio.NewScanner(bytes.NewReader(output)); scanner.Scan(); {
		var p packed
		if err := json.Unmarshal(scanner.Bytes(), &p); err != nil {
			return nil, err
		}
		all = append(all, p)
	}
	if len(all) != len(instances) {
		return nil, fmt.Errorf("the peers packed %d of %d instances", len(all), len(instances))
	}
	return all, nil
}

// garments writes the table of cutting jobs.
func (s settings) garments(page *strings.Builder) error {
	if s.jobs <= 0 {
		return nil
	}
	fmt.Fprintf(page, "\n## Cutting jobs, %g s each\n\nJobs of 3 to 24 kinds of piece and 20 to 400 copies on cloths of 36 to 60 in (`marker.CuttingJob`, seeds 0 to %d). The gap is the mean over the proven\n"+
		"bound, in percent: no layout can be shorter by more.\n\n| cloth | jobs | mean gap %% | greatest gap %% | proven the shortest |\n|---|---|---|---|---|\n", s.seconds, s.jobs-1)
	for _, kind := range []struct {
		name string
		job  marker.CuttingJob
	}{
		{"turned by halves, small pieces by quarters", marker.CuttingJob{}},
		{"one-way nap", marker.CuttingJob{OneWay: true}},
		{"up-and-down nap", marker.CuttingJob{UpAndDown: true}},
		{"straight cuts only", marker.CuttingJob{StraightCuts: true}},
		{"one-way nap, straight cuts only", marker.CuttingJob{OneWay: true, StraightCuts: true}},
		{"faults", marker.CuttingJob{Faults: true}},
		{"repeat along", marker.CuttingJob{Repeat: true}},
	} {
		sum, greatest, proven := 0.0, 0.0, 0
		for seed := range uint64(s.jobs) {
			kind.job.Seed = seed
			ctx, cancel := context.WithTimeout(context.Background(), time.Duration(s.seconds*float64(time.Second)))
			r, err := marker.Solve(ctx, kind.job.Instance(), marker.Params{Seed: s.seed})
			cancel()
			if err != nil {
				return err
			}
			sum, greatest = sum+r.GapPercent(), max(greatest, r.GapPercent())
			if r.Status == marker.StatusOptimal {
				proven++
			}
		}
		fmt.Fprintf(page, "| %s | %d | %s | %.2f | %d |\n", kind.name, s.jobs, mean(sum, s.jobs), greatest, proven)
		fmt.Fprintln(os.Stderr, kind.name, mean(sum, s.jobs))
	}
	return nil
}

// fewPieces are drawn rectangles of our own making with sides up to most.
func fewPieces(seed uint64, pieces, most int, turned bool) marker.Instance {
	rng := rand.New(rand.NewPCG(seed, uint64(most)))
	in := marker.Instance{Width: length.Length(most+rng.IntN(most)) * unit}
	turns := []marker.Turn{0}
	if turned {
		turns = append(turns, 90)
	}
	for range pieces {
		in.Pieces = append(in.Pieces, marker.Piece{
			Copies: 1, Turns: turns, Width: length.Length(1+rng.IntN(most)) * unit, Length: length.Length(1+rng.IntN(most)) * unit,
		})
	}
	return in
}

// few writes the table of instances small enough to be proven.
func (s settings) few(page *strings.Builder) error {
	if s.small <= 0 {
		return nil
	}
	const pieces, seconds = 12, 5
	fmt.Fprintf(page, "\n## Twelve pieces, up to %d s each\n\nDrawn rectangles, all different, on cloths one to two times as wide as the longest side may be (seeds 0 to %d). Proven means that no layout\n"+
		"can be shorter.\n\n| sides | pieces | instances | proven the shortest | middle s | slowest s |\n|---|---|---|---|---|---|\n", seconds, s.small-1)
	for _, most := range []int{10, 100, 1000} {
		for _, turned := range []bool{false, true} {
			var took []time.Duration
			proven := 0
			for seed := range uint64(s.small) {
				ctx, cancel := context.WithTimeout(context.Background(), seconds*time.Second)
				r, err := marker.Solve(ctx, fewPieces(seed, pieces, most, turned), marker.Params{Seed: s.seed})
				cancel()
				if err != nil {
					return err
				}
				if r.Status == marker.StatusOptimal {
					proven++
				}
				took = append(took, r.Stats.Elapsed)
			}
			slices.Sort(took)
			way := map[bool]string{false: "as given", true: "turned"}[turned]
			fmt.Fprintf(page, "| 1 to %d | %s | %d | %d | %.3f | %.2f |\n", most, way, s.small, proven, took[len(took)/2].Seconds(), took[len(took)-1].Seconds())
			fmt.Fprintln(os.Stderr, "twelve pieces, sides to", most, way, proven, took[len(took)-1])
		}
	}
	return nil
}

// firsts writes the table of first markers, each laid by a process of its own, so that memory is
// that of one marker.
func (s settings) firsts(page *strings.Builder) error {
	page.WriteString("\n## The first valid marker\n\nDifferent pieces on a cloth of 1.5 m, checks, bounds and verification included; one iteration, the middle of three runs. Memory is the most that\n" +
		"the process held at once.\n\n| pieces | cuts | time ms | time per piece µs | memory MB | gap to the bound % |\n|---|---|---|---|---|---|\n")
	self, err := os.Executable()
	if err != nil {
		return err
	}
	for _, straight := range []string{"any", "straight"} {
		for _, n := range []int{10, 100, 1000, 5000} {
			var runs []first
			for range 3 {
				command := exec.Command(self, "-first", strconv.Itoa(n))
				command.Env = append(os.Environ(), "BENCH_CUTS="+straight)
				command.Stderr = os.Stderr
				output, err := command.Output()
				if err != nil {
					return err
				}
				var f first
				if err := json.Unmarshal(output, &f); err != nil {
					return err
				}
				runs = append(runs, f)
			}
			slices.SortFunc(runs, func(a, b first) int { return int(a.Micro - b.Micro) })
			f := runs[1]
			fmt.Fprintf(page, "| %d | %s | %.1f | %.1f | %.0f | %.2f |\n", n, straight, float64(f.Micro)/1000, float64(f.Micro)/float64(n), float64(f.Memory)/(1<<20), f.Gap)
		}
	}
	return nil
}

// first is what the first marker took.
type first struct {
	Micro  int64
	Gap    float64
	Memory int64
}

func printFirst(n int) error {
	rng := rand.New(rand.NewPCG(uint64(n), 5))
	in := marker.Instance{Width: 1500 * length.Millimetre, StraightCuts: os.Getenv("BENCH_CUTS") == "straight"}
	for range n {
		in.Pieces = append(in.Pieces, marker.Piece{
			Copies: 1, Turns: []marker.Turn{0, 90, 180, 270},
			Width: length.Length(40+rng.IntN(400)) * length.Millimetre, Length: length.Length(40+rng.IntN(400)) * length.Millimetre,
		})
	}
	began := time.Now()
	r, err := marker.Solve(context.Background(), in, marker.Params{Seed: 1, Iterations: 1})
	if err != nil {
		return err
	}
	took := time.Since(began)
	memory, err := mostMemory()
	if err != nil {
		return err
	}
	return json.NewEncoder(os.Stdout).Encode(first{Micro: took.Microseconds(), Gap: r.GapPercent(), Memory: memory})
}
