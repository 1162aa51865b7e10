package workshop

import (
	"context"
	"errors"
	"time"

	"yardwright/batch"
	"yardwright/server/store"
)

// Comparing two cloths plans a batch twice while somebody waits, so it has less time than a
// planning, the search is a quick one, and only one is made at once.
const (
	compareFor              = 20 * time.Second
	compareIterations       = 400
	compareMarkerIterations = 150
)

var comparing = make(chan struct{}, 1)

// CompareCloths plans a batch that isn't released yet as it is, and with another cloth in the
// place of one of its cloths. Fields are "from" and "to".
func (s *Service) CompareCloths(ctx context.Context, workshop, batchID, from, to int64) (batch.ClothChoice, error) {
	input, err := s.planInput(ctx, workshop, batchID)
	if err != nil {
		return batch.ClothChoice{}, err
	}
	ctx, cancel := context.WithTimeout(ctx, compareFor)
	defer cancel()
	tooLong := store.Wrong("to", "Comparing these takes longer than you should have to wait. Try again in a while; of a very large batch, compare a part.")
	select {
	case comparing <- struct{}{}:
		defer func() { <-comparing }()
	case <-ctx.Done():
		return batch.ClothChoice{}, tooLong
	}
	choice, err := batch.CompareCloths(ctx, input, from, to, batch.Params{Seed: 1, Iterations: compareIterations, MarkerIterations: compareMarkerIterations})
	var wrong *batch.InputError
	switch {
	case errors.Is(ctx.Err(), context.DeadlineExceeded):
		return choice, tooLong
	case errors.As(err, &wrong):
		field := wrong.Field
		if field != "from" {
			field = "to"
		}
		return choice, store.Wrong(field, sentence(wrong.Message))
	}
	return choice, err
}

// sentence makes one of a message.
func sentence(message string) string {
	if message == "" {
		return message
	}
	first := []rune(message)
	if first[0] >= 'a' && first[0] <= 'z' {
		first[0] -= 'a' - 'A'
	}
	if last := first[len(first)-1]; last != '.' && last != '!' {
		first = append(first, '.')
	}
	return string(first)
}
