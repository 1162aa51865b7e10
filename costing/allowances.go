package costing

import "yardwright/costing/money"

// UsualAllowance is an allowance that work study grants, to choose from.
type UsualAllowance struct {
	Group string     `json:"group"`
	Name  string     `json:"name"`
	Rate  money.Rate `json:"rate"`
	// FromMemory marks rates that are recalled, not read, from the published table.
	FromMemory bool `json:"from_memory"`
}

// usualAllowances: personal needs, basic fatigue and contingency after published work-study
// teaching notes; the others are the table derived from the ILO's in Niebel's handbook, from
// memory.
var usualAllowances = []UsualAllowance{
	usual("always", "personal needs", "5", false),
	usual("always", "basic fatigue", "4", false),
	usual("always", "contingency", "5", false),
	usual("posture", "standing", "2", true),
	usual("posture", "slightly awkward", "0", true),
	usual("posture", "awkward", "2", true),
	usual("posture", "very awkward", "7", true),
	usual("force", "5 lb", "0", true),
	usual("force", "10 lb", "1", true),
	usual("force", "15 lb", "2", true),
	usual("force", "20 lb", "3", true),
	usual("light", "slightly low", "0", true),
	usual("light", "well below", "2", true),
	usual("light", "quite inadequate", "5", true),
	usual("attention", "fairly fine work", "0", true),
	usual("attention", "fine work", "2", true),
	usual("attention", "very fine work", "5", true),
	usual("noise", "continuous", "0", true),
	usual("noise", "intermittent, loud", "2", true),
	usual("noise", "intermittent, very loud", "5", true),
	usual("mental strain", "fairly complex", "1", true),
	usual("mental strain", "wide span of attention", "4", true),
	usual("mental strain", "very complex", "8", true),
	usual("monotony", "low", "0", true),
	usual("monotony", "medium", "1", true),
	usual("monotony", "high", "4", true),
	usual("tediousness", "low", "0", true),
	usual("tediousness", "tedious", "2", true),
	usual("tediousness", "very tedious", "5", true),
}

func usual(group, name, percent string, memory bool) UsualAllowance {
	return UsualAllowance{group, name, money.MustPercent(percent), memory}
}

// UsualAllowances returns the allowances to choose from.
func UsualAllowances() []UsualAllowance { return append([]UsualAllowance(nil), usualAllowances...) }

// TotalAllowance adds allowances up.
func TotalAllowance(rates ...money.Rate) (money.Rate, error) {
	var c calc
	var total money.Decimal
	for _, rate := range rates {
		total = c.add(total, rate.Fraction())
	}
	return money.Fraction(total), c.err
}
