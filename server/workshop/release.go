package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/marker"
	"yardwright/server/store"
)

// conflict is a refusal because of how things stand, in words for the maker.
func conflict(field, message string, args ...any) *store.Fault {
	return &store.Fault{Kind: store.Conflict, Problems: []store.Problem{{Field: field, Message: fmt.Sprintf(message, args...)}}}
}

// ClothField names a cloth among the fields of a batch, and its place on the page.
func ClothField(cloth int64) string { return fmt.Sprintf("cloth-%d", cloth) }

// Release holds the cloth and the notions of a batch's plan for it, in one transaction; from
// then on neither its orders nor its plan change. Version and plan are those that the maker
// looked at. Cloth that is still to be bought, or not free any more, is a refusal that says
// how much is missing and what to do. Notions still to be bought are no hindrance to cutting:
// what there is of them is held.
func (s *Service) Release(ctx context.Context, workshop, batchID int64, version int, plan int64) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		row, err := lockedDraft(ctx, tx, workshop, batchID, version)
		if err != nil {
			return err
		}
		made, err := releasablePlan(ctx, tx, workshop, row, plan)
		if err != nil {
			return err
		}
		w, err := tx.Workshop(ctx, workshop)
		if err != nil {
			return err
		}
		notions, err := tx.LockNotions(ctx, workshop, notionsOf(*made))
		if err != nil {
			return err
		}
		release := releaseOf(plan, *made, notions, Style(w))
		bolts, err := tx.LockBolts(ctx, workshop, boltsOf(release.Lays))
		if err != nil {
			return err
		}
		faults, err := tx.BoltFaults(ctx, workshop)
		if err != nil {
			return err
		}
		problems, err := inTheWay(ctx, tx, w, *made, release, notions, bolts, faults)
		if err != nil {
			return err
		}
		if len(problems) > 0 {
			return &store.Fault{Kind: store.Conflict, Problems: problems}
		}
		return tx.Hold(ctx, workshop, batchID, release)
	})
}

// ReleaseProblems says what stands in the way of releasing a draft by the plan that it has: the
// same that Release would say, without changing or locking anything. Nothing means that Release
// would succeed now.
func (s *Service) ReleaseProblems(ctx context.Context, w store.Workshop, made batch.Plan) ([]store.Problem, error) {
	whole, err := s.Whole(ctx, w.ID)
	if err != nil {
		return nil, err
	}
	notions := map[int64]store.Notion{}
	for _, n := range whole.Notions {
		notions[n.ID] = n
	}
	problems, err := inTheWay(ctx, s.store, w, made, releaseOf(0, made, notions, Style(w)), notions, whole.Bolts, whole.Faults)
	return append(uncutProblems(made), problems...), err
}

// releaseOf is what a plan holds from its release on.
func releaseOf(plan int64, made batch.Plan, notions map[int64]store.Notion, write length.Style) store.Release {
	release := store.Release{Plan: plan, Lays: releaseLays(made), Notions: notionsOf(made)}
	for _, bundle := range made.Bundles {
		release.Bundles = append(release.Bundles, bundle.Number)
	}
	for _, n := range made.Notions {
		holds, _ := notionHolds(n, notions[n.Notion.ID].Free(), write)
		release.Holds = append(release.Holds, holds...)
	}
	return release
}

func notionsOf(made batch.Plan) []int64 {
	var ids []int64
	for _, n := range made.Notions {
		ids = append(ids, n.Notion.ID)
	}
	return ids
}

// boltsOf lists the bolts that lays are cut from.
func boltsOf(lays []store.ReleaseLay) []int64 {
	var ids []int64
	for _, l := range lays {
		for _, d := range l.Draws {
			if !slices.Contains(ids, d.Bolt) {
				ids = append(ids, d.Bolt)
			}
		}
	}
	return ids
}

// inTheWay lists what of the shelf stands in the way of a release.
func inTheWay(ctx context.Context, st *store.Store, w store.Workshop, made batch.Plan, release store.Release, notions map[int64]store.Notion, bolts []store.Bolt, faults []store.BoltFault) ([]store.Problem, error) {
	problems, err := clothShort(ctx, st, w, made, release.Lays, bolts, faults)
	for _, n := range made.Notions {
		if _, short := notionHolds(n, notions[n.Notion.ID].Free(), Style(w)); short != "" {
			problems = append(problems, store.Problem{Field: NotionField(n.Notion.ID), Message: short})
		}
	}
	return problems, err
}

// lockedDraft locks a batch that is to be changed, and tells the second of two people.
func lockedDraft(ctx context.Context, tx *store.Store, workshop, batchID int64, version int) (store.Batch, error) {
	row, err := tx.LockBatch(ctx, workshop, batchID)
	switch {
	case err != nil:
		return row, err
	case !row.Draft():
		return row, conflict("", "This batch is not in planning any more: it is %s. Reload the page.", store.BatchStateWords(row.State))
	case row.Version != version:
		return row, conflict("", "Someone else has changed this batch in the meantime. Reload the page and try again.")
	}
	return row, nil
}

// releasablePlan returns the plan that holds if it is the one that the maker looked at and if
// it cuts all that the batch wants.
func releasablePlan(ctx context.Context, tx *store.Store, workshop int64, row store.Batch, looked int64) (*batch.Plan, error) {
	newest, err := tx.LatestPlan(ctx, workshop, row.ID)
	if err != nil {
		return nil, err
	}
	if newest != nil && !newest.Finished() && !newest.Quiet {
		return nil, conflict("", "This batch is being planned just now. Wait until that is done, or stop it, then start cutting.")
	}
	id, made, err := tx.HeldPlan(ctx, workshop, row.ID)
	switch {
	case err != nil:
		return nil, err
	case made == nil:
		return nil, conflict("", "Plan this batch first; only then is it known which cloth it takes.")
	case id != looked:
		return nil, conflict("", "A different plan is chosen now. Check it first, then start cutting.")
	}
	lines, err := tx.BatchLines(ctx, workshop, row.ID)
	if err != nil {
		return nil, err
	}
	if !SameLines(made.Lines, lines) {
		return nil, conflict("", "The orders of this batch have changed since it was planned. Plan again, then start cutting.")
	}
	if problems := uncutProblems(*made); len(problems) > 0 {
		return nil, &store.Fault{Kind: store.Conflict, Problems: problems}
	}
	return made, nil
}

func uncutProblems(made batch.Plan) []store.Problem {
	var problems []store.Problem
	for _, uncut := range made.Uncut {
		problems = append(problems, store.Problem{Message: fmt.Sprintf("%d × %s can't be cut: %s. %s Or take the order out of this batch, and plan again.",
			uncut.Quantity, made.Garments[uncut.Garment].Name(), uncut.Reason, uncut.Remedy)})
	}
	return problems
}

// SameLines tells whether a plan is of the lines that its batch has.
func SameLines(planned, now []batch.Line) bool {
	key := func(l batch.Line) string { return fmt.Sprint(l.OrderLine, l.Colourway, l.Quantity, l.Size) }
	count := map[string]int{}
	for _, l := range planned {
		count[key(l)]++
	}
	for _, l := range now {
		count[key(l)]--
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}

// releaseLays says what each lay takes from each bolt. What is skipped before a ply, because
// of a fault or to meet the print, counts to the lay of that ply, so that the lays together
// take what the plan takes.
func releaseLays(plan batch.Plan) []store.ReleaseLay {
	var lays []store.ReleaseLay
	for c, planned := range plan.Cloths {
		first := len(lays)
		for l := range planned.Plan.Lays {
			lays = append(lays, store.ReleaseLay{Cloth: c, Lay: l})
		}
		for bolt := range planned.Bolts {
			var at length.Length
			for _, part := range drawsOn(planned.Plan.Lays, bolt) {
				if part.end > at {
					addDraw(&lays[first+part.lay], planned.Bolts[bolt].ID, part.end-at)
					at = part.end
				}
			}
		}
	}
	return lays
}

func addDraw(l *store.ReleaseLay, bolt int64, taken length.Length) {
	for i := range l.Draws {
		if l.Draws[i].Bolt == bolt {
			l.Draws[i].Length += taken
			return
		}
	}
	l.Draws = append(l.Draws, store.ReleaseDraw{Bolt: bolt, Length: taken})
}

// stretch is where a lay's plies lie on a bolt.
type stretch struct {
	lay       int
	from, end length.Length
}

// drawsOn lists the plies that come from a bolt, from its free end on.
func drawsOn(lays []lay.Lay, bolt int) []stretch {
	var parts []stretch
	for i, l := range lays {
		for _, draw := range l.Draws {
			if draw.Bolt == bolt {
				parts = append(parts, stretch{lay: i, from: draw.From, end: draw.From + draw.Pitch*length.Length(draw.Plies-1) + l.PlyLength})
			}
		}
	}
	slices.SortFunc(parts, func(a, b stretch) int { return int(a.from - b.from) })
	return parts
}

// clothShort says what is missing on the shelf for a plan's lays.
func clothShort(ctx context.Context, tx *store.Store, w store.Workshop, plan batch.Plan, lays []store.ReleaseLay, bolts []store.Bolt, faults []store.BoltFault) ([]store.Problem, error) {
	need := map[int64]length.Length{}
	for _, l := range lays {
		for _, d := range l.Draws {
			need[d.Bolt] += d.Length
		}
	}
	var holds []store.BoltHold
	if slices.ContainsFunc(bolts, func(b store.Bolt) bool { return b.Free() < need[b.ID] }) {
		var err error
		if holds, err = tx.BoltHolds(ctx, w.ID, boltsOf(lays)); err != nil {
			return nil, err
		}
	}
	write := Style(w)
	var problems []store.Problem
	for _, planned := range plan.Cloths {
		say := func(message string, args ...any) {
			problems = append(problems, store.Problem{Field: ClothField(planned.Cloth.ID), Message: fmt.Sprintf(message, args...)})
		}
		for _, purchase := range planned.Plan.Purchases {
			say("%s: %s still to buy. Once you have it, enter it on the shopping list; or take an order out of this batch.",
				planned.Cloth.Name, write.Cloth(purchase.Buy, length.Up))
		}
		for _, was := range planned.Bolts {
			if need[was.ID] == 0 {
				continue
			}
			now := slices.IndexFunc(bolts, func(b store.Bolt) bool { return b.ID == was.ID })
			switch {
			case now < 0:
				say("Bolt %s is no longer on the shelf. Plan %s again.", was.Name, planned.Cloth.Name)
			case bolts[now].Free() < need[was.ID]:
				say("%s: the plan takes %s of bolt %s, and only %s are free now%s: %s are missing. Plan %s again, or undo the other batch.",
					planned.Cloth.Name, write.Cloth(need[was.ID], length.Up), was.Name, write.Cloth(max(0, bolts[now].Free()), length.Down), heldBy(write, holds, was.ID),
					write.Cloth(need[was.ID]-max(0, bolts[now].Free()), length.Up), planned.Cloth.Name)
			case !sameBolt(was, bolts[now], faultsOf(faults, was.ID)):
				say("Bolt %s has another width or other faults than when this was planned. Plan %s again.", was.Name, planned.Cloth.Name)
			}
		}
	}
	return problems, nil
}

// heldBy names the batches that hold a bolt.
func heldBy(write length.Style, holds []store.BoltHold, bolt int64) string {
	var parts []string
	for _, h := range holds {
		if h.BoltID == bolt {
			parts = append(parts, fmt.Sprintf("%s has reserved %s", h.BatchName, write.Cloth(h.Length, length.Up)))
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return " (" + strings.Join(parts, ", ") + ")"
}

func faultsOf(all []store.BoltFault, bolt int64) []marker.Fault {
	var faults []marker.Fault
	for _, f := range all {
		if f.BoltID == bolt {
			faults = append(faults, toFault(f))
		}
	}
	return faults
}

func sameBolt(was batch.Bolt, now store.Bolt, faults []marker.Fault) bool {
	width := length.Length(0)
	if now.FullWidth != nil {
		width = *now.FullWidth
	}
	return was.FullWidth == width && slices.Equal(was.Faults, faults)
}

// UndoRelease makes a draft of a batch again: what it held is free, and its orders and plan
// can change. Lays and notions that are ticked off have to be undone first.
func (s *Service) UndoRelease(ctx context.Context, workshop, batchID int64, version int) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		row, err := tx.LockBatch(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		lays, err := tx.BatchLays(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		notions, err := tx.BatchNotions(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		switch {
		case row.Draft():
			return conflict("", "This batch is back in planning already. Reload the page.")
		case slices.ContainsFunc(lays, func(l store.BatchLay) bool { return l.CutAt != nil }):
			return conflict("", "A lay of this batch is cut. Undo that at the lay first, then go back to planning.")
		case slices.ContainsFunc(notions, func(n store.BatchNotion) bool { return n.TakenAt != nil }):
			return conflict("", "A notion of this batch is taken from the shelf. Put it back first, then go back to planning.")
		case row.Version != version:
			return conflict("", "Someone else has changed this batch in the meantime. Reload the page and try again.")
		}
		return tx.LetGo(ctx, workshop, batchID)
	})
}

// LayCut is what a maker says of a lay that was cut.
type LayCut struct {
	Draw  int64
	Taken length.Length
	// Rest is what becomes of the end: one of store.RestStays, RestRemnant and RestThrown.
	Rest  string
	Place string
}

// shortEnd is up to what length an end is put to the remnants unless the maker says otherwise.
// Common practice, no source.
const shortEnd = 3 * length.Yard / 2

// UsualRest is what becomes of so much cloth at the end of a bolt unless the maker says
// otherwise.
func UsualRest(left, keep length.Length) string {
	switch {
	case left <= 0:
		return ""
	case left < keep:
		return store.RestThrown
	case left <= shortEnd:
		return store.RestRemnant
	}
	return store.RestStays
}

// CutLay marks a lay of a released batch as cut, with what was really taken from each bolt and
// what becomes of its end. Fields are "taken.N", "rest.N" and "place.N" by the number of the
// draw.
func (s *Service) CutLay(ctx context.Context, workshop, batchID, layID int64, said []LayCut) error {
	err := s.cutLay(ctx, workshop, batchID, layID, said)
	if err == nil {
		s.keepCostsOnceCut(ctx, workshop, batchID)
	}
	return err
}

func (s *Service) cutLay(ctx context.Context, workshop, batchID, layID int64, said []LayCut) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		l, name, err := lockedLay(ctx, tx, workshop, batchID, layID)
		if err != nil {
			return err
		}
		if l.CutAt != nil {
			return conflict("", "%s was marked as cut already. Reload the page.", name)
		}
		w, err := tx.Workshop(ctx, workshop)
		if err != nil {
			return err
		}
		var cuts []store.DrawCut
		var problems []store.Problem
		for _, draw := range l.Draws {
			at := slices.IndexFunc(said, func(c LayCut) bool { return c.Draw == draw.ID })
			if at < 0 {
				return conflict("", "%s has changed in the meantime. Reload the page.", name)
			}
			cut, wrong := checkCut(Style(w), draw, said[at])
			cuts, problems = append(cuts, cut), append(problems, wrong...)
		}
		if len(problems) > 0 {
			return &store.Fault{Kind: store.Invalid, Problems: problems}
		}
		return tx.CutLay(ctx, workshop, batchID, layID, name, cuts)
	})
}

// lockedLay locks a batch and the bolts of one of its lays, in this order, and names the lay.
func lockedLay(ctx context.Context, tx *store.Store, workshop, batchID, layID int64) (store.BatchLay, string, error) {
	row, err := tx.LockBatch(ctx, workshop, batchID)
	if err != nil {
		return store.BatchLay{}, "", err
	}
	if row.Draft() {
		return store.BatchLay{}, "", conflict("", "Cutting of this batch hasn't been started. Reload the page.")
	}
	find := func() (store.BatchLay, error) {
		lays, err := tx.BatchLays(ctx, workshop, batchID)
		at := slices.IndexFunc(lays, func(l store.BatchLay) bool { return l.ID == layID })
		if err != nil || at < 0 {
			return store.BatchLay{}, errorOr(err, notThere("lay"))
		}
		return lays[at], nil
	}
	l, err := find()
	if err != nil {
		return l, "", err
	}
	var bolts []int64
	for _, d := range l.Draws {
		bolts = append(bolts, d.BoltID)
	}
	if _, err := tx.LockBolts(ctx, workshop, bolts); err != nil {
		return l, "", err
	}
	if l, err = find(); err != nil { // what is on the bolts is only sure once they are locked
		return l, "", err
	}
	plan, err := tx.MadePlan(ctx, workshop, batchID)
	if err != nil {
		return l, "", err
	}
	return l, fmt.Sprintf("%s, lay %d", plan.Cloths[l.Cloth].Cloth.Name, l.Lay+1), nil
}

func errorOr(err, otherwise error) error {
	if err != nil {
		return err
	}
	return otherwise
}

// checkCut says what is wrong with what was taken from one bolt.
func checkCut(write length.Style, draw store.LayDraw, said LayCut) (store.DrawCut, []store.Problem) {
	cut := store.DrawCut{Draw: draw, Taken: said.Taken}
	at := func(field, message string, args ...any) (store.DrawCut, []store.Problem) {
		return cut, []store.Problem{{Field: fmt.Sprintf("%s.%d", field, draw.ID), Message: fmt.Sprintf(message, args...)}}
	}
	left := draw.OnBolt - said.Taken
	switch {
	case said.Taken <= 0:
		return at("taken", "Write how much cloth was taken from bolt %s.", draw.BoltName)
	case left < 0:
		return at("taken", "Only %s are on bolt %s. Check what you wrote, or correct the length of the bolt on the Shelf first.", write.Cloth(draw.OnBolt, length.Down), draw.BoltName)
	case left < draw.Others():
		return at("taken", "That would leave %s on bolt %s, and %s of it are held for other lays or batches. Check what you wrote, or undo what is held first.",
			write.Cloth(left, length.Down), draw.BoltName, write.Cloth(draw.Others(), length.Up))
	case left == 0 || draw.Others() > 0:
		return cut, nil
	}
	cut.Rest, cut.Place = said.Rest, strings.TrimSpace(said.Place)
	switch said.Rest {
	case store.RestStays, store.RestThrown:
	case store.RestRemnant:
		if cut.Place == "" {
			cut.Place = draw.Place // it stays where its bolt lies
		}
	default:
		return at("rest", "Choose what becomes of the end of bolt %s.", draw.BoltName)
	}
	return cut, nil
}

// UndoCut takes the tick of a lay back: the cloth is on its bolts again and held for the lay.
// It can't be done any more once something else has happened to a bolt, or a bundle with
// pieces of the lay is sewn.
func (s *Service) UndoCut(ctx context.Context, workshop, batchID, layID int64) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		l, name, err := lockedLay(ctx, tx, workshop, batchID, layID)
		if err != nil {
			return err
		}
		if l.CutAt == nil {
			return conflict("", "%s isn't marked as cut any more. Reload the page.", name)
		}
		plan, err := tx.MadePlan(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		bundles, err := tx.BatchBundles(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		for _, b := range bundles {
			if b.SewnAt != nil && slices.ContainsFunc(plan.Bundles, func(p batch.Bundle) bool { return p.Number == b.Number && comesFrom(p, l) }) {
				return conflict("", "Bundle %d has pieces of this lay and is sewn. Take that tick back first.", b.Number)
			}
		}
		if err := tx.LetGoCutCosts(ctx, workshop, batchID); err != nil {
			return err
		}
		return tx.UndoCut(ctx, workshop, batchID, l)
	})
}

func comesFrom(bundle batch.Bundle, l store.BatchLay) bool {
	return slices.ContainsFunc(bundle.Lays, func(from batch.BundleLay) bool { return from.Cloth == l.Cloth && from.Lay == l.Lay })
}

// SewBundles ticks bundles off as sewn. All lays that their pieces come from must be cut. The
// batch is done with its last bundle. It returns those that weren't ticked before.
func (s *Service) SewBundles(ctx context.Context, workshop, batchID int64, numbers []int) ([]int, error) {
	ticked, err := s.sewBundles(ctx, workshop, batchID, numbers)
	if err == nil {
		s.keepCostsOnceCut(ctx, workshop, batchID)
	}
	return ticked, err
}

func (s *Service) sewBundles(ctx context.Context, workshop, batchID int64, numbers []int) (ticked []int, err error) {
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		row, err := tx.LockBatch(ctx, workshop, batchID)
		switch {
		case err != nil:
			return err
		case row.Draft():
			return conflict("", "Cutting of this batch hasn't been started. Reload the page.")
		case len(numbers) == 0:
			return store.Wrong("bundles", "Tick the bundles that are sewn.")
		}
		plan, err := tx.MadePlan(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		lays, err := tx.BatchLays(ctx, workshop, batchID)
		if err != nil {
			return err
		}
		fault := &store.Fault{Kind: store.Invalid}
		for _, number := range numbers {
			at := slices.IndexFunc(plan.Bundles, func(b batch.Bundle) bool { return b.Number == number })
			if at < 0 {
				return notThere("bundle")
			}
			for _, l := range lays {
				if l.CutAt == nil && comesFrom(plan.Bundles[at], l) {
					fault.Problems = append(fault.Problems, store.Problem{Field: "bundles", Message: fmt.Sprintf(
						"Bundle %d needs %s, lay %d, which isn't marked as cut yet. Mark the lay first.", number, plan.Cloths[l.Cloth].Cloth.Name, l.Lay+1)})
				}
			}
		}
		if len(fault.Problems) > 0 {
			return fault
		}
		ticked, err = tx.SewBundles(ctx, workshop, batchID, numbers, true)
		return err
	})
	return ticked, err
}

// UnsewBundles takes the ticks of bundles back.
func (s *Service) UnsewBundles(ctx context.Context, workshop, batchID int64, numbers []int) error {
	return s.store.InTx(ctx, func(tx *store.Store) error {
		row, err := tx.LockBatch(ctx, workshop, batchID)
		if err != nil || row.Draft() {
			return errorOr(err, conflict("", "This batch is back in planning. Reload the page."))
		}
		_, err = tx.SewBundles(ctx, workshop, batchID, numbers, false)
		return err
	})
}
