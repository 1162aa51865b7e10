package batch

import "context"

// PlanNotions plans the notions of a batch without laying its cloths.
func PlanNotions(ctx context.Context, in Input) ([]NotionPlan, error) {
	p := &planner{in: in}
	if err := p.collect(); err != nil {
		return nil, err
	}
	err := p.notions(ctx)
	return p.plan.Notions, err
}

// Tie ties the bundles of a plan anew.
func Tie(plan Plan, size int) Plan {
	p := &planner{in: Input{Workroom: Workroom{BundleSize: size}}, plan: plan}
	p.plan.Bundles = nil
	p.bundles()
	return p.plan
}
