// Package ratio plans lays by size ratios: how many garments of each size a marker holds and in how
// many plies it is cut, where the lengths of garments simply add up. The trade knows it as cut order
// planning (Degraeve and Vandebroek 1998, "A mixed integer programming model for solving a layout problem
// in the fashion industry", doi:10.1287/mnsc.44.3.301; from memory).
//
// Invariants: every plan has passed Verify; the same problem, seed and iteration budget give the same plan.
// Not promised: the best plan, unless Status says StatusOptimal.
package ratio

import (
	"errors"
	"fmt"
	"math/big"
	"slices"

	"yardwright/batch/internal/jsonfile"
	"yardwright/batch/length"
)

// Money is an exact amount in millionths of the workshop's currency unit. Package costing shows money; planning
// lays only compares it.
type Money int64

// Status tells how good a plan is known to be.
type Status string

const (
	// StatusOptimal: no plan is better.
	StatusOptimal Status = "optimal"
	// StatusWithin: the bounds say how far the plan may be from the best.
	StatusWithin Status = "within"
	// StatusOutOfTime: the context ended the search; otherwise as StatusWithin.
	StatusOutOfTime Status = "out_of_time"
)

// Params are the budget of a search: its seed and its steps; with zero, a fixed default.
type Params struct {
	Seed       uint64
	Iterations int
}

// InputError names the part of a problem or a file that is wrong, in words for the person who can mend it.
type InputError = jsonfile.Fault

// Problem is a demand by size and what a marker allows.
//
// Each marker has a ratio (garments of each size in one ply) and its plies. The sum over all
// markers of plies × ratio is at least the demand of each size, and beyond it in all sizes
// together by no more than OverCut.
type Problem struct {
	Sizes  []string
	Demand []int
	// Length that one garment of each size takes in a marker; nil if only garments count.
	Length []length.Length
	// MaxPlies and MinPlies of a marker; MinPlies zero means 1.
	MaxPlies, MinPlies int
	// MaxGarments and MaxLength of a marker; zero means no limit.
	MaxGarments int
	MaxLength   length.Length
	// EndLoss is lost at each of the two ends of each ply; it is no part of MaxLength.
	EndLoss length.Length
	// OverCut is how many garments may be cut beyond the demand, in all; AnyOverCut sets no limit.
	OverCut   int
	Objective Objective
	// Prices for ObjectiveMoney.
	Prices Prices
}

// AnyOverCut as Problem.OverCut sets no limit on what is cut beyond the demand.
const AnyOverCut = -1

// Objective says what a plan makes least.
type Objective string

const (
	// ObjectiveMarkers: fewest markers, then least length of cloth.
	ObjectiveMarkers Objective = "markers_then_length"
	// ObjectiveLength: least length of cloth, then fewest markers.
	ObjectiveLength Objective = "length_then_markers"
	// ObjectiveMoney: least money by Prices.
	ObjectiveMoney Objective = "money"
)

// Prices are what a plan costs.
type Prices struct {
	// Per is the length that Cloth and Cut are the price of; zero means a metre.
	Per length.Length
	// Cloth of all cloth spread, end losses included; Cut of marker length, once per marker.
	Cloth, Cut Money
	// Marker is the cost of each marker, Ply of each ply spread.
	Marker, Ply Money
}

// of prices a length.
func (p Prices) of(l length.Length, price Money) Money {
	per := p.Per
	if per == 0 {
		per = length.Metre
	}
	out, err := l.Scale(int64(price), int64(per), length.Nearest)
	if err != nil {
		panic("ratio: a sum passes the limits that Check allows: " + err.Error())
	}
	return Money(out)
}

// Marker is one marker of a plan.
type Marker struct {
	Plies int
	// Ratio is how many garments of each size one ply holds.
	Ratio []int
}

// Plan is what Solve returns.
type Plan struct {
	// Markers, the one with the most plies first.
	Markers []Marker
	// OverCut is how many garments are cut beyond the demand, in all.
	OverCut int
	// Length of all cloth spread; zero if the problem gives no lengths.
	Length length.Length
	// Money lines, for ObjectiveMoney, and their sum.
	Cloth, Work, Cost Money
	// BoundMarkers, BoundLength and BoundCost are proven lower bounds, each by itself.
	BoundMarkers int
	BoundLength  length.Length
	BoundCost    Money
	// Status is StatusOptimal only if the whole objective is proven.
	Status Status
	Seed   uint64
}

// NoPlanError says that no plan can meet a size-ratio problem.
type NoPlanError struct{ Reason string }

func (e *NoPlanError) Error() string { return e.Reason }

// The largest problem taken.
const (
	// MaxSizes is how many sizes a problem may have.
	maxLength     = 10_000 * length.Metre
	maxPerGarment = 20 * length.Metre
	maxPrice      = Money(10_000_000_000)
	MaxSizes      = 60
	maxSizeDemand = 100_000
	maxPlies      = 10_000
	maxGarments   = 10_000
)

type checker struct{ faults []error }

func (c *checker) add(field, format string, args ...any) {
	c.faults = append(c.faults, &InputError{Field: field, Message: fmt.Sprintf(format, args...)})
}

func (c *checker) price(field string, m Money) {
	if m < 0 || m > maxPrice {
		c.add(field, "must be from 0 to %d", maxPrice/1_000_000)
	}
}

// Check returns every fault of the problem, joined; each is an *InputError.
func (p Problem) Check() error {
	c := &checker{}
	n := len(p.Sizes)
	if n == 0 || n > MaxSizes {
		c.add("sizes", "name from 1 to %d sizes", MaxSizes)
	}
	for i, size := range p.Sizes {
		if at := slices.Index(p.Sizes[:i], size); at >= 0 {
			c.add(fmt.Sprintf("sizes[%d]", i), "size %q appears twice, at sizes[%d] too; name each size once and give its whole demand there", size, at)
		}
	}
	if len(p.Demand) != n {
		c.add("demand", "give one number for each of the %d sizes; there are %d", n, len(p.Demand))
	}
	if p.Length != nil && len(p.Length) != n {
		c.add("length_per_garment", "give one length for each of the %d sizes; there are %d", n, len(p.Length))
	}
	for i, d := range p.Demand {
		if d < 0 || d > maxSizeDemand {
			c.add(fmt.Sprintf("demand[%d]", i), "give a number from 0 to %d", maxSizeDemand)
		}
	}
	for i, l := range p.Length {
		field := fmt.Sprintf("length_per_garment[%d]", i)
		if l <= 0 || l > maxPerGarment {
			c.add(field, "a garment takes more than zero and at most 20 m")
		} else if p.MaxLength > 0 && l > p.MaxLength {
			c.add(field, "one garment is longer than the longest marker; allow a longer marker")
		}
	}
	if p.MaxPlies < 1 || p.MaxPlies > maxPlies {
		c.add("max_plies", "give the most plies of a marker, from 1 to %d", maxPlies)
	}
	if p.MinPlies < 0 || p.MinPlies > p.MaxPlies {
		c.add("min_plies", "must be from 1 to the most plies")
	}
	if p.MaxGarments < 0 || p.MaxGarments > maxGarments {
		c.add("max_garments_per_marker", "must be from 1 to %d, or 0 for no limit", maxGarments)
	}
	if p.MaxLength < 0 || p.MaxLength > maxLength {
		c.add("max_marker_length", "must be zero (no limit) or more")
	}
	if p.MaxLength > 0 && p.Length == nil {
		c.add("length_per_garment", "a longest marker needs the length that a garment of each size takes")
	}
	if p.EndLoss < 0 || p.EndLoss > length.Metre {
		c.add("end_loss", "must be from zero to 1 m")
	}
	if p.OverCut < AnyOverCut || p.OverCut > MaxSizes*maxSizeDemand {
		c.add("over_cut_allowed", "give how many garments may be cut beyond the demand, or -1 for any number")
	}
	c.objective(p)
	return errors.Join(c.faults...)
}

func (c *checker) objective(p Problem) {
	switch p.Objective {
	case ObjectiveMarkers, ObjectiveLength:
	case ObjectiveMoney:
		if p.Length == nil {
			c.add("length_per_garment", "money needs the length that a garment of each size takes")
		}
	default:
		c.add("objective", "must be %q, %q or %q", ObjectiveMarkers, ObjectiveLength, ObjectiveMoney)
	}
	c.price("prices.cloth", p.Prices.Cloth)
	c.price("prices.marker", p.Prices.Marker)
	c.price("prices.ply", p.Prices.Ply)
	c.price("prices.cut", p.Prices.Cut)
	if p.Prices.Per < 0 || p.Prices.Per > maxLength {
		c.add("prices.per", "must be from zero, for a metre, to 10,000 m")
	}
}

// Verify tells whether a plan is a valid answer to a problem, its sums right
// and its bounds not above it. It shares no code with Solve.
func Verify(p Problem, plan Plan) error {
	if err := p.Check(); err != nil {
		return err
	}
	made := make([]int, len(p.Sizes))
	spread, cutLength, plies := length.Length(0), length.Length(0), 0
	for k, m := range plan.Markers {
		if len(m.Ratio) != len(p.Sizes) {
			return fmt.Errorf("marker %d has %d sizes, not %d", k+1, len(m.Ratio), len(p.Sizes))
		}
		if m.Plies < max(1, p.MinPlies) || m.Plies > p.MaxPlies {
			return fmt.Errorf("marker %d has %d plies", k+1, m.Plies)
		}
		garments, long := 0, length.Length(0)
		for i, n := range m.Ratio {
			if n < 0 {
				return fmt.Errorf("marker %d has %d of size %s", k+1, n, p.Sizes[i])
			}
			garments += n
			made[i] += n * m.Plies
			if p.Length != nil {
				long += p.Length[i] * length.Length(n)
			}
		}
		if garments == 0 || p.MaxGarments > 0 && garments > p.MaxGarments {
			return fmt.Errorf("marker %d has %d garments", k+1, garments)
		}
		if p.MaxLength > 0 && long > p.MaxLength {
			return fmt.Errorf("marker %d is %d long, the longest is %d", k+1, long, p.MaxLength)
		}
		plies += m.Plies
		spread += (long + 2*p.EndLoss) * length.Length(m.Plies)
		cutLength += long
	}
	over := 0
	for i, d := range p.Demand {
		if made[i] < d {
			return fmt.Errorf("size %s: %d of %d", p.Sizes[i], made[i], d)
		}
		over += made[i] - d
	}
	if over != plan.OverCut || p.OverCut != AnyOverCut && over > p.OverCut {
		return fmt.Errorf("%d garments are cut beyond the demand", over)
	}
	if p.Length == nil {
		spread = 0
	}
	return verifySums(p, plan, spread, cutLength, plies)
}

func verifySums(p Problem, plan Plan, spread, cutLength length.Length, plies int) error {
	if plan.Length != spread {
		return fmt.Errorf("the length is %d, not %d", spread, plan.Length)
	}
	if plan.BoundMarkers > len(plan.Markers) || plan.BoundLength > plan.Length {
		return fmt.Errorf("the bounds (%d markers, length %d) are above the plan", plan.BoundMarkers, plan.BoundLength)
	}
	if p.Objective != ObjectiveMoney {
		return nil
	}
	per := int64(p.Prices.Per)
	if per == 0 {
		per = int64(length.Metre)
	}
	cloth := Money(nearest(int64(spread), int64(p.Prices.Cloth), per))
	work := p.Prices.Marker*Money(len(plan.Markers)) + p.Prices.Ply*Money(plies) + Money(nearest(int64(cutLength), int64(p.Prices.Cut), per))
	if plan.Cloth != cloth || plan.Work != work || plan.Cost != cloth+work {
		return fmt.Errorf("the cost is %d + %d, not %d + %d", cloth, work, plan.Cloth, plan.Work)
	}
	if plan.BoundCost > plan.Cost {
		return fmt.Errorf("the bound on cost, %d, is above the plan's %d", plan.BoundCost, plan.Cost)
	}
	return nil
}

// nearest returns a × b / c, rounded to nearest.
func nearest(a, b, c int64) int64 {
	product := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
	product.Mul(product, big.NewInt(2)).Add(product, big.NewInt(c))
	return product.Quo(product, big.NewInt(2*c)).Int64()
}
