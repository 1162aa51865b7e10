package roll

import (
	"sort"

	"yardwright/batch/length"
)

// finish turns a packing back into a plan for the Problem.
func finish(p Problem, j joined, out outcome, seed uint64) Plan {
	plan := Plan{Seed: seed, Status: StatusWithin, ShortProven: out.shortProven}
	due := make([]int, len(p.Cuts))
	for c, cut := range p.Cuts {
		due[c] = cut.Count - j.tooLong[c]
	}
	plan.Rolls = j.rolls(p, out.best, due)
	for _, r := range plan.Rolls {
		plan.Opened += r.Times
		plan.OpenedLength += p.Stock[r.Stock].Length * length.Length(r.Times)
		plan.LongestLeft = max(plan.LongestLeft, r.Left)
	}
	plan.BoundLength = length.Length(out.bound * j.costUnit)
	plan.Bound = j.fewestRolls(out)
	plan.LeftoverProven = out.leftProven
	for c := range due {
		due[c] += j.tooLong[c]
		if due[c] > 0 {
			plan.Unmet = due
		}
	}
	switch {
	case plan.Unmet != nil:
		plan.Status = StatusShort
	case out.boundProven:
		plan.Status = StatusOptimal
	case out.outOfTime:
		plan.Status = StatusOutOfTime
	}
	if plan.Unmet == nil {
		plan.ShortProven = false
	}
	return plan
}

// fewestRolls bounds the number of rolls that hold what is met.
func (j *joined) fewestRolls(out outcome) int {
	if len(j.cost) == 1 {
		return int(out.bound / j.cost[0])
	}
	need := j.total()
	for i, n := range out.best.unmet {
		need -= j.weight[i] * int64(n)
	}
	rolls := 0
	for k, c := range j.capacity {
		if need <= 0 {
			break
		}
		n := int((need + c - 1) / c)
		if j.limit[k] >= 0 {
			n = min(n, j.limit[k])
		}
		rolls += n
		need -= c * int64(n)
	}
	return rolls
}

// rolls hands the pieces of a packing out to the cuts, and lowers due by them.
func (j *joined) rolls(p Problem, packed packing, due []int) []Roll {
	left := make([]int, len(p.Stock))
	for s, stock := range p.Stock {
		left[s] = stock.Count
		if stock.Count == 0 {
			left[s] = -1
		}
	}
	var rolls []Roll
	for at, pat := range packed.pattern {
		for times := packed.times[at]; times > 0; {
			stock := nextStock(j.stocks[pat.kind], left)
			counts, n := j.deal(pat, due, times)
			if left[stock] >= 0 {
				n = min(n, left[stock])
				left[stock] -= n
			}
			for c, k := range counts {
				due[c] -= k * n
			}
			rolls = append(rolls, Roll{Stock: stock, Counts: counts, Times: n, Left: leftover(p, stock, counts)})
			times -= n
		}
	}
	sort.SliceStable(rolls, func(a, b int) bool {
		if rolls[a].Stock != rolls[b].Stock {
			return rolls[a].Stock < rolls[b].Stock
		}
		return rolls[a].Left < rolls[b].Left
	})
	return rolls
}

// nextStock prefers stock with a count, so that what is on the shelf is used before buying.
func nextStock(stocks []int, left []int) int {
	for _, s := range stocks {
		if left[s] > 0 {
			return s
		}
	}
	for _, s := range stocks {
		if left[s] < 0 {
			return s
		}
	}
	return stocks[0]
}

// deal chooses which cuts a roll's pieces are for, and how many rolls can be dealt alike.
func (j *joined) deal(pat pattern, due []int, times int) ([]int, int) {
	counts := make([]int, len(due))
	for a, i := range pat.item {
		need := int(pat.n[a])
		for _, c := range j.cuts[i] {
			n := min(need, due[c])
			counts[c] += n
			need -= n
		}
	}
	for c, n := range counts {
		if n > 0 {
			times = min(times, due[c]/n)
		}
	}
	return counts, times
}

func leftover(p Problem, stock int, counts []int) length.Length {
	left := p.Stock[stock].Length
	for c, n := range counts {
		left -= (p.Cuts[c].Length + p.Kerf) * length.Length(n)
	}
	return max(0, left)
}
