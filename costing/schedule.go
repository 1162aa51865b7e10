package costing

import (
	"cmp"
	"fmt"
	"slices"

	"yardwright/costing/money"
)

// Job is one piece of work for one pair of hands, in any one unit of time.
type Job struct {
	Name string        `json:"name"`
	Work money.Decimal `json:"work"`
	// Due is counted from the same moment as the start.
	Due money.Decimal `json:"due"`
}

// SequenceRule says in which order jobs are done. Ties keep the order of the list.
type SequenceRule int

// The rules for ordering jobs.
const (
	// FirstCome keeps the order of the list.
	FirstCome SequenceRule = iota
	// EarliestDue goes by due day: no other order has a smaller greatest lateness.
	EarliestDue
	// ShortestFirst goes by work: no other order has a smaller mean completion time.
	ShortestFirst
	// LeastSlack goes by due − start − work.
	LeastSlack
	// CriticalRatio goes by (due − start) ÷ work.
	CriticalRatio
	// LongestFirst goes by work, longest first.
	LongestFirst
	// FewestLate is Moore and Hodgson's: no other order has fewer late jobs. Those that will
	// be late come last.
	FewestLate
)

var sequenceNames = []string{"first come", "earliest due", "shortest first", "least slack", "critical ratio", "longest first", "fewest late"}

// String returns the name of the rule.
func (r SequenceRule) String() string { return nameOf("rule for ordering jobs", sequenceNames, r) }

// MarshalText writes what String writes.
func (r SequenceRule) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what String writes.
func (r *SequenceRule) UnmarshalText(text []byte) (err error) {
	*r, err = valueNamed[SequenceRule]("rule for ordering jobs", sequenceNames, string(text))
	return err
}

// JobTime says when a job is done.
type JobTime struct {
	// Job is the index into the list of jobs.
	Job int `json:"job"`
	// Done is when it is finished; Lateness is done − due (negative when early), Tardiness
	// that or 0.
	Done      money.Decimal `json:"done"`
	Lateness  money.Decimal `json:"lateness"`
	Tardiness money.Decimal `json:"tardiness"`
}

// Sequence is an order of jobs and what comes of it.
type Sequence struct {
	Jobs []JobTime `json:"jobs"`
	// Completion and Tardiness are summed over all jobs; the means are to 19 digits.
	Completion     money.Decimal `json:"completion"`
	MeanCompletion money.Decimal `json:"mean_completion"`
	Tardiness      money.Decimal `json:"tardiness"`
	MeanTardiness  money.Decimal `json:"mean_tardiness"`
	// MaxTardiness is of the latest job; Late counts the jobs done after they are due.
	MaxTardiness money.Decimal `json:"max_tardiness"`
	Late         int           `json:"late"`
}

// Arrange orders jobs by a rule, one after another from the start, and says what comes of it.
// Moore-Hodgson: J. M. Moore, Management Science 15, 1968.
func Arrange(jobs []Job, start money.Decimal, rule SequenceRule) (Sequence, error) {
	var check checker
	for i, job := range jobs {
		check.enter("jobs", i)
		check.notNegative("work", job.Work)
	}
	check.leave()
	if len(jobs) == 0 {
		check.fail("jobs", "there is nothing to put in order")
	}
	if rule < FirstCome || rule > FewestLate {
		check.fail("rule", "%s is not known", rule)
	}
	if err := check.err(); err != nil {
		return Sequence{}, err
	}
	var c calc
	order := make([]int, len(jobs))
	for i := range order {
		order[i] = i
	}
	if rule == FewestLate {
		order = c.fewestLate(jobs, start)
	} else if rule != FirstCome {
		slices.SortStableFunc(order, func(a, b int) int { return c.compareJobs(jobs[a], jobs[b], start, rule) })
	}
	sequence := c.follow(jobs, order, start)
	return sequence, c.err
}

func (c *calc) compareJobs(a, b Job, start money.Decimal, rule SequenceRule) int {
	switch rule {
	case EarliestDue:
		return a.Due.Cmp(b.Due)
	case ShortestFirst:
		return a.Work.Cmp(b.Work)
	case LongestFirst:
		return b.Work.Cmp(a.Work)
	case LeastSlack:
		return c.sub(a.Due, a.Work).Cmp(c.sub(b.Due, b.Work))
	}
	// CriticalRatio: (due − start) ÷ work as fractions; no work at all is done at once.
	if a.Work.IsZero() || b.Work.IsZero() {
		return cmp.Compare(a.Work.Sign(), b.Work.Sign())
	}
	return c.mul(c.sub(a.Due, start), b.Work).Cmp(c.mul(c.sub(b.Due, start), a.Work))
}

// fewestLate takes jobs by due day and, whenever one would be late, drops the longest so far
// to the end.
func (c *calc) fewestLate(jobs []Job, start money.Decimal) []int {
	byDue := make([]int, len(jobs))
	for i := range byDue {
		byDue[i] = i
	}
	slices.SortStableFunc(byDue, func(a, b int) int { return jobs[a].Due.Cmp(jobs[b].Due) })
	var onTime, late []int
	now := start
	for _, i := range byDue {
		onTime = append(onTime, i)
		now = c.add(now, jobs[i].Work)
		if now.Cmp(jobs[i].Due) <= 0 {
			continue
		}
		longest := 0
		for n, candidate := range onTime {
			if jobs[candidate].Work.Cmp(jobs[onTime[longest]].Work) > 0 {
				longest = n
			}
		}
		dropped := onTime[longest]
		onTime = slices.Delete(onTime, longest, longest+1)
		late = append(late, dropped)
		now = c.sub(now, jobs[dropped].Work)
	}
	slices.SortStableFunc(late, func(a, b int) int { return jobs[a].Due.Cmp(jobs[b].Due) })
	return append(onTime, late...)
}

func (c *calc) follow(jobs []Job, order []int, start money.Decimal) Sequence {
	var s Sequence
	now := start
	for _, i := range order {
		now = c.add(now, jobs[i].Work)
		time := JobTime{Job: i, Done: now, Lateness: c.sub(now, jobs[i].Due)}
		time.Tardiness = money.MaxDecimal(time.Lateness, money.Decimal{})
		if time.Tardiness.Sign() > 0 {
			s.Late++
		}
		s.Jobs = append(s.Jobs, time)
		s.Completion = c.add(s.Completion, now)
		s.Tardiness = c.add(s.Tardiness, time.Tardiness)
		s.MaxTardiness = money.MaxDecimal(s.MaxTardiness, time.Tardiness)
	}
	count := money.Int(int64(len(jobs)))
	s.MeanCompletion, s.MeanTardiness = c.div(s.Completion, count), c.div(s.Tardiness, count)
	return s
}

// PlannedWork is how many of one garment are to be made in each period.
type PlannedWork struct {
	Name    string          `json:"name"`
	Minutes money.Decimal   `json:"minutes"`
	Pieces  []money.Decimal `json:"pieces"`
}

// PeriodLoad is the work of one period, in minutes.
type PeriodLoad struct {
	Load      money.Decimal `json:"load"`
	Available money.Decimal `json:"available"`
	// Over is load − available, or 0; Free is available − load, or 0.
	Over money.Decimal `json:"over"`
	Free money.Decimal `json:"free"`
}

// CapacityFormula is how a period's load comes about, as it is shown.
const CapacityFormula = "load = Σ pieces × minutes; over = load − available"

// Capacity compares the minutes that a plan takes with those there are, period by period
// (weeks, as a rule). Every list of pieces has one entry for each period.
func Capacity(plan []PlannedWork, available []money.Decimal) ([]PeriodLoad, error) {
	var check checker
	for i, work := range plan {
		check.enter("plan", i)
		check.notNegative("minutes", work.Minutes)
		if len(work.Pieces) != len(available) {
			check.fail("pieces", "has %d periods, but minutes are known for %d", len(work.Pieces), len(available))
		}
		for n, pieces := range work.Pieces {
			if pieces.Sign() < 0 {
				check.fail(fmt.Sprintf("pieces[%d]", n), "must not be less than 0, but is %s", pieces)
			}
		}
	}
	if err := check.err(); err != nil {
		return nil, err
	}
	var c calc
	loads := make([]PeriodLoad, len(available))
	for period := range loads {
		load := &loads[period]
		load.Available = available[period]
		for _, work := range plan {
			load.Load = c.add(load.Load, c.mul(work.Minutes, work.Pieces[period]))
		}
		over := c.sub(load.Load, load.Available)
		load.Over = money.MaxDecimal(over, money.Decimal{})
		load.Free = money.MaxDecimal(over.Neg(), money.Decimal{})
	}
	return loads, c.err
}
