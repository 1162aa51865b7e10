package workshop

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"sync"

	"yardwright/batch"
	"yardwright/costing"
	"yardwright/server/job"
	"yardwright/server/store"
)

// BeingLaid says that what a colourway takes in its usual batch is being worked out, and will be there
// in a moment.
type BeingLaid struct{}

// Error is for people.
func (*BeingLaid) Error() string {
	return "How much cloth this takes in a usual batch is being worked out. It takes a few seconds."
}

// FaultKind is what kind of refusal it is, for whoever answers people.
func (*BeingLaid) FaultKind() string { return "being laid" }

type atOnceKey struct{}

// AtOnce returns a context in which a costing marker that isn't there yet is laid by whoever asks,
// however long it takes: for commands and jobs, never for pages.
func AtOnce(ctx context.Context) context.Context { return context.WithValue(ctx, atOnceKey{}, true) }

// clothUse is what a colourway takes in a batch, as it was laid. What was never laid is queued, and
// the error is then *BeingLaid; see AtOnce.
func (s *Service) clothUse(ctx context.Context, all stock, way store.Colourway, style store.Style, counts map[string]int) (*ClothUse, error) {
	digest, err := useDigest(all, way, style, counts)
	if err != nil {
		return nil, err
	}
	if use, err := s.laidUse(ctx, all.workshop.ID, way.ID, digest); use != nil || err != nil {
		return use, err
	}
	if s.jobs != nil && ctx.Value(atOnceKey{}) == nil {
		if err := s.jobs.AddLaying(context.WithoutCancel(ctx), job.LayCosting{Workshop: all.workshop.ID, Colourway: way.ID, Counts: counts}); err != nil {
			return nil, err
		}
		return nil, &BeingLaid{}
	}
	return s.layCosting(ctx, all, way, digest, counts)
}

// laidUse is what was laid and kept; nil if nothing was.
func (s *Service) laidUse(ctx context.Context, workshop, way int64, digest [32]byte) (*ClothUse, error) {
	if use := s.uses.get(digest); use != nil {
		return use, nil
	}
	content, found, err := s.store.CostingMarker(ctx, workshop, way, digest)
	if err != nil || !found {
		return nil, err
	}
	use := &ClothUse{}
	if err := json.Unmarshal(content, use); err != nil {
		return nil, fmt.Errorf("the costing marker of colourway %d can't be read: %w", way, err)
	}
	s.uses.put(digest, use)
	return use, nil
}

// maxUses is when a useCache is emptied; a workshop has far fewer colourways in use.
const maxUses = 500

// useCache keeps costing markers as they were read from the database. Under a digest of all that they
// were made from they never change, so all programs on a database hold the same.
type useCache struct {
	mu     sync.Mutex
	read   map[[32]byte]*ClothUse
	primed map[int64]bool
}

// prime reads the newest costing marker of each colourway at once, the first time that all are wanted.
func (s *Service) prime(ctx context.Context, workshop int64) error {
	s.uses.mu.Lock()
	primed := s.uses.primed[workshop]
	s.uses.mu.Unlock()
	if primed {
		return nil
	}
	newest, err := s.store.NewestCostingMarkers(ctx, workshop)
	if err != nil {
		return err
	}
	for _, marker := range newest {
		use := &ClothUse{}
		if err := json.Unmarshal(marker.Usual, use); err != nil {
			return fmt.Errorf("the costing marker of colourway %d can't be read: %w", marker.ColourwayID, err)
		}
		s.uses.put([32]byte(marker.Digest), use)
	}
	s.uses.mu.Lock()
	defer s.uses.mu.Unlock()
	s.uses.primed[workshop] = true
	return nil
}

func (c *useCache) get(digest [32]byte) *ClothUse {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.read[digest]
}

func (c *useCache) put(digest [32]byte, use *ClothUse) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.read) >= maxUses {
		clear(c.read)
	}
	c.read[digest] = use
}

// layCosting lays a colourway in a batch, and keeps what comes out or why it can't be laid.
func (s *Service) layCosting(ctx context.Context, all stock, way store.Colourway, digest [32]byte, counts map[string]int) (*ClothUse, error) {
	usual, err := batch.PlanUsual(ctx, all.input, way.ID, counts, batch.Params{Seed: 1, MarkerIterations: usualIterations})
	var refused *store.Fault
	if err != nil {
		if err = asFault(err); !errors.As(err, &refused) {
			return nil, err
		}
		return nil, errors.Join(s.store.PutCostingMarker(ctx, all.workshop.ID, way.ID, digest, nil, refused), refused)
	}
	use := &ClothUse{Usual: usual, Counts: counts}
	return use, s.store.PutCostingMarker(ctx, all.workshop.ID, way.ID, digest, use, nil)
}

// useDigest digests everything that the cloth of a colourway depends on.
func useDigest(all stock, way store.Colourway, style store.Style, counts map[string]int) ([32]byte, error) {
	room := all.input.Workroom
	room.Calendar = batch.Calendar{}
	room.Rates.PerHour /= 1_000_000 // the lays hardly depend on cents of the wage
	var cloths []batch.Cloth
	for _, c := range all.input.Cloths {
		for _, id := range way.Cloths {
			if c.ID == id {
				c.PricePerMetre /= 1_000_000
				cloths = append(cloths, c)
			}
		}
	}
	content, err := json.Marshal([]any{style.Style, chartOf(all, style), cloths, room, counts, way.Cloths})
	if err != nil {
		return [32]byte{}, err
	}
	return sha256.Sum256(content), nil
}

// LayCosting does the work of a queued laying. What can't be laid is kept as such, and is no error.
func (s *Service) LayCosting(ctx context.Context, work job.LayCosting) error {
	ctx = AtOnce(ctx)
	all, err := s.stockOf(ctx, work.Workshop)
	if err != nil {
		return err
	}
	for _, way := range all.Colourways {
		if work.Colourway == 0 && way.PutAway || work.Colourway != 0 && way.ID != work.Colourway {
			continue
		}
		if err := s.layOne(ctx, all, way, work.Counts); err != nil {
			return err
		}
	}
	return nil
}

// layOne lays a colourway in its usual batch, or in one of counts where they are given.
func (s *Service) layOne(ctx context.Context, all stock, way store.Colourway, counts map[string]int) error {
	var err error
	if counts == nil {
		_, _, err = s.standard(ctx, all, way.ID)
	} else {
		style, found := styleOf(all, way)
		if !found {
			return nil
		}
		_, err = s.clothUse(ctx, all, way, style, counts)
	}
	var fault *store.Fault
	var inputs costing.InputErrors
	if errors.As(err, &fault) || errors.As(err, &inputs) {
		return nil // which the page says to whoever asks
	}
	return err
}

func styleOf(all stock, way store.Colourway) (store.Style, bool) {
	for _, style := range all.Styles {
		if style.ID == way.StyleID {
			return style, true
		}
	}
	return store.Style{}, false
}

// CostingMayHaveChanged queues the laying of what colourways take in their usual batches, as far as
// something that it depends on has changed. It is called after every change; what is as it was costs
// nothing but a look.
func (s *Service) CostingMayHaveChanged(ctx context.Context, workshop int64) error {
	if s.jobs == nil {
		return nil
	}
	return s.jobs.AddLaying(ctx, job.LayCosting{Workshop: workshop})
}
