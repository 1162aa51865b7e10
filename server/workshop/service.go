// Package workshop holds the use cases: take an order, plan a batch, price a style. Pages and
// commands call the same ones. It joins what the pure packages keep apart: cloth lengths of
// package batch and prices of package costing.
package workshop

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/job"
	"yardwright/server/store"
)

// Jobs queues long work. Queue of package job does it; nil means that nothing is queued and
// a plan can only be made at once.
type Jobs interface {
	Add(ctx context.Context, tx pgx.Tx, work job.PlanBatch) (int64, error)
	AddLaying(ctx context.Context, work job.LayCosting) error
	Cancel(ctx context.Context, tx pgx.Tx, id int64) error
}

// Service is all use cases of the workshops in one database.
type Service struct {
	Reads
	Records
	store *store.Store
	jobs  Jobs
	now   func() time.Time
	log   *slog.Logger
	uses  *useCache
}

// New returns the use cases. The clock says what today is.
func New(s *store.Store, now func() time.Time, log *slog.Logger) *Service {
	return &Service{Reads: s, Records: s, store: s, now: now, log: log, uses: &useCache{read: map[[32]byte]*ClothUse{}, primed: map[int64]bool{}}}
}

// Pool is where the sessions of browsers are kept, by a library.
func (s *Service) Pool() *pgxpool.Pool { return s.store.Pool() }

// within is the service inside a transaction.
func (s *Service) within(tx *store.Store) *Service {
	inside := *s
	inside.Reads, inside.Records, inside.store = tx, tx, tx
	return &inside
}

// UseJobs tells the service where to queue long work.
func (s *Service) UseJobs(jobs Jobs) { s.jobs = jobs }

// Today is the present day at midnight UTC, as the database keeps days.
func (s *Service) Today() time.Time {
	year, month, day := s.now().Date()
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}

// Style returns how a workshop writes lengths.
func Style(w store.Workshop) length.Style {
	return length.Style{System: w.System, Fraction: w.Fraction}
}

// Currency returns the currency of a workshop.
func Currency(w store.Workshop) (money.Currency, error) {
	c, err := money.ParseCurrency(w.Currency)
	if err != nil {
		return money.Currency{}, store.Wrong("currency", err.Error())
	}
	return c, nil
}

// Open makes sure that there is a workshop and returns the oldest one. A new one gets the
// shipped size charts and three channels to start from.
func (s *Service) Open(ctx context.Context) (store.Workshop, error) {
	first, err := s.FirstWorkshop(ctx)
	if err == nil || !isNotFound(err) {
		return first, err
	}
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		id, err := tx.AddWorkshop(ctx, "My workroom")
		if err != nil {
			return err
		}
		return furnish(ctx, tx, id)
	})
	if err != nil {
		return store.Workshop{}, fmt.Errorf("a first workshop can't be made: %w", err)
	}
	return s.FirstWorkshop(ctx)
}

// Agreed is something that a maker has to agree to before settings are saved.
type Agreed string

// KeepNumbers agrees that all stored amounts keep their number in a new currency.
const KeepNumbers Agreed = "keep the numbers"

// SaveSettings checks and stores the settings of a workshop. Cut sizes are rounded to what
// its ruler shows. A new currency is taken by the channels too, with their numbers as they are
// (price points become whole coins); if any money is stored, KeepNumbers must be agreed to.
func (s *Service) SaveSettings(ctx context.Context, w store.Workshop, agreed ...Agreed) error {
	if err := s.CheckSettings(ctx, w, agreed...); err != nil {
		return err
	}
	currency, err := Currency(w)
	if err != nil {
		return err
	}
	w.CutStep = Style(w).Step()
	return s.store.InTx(ctx, func(tx *store.Store) error {
		if err := tx.SaveWorkshop(ctx, w); err != nil {
			return err
		}
		channels, err := tx.Channels(ctx, w.ID)
		if err != nil {
			return err
		}
		for _, c := range channels {
			if c.Settings.Currency == currency {
				continue
			}
			c.Settings = inCurrency(c.Settings, currency)
			if err := tx.SaveChannel(ctx, w.ID, c); err != nil {
				return err
			}
		}
		return nil
	})
}

// inCurrency is a channel with the same numbers in another currency.
func inCurrency(c costing.Channel, currency money.Currency) costing.Channel {
	same := func(a money.Amount) money.Amount {
		if a == (money.Amount{}) {
			return a
		}
		return money.NewAmount(a.Number(), currency)
	}
	c.Currency = currency
	c.Fees = slices.Clone(c.Fees)
	for i := range c.Fees {
		c.Fees[i].Fixed = same(c.Fees[i].Fixed)
	}
	c.Listing.Fee, c.Target.Amount, c.Terms.MinimumOrder = same(c.Listing.Fee), same(c.Target.Amount), same(c.Terms.MinimumOrder)
	c.Postage.Cost, c.Postage.Charged = same(c.Postage.Cost), same(c.Postage.Charged)
	if c.PricePoint.Check(currency) != nil { // steps of half a dollar make no sense in yen
		c.PricePoint.Step = money.MaxDecimal(money.Int(1), c.PricePoint.Step.Round(currency.Digits(), money.Up))
		c.PricePoint.Ending = money.Decimal{}
	}
	return c
}
