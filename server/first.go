package server

import (
	"context"
	"fmt"

	"yardwright/server/page"
)

// firstStep says what a maker has to do before anything can be ordered: a cloth, a style, and
// the style in its cloths. It is nil once there is a colourway.
func (s *Server) firstStep(ctx context.Context) (*page.Step, error) {
	counts, err := s.service.Counts(ctx, s.workshop)
	if err != nil || counts.Colourways > 0 {
		return nil, err
	}
	const why = "An order asks for a style in its cloths. "
	switch {
	case counts.Cloths == 0:
		return &page.Step{Text: why + "Begin with a cloth that you use; the style comes next.", Link: "/shelf/cloths/new", Label: "Add a cloth"}, nil
	case counts.Styles == 0:
		return &page.Step{Text: why + "There is a cloth; now start a style from a draft.", Link: "/styles/new", Label: "Start a style"}, nil
	}
	styles, err := s.service.Styles(ctx, s.workshop)
	if err != nil || len(styles) == 0 {
		return nil, err
	}
	return &page.Step{Text: why + "Choose the cloths of " + styles[0].Name + ": that makes a colourway.", Link: fmt.Sprintf("/styles/%d/colourways/new", styles[0].ID), Label: "Choose its cloths"}, nil
}

// firstOrder is firstStep, and then an order, for pages that cut what is ordered.
func (s *Server) firstOrder(ctx context.Context) (*page.Step, error) {
	step, err := s.firstStep(ctx)
	if err != nil || step != nil {
		return step, err
	}
	return &page.Step{Text: "Every ordered garment is in a batch already. A batch cuts open orders together: enter the next order when it comes.", Link: "/orders/new", Label: "Enter an order"}, nil
}
