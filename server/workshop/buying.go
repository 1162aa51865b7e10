package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// Settled says what a bolt that came in does for a batch that was to buy its cloth.
type Settled struct {
	BatchID int64
	Batch   string
	// Plies that are cut from it now; 0 if not even one fits.
	Plies int
	// Still is what is still to be bought of the cloth; 0 if nothing is.
	Still length.Length
	// LongestPly and Width are what the longest of the plies to buy takes in one piece, and how wide
	// the cloth was to be.
	LongestPly, Width length.Length
}

// Bought stores a bolt that came in, see ReceiveBolt. Where cloth is still to be bought then, that
// cloth alone is planned again: what is there may do, laid in another way.
func (s *Service) Bought(ctx context.Context, workshop int64, bolt store.Bolt, faults []store.BoltFault) (id int64, settled []Settled, err error) {
	if id, settled, err = s.ReceiveBolt(ctx, workshop, bolt, faults); err != nil {
		return 0, nil, err
	}
	for _, one := range settled {
		if one.Still == 0 {
			continue
		}
		if _, err := s.PlanAgain(ctx, workshop, one.BatchID, bolt.ClothID); err != nil {
			return id, settled, err
		}
	}
	return id, settled, nil
}

// AddBolt stores a new bolt or remnant. Where a draft's plan is to buy its cloth, the bolt takes
// the place of the cloth to buy; see ReceiveBolt.
func (s *Service) AddBolt(ctx context.Context, workshop int64, bolt store.Bolt, faults []store.BoltFault) (int64, error) {
	id, _, err := s.ReceiveBolt(ctx, workshop, bolt, faults)
	return id, err
}

// ReceiveBolt stores a new bolt and puts it, in the plans of drafts as they are, in the place of
// the cloth to buy, as far as it is long and wide enough: first for the batch that starts first,
// then what is left for the next. It says what it did for each.
func (s *Service) ReceiveBolt(ctx context.Context, workshop int64, bolt store.Bolt, faults []store.BoltFault) (id int64, settled []Settled, err error) {
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		drafts, err := lockedDrafts(ctx, tx, workshop)
		if err != nil {
			return err
		}
		if id, err = tx.AddBolt(ctx, workshop, bolt, faults); err != nil {
			return err
		}
		if len(drafts) == 0 {
			return nil
		}
		inside := s.within(tx)
		all, err := inside.stockOf(ctx, workshop)
		if err != nil {
			return err
		}
		at := slices.IndexFunc(all.input.Bolts, func(b batch.Bolt) bool { return b.ID == id })
		if at < 0 {
			return nil // nothing is on it
		}
		settled, err = inside.settle(ctx, workshop, all.input, drafts, all.input.Bolts[at])
		return err
	})
	return id, settled, err
}

// lockedDrafts locks the drafts that have a plan, and returns them by the day on which they start.
func lockedDrafts(ctx context.Context, tx *store.Store, workshop int64) ([]store.Batch, error) {
	ids, err := tx.PlannedDrafts(ctx, workshop)
	if err != nil {
		return nil, err
	}
	var drafts []store.Batch
	for _, id := range ids {
		row, err := tx.LockBatch(ctx, workshop, id)
		if err != nil {
			return nil, err
		}
		if row.Draft() {
			drafts = append(drafts, row)
		}
	}
	slices.SortStableFunc(drafts, func(a, b store.Batch) int { return a.StartsOn.Compare(b.StartsOn) })
	return drafts, nil
}

// settle puts a bolt in the place of cloth to buy in the plans of drafts.
func (s *Service) settle(ctx context.Context, workshop int64, input batch.Input, drafts []store.Batch, bolt batch.Bolt) ([]Settled, error) {
	var settled []Settled
	for _, row := range drafts {
		plan, made, err := s.HeldPlan(ctx, workshop, row.ID)
		if err != nil || made == nil {
			return nil, errorOr(err, notThere("plan"))
		}
		if !buys(*made, bolt.Cloth) {
			continue
		}
		now, got, err := batch.Receive(input, *made, bolt.Cloth, []batch.Bolt{bolt})
		if err != nil {
			return nil, err
		}
		done := Settled{BatchID: row.ID, Batch: row.Name, Plies: got.Plies}
		for _, planned := range made.Cloths {
			if planned.Cloth.ID == bolt.Cloth {
				done.LongestPly, done.Width = longestBought(planned), planned.Problem.Rules.BuyWidth
			}
		}
		for _, purchase := range got.StillToBuy {
			done.Still += purchase.Buy
		}
		settled = append(settled, done)
		if got.Plies == 0 {
			continue
		}
		if _, err := s.store.ContinuePlan(ctx, workshop, row.ID, plan, "As before, with bolt "+bolt.Name+".", now); err != nil {
			return nil, err
		}
		if bolt = restOf(bolt, now); bolt.Length <= 0 {
			break
		}
	}
	return settled, nil
}

// buys reports whether a plan is to buy a cloth.
func buys(plan batch.Plan, cloth int64) bool {
	return slices.ContainsFunc(plan.Cloths, func(c batch.ClothPlan) bool { return c.Cloth.ID == cloth && len(c.Plan.Purchases) > 0 })
}

// restOf is what a plan leaves of a bolt, for the next batch.
func restOf(bolt batch.Bolt, plan batch.Plan) batch.Bolt {
	var used length.Length
	for _, planned := range plan.Cloths {
		for _, use := range planned.Plan.Uses {
			if planned.Problem.Bolts[use.Bolt].ID == bolt.ID {
				used = use.Used
			}
		}
	}
	bolt.Length -= used
	faults := bolt.Faults
	bolt.Faults = nil
	for _, f := range faults {
		if end := f.Y + f.Length - used; end > 0 {
			from := max(0, f.Y-used)
			bolt.Faults = append(bolt.Faults, marker.Fault{X: f.X, Y: from, Width: f.Width, Length: end - from})
		}
	}
	return bolt
}

// ReturnBolt undoes ReceiveBolt for a bolt of which nothing was cut or is held: nothing is on it
// any more, and drafts that were to be cut from it are to buy the cloth again.
func (s *Service) ReturnBolt(ctx context.Context, workshop, bolt int64) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		drafts, err := lockedDrafts(ctx, tx, workshop)
		if err != nil {
			return err
		}
		if _, err := tx.LockBolts(ctx, workshop, []int64{bolt}); err != nil {
			return err
		}
		inside := s.within(tx)
		all, err := inside.stockOf(ctx, workshop)
		if err != nil {
			return err
		}
		for _, row := range drafts {
			plan, made, err := tx.HeldPlan(ctx, workshop, row.ID)
			if err != nil || made == nil {
				return errorOr(err, notThere("plan"))
			}
			now, changed, err := batch.GiveBack(all.input, *made, bolt)
			if err != nil {
				return conflict("", "%s was planned with this bolt, so it can't be undone. Correct the length of the bolt on the Shelf instead.", row.Name)
			}
			if changed {
				if _, err := tx.ContinuePlan(ctx, workshop, row.ID, plan, "As before, without the bolt that went back.", now); err != nil {
					return err
				}
			}
		}
		return tx.ReturnBolt(ctx, workshop, bolt)
	})
}

// RemoveBolt removes a bolt that was received by mistake. Drafts that were to be cut from it are named
// in planned, and its cloth alone is planned again for them.
func (s *Service) RemoveBolt(ctx context.Context, workshop, bolt int64) (planned []string, err error) {
	row, err := s.Bolt(ctx, workshop, bolt)
	if err != nil {
		return nil, err
	}
	open, err := s.store.OpenPlans(ctx, workshop)
	if err != nil {
		return nil, err
	}
	if err := s.store.RemoveBolt(ctx, workshop, bolt); err != nil {
		return nil, err
	}
	for _, o := range open {
		if o.State != store.BatchDraft || !cutsFrom(o.Plan, bolt) {
			continue
		}
		planned = append(planned, o.Name)
		if _, err := s.PlanAgain(ctx, workshop, o.BatchID, row.ClothID); err != nil {
			return planned, err
		}
	}
	return planned, nil
}

// cutsFrom reports whether a plan cuts anything from a bolt.
func cutsFrom(plan batch.Plan, bolt int64) bool {
	return slices.ContainsFunc(plan.Cloths, func(c batch.ClothPlan) bool {
		return slices.ContainsFunc(c.Plan.Uses, func(u lay.BoltUse) bool { return c.Problem.Bolts[u.Bolt].ID == bolt })
	})
}

// BoltName is a free name for a new bolt of a cloth: its first letter and the next number.
func BoltName(cloth string, taken []string) string {
	letter := "B"
	for _, r := range cloth {
		if unicode.IsLetter(r) {
			letter = strings.ToUpper(string(r))
			break
		}
	}
	for n := 1; ; n++ {
		name := fmt.Sprint(letter, n)
		if !slices.ContainsFunc(taken, func(t string) bool { return strings.EqualFold(t, name) }) {
			return name
		}
	}
}

// BatchNeed is what one batch needs of something to buy.
type BatchNeed struct {
	BatchID int64
	Batch   string
	// Length of cloth.
	Length length.Length
}

// ClothToBuy is a cloth on the shopping list.
type ClothToBuy struct {
	Cloth store.Cloth
	// Width is the usable width that it is planned for.
	Width length.Length
	// For says how much each batch needs, Buy is all of it, rounded up to the shop's step.
	For []BatchNeed
	Buy length.Length
	// Cost is what it takes at the cloth's price.
	Cost lay.Money
	// Alternatives are other widths; only where one batch needs it.
	Alternatives []batch.Alternative
	// LongestPly is the longest of the plies that are cut from it: a shorter piece holds none of
	// them. Unused are bolts on the shelf with cloth that these plans don't cut from.
	LongestPly length.Length
	Unused     []store.Bolt
}

// NotionToBuy is a notion on the shopping list.
type NotionToBuy struct {
	Notion store.Notion
	For    []BatchNeed
	// Count of rolls or packs.
	Count int
	Cost  lay.Money
}

// Clash is cloth on the shelf that drafts count on more than there is.
type Clash struct {
	Bolt    string
	Cloth   string
	Batches []string
	Short   length.Length
}

// ShoppingList is what all planned batches together still have to buy.
type ShoppingList struct {
	Cloths  []ClothToBuy
	Notions []NotionToBuy
	Clashes []Clash
}

// Empty reports whether nothing is to be bought.
func (l ShoppingList) Empty() bool { return len(l.Cloths)+len(l.Notions) == 0 }

// ShoppingList adds up what the planned batches that aren't cut yet have to buy: cloth by their
// plans, notions by what their plans take and what is on the shelf for them, the batch that starts
// first being served first. It is of one batch only if that isn't 0.
func (s *Service) ShoppingList(ctx context.Context, workshop, only int64) (ShoppingList, error) {
	all, err := s.stockOf(ctx, workshop)
	if err != nil {
		return ShoppingList{}, err
	}
	open, err := s.store.OpenPlans(ctx, workshop)
	if err != nil {
		return ShoppingList{}, err
	}
	var list ShoppingList
	free := freeNotions(all.Notions)
	wanted := map[int64]length.Length{}
	byBolt := map[int64][]string{}
	for _, o := range open {
		show := only == 0 || o.BatchID == only
		if o.State == store.BatchDraft {
			list.addCloths(all, o, show)
			for _, planned := range o.Plan.Cloths {
				for _, use := range planned.Plan.Uses {
					id := planned.Problem.Bolts[use.Bolt].ID
					wanted[id] += use.Used
					byBolt[id] = append(byBolt[id], o.Name)
				}
			}
		}
		held, taken, err := s.heldNotions(ctx, workshop, o)
		if err != nil {
			return list, err
		}
		for _, n := range o.Plan.Notions {
			if taken[n.Notion.ID] {
				continue
			}
			if count := free.missing(n, held[n.Notion.ID]); count > 0 && show {
				list.addNotion(all, o, n.Notion.ID, count)
			}
		}
	}
	for i := range list.Cloths {
		list.Cloths[i].sum(all.input.Workroom.BuyStep)
	}
	list.addClashes(all, wanted, byBolt)
	if only != 0 {
		at := slices.IndexFunc(open, func(o store.OpenPlan) bool { return o.BatchID == only })
		list.Clashes = slices.DeleteFunc(list.Clashes, func(c Clash) bool { return at < 0 || !slices.Contains(c.Batches, open[at].Name) })
	}
	return list, nil
}

func (l *ShoppingList) addCloths(all stock, o store.OpenPlan, show bool) {
	for _, planned := range o.Plan.Cloths {
		for _, purchase := range planned.Plan.Purchases {
			at := slices.IndexFunc(l.Cloths, func(c ClothToBuy) bool { return c.Cloth.ID == planned.Cloth.ID })
			cloth := slices.IndexFunc(all.Cloths, func(c store.Cloth) bool { return c.ID == planned.Cloth.ID })
			if !show || cloth < 0 {
				continue
			}
			if at < 0 {
				at = len(l.Cloths)
				l.Cloths = append(l.Cloths, ClothToBuy{Cloth: all.Cloths[cloth], Width: planned.Problem.Rules.BuyWidth})
			}
			row := &l.Cloths[at]
			row.For = append(row.For, BatchNeed{o.BatchID, o.Name, purchase.Need})
			row.Alternatives = nil
			if len(row.For) == 1 {
				if line := slices.IndexFunc(o.Plan.Shopping, func(s batch.Shopping) bool { return s.Length > 0 && s.Name == planned.Cloth.Name }); line >= 0 {
					row.Alternatives = o.Plan.Shopping[line].Alternatives
				}
			}
			row.Cost = lay.Money(planned.Cloth.PricePerMetre)
			row.LongestPly = max(row.LongestPly, longestBought(planned))
			row.Unused = unusedBolts(all.Bolts, planned, row.Unused)
		}
	}
}

// longestBought is the longest ply of a cloth that is cut from cloth to buy.
func longestBought(planned batch.ClothPlan) length.Length {
	var longest length.Length
	for _, l := range planned.Plan.Lays {
		if slices.ContainsFunc(l.Draws, func(d lay.Draw) bool { return d.Bolt < 0 }) {
			longest = max(longest, l.PlyLength)
		}
	}
	return longest
}

// unusedBolts lists the free bolts of a cloth that came in after it was planned and aren't cut from.
func unusedBolts(bolts []store.Bolt, planned batch.ClothPlan, before []store.Bolt) []store.Bolt {
	var unused []store.Bolt
	for _, bolt := range bolts {
		known := slices.ContainsFunc(planned.Problem.Bolts, func(b lay.Bolt) bool { return b.ID == bolt.ID })
		if bolt.ClothID == planned.Cloth.ID && bolt.Free() > 0 && !known && !slices.ContainsFunc(before, func(b store.Bolt) bool { return b.ID == bolt.ID }) {
			unused = append(unused, bolt)
		}
	}
	return append(before, unused...)
}

// sum rounds what all batches need up to the shop's step, and prices it. Cost is the price of a
// metre before.
func (c *ClothToBuy) sum(step length.Length) {
	for _, need := range c.For {
		c.Buy += need.Length
	}
	c.Buy = c.Buy.RoundTo(step, length.Up)
	cost, err := length.Length(c.Cost).Scale(int64(c.Buy), int64(length.Metre), length.Nearest)
	c.Cost = lay.Money(cost)
	if err != nil {
		c.Cost = 0
	}
}

func (l *ShoppingList) addNotion(all stock, o store.OpenPlan, notion int64, count int) {
	from := slices.IndexFunc(all.Notions, func(n store.Notion) bool { return n.ID == notion })
	if from < 0 {
		return
	}
	at := slices.IndexFunc(l.Notions, func(n NotionToBuy) bool { return n.Notion.ID == notion })
	if at < 0 {
		at = len(l.Notions)
		l.Notions = append(l.Notions, NotionToBuy{Notion: all.Notions[from]})
	}
	row := &l.Notions[at]
	row.For = append(row.For, BatchNeed{BatchID: o.BatchID, Batch: o.Name})
	row.Count += count
	if price := slices.IndexFunc(all.input.Notions, func(n batch.Notion) bool { return n.ID == notion }); price >= 0 {
		row.Cost = all.input.Notions[price].BuyPrice * lay.Money(row.Count)
	}
}

func (l *ShoppingList) addClashes(all stock, wanted map[int64]length.Length, by map[int64][]string) {
	for _, bolt := range all.Bolts {
		if short := wanted[bolt.ID] - max(0, bolt.Free()); wanted[bolt.ID] > 0 && short > 0 && len(by[bolt.ID]) > 1 {
			l.Clashes = append(l.Clashes, Clash{Bolt: bolt.Name, Cloth: bolt.ClothName, Batches: by[bolt.ID], Short: short})
		}
	}
}

// heldNotions says what a released batch holds of each notion, and which it has taken already.
func (s *Service) heldNotions(ctx context.Context, workshop int64, o store.OpenPlan) (held map[int64][]store.NotionHold, taken map[int64]bool, err error) {
	held, taken = map[int64][]store.NotionHold{}, map[int64]bool{}
	if o.State == store.BatchDraft {
		return held, taken, nil
	}
	rows, err := s.store.BatchNotions(ctx, workshop, o.BatchID)
	if err != nil {
		return held, taken, err
	}
	for _, row := range rows {
		taken[row.NotionID] = row.TakenAt != nil
	}
	holds, err := s.store.HeldNotions(ctx, workshop, o.BatchID)
	for _, h := range holds {
		held[h.NotionID] = append(held[h.NotionID], h)
	}
	return held, taken, err
}

// notionStock is what of each notion no batch holds and none before has used.
type notionStock map[int64]*store.Notion

func freeNotions(notions []store.Notion) notionStock {
	free := notionStock{}
	for _, n := range notions {
		one := n.Free()
		one.Reserved = nil
		free[n.ID] = &one
	}
	return free
}

// missing uses up what is free for a plan's need of a notion, beside what the batch holds, and
// returns how many rolls or packs are to be bought.
func (f notionStock) missing(n batch.NotionPlan, held []store.NotionHold) int {
	free := f[n.Notion.ID]
	if free == nil {
		return 0
	}
	var holds int64
	for _, h := range held {
		if h.RollLength == 0 {
			holds += h.Amount
		}
	}
	switch n.Notion.Kind {
	case batch.FromRoll:
		if len(held) == 0 { // not released: the rolls on the shelf are not held yet
			for _, roll := range openedRolls(n, false) {
				free.Rolls = store.ChangeRolls(free.Rolls, []batch.Roll{{Length: roll.Length, Count: -min(roll.Count, countOf(free.Rolls, roll.Length))}})
			}
		}
		missing := 0
		for _, roll := range openedRolls(n, true) {
			there := min(roll.Count, countOf(free.Rolls, roll.Length))
			free.Rolls = store.ChangeRolls(free.Rolls, []batch.Roll{{Length: roll.Length, Count: -there}})
			missing += roll.Count - there
		}
		return missing
	case batch.ByLength:
		need := max(0, n.Length-length.Length(holds))
		there := min(need, inAll(free.Rolls))
		free.Rolls = store.ChangeRolls(free.Rolls, store.ShortestFirst(free.Rolls, there))
		if need == there || n.Notion.BuyLength <= 0 {
			return 0
		}
		return int((need - there + n.Notion.BuyLength - 1) / n.Notion.BuyLength)
	default:
		need := max(0, n.Count-int(holds))
		there := min(need, max(0, free.InStock))
		free.InStock -= there
		pack := max(1, n.Notion.BuyCount)
		return (need - there + pack - 1) / pack
	}
}

// NotionBought is what came in of a notion: so many rolls of a length, or pieces where that is 0.
type NotionBought struct {
	Notion int64
	Length length.Length
	Count  int
	// Price of a roll or pack, nil where it stays what it is.
	Price *money.Decimal
}

// ReceiveNotion puts rolls or pieces of a notion on the shelf; a negative count takes them off
// again, to undo it.
func (s *Service) ReceiveNotion(ctx context.Context, workshop int64, bought NotionBought) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		notions, err := tx.LockNotions(ctx, workshop, []int64{bought.Notion})
		if err != nil {
			return err
		}
		n, ok := notions[bought.Notion]
		if !ok {
			return notThere("notion")
		}
		gone := conflict("", "%s has been used since, so this can't be undone. Correct its stock on the Shelf instead.", n.Name)
		free := n.Free()
		if bought.Length > 0 {
			if bought.Count < 0 && countOf(free.Rolls, bought.Length) < -bought.Count {
				return gone
			}
			n.Rolls = store.ChangeRolls(n.Rolls, []batch.Roll{{Length: bought.Length, Count: bought.Count}})
		} else {
			if bought.Count < 0 && free.InStock < -bought.Count {
				return gone
			}
			n.InStock += bought.Count
		}
		if bought.Price != nil {
			n.BuyPrice = *bought.Price
		}
		return tx.SaveNotion(ctx, workshop, n)
	})
}

// Pieces is how many rolls, or pieces of what is counted, the packs to buy hold.
func (n NotionToBuy) Pieces() int {
	if n.Notion.Kind == batch.ByCount {
		return n.Count * max(1, n.Notion.BuyCount)
	}
	return n.Count
}
