package costing

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/costing/money"
)

// example is one worked example of testdata/costing/examples.json. Provenance: read = inputs
// and answer read in a stored copy of the source; read-question = the inputs were read and the
// answer computed; memory = recalled from the published work, from memory, arithmetic
// re-checked; computed = ours, not published.
type example struct {
	ID         string             `json:"id"`
	Topic      string             `json:"topic"`
	Formula    string             `json:"formula"`
	Inputs     exampleInputs      `json:"inputs"`
	Expected   map[string]numbers `json:"expected"`
	Tolerance  money.Decimal      `json:"tol"`
	Provenance string             `json:"provenance"`
	Source     string             `json:"source"`
}

// exampleCount is how many examples the reference has; a lost one must not go unseen.
const exampleCount = 73

// numbers is one number or a list of them, read exactly.
type numbers []money.Decimal

func (n *numbers) UnmarshalJSON(data []byte) error {
	if data[0] != '[' {
		data = fmt.Appendf(nil, "[%s]", data)
	}
	var list []money.Decimal
	err := json.Unmarshal(data, &list)
	*n = list
	return err
}

// exampleInputs reads inputs by name and fails the test where one is missing or is of another
// kind.
type exampleInputs map[string]json.RawMessage

func (in exampleInputs) decode(t *testing.T, name string, into any) {
	require.Contains(t, in, name)
	require.NoError(t, json.Unmarshal(in[name], into), name)
}

func (in exampleInputs) num(t *testing.T, name string) (d money.Decimal) {
	in.decode(t, name, &d)
	return d
}

func (in exampleInputs) list(t *testing.T, name string) (n numbers) {
	in.decode(t, name, &n)
	return n
}

func (in exampleInputs) text(t *testing.T, name string) (s string) {
	in.decode(t, name, &s)
	return s
}

func (in exampleInputs) count(t *testing.T, name string) int64 {
	n, ok := in.num(t, name).Int64()
	require.True(t, ok, name)
	return n
}

func (in exampleInputs) amount(t *testing.T, name string) money.Amount {
	return money.NewAmount(in.num(t, name), usd)
}

func (in exampleInputs) rate(t *testing.T, name string) money.Rate {
	return money.Fraction(in.num(t, name))
}

// outcomes reads {"demand": weight, ...} in rising order.
func (in exampleInputs) outcomes(t *testing.T, name string) Demand {
	var weights map[string]money.Decimal
	in.decode(t, name, &weights)
	var demand Demand
	for text, weight := range weights {
		n, ok := money.MustParse(text).Int64()
		require.True(t, ok)
		demand = append(demand, Outcome{n, weight})
	}
	slices.SortFunc(demand, func(a, b Outcome) int { return int(a.Demand - b.Demand) })
	return demand
}

// answers collects what the code under test answers.
type answers map[string]numbers

func (a answers) set(name string, value ...money.Decimal) { a[name] = value }

func (a answers) amount(name string, value ...money.Amount) {
	a[name] = nil
	for _, one := range value {
		a[name] = append(a[name], one.Number())
	}
}

func (a answers) count(name string, value ...int64) {
	a[name] = nil
	for _, one := range value {
		a[name] = append(a[name], money.Int(one))
	}
}

func (a answers) float(t *testing.T, name string, value ...float64) {
	a[name] = nil
	for _, one := range value {
		d, err := fromFloat(one, 9)
		require.NoError(t, err)
		a[name] = append(a[name], d)
	}
}

func TestExamples(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../testdata/costing/examples.json")
	require.NoError(t, err)
	var examples []example
	require.NoError(t, json.Unmarshal(text, &examples))
	require.Len(t, examples, exampleCount)
	seen := map[string]bool{}
	for _, e := range examples {
		require.False(t, seen[e.ID], "%s comes twice", e.ID)
		seen[e.ID] = true
		t.Run(e.ID, func(t *testing.T) {
			t.Parallel()
			solve, covered := formulas[e.Formula]
			require.True(t, covered, "no test covers %s (%s)", e.ID, e.Formula)
			require.NotEmpty(t, e.Expected)
			got := answers{}
			solve(t, e.Inputs, got)
			for name, want := range e.Expected {
				require.Contains(t, got, name, "%s isn't answered", name)
				require.Len(t, got[name], len(want), name)
				for i := range want {
					off, err := got[name][i].Sub(want[i])
					require.NoError(t, err)
					require.LessOrEqual(t, off.Abs().Cmp(e.Tolerance), 0, "%s[%d] is %s, want %s ± %s\nsource (%s): %s",
						name, i, got[name][i], want[i], e.Tolerance, e.Provenance, e.Source)
				}
			}
		})
	}
}

var formulas = map[string]func(t *testing.T, in exampleInputs, out answers){
	// Pricing, overhead, break-even
	"partial_material": func(t *testing.T, in exampleInputs, out answers) {
		sheet := mustSheet(t, Inputs{Notions: []Notion{{Name: "Paint", Quantity: in.num(t, "fraction_used"), Unit: "pack", Price: Priced(in.amount(t, "pack_price"))}}})
		out.amount("cost", sheet.Materials)
	},
	"craft_price": func(t *testing.T, in exampleInputs, out answers) {
		hours, err := in.num(t, "prod_hours").Add(in.num(t, "office_hours"))
		require.NoError(t, err)
		sheet := mustSheet(t, Inputs{
			Notions:    []Notion{{Name: "Materials", Quantity: one, Price: Priced(in.amount(t, "materials"))}},
			Operations: []Operation{{Name: "Making and office", Run: minutes(t, hours)}},
			Expenses:   []Expense{{Name: "Overhead", Amount: in.amount(t, "overhead")}},
			Wage:       in.amount(t, "wage"),
		})
		out.amount("labour", sheet.Labour)
		out.amount("wholesale", sheet.Total)
		out.amount("retail", retailAt(t, sheet.Total, in.num(t, "retail_multiple")))
	},
	"markup_margin": func(t *testing.T, in exampleInputs, out answers) {
		profit, err := ProfitOf(in.amount(t, "cost"), in.amount(t, "price"))
		require.NoError(t, err)
		out.amount("profit", profit.Profit)
		out.set("markup_pct", profit.Markup.Percent())
		out.set("margin_pct", profit.Margin.Percent())
		markup, err := MarkupFromMargin(profit.Margin)
		require.NoError(t, err)
		require.Equal(t, profit.Markup.Percent().Round(9, money.HalfUp), markup.Percent().Round(9, money.HalfUp))
		margin, err := MarginFromMarkup(profit.Markup)
		require.NoError(t, err)
		require.Equal(t, profit.Margin.Percent().Round(9, money.HalfUp), margin.Percent().Round(9, money.HalfUp))
	},
	"wholesale_less_discount": func(t *testing.T, in exampleInputs, out answers) {
		landed, err := LandedPrice{List: in.amount(t, "list"), Discount: in.rate(t, "discount")}.PerUnit()
		require.NoError(t, err)
		cost := landed.Round(money.HalfUp)
		retail := more(t, in.amount(t, "other_costs_total_incl_goods"), in.amount(t, "profit"))
		profit, err := ProfitOf(cost, retail)
		require.NoError(t, err)
		out.amount("net_cost", cost)
		out.amount("retail", retail)
		out.amount("markup", profit.Profit)
		out.set("markup_on_retail_pct", profit.Margin.Percent())
	},
	"breakeven": func(t *testing.T, in exampleInputs, out answers) {
		even, err := BreakEvenOf(in.amount(t, "fixed"), usd.Zero(), in.amount(t, "price"), in.amount(t, "variable"))
		require.NoError(t, err)
		out.amount("cm", even.Contribution)
		out.count("units_ceil", even.Units)
	},
	"job_cost": func(t *testing.T, in exampleInputs, out answers) {
		sheet := mustSheet(t, Inputs{
			Notions:    []Notion{{Name: "Materials", Quantity: one, Price: Priced(in.amount(t, "materials"))}},
			Operations: []Operation{{Name: "Labour", Run: minutes(t, in.num(t, "labour_hours"))}},
			Wage:       in.amount(t, "wage"), Overhead: in.amount(t, "ovh_rate"),
		})
		out.amount("labour", sheet.Labour)
		out.amount("overhead", sheet.Overhead)
		out.amount("total", sheet.Total)
	},
	"productive_hours": func(t *testing.T, in exampleInputs, out answers) {
		var c calc
		worked := c.mul(c.mul(in.num(t, "weeks"), in.num(t, "days")), in.num(t, "hours"))
		require.NoError(t, c.err)
		rate, err := Overhead([]YearCost{{Name: "All", Amount: in.amount(t, "annual_overhead")}}, WorkingYear{Hours: worked, Productive: in.rate(t, "productive_fraction")}, usd)
		require.NoError(t, err)
		out.set("available", rate.Available)
		out.set("productive", rate.Productive)
		out.amount("rate", rate.PerHour)
	},

	// Work study
	"standard_time_day":          func(t *testing.T, in exampleInputs, out answers) { studyOf(t, in, AllowanceOfDay, out) },
	"standard_time_job":          func(t *testing.T, in exampleInputs, out answers) { studyOf(t, in, AllowanceOfJob, out) },
	"standard_time_elements_day": func(t *testing.T, in exampleInputs, out answers) { studyOf(t, in, AllowanceOfDay, out) },
	"standard_time_elements_job": func(t *testing.T, in exampleInputs, out answers) { studyOf(t, in, AllowanceOfJob, out) },
	"sample_size_abs": func(t *testing.T, in exampleInputs, out answers) {
		cycles, err := CyclesForError(in.num(t, "z"), in.num(t, "s"), in.num(t, "error"))
		require.NoError(t, err)
		out.cycles(cycles)
	},
	"sample_size_pct": func(t *testing.T, in exampleInputs, out answers) {
		cycles, err := CyclesForAccuracy(in.num(t, "z"), in.num(t, "s"), in.num(t, "mean"), in.rate(t, "accuracy"))
		require.NoError(t, err)
		out.cycles(cycles)
	},
	"ilo_sample": func(t *testing.T, in exampleInputs, out answers) {
		cycles, err := CyclesILO(in.list(t, "readings"))
		require.NoError(t, err)
		out.cycles(cycles)
	},
	"rating_equivalence": func(t *testing.T, in exampleInputs, out answers) {
		var pairs [][2]money.Decimal
		in.decode(t, "pairs", &pairs)
		for _, pair := range pairs {
			basic, err := BasicMinutes(pair[0], money.Percent(pair[1]))
			require.NoError(t, err)
			out["basic"] = append(out["basic"], basic)
		}
	},
	"seam_time": func(t *testing.T, in exampleInputs, out answers) {
		seam, err := TimeSeam(in.num(t, "seam_cm"), in.num(t, "stitches_per_cm"), in.num(t, "spm"), in.num(t, "handling_min"))
		require.NoError(t, err)
		standard, err := StandardMinutes(seam.Basic, in.rate(t, "allow"), AllowanceOfJob)
		require.NoError(t, err)
		out.set("machine", seam.Machine)
		out.set("basic", seam.Basic)
		out.set("standard", standard)
	},
	"average_value": func(t *testing.T, in exampleInputs, out answers) {
		each, err := LandedPrice{List: in.amount(t, "value"), For: in.num(t, "units")}.PerUnit()
		require.NoError(t, err)
		out.amount("each", each)
	},
	"labour_cost_at_efficiency": func(t *testing.T, in exampleInputs, out answers) {
		paid, err := MinutesPaid(in.num(t, "sam"), in.rate(t, "efficiency"))
		require.NoError(t, err)
		cost, err := LabourCost(paid, in.amount(t, "wage_per_hour"), money.HalfUp)
		require.NoError(t, err)
		out.set("minutes", paid)
		out.amount("cost", cost)
		sheet := mustSheet(t, Inputs{
			Operations: []Operation{{Name: "Sew", Run: in.num(t, "sam")}}, Efficiency: in.rate(t, "efficiency"), Wage: in.amount(t, "wage_per_hour"),
		})
		require.Equal(t, paid, sheet.MinutesPaid)
		require.Equal(t, cost, sheet.Labour)
	},

	// Learning and batches
	"crawford_unit":  func(t *testing.T, in exampleInputs, out answers) { learningOf(t, in, out) },
	"crawford_total": func(t *testing.T, in exampleInputs, out answers) { learningOf(t, in, out) },
	"crawford_all":   func(t *testing.T, in exampleInputs, out answers) { learningOf(t, in, out) },
	"crawford_factors": func(t *testing.T, in exampleInputs, out answers) {
		for _, rate := range in.list(t, "rates") {
			factor, err := Learning{First: one, Rate: money.Fraction(rate)}.Nth(in.count(t, "n"))
			require.NoError(t, err)
			out["f"] = append(out["f"], factor)
		}
	},
	"wright_vs_crawford": func(t *testing.T, in exampleInputs, out answers) {
		for name, model := range map[string]LearningModel{"wright_total": AverageCurve, "crawford_total": UnitCurve} {
			total, err := Learning{in.num(t, "t1"), in.rate(t, "rate"), model}.Total(in.count(t, "n"))
			require.NoError(t, err)
			out.set(name, total)
		}
	},
	"epq_rates": func(t *testing.T, in exampleInputs, out answers) {
		lot, err := ProductionQuantity(in.num(t, "d"), in.amount(t, "setup"), in.amount(t, "hold"), in.num(t, "p"), in.num(t, "d"))
		require.NoError(t, err)
		out.lot(lot)
	},
	"epq": func(t *testing.T, in exampleInputs, out answers) {
		lot, err := ProductionQuantity(in.num(t, "D"), in.amount(t, "S"), in.amount(t, "H"), in.num(t, "p"), in.num(t, "u"))
		require.NoError(t, err)
		out.lot(lot)
	},
	"eoq": func(t *testing.T, in exampleInputs, out answers) {
		lot, err := OrderQuantity(in.num(t, "D"), in.amount(t, "S"), in.amount(t, "H"))
		require.NoError(t, err)
		out.lot(lot)
	},
	"minutes_per_unit": func(t *testing.T, in exampleInputs, out answers) {
		batch := BatchCost{SetUpMinutes: in.num(t, "setup"), RunMinutes: in.num(t, "run"), HourlyCost: dollars("18")}
		for _, n := range in.list(t, "n") {
			size, _ := n.Int64()
			point, err := batch.At(size)
			require.NoError(t, err)
			out["m"] = append(out["m"], point.Minutes)
		}
	},

	// How many to take
	"discrete_cost_table": func(t *testing.T, in exampleInputs, out answers) {
		demand, stake := in.outcomes(t, "pmf"), Stake{in.amount(t, "cu"), in.amount(t, "co")}
		for _, outcome := range demand {
			cost, err := demand.ExpectedCost(outcome.Demand, stake)
			require.NoError(t, err)
			out["cost"] = append(out["cost"], cost.Number())
		}
		best, err := demand.Best(stake)
		require.NoError(t, err)
		out.count("best", best.Quantity)
	},
	"poisson_stock": func(t *testing.T, in exampleInputs, out answers) {
		demand, stake := Poisson{in.num(t, "mean").Float64()}, Stake{in.amount(t, "cu"), in.amount(t, "co")}
		ratio, err := stake.Ratio()
		require.NoError(t, err)
		best, err := demand.Best(stake)
		require.NoError(t, err)
		var cdf []float64
		for k := range 6 {
			cdf = append(cdf, demand.CDF(float64(k)))
		}
		out.set("cr", ratio)
		out.count("q", best)
		out.float(t, "cdf", cdf...)
	},
	"normal_stock_table": func(t *testing.T, in exampleInputs, out answers) {
		best, err := normalOf(t, in).Best(stakeOf(t, in))
		require.NoError(t, err)
		out.float(t, "cr", best.Ratio)
		out.float(t, "q_table", best.Table)
		out.float(t, "q_exact", best.Quantity)
	},
	"normal_probs": func(t *testing.T, in exampleInputs, out answers) {
		n := normalOf(t, in)
		out.float(t, "p_gt_400", 1-n.CDF(400))
		out.float(t, "p_lt_100", n.CDF(100))
		out.float(t, "p_within_20pct", n.Between(0.8*n.Mean, 1.2*n.Mean))
	},
	"discrete_stock":      func(t *testing.T, in exampleInputs, out answers) { discreteOf(t, in.outcomes(t, "pmf"), in, out) },
	"discrete_stock_freq": func(t *testing.T, in exampleInputs, out answers) { discreteOf(t, in.outcomes(t, "freq"), in, out) },
	"dozen_by_scale": func(t *testing.T, in exampleInputs, out answers) {
		pieces, each, err := PerGarment(in.num(t, "marker_yd"), in.list(t, "scale"))
		require.NoError(t, err)
		out.set("pieces", pieces)
		out.set("yd_each", each)
	},
	"largest_remainder": func(t *testing.T, in exampleInputs, out answers) {
		parts, err := AllocateSizes(in.count(t, "total"), in.list(t, "weights"))
		require.NoError(t, err)
		out.count("alloc", parts...)
	},
	"hamilton_quotas": func(t *testing.T, in exampleInputs, out answers) {
		quotas := in.list(t, "quotas")
		seats, err := AllocateSizes(in.count(t, "total"), quotas)
		require.NoError(t, err)
		var floors money.Decimal
		for _, quota := range quotas {
			floors, err = floors.Add(quota.Round(0, money.Down))
			require.NoError(t, err)
		}
		out.set("floor_sum", floors)
		out.count("seats", seats...)
	},

	// Fees, tax, rounding
	"psa_calc": func(t *testing.T, in exampleInputs, out answers) {
		var bands [][2]money.Decimal
		in.decode(t, "bands", &bands)
		tax, given := usd.Zero(), usd.Zero()
		for _, band := range bands {
			value, err := in.amount(t, "value").Mul(band[0])
			require.NoError(t, err)
			grossed, err := TaxOnTop(value, money.Fraction(band[1]), money.HalfUp)
			require.NoError(t, err)
			out["grossed"] = append(out["grossed"], grossed.Number())
			tax, given = more(t, tax, grossed), more(t, given, value)
		}
		base := more(t, given, tax)
		insurance, err := AddTax(base, in.rate(t, "nic"), money.HalfUp)
		require.NoError(t, err)
		out.amount("tax", tax)
		out.amount("nic_base", base)
		out.amount("nic", insurance.Tax)
		out.amount("total", more(t, tax, insurance.Tax))
	},
	"gross_up_simple": func(t *testing.T, in exampleInputs, out answers) {
		gross, err := GrossUp(in.amount(t, "net"), in.rate(t, "rate"), money.HalfUp)
		require.NoError(t, err)
		out.amount("gross", gross)
	},
	"price_for_net": func(t *testing.T, in exampleInputs, out answers) { priceForNet(t, in, Tax{}, out) },
	"price_vat_fee": func(t *testing.T, in exampleInputs, out answers) {
		priceForNet(t, in, Tax{Rate: in.rate(t, "vat"), Included: true}, out)
	},
	"vat_from_net": func(t *testing.T, in exampleInputs, out answers) {
		taxed, err := AddTax(in.amount(t, "net"), in.rate(t, "rate"), money.HalfUp)
		require.NoError(t, err)
		out.amount("vat", taxed.Tax)
		out.amount("gross", taxed.Gross)
		back, err := TaxWithin(taxed.Gross, in.rate(t, "rate"), money.HalfUp)
		require.NoError(t, err)
		require.Equal(t, taxed, back)
	},
	"half_up": func(t *testing.T, in exampleInputs, out answers) {
		for _, value := range in.list(t, "values") {
			out["r"] = append(out["r"], value.Round(0, money.HalfUp))
		}
	},
	"half_even_vs_up": func(t *testing.T, in exampleInputs, out answers) {
		places := in.list(t, "places")
		for i, value := range in.list(t, "values") {
			n, _ := places[i].Int64()
			out["even"] = append(out["even"], value.Round(int(n), money.HalfEven))
			out["up"] = append(out["up"], value.Round(int(n), money.HalfUp))
		}
	},

	// Stock
	"periodic": func(t *testing.T, in exampleInputs, out answers) {
		stock := Stock{Currency: usd, Unit: "yd"}
		var layers [][2]money.Decimal
		in.decode(t, "layers", &layers)
		for i, layer := range layers {
			stock.Layers = append(stock.Layers, Layer{Label: fmt.Sprint("bolt ", i+1), Quantity: layer[0], UnitCost: money.NewAmount(layer[1], usd)})
		}
		unit, err := stock.UnitCost()
		require.NoError(t, err)
		out.amount("wac_unit", unit)
		all, err := stock.Quantity()
		require.NoError(t, err)
		used, err := all.Sub(in.num(t, "on_hand"))
		require.NoError(t, err)
		for name, valuation := range map[string]Valuation{"fifo": FirstInFirstOut, "lifo": LastInFirstOut, "wac": WeightedAverage} {
			stock.Valuation = valuation
			draw, left, err := stock.Take(used)
			require.NoError(t, err)
			value, err := left.Value()
			require.NoError(t, err)
			out.amount(name, value)
			out.amount(name+"_cogs", draw.Cost)
		}
	},

	// Cost sheets
	"bridesmaid_lines": func(t *testing.T, in exampleInputs, out answers) {
		sheet := mustSheet(t, Inputs{
			Cloths: []Cloth{{Role: "body", Name: "Fabric", Length: in.num(t, "yd"), Unit: "yd", Price: Priced(in.amount(t, "price_yd"))}},
			Expenses: []Expense{
				{Name: "Marking and grading", Amount: in.amount(t, "marking_grading"), Garments: in.num(t, "min_pieces")},
				{Name: "Cutting", Amount: in.amount(t, "cutting"), Garments: in.num(t, "min_pieces")},
				{Name: "Construction, per dozen", Amount: in.amount(t, "construction_dozen"), Garments: money.Int(12)},
				{Name: "Duty", Amount: in.amount(t, "duty")},
			},
		})
		for i, name := range []string{"fabric", "marking", "cut", "make"} {
			out.amount(name, sheet.Lines[i].Amount)
		}
	},
	"full_sheet": func(t *testing.T, in exampleInputs, out answers) {
		sheet := mustSheet(t, Inputs{
			Cloths: []Cloth{{Role: "body", Name: "Fabric", Length: in.num(t, "fabric_m"), Unit: "m", Price: Priced(in.amount(t, "price_m")), Wastage: in.rate(t, "waste")}},
			Notions: []Notion{
				{Name: "Elastic", Quantity: in.num(t, "elastic_m"), Unit: "m", Price: Priced(in.amount(t, "elastic_price"))},
				{Name: "Thread and notions", Quantity: one, Price: Priced(in.amount(t, "thread_notions"))},
				{Name: "Labels and packing", Quantity: one, Price: Priced(in.amount(t, "labels_pack"))},
			},
			Operations: []Operation{{Name: "Make", Run: in.num(t, "minutes")}},
			Wage:       in.amount(t, "wage"), Overhead: in.amount(t, "ovh_rate"),
		})
		wholesale, err := PriceAtMarkup(sheet.Total, in.rate(t, "profit_on_cost"), money.HalfUp)
		require.NoError(t, err)
		out.amount("fabric", sheet.Lines[0].Amount)
		out.amount("elastic", sheet.Lines[1].Amount)
		out.amount("materials", sheet.Materials)
		out.amount("labour", sheet.Labour)
		out.amount("overhead", sheet.Overhead)
		out.amount("cost", sheet.Total)
		out.amount("wholesale", wholesale)
		out.amount("retail", retailAt(t, wholesale, in.num(t, "retail_multiple")))
	},

	// Scheduling
	"rules": func(t *testing.T, in exampleInputs, out answers) {
		rule, known := map[string]SequenceRule{
			"FCFS": FirstCome, "EDD": EarliestDue, "SPT": ShortestFirst, "SLACK": LeastSlack, "CR": CriticalRatio, "LPT": LongestFirst,
		}[in.text(t, "rule")]
		require.True(t, known)
		s, err := Arrange(jobsOf(t, in), in.num(t, "start"), rule)
		require.NoError(t, err)
		out.set("sum_c", s.Completion)
		out.set("mean_c", s.MeanCompletion)
		out.set("sum_t", s.Tardiness)
		out.set("mean_t", s.MeanTardiness)
		out.set("max_t", s.MaxTardiness)
		out.count("n_late", int64(s.Late))
	},
	"moore_hodgson": func(t *testing.T, in exampleInputs, out answers) {
		s, err := Arrange(jobsOf(t, in), money.Decimal{}, FewestLate)
		require.NoError(t, err)
		out.count("late", int64(s.Late))
		for _, job := range s.Jobs[:len(s.Jobs)-s.Late] {
			require.True(t, job.Tardiness.IsZero(), "all but the last %d are on time", s.Late)
		}
	},
	"capacity_weeks": func(t *testing.T, in exampleInputs, out answers) {
		var each map[string]money.Decimal
		var pieces map[string][]money.Decimal
		in.decode(t, "minutes", &each)
		in.decode(t, "plan", &pieces)
		var plan []PlannedWork
		for name, count := range pieces {
			plan = append(plan, PlannedWork{name, each[name], count})
		}
		loads, err := Capacity(plan, in.list(t, "available"))
		require.NoError(t, err)
		for _, load := range loads {
			out["load"] = append(out["load"], load.Load)
			out["over"] = append(out["over"], load.Over)
		}
	},
}

func (a answers) cycles(c Cycles) {
	a.set("n_raw", c.Exact)
	a.count("n", c.Count)
}

func (a answers) lot(l Lot) {
	a.set("q", l.Quantity)
	a.set("orders", l.Lots)
	a.set("cycle", l.Cycle)
	a.set("run", l.Run)
	a.amount("setup_cost", l.SetUp)
	a.amount("hold_cost", l.Holding)
	a.amount("total", l.Total)
}

// mustSheet makes the sheet of one garment in dollars.
func mustSheet(t *testing.T, in Inputs) Sheet {
	in.Currency, in.Garments = usd, one
	sheet, err := NewSheet(in)
	require.NoError(t, err)
	return sheet
}

func minutes(t *testing.T, hours money.Decimal) money.Decimal {
	m, err := hours.Mul(sixty)
	require.NoError(t, err)
	return m
}

// retailAt prices by a channel that sells at a multiple of the wholesale price.
func retailAt(t *testing.T, wholesale money.Amount, multiple money.Decimal) money.Amount {
	p := pricerOf(t, Channel{Name: "Retail", Currency: usd, Target: Target{Kind: TargetWholesale, Multiple: multiple}})
	q, err := p.Quote(Garment{Cost: wholesale, Wholesale: wholesale})
	require.NoError(t, err)
	return q.Price
}

func studyOf(t *testing.T, in exampleInputs, rule AllowanceRule, out answers) {
	study := Study{Allowance: in.rate(t, "allow"), Rule: rule}
	if _, elements := in["elements"]; elements {
		var pairs [][2]numbers
		in.decode(t, "elements", &pairs)
		for _, pair := range pairs {
			study.Elements = append(study.Elements, Element{Rating: money.Fraction(pair[0][0]), Readings: pair[1]})
		}
	} else {
		study.Elements = []Element{{Rating: in.rate(t, "rating"), Readings: in.list(t, "obs")}}
	}
	found, err := study.Time()
	require.NoError(t, err)
	for _, element := range found.Elements {
		out["means"] = append(out["means"], element.Observed)
	}
	out.set("ot", found.Observed)
	out.set("nt", found.Basic)
	out.set("st", found.Standard)
}

func learningOf(t *testing.T, in exampleInputs, out answers) {
	curve, n := Learning{First: in.num(t, "t1"), Rate: in.rate(t, "rate")}, in.count(t, "n")
	for name, time := range map[string]func(int64) (money.Decimal, error){"t": curve.Nth, "total": curve.Total, "avg": curve.Average} {
		value, err := time(n)
		require.NoError(t, err)
		out.set(name, value)
	}
}

func normalOf(t *testing.T, in exampleInputs) Normal {
	return Normal{in.num(t, "mean").Float64(), in.num(t, "sd").Float64()}
}

func stakeOf(t *testing.T, in exampleInputs) Stake {
	stake, err := StakeOf(in.amount(t, "price"), in.amount(t, "cost"), in.amount(t, "salvage"), usd.Zero())
	require.NoError(t, err)
	return stake
}

func discreteOf(t *testing.T, demand Demand, in exampleInputs, out answers) {
	best, err := demand.Best(stakeOf(t, in))
	require.NoError(t, err)
	out.set("cr", best.Ratio)
	out.count("q", best.Quantity)
	out.set("mean", best.Mean)
}

func priceForNet(t *testing.T, in exampleInputs, tax Tax, out answers) {
	p := pricerOf(t, Channel{
		Name: "Online", Kind: Online, Currency: usd, Tax: tax,
		Fees: []Fee{{Name: "Fee", Rate: in.rate(t, "pct"), Fixed: in.amount(t, "fixed")}},
	})
	target := in.amount(t, "target")
	raw, price, err := p.PriceToKeep(target)
	require.NoError(t, err)
	sale, err := p.Sale(Garment{Cost: target}, price)
	require.NoError(t, err)
	out.amount("raw", raw)
	out.amount("price", price)
	out.amount("net", sale.KeptExact)
	floor, err := p.Floor(Garment{Cost: target})
	require.NoError(t, err)
	require.Equal(t, price, floor)
}

func jobsOf(t *testing.T, in exampleInputs) []Job {
	work, due := in.list(t, "p"), in.list(t, "d")
	require.Len(t, due, len(work))
	jobs := make([]Job, len(work))
	for i := range jobs {
		jobs[i] = Job{Name: strings.Repeat("I", i+1), Work: work[i], Due: due[i]}
	}
	return jobs
}
