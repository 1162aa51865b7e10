package store

import (
	"cmp"
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"yardwright/batch"
	"yardwright/batch/length"
	"yardwright/costing/money"
)

// Notion is what is not cloth, as stored.
type Notion struct {
	ID        int64
	Name      string
	Kind      batch.NotionKind
	Packing   bool
	BuyLength length.Length
	BuyCount  int
	BuyPrice  money.Decimal
	// Discount, Tax and Wastage are shares; Freight is that of one roll or pack.
	Discount, Tax, Wastage, Freight money.Decimal
	InStock                         int
	// PutAway: it isn't offered any more.
	PutAway bool
	Version int
	// Rolls on the shelf.
	Rolls []batch.Roll `db:"-"`
	// Reserved is what batches hold of it.
	Reserved []NotionHold `db:"-"`
}

// NotionHold is so much of a notion that a batch holds: Amount rolls of RollLength; where that
// is 0, pieces of what is counted, or length of what is used by length.
type NotionHold struct {
	NotionID   int64
	RollLength length.Length
	Amount     int64
}

// Free is the notion with what no batch holds.
func (n Notion) Free() Notion {
	n.Rolls = slices.Clone(n.Rolls)
	for _, held := range n.Reserved {
		switch {
		case held.RollLength > 0:
			n.Rolls = ChangeRolls(n.Rolls, []batch.Roll{{Length: held.RollLength, Count: -int(held.Amount)}})
		case n.Kind == batch.ByCount:
			n.InStock -= int(held.Amount)
		default:
			n.Rolls = ChangeRolls(n.Rolls, ShortestFirst(n.Rolls, length.Length(held.Amount)))
		}
	}
	return n
}

// ChangeRolls adds rolls, or takes them where their count is below zero; the longest come
// first. More than there are can't be taken.
func ChangeRolls(rolls, changes []batch.Roll) []batch.Roll {
	counts := map[length.Length]int{}
	for _, r := range rolls {
		counts[r.Length] += r.Count
	}
	for _, c := range changes {
		counts[c.Length] += c.Count
	}
	var after []batch.Roll
	for l, count := range counts {
		if count > 0 {
			after = append(after, batch.Roll{Length: l, Count: count})
		}
	}
	slices.SortFunc(after, func(a, b batch.Roll) int { return cmp.Compare(b.Length, a.Length) })
	return after
}

// ShortestFirst says which rolls change when a length is taken from them: ends before whole
// rolls. It takes all of them if they are too short together.
func ShortestFirst(rolls []batch.Roll, taken length.Length) []batch.Roll {
	var changes []batch.Roll
	rolls = ChangeRolls(rolls, nil)
	for i := len(rolls) - 1; i >= 0 && taken > 0; i-- {
		r := rolls[i]
		whole := min(r.Count, int(taken/r.Length))
		taken -= r.Length * length.Length(whole)
		if whole < r.Count && taken > 0 {
			changes = append(changes, batch.Roll{Length: r.Length - taken, Count: 1})
			whole, taken = whole+1, 0
		}
		if whole > 0 {
			changes = append(changes, batch.Roll{Length: r.Length, Count: -whole})
		}
	}
	return changes
}

// Notions lists the notions by name, with their rolls.
func (s *Store) Notions(ctx context.Context, workshop int64) ([]Notion, error) {
	round := &pgx.Batch{}
	read := queueNotions(round, args{"workshop": workshop})
	if err := readAll(ctx, s.db, round); err != nil {
		return nil, err
	}
	return read(), nil
}

// queueNotions queues the reading of notions; read puts them together after readAll.
func queueNotions(round *pgx.Batch, named args) (read func() []Notion) {
	var notions []Notion
	queued(round, &notions, `
		SELECT id, name, kind, packing, buy_length, buy_count, buy_price, discount, tax, wastage, freight, in_stock, put_away, version FROM notions WHERE workshop_id = @workshop ORDER BY name`, named)
	type row struct {
		NotionID int64
		Length   length.Length
		Count    int
	}
	var rolls []row
	queued(round, &rolls, `
		SELECT r.notion_id, r.length, r.count FROM notion_rolls r JOIN notions n ON n.id = r.notion_id
		WHERE n.workshop_id = @workshop ORDER BY r.notion_id, r.length DESC, r.id`, named)
	var held []NotionHold
	queued(round, &held, `
		SELECT r.notion_id, r.roll_length, sum(r.amount)::bigint AS amount FROM notion_reservations r JOIN notions n ON n.id = r.notion_id
		WHERE n.workshop_id = @workshop GROUP BY r.notion_id, r.roll_length ORDER BY r.notion_id, r.roll_length DESC`, named)
	return func() []Notion {
		at := map[int64]*Notion{}
		for i := range notions {
			at[notions[i].ID] = &notions[i]
		}
		for _, r := range rolls {
			if n := at[r.NotionID]; n != nil {
				n.Rolls = append(n.Rolls, batch.Roll{Length: r.Length, Count: r.Count})
			}
		}
		for _, h := range held {
			if n := at[h.NotionID]; n != nil {
				n.Reserved = append(n.Reserved, h)
			}
		}
		return notions
	}
}

// AddNotion stores a new notion with its rolls.
func (s *Store) AddNotion(ctx context.Context, workshop int64, n Notion) (id int64, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		id, err = scalar[int64](ctx, s.db, `
			INSERT INTO notions (workshop_id, name, kind, packing, buy_length, buy_count, buy_price, discount, tax, wastage, freight, in_stock)
			VALUES (@workshop, @name, @kind, @packing, @buy_length, @buy_count, @buy_price, @discount, @tax, @wastage, @freight, @in_stock) RETURNING id`, notionArgs(workshop, n))
		if err != nil {
			return err
		}
		return s.writeRolls(ctx, id, n.Rolls)
	})
	return id, err
}

// SaveNotion changes a notion and its rolls if nobody else has in the meantime.
func (s *Store) SaveNotion(ctx context.Context, workshop int64, n Notion) error {
	return s.InTx(ctx, func(s *Store) error {
		named := notionArgs(workshop, n)
		named["id"], named["version"] = n.ID, n.Version
		err := changed(ctx, s.db, "notion", `
			UPDATE notions SET name = @name, kind = @kind, packing = @packing, buy_length = @buy_length, buy_count = @buy_count,
				buy_price = @buy_price, discount = @discount, tax = @tax, wastage = @wastage, freight = @freight, in_stock = @in_stock, version = version + 1
			WHERE workshop_id = @workshop AND id = @id AND version = @version`, named)
		if err != nil {
			return err
		}
		if _, err := s.db.Exec(ctx, `DELETE FROM notion_rolls WHERE notion_id = @id`, args{"id": n.ID}); err != nil {
			return fault(err)
		}
		return s.writeRolls(ctx, n.ID, n.Rolls)
	})
}

func notionArgs(workshop int64, n Notion) args {
	return args{
		"workshop": workshop, "name": n.Name, "kind": n.Kind, "packing": n.Packing, "buy_length": n.BuyLength, "buy_count": max(1, n.BuyCount),
		"buy_price": n.BuyPrice, "discount": n.Discount, "tax": n.Tax, "wastage": n.Wastage, "freight": n.Freight, "in_stock": n.InStock,
	}
}

func (s *Store) writeRolls(ctx context.Context, notion int64, rolls []batch.Roll) error {
	queue := &pgx.Batch{}
	for _, r := range rolls {
		queue.Queue(`INSERT INTO notion_rolls (notion_id, length, count) VALUES (@notion, @length, @count)`,
			args{"notion": notion, "length": r.Length, "count": r.Count})
	}
	return sendAll(ctx, s.db, queue)
}
