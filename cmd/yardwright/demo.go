package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"yardwright/batch"
	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/server"
	"yardwright/server/privatepg"
	"yardwright/server/store"
	"yardwright/server/workshop"
	"yardwright/testdata/demo"
)

// runDemo is the command `yardwright demo`.
func runDemo(ctx context.Context, args []string, _ io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("yardwright demo", flag.ContinueOnError)
	flags.SetOutput(stderr)
	out := flags.String("out", "out", "`folder` to write the workbooks to")
	once := flags.Bool("once", false, "exit after writing, without serving the pages")
	address := flags.String("addr", defaultAddress, "`HOST:PORT` to serve the pages on")
	data := flags.String("data", "", "`folder` of the demo's private Postgres; empty means the usual one")
	parts := flags.Bool("parts", false, "for developers: show the parts of pages, at /parts")
	if code, ok := parseFlags(flags, args, 0, stderr); !ok {
		return code
	}
	if err := checkLoopback(*address); err != nil {
		_, _ = fmt.Fprintln(stderr, "yardwright demo:", err)
		return exitBadInput
	}
	if err := showDemo(ctx, *out, *once, *address, *data, stdout, stderr, developers(*parts)...); err != nil {
		if errors.Is(err, context.Canceled) {
			return exitGood
		}
		_, _ = fmt.Fprintln(stderr, "yardwright demo:", err)
		return exitFailed
	}
	return exitGood
}

func showDemo(ctx context.Context, out string, once bool, address, data string, stdout, stderr io.Writer, options ...server.Option) error {
	// The demo is kept apart from the maker's own data.
	a, err := start(ctx, privatepg.Options{DataDir: data, Name: "demo"}, stderr)
	if err != nil {
		return err
	}
	defer a.stop()
	loaded, err := a.loadDemo(ctx, stdout)
	if err != nil {
		return err
	}
	batchID, err := a.planDemo(ctx, loaded, stdout)
	if err != nil {
		return err
	}
	if err := a.writeDemo(ctx, loaded.Workshop, batchID, out, stdout); err != nil {
		return err
	}
	if once {
		return nil
	}
	return a.serve(ctx, loaded.Workshop, address, stdout, options...)
}

// loadDemo starts the demo anew: an earlier demo workshop is removed, any other is left alone.
func (a *app) loadDemo(ctx context.Context, stdout io.Writer) (workshop.Demo, error) {
	first, err := a.service.FirstWorkshop(ctx)
	var fault *store.Fault
	switch {
	case errors.As(err, &fault) && fault.Kind == store.NotFound:
	case err != nil:
		return workshop.Demo{}, err
	case first.Name != workshop.DemoName:
		return workshop.Demo{}, fmt.Errorf("this database holds the workshop %q already; the demo wants an empty one", first.Name)
	default:
		if err := a.service.RemoveWorkshop(ctx, first.ID); err != nil {
			return workshop.Demo{}, err
		}
	}
	loaded, err := a.service.LoadDemo(workshop.AtOnce(ctx), demo.Files)
	if err == nil {
		_, _ = fmt.Fprintf(stdout, "Loaded %s: %s, %s. The demo starts anew each time.\n", workshop.DemoName, words.Count(loaded.Imported.Orders, "order"), words.Count(loaded.Imported.Garments, "garment"))
	}
	return loaded, err
}

// planDemo puts all open orders into a batch and plans it in the background, as the pages do.
func (a *app) planDemo(ctx context.Context, loaded workshop.Demo, stdout io.Writer) (int64, error) {
	orders, err := a.service.Orders(ctx, loaded.Workshop, "open", 1000)
	if err != nil {
		return 0, err
	}
	draft := workshop.BatchDraft{Name: loaded.BatchName}
	for _, o := range orders {
		draft.Orders = append(draft.Orders, o.ID)
	}
	batchID, err := a.service.MakeBatch(ctx, loaded.Workshop, draft)
	if err != nil {
		return 0, err
	}
	began := time.Now()
	planID, err := a.service.StartPlan(ctx, loaded.Workshop, batchID, 1)
	if err != nil {
		return 0, err
	}
	if err := a.awaitPlan(ctx, loaded.Workshop, planID); err != nil {
		return 0, err
	}
	plan, err := a.service.MadePlan(ctx, loaded.Workshop, batchID)
	if err != nil {
		return 0, err
	}
	if plan == nil {
		return 0, errors.New("the plan is missing")
	}
	a.tellPlan(ctx, loaded.Workshop, *plan, time.Since(began), stdout)
	return batchID, nil
}

func (a *app) awaitPlan(ctx context.Context, workshopID, planID int64) error {
	for {
		now, err := a.service.BatchPlan(ctx, workshopID, planID)
		switch {
		case err != nil:
			return err
		case now.State == store.PlanFailed:
			return errors.New(now.Message)
		case now.Finished():
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// tellPlan says in plain words what came out.
func (a *app) tellPlan(ctx context.Context, workshopID int64, plan batch.Plan, took time.Duration, stdout io.Writer) {
	style := length.Style{System: length.Imperial}
	if w, err := a.service.Workshop(ctx, workshopID); err == nil {
		style = workshop.Style(w)
	}
	_, _ = fmt.Fprintf(stdout, "Planned in %.1f s: %s.\n", took.Seconds(), plan.Summary())
	for _, cloth := range plan.Cloths {
		_, _ = fmt.Fprintf(stdout, "  %-18s %8s, %s", cloth.Cloth.Name, words.Count(len(cloth.Plan.Lays), "lay"), style.ClothBoth(cloth.Plan.LengthUsed, length.Up))
		for _, purchase := range cloth.Plan.Purchases {
			_, _ = fmt.Fprintf(stdout, ", of it buy %s", style.Cloth(purchase.Buy, length.Up))
		}
		_, _ = fmt.Fprintln(stdout)
	}
	for _, notion := range plan.Notions {
		if notion.Notion.Kind == batch.FromRoll {
			_, _ = fmt.Fprintf(stdout, "  %-18s %s, %s, from %s\n", notion.Notion.Name, words.Count(notion.Count, "length"), style.ClothBoth(notion.Length, length.Up), words.Count(notion.Rolls.Opened, "roll"))
		}
	}
	_, _ = fmt.Fprintf(stdout, "  %.0f hours of work, done on %s.", plan.Worked.Hours(), plan.DoneBy.Format("Monday 2 January 2006"))
	if len(plan.Late) > 0 {
		_, _ = fmt.Fprintf(stdout, " %s would be late.", words.Count(len(plan.Late), "order"))
	}
	_, _ = fmt.Fprintln(stdout)
}

// writeDemo prices every style and writes both workbooks.
func (a *app) writeDemo(ctx context.Context, workshopID, batchID int64, out string, stdout io.Writer) error {
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	for _, book := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{"cutting.xlsx", func(w io.Writer) error { return a.service.CuttingWorkbook(ctx, w, workshopID, batchID) }},
		{"pricing.xlsx", func(w io.Writer) error { return a.service.PricingWorkbook(workshop.AtOnce(ctx), w, workshopID, 0, "") }},
	} {
		path := filepath.Join(out, book.name)
		if err := writeFile(path, book.write); err != nil {
			return err
		}
		_, _ = fmt.Fprintln(stdout, "Wrote", path)
	}
	return nil
}

// writeFile writes a file whole or not at all.
func writeFile(path string, write func(io.Writer) error) error {
	file, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	err = write(file)
	if closeErr := file.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		err = os.Chmod(file.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(file.Name(), path)
	}
	if err != nil {
		_ = os.Remove(file.Name()) // the error before says more
	}
	return err
}
