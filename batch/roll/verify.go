package roll

import (
	"fmt"

	"yardwright/batch/length"
)

// Verify tells whether a plan is a valid answer to the problem: every cut in a roll or in
// Unmet, no roll beyond its length, no stock beyond its count, sums and bounds consistent.
// It knows nothing of Solve.
func Verify(p Problem, plan Plan) error {
	if err := p.Check(); err != nil {
		return err
	}
	given := make([]int, len(p.Cuts))
	taken := make([]int, len(p.Stock))
	opened, openedLength, longest := 0, length.Length(0), length.Length(0)
	for i, r := range plan.Rolls {
		if err := verifyRoll(p, r); err != nil {
			return fmt.Errorf("roll %d: %w", i+1, err)
		}
		for c, n := range r.Counts {
			given[c] += n * r.Times
		}
		taken[r.Stock] += r.Times
		opened += r.Times
		openedLength += p.Stock[r.Stock].Length * length.Length(r.Times)
		longest = max(longest, r.Left)
	}
	for s, n := range taken {
		if count := p.Stock[s].Count; count > 0 && n > count {
			return fmt.Errorf("stock %d: %d rolls opened of %d in stock", s+1, n, count)
		}
	}
	if err := verifyDemand(p, plan, given); err != nil {
		return err
	}
	switch {
	case opened != plan.Opened:
		return fmt.Errorf("the plan says %d rolls opened, its rolls sum to %d", plan.Opened, opened)
	case openedLength != plan.OpenedLength:
		return fmt.Errorf("the plan says length %d opened, its rolls sum to %d", plan.OpenedLength, openedLength)
	case longest != plan.LongestLeft:
		return fmt.Errorf("the plan says longest leftover %d, its rolls have %d", plan.LongestLeft, longest)
	case plan.Bound > opened || plan.BoundLength > openedLength:
		return fmt.Errorf("the bound (%d rolls, length %d) is above the plan", plan.Bound, plan.BoundLength)
	case plan.Status == StatusOptimal && plan.BoundLength != openedLength:
		return fmt.Errorf("called optimal, but the bound is %d and the length opened %d", plan.BoundLength, openedLength)
	}
	return nil
}

func verifyRoll(p Problem, r Roll) error {
	if r.Stock < 0 || r.Stock >= len(p.Stock) {
		return fmt.Errorf("there is no stock %d", r.Stock)
	}
	if r.Times < 1 {
		return fmt.Errorf("cut %d times", r.Times)
	}
	if len(r.Counts) != len(p.Cuts) {
		return fmt.Errorf("counts for %d cuts, not %d", len(r.Counts), len(p.Cuts))
	}
	whole := p.Stock[r.Stock].Length
	used, pieces := length.Length(0), 0
	for c, n := range r.Counts {
		if n < 0 {
			return fmt.Errorf("cut %d is negative", c+1)
		}
		used += p.Cuts[c].Length * length.Length(n)
		pieces += n
	}
	if pieces == 0 {
		return fmt.Errorf("opened for nothing")
	}
	// The cuts between the pieces are needed; one after the last only if something remains.
	used += p.Kerf * length.Length(pieces-1)
	if used > whole-p.End {
		return fmt.Errorf("needs %d of length %d, less %d at its ends", used, whole, p.End)
	}
	if left := max(0, whole-used-p.Kerf); left != r.Left {
		return fmt.Errorf("leftover is %d, not %d", left, r.Left)
	}
	return nil
}

func verifyDemand(p Problem, plan Plan, given []int) error {
	if plan.Unmet != nil && len(plan.Unmet) != len(p.Cuts) {
		return fmt.Errorf("unmet counts for %d cuts, not %d", len(plan.Unmet), len(p.Cuts))
	}
	short := false
	for c, cut := range p.Cuts {
		unmet := 0
		if plan.Unmet != nil {
			unmet = plan.Unmet[c]
		}
		if unmet < 0 || given[c]+unmet != cut.Count {
			return fmt.Errorf("cut %d: %d cut and %d unmet of %d", c+1, given[c], unmet, cut.Count)
		}
		short = short || unmet > 0
	}
	if short != (plan.Status == StatusShort) || (plan.Unmet != nil) != short {
		return fmt.Errorf("status %q does not fit the cuts unmet", plan.Status)
	}
	return nil
}
