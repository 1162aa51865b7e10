package workshop

import (
	"context"
	"fmt"
	"slices"

	"yardwright/batch"
	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/server/store"
)

// NotionField names a notion among the fields of a batch, and its place on the page.
func NotionField(notion int64) string { return fmt.Sprintf("notion-%d", notion) }

// notionHolds says what a batch holds of a notion: the rolls that the plan opens, or what is
// there of the length or count that it takes. short is what to do if rolls of the plan are
// not free any more.
func notionHolds(n batch.NotionPlan, free store.Notion, write length.Style) (holds []store.NotionHold, short string) {
	hold := func(roll length.Length, amount int64) {
		if amount > 0 {
			holds = append(holds, store.NotionHold{NotionID: n.Notion.ID, RollLength: roll, Amount: amount})
		}
	}
	switch n.Notion.Kind {
	case batch.FromRoll:
		for _, opened := range openedRolls(n, false) {
			there := countOf(free.Rolls, opened.Length)
			if there < opened.Count {
				return nil, fmt.Sprintf("%s: the plan opens %s of %s, and only %d of them %s free now. Plan again, or write on the Shelf which rolls there are.",
					n.Notion.Name, words.Count(opened.Count, "roll"), write.Cloth(opened.Length, length.Down), there, words.Verb(there, "is", "are"))
			}
			hold(opened.Length, int64(opened.Count))
		}
	case batch.ByLength:
		hold(0, int64(min(n.Length, inAll(free.Rolls))))
	case batch.ByCount:
		hold(0, int64(max(0, min(n.Count, free.InStock))))
	}
	return holds, ""
}

// openedRolls lists the rolls that a plan opens, by length: those on the shelf, or those still
// to be bought.
func openedRolls(n batch.NotionPlan, bought bool) []batch.Roll {
	shelf := 0
	for _, r := range n.Notion.Rolls {
		if r.Count > 0 && r.Length > 0 {
			shelf++
		}
	}
	var opened []batch.Roll
	for _, r := range n.Rolls.Rolls {
		if (r.Stock >= shelf) == bought {
			opened = append(opened, batch.Roll{Length: n.Problem.Stock[r.Stock].Length, Count: r.Times})
		}
	}
	return store.ChangeRolls(opened, nil)
}

func countOf(rolls []batch.Roll, l length.Length) int {
	count := 0
	for _, r := range rolls {
		if r.Length == l {
			count += r.Count
		}
	}
	return count
}

func inAll(rolls []batch.Roll) length.Length {
	var total length.Length
	for _, r := range rolls {
		total += r.Length * length.Length(r.Count)
	}
	return total
}

// notionPlan finds a notion in the plan that holds.
func notionPlan(ctx context.Context, tx *store.Store, workshop, batchID, notion int64) (batch.NotionPlan, error) {
	plan, err := tx.MadePlan(ctx, workshop, batchID)
	if err != nil || plan == nil {
		return batch.NotionPlan{}, errorOr(err, notThere("plan"))
	}
	at := slices.IndexFunc(plan.Notions, func(n batch.NotionPlan) bool { return n.Notion.ID == notion })
	if at < 0 {
		return batch.NotionPlan{}, notThere("notion")
	}
	return plan.Notions[at], nil
}

// TakeNotion notes that a released batch's elastic is cut, or its thread or labels are counted
// out: the shelf has so much less, and ends worth keeping go back to it.
func (s *Service) TakeNotion(ctx context.Context, workshop, batchID, notion int64) error {
	return s.withNotion(ctx, workshop, batchID, notion, func(tx *store.Store, n batch.NotionPlan, now store.Notion, row store.BatchNotion, held []store.NotionHold) error {
		if row.TakenAt != nil {
			return conflict("", "%s was taken from the shelf already. Reload the page.", now.Name)
		}
		w, err := tx.Workshop(ctx, workshop)
		if err != nil {
			return err
		}
		took, short := taken(n, mine(now, held), Style(w))
		if short != "" {
			return conflict(NotionField(notion), "%s", short)
		}
		return tx.TakeNotion(ctx, workshop, batchID, now, took)
	})
}

// GiveNotionBack undoes TakeNotion.
func (s *Service) GiveNotionBack(ctx context.Context, workshop, batchID, notion int64) error {
	return s.withNotion(ctx, workshop, batchID, notion, func(tx *store.Store, n batch.NotionPlan, now store.Notion, row store.BatchNotion, _ []store.NotionHold) error {
		if row.TakenAt == nil {
			return conflict("", "%s isn't marked as taken any more. Reload the page.", now.Name)
		}
		for _, change := range row.Took {
			if change.Count > 0 && countOf(now.Free().Rolls, change.Length) < change.Count {
				return conflict(NotionField(notion), "The ends of %s that went back to the shelf have been used or changed since, so this can't be undone. Correct the rolls on the Shelf instead.", now.Name)
			}
		}
		w, err := tx.Workshop(ctx, workshop)
		if err != nil {
			return err
		}
		back := now.Free()
		back.InStock -= pieces(row.Took)
		back.Rolls = store.ChangeRolls(back.Rolls, negative(row.Took))
		holds, _ := notionHolds(n, back, Style(w))
		return tx.GiveNotionBack(ctx, workshop, batchID, now, row.Took, holds)
	})
}

func pieces(took []batch.Roll) int { return countOf(took, 0) }

func negative(took []batch.Roll) []batch.Roll {
	var back []batch.Roll
	for _, r := range took {
		if r.Length > 0 {
			back = append(back, batch.Roll{Length: r.Length, Count: -r.Count})
		}
	}
	return back
}

// withNotion locks a released batch and one of its notions.
func (s *Service) withNotion(ctx context.Context, workshop, batchID, notion int64,
	do func(tx *store.Store, n batch.NotionPlan, now store.Notion, row store.BatchNotion, held []store.NotionHold) error,
) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		row, err := tx.LockBatch(ctx, workshop, batchID)
		if err != nil || row.Draft() {
			return errorOr(err, conflict("", "This batch is back in planning. Reload the page."))
		}
		n, err := notionPlan(ctx, tx, workshop, batchID, notion)
		if err != nil {
			return err
		}
		notions, err := tx.LockNotions(ctx, workshop, []int64{notion})
		if err != nil {
			return err
		}
		rows, err := tx.BatchNotions(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		held, err := tx.NotionHolds(ctx, workshop, batchID, notion)
		at := slices.IndexFunc(rows, func(r store.BatchNotion) bool { return r.NotionID == notion })
		if err != nil || at < 0 {
			return errorOr(err, notThere("notion"))
		}
		return do(tx, n, notions[notion], rows[at], held)
	})
}

// mine is what of a notion a batch may take: what it holds and what nobody holds.
func mine(n store.Notion, held []store.NotionHold) store.Notion {
	reserved := slices.Clone(n.Reserved)
	for i := range reserved {
		for _, h := range held {
			if h.RollLength == reserved[i].RollLength {
				reserved[i].Amount -= h.Amount
			}
		}
	}
	n.Reserved = reserved
	return n.Free()
}

// taken says how the shelf changes when a batch takes a notion, or what is missing.
func taken(n batch.NotionPlan, there store.Notion, write length.Style) (took []batch.Roll, short string) {
	switch n.Notion.Kind {
	case batch.FromRoll:
		opened := store.ChangeRolls(append(openedRolls(n, false), openedRolls(n, true)...), nil)
		for _, r := range opened {
			if has := countOf(there.Rolls, r.Length); has < r.Count {
				return nil, fmt.Sprintf("%s: the plan opens %s of %s, and %d of them %s on the shelf for it. Write those that you bought on the Shelf first.",
					n.Notion.Name, words.Count(r.Count, "roll"), write.Cloth(r.Length, length.Down), has, words.Verb(has, "is", "are"))
			}
			took = append(took, batch.Roll{Length: r.Length, Count: -r.Count})
		}
		return append(took, n.Returned()...), ""
	case batch.ByLength:
		if has := inAll(there.Rolls); has < n.Length {
			return nil, fmt.Sprintf("%s: %s are wanted, and %s are on the shelf for it. Write what you bought on the Shelf first.",
				n.Notion.Name, write.Cloth(n.Length, length.Up), write.Cloth(has, length.Down))
		}
		return store.ShortestFirst(there.Rolls, n.Length), ""
	default:
		if there.InStock < n.Count {
			return nil, fmt.Sprintf("%s: %d %s wanted, and %d %s on the shelf for it. Write those that you bought on the Shelf first.",
				n.Notion.Name, n.Count, words.Verb(n.Count, "is", "are"), max(0, there.InStock), words.Verb(there.InStock, "is", "are"))
		}
		return []batch.Roll{{Count: -n.Count}}, ""
	}
}
