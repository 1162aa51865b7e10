package page

import (
	"fmt"
	"slices"
	"strings"

	"yardwright/batch"
	"yardwright/batch/lay"
	"yardwright/batch/length"
	"yardwright/batch/words"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// Shopping is the shopping list of the workshop.
type Shopping struct {
	Base
	ToBuy workshop.ShoppingList
}

func (Shopping) page() string { return "shopping" }

// Back is the batch that the forms of the list lead back to; 0 for the list itself.
func (Shopping) Back() int64 { return 0 }

// Back is the batch that the forms of its shopping list lead back to.
func (b Batch) Back() int64 { return b.Batch.ID }

// BuyField names a box of a row of the shopping list: a part of it such as "length", and the number
// of the cloth or notion.
func BuyField(part string, id int64) string { return fmt.Sprintf("%s.%d", part, id) }

// listPage is the page that shows a row of the shopping list: that of a batch, or the list itself.
func listPage(back int64) string {
	if back == 0 {
		return "/shopping"
	}
	return fmt.Sprintf("/batches/%d", back)
}

// BoughtCloth is the form of a cloth on the shopping list that was bought.
func (b Base) BoughtCloth(row workshop.ClothToBuy, back int64) Form {
	name := func(part string) string { return BuyField(part, row.Cloth.ID) }
	return b.Form(listPage(back), fmt.Sprintf("/shopping/cloths/%d", row.Cloth.ID), 0, []Field{
		b.TextField(name("length"), "Length you got", "", b.LongInput(row.Buy)), b.NumberField(name("price"), "Price per "+row.Cloth.PriceUnit, "empty: as usual", ""),
		b.TextField(name("lot"), "Shade lot", "on the bolt's label, or a name of yours", ""), b.TextField(name("place"), "Place", "such as: shelf 2", ""),
		b.TextField(name("width"), "Full width", "", b.Input(row.Cloth.FullWidth)),
	}, []Field{{Name: "back", Kind: KindHidden, Value: fmt.Sprint(back)}})
}

// BoughtNotion is the form of a notion on the shopping list that was bought.
func (b Base) BoughtNotion(row workshop.NotionToBuy, back int64) Form {
	name := func(part string) string { return BuyField(part, row.Notion.ID) }
	got := []Field{b.WholeField(name("count"), "How many pieces", "", row.Pieces()), b.NumberField(name("price"), "Price of a pack", "empty: as usual", "")}
	if row.Notion.Kind != batch.ByCount {
		got[0].Label, got[1].Label = "How many rolls", "Price of a roll"
		got = slices.Insert(got, 1, b.TextField(name("length"), "Length of a roll", "", b.LongInput(row.Notion.BuyLength)))
	}
	return b.Form(listPage(back), fmt.Sprintf("/shopping/notions/%d", row.Notion.ID), 0, got, []Field{{Name: "back", Kind: KindHidden, Value: fmt.Sprint(back)}})
}

// Arrived says what cloth that came in does for the batches that were to buy it.
func Arrived(b Base, cloth string, got length.Length, settled []workshop.Settled) string {
	text := []string{cloth + " is on the shelf: " + b.ClothDown(got) + "."}
	again := false
	for _, one := range settled {
		switch {
		case one.Still == 0:
			text = append(text, one.Batch+" has all of it that it needs.")
		case one.Plies > 0:
			text = append(text, fmt.Sprintf("%s of %s %s cut from it; %s is still to buy.",
				words.Count(one.Plies, "ply", "plies"), one.Batch, words.Verb(one.Plies, "is", "are"), b.ClothUp(one.Still)))
		default:
			text = append(text, fmt.Sprintf("No ply of %s fits on it: the longest takes %s in one piece, %s wide.", one.Batch, b.ClothUp(one.LongestPly), b.Piece(one.Width)))
		}
		again = again || one.Still > 0
	}
	if again {
		text = append(text, "This cloth alone is being planned again, in case what is there will do.")
	}
	return strings.Join(text, " ")
}

// AtRow reports whether something is wrong in a row of the shopping list, so that its form stands
// open.
func (b Base) AtRow(id int64) bool {
	return slices.ContainsFunc(b.Problems, func(p Problem) bool { return strings.HasSuffix(p.Field, fmt.Sprintf(".%d", id)) })
}

// ToDo is what stands in the way of releasing a draft, and what comes next.
type ToDo struct {
	// Problems are all that Release would say now.
	Problems []store.Problem
	// Again are the cloths whose plan can't be carried out any more, to be planned again; Rolls
	// tells that only notions are to be.
	Again []ClothAgain
	Rolls bool
}

// ClothAgain is a cloth to plan again, and why.
type ClothAgain struct {
	ID   int64
	Name string
	Why  []string
}

// NewToDo sorts what stands in the way: cloth that is planned from what is no longer there, and
// rolls of notions. What is still to be bought is on the shopping list.
func NewToDo(problems []store.Problem, planned Planned) ToDo {
	todo := ToDo{Problems: problems}
	for _, p := range problems {
		at := slices.IndexFunc(planned.Plan.Cloths, func(c batch.ClothPlan) bool { return workshop.ClothField(c.Cloth.ID) == p.Field })
		switch {
		case at < 0:
			todo.Rolls = todo.Rolls || strings.HasPrefix(p.Field, "notion-")
		case len(planned.Plan.Cloths[at].Plan.Purchases) > 0:
		default:
			cloth := planned.Plan.Cloths[at].Cloth
			n := slices.IndexFunc(todo.Again, func(c ClothAgain) bool { return c.ID == cloth.ID })
			if n < 0 {
				n = len(todo.Again)
				todo.Again = append(todo.Again, ClothAgain{ID: cloth.ID, Name: cloth.Name})
			}
			todo.Again[n].Why = append(todo.Again[n].Why, p.Message)
		}
	}
	return todo
}

// Ready reports whether a release would succeed now.
func (t ToDo) Ready() bool { return len(t.Problems) == 0 }

// Newer is what the newest planning came to beside the plan that the batch had before it.
type Newer struct {
	Held, Made PlanColumn
	// Taken: the new plan has taken the place of the other one.
	Taken bool
}

// NewNewer compares the newest planning of a batch with the plan that it took the place of, or that
// is in use instead of it; nil where there is no other.
func NewNewer(view Planned, newest store.BatchPlan, kept []store.KeptPlan) *Newer {
	of := func(root int64) (store.KeptPlan, bool) {
		at := slices.IndexFunc(kept, func(k store.KeptPlan) bool { return k.Root() == root })
		if at < 0 {
			return store.KeptPlan{}, false
		}
		return kept[at], true
	}
	used := slices.IndexFunc(kept, func(k store.KeptPlan) bool { return k.ID == view.PlanID })
	made, ok := of(newest.ID)
	if used < 0 || !ok {
		return nil
	}
	if newest.ID != kept[used].Root() {
		if newest.ID < kept[used].Root() {
			return nil
		}
		return &Newer{Held: view.NewPlanColumn(kept[used]), Made: view.NewPlanColumn(made)}
	}
	if newest.InsteadOf == nil {
		return nil
	}
	before, ok := of(*newest.InsteadOf)
	if !ok {
		return nil
	}
	return &Newer{Held: view.NewPlanColumn(before), Made: view.NewPlanColumn(made), Taken: true}
}

// Other is the plan that isn't in use.
func (n Newer) Other() int64 {
	if n.Taken {
		return n.Held.ID
	}
	return n.Made.ID
}

// NewerOnPage is a newer plan with the page that it is on.
type NewerOnPage struct {
	Page  Batch
	Newer *Newer
}

// WithNewer joins a newer plan with the page.
func (b Batch) WithNewer(n *Newer) NewerOnPage { return NewerOnPage{b, n} }

// Saves is how much less the newer plan costs; below zero if it costs more.
func (n Newer) Saves() lay.Money { return n.Held.Cost - n.Made.Cost }

// Dearer is how much more the newer plan costs.
func (n Newer) Dearer() lay.Money { return n.Made.Cost - n.Held.Cost }

// ThingsToBuy counts the rows of the shopping list.
func (b Batch) ThingsToBuy() int { return len(b.ToBuy.Cloths) + len(b.ToBuy.Notions) }
