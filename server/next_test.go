package server

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/server/page"
	"yardwright/server/store"
	"yardwright/server/workshop"
)

func TestWhatComesNextOfDraftsAndMadeOrders(t *testing.T) {
	t.Parallel()
	today := time.Date(2030, 5, 6, 0, 0, 0, 0, time.UTC)
	planned := []store.PlannedWork{{BatchID: 3, Name: "In work", State: "being cut"}, {BatchID: 4, Name: "Spring", State: "draft"}, {BatchID: 5, Name: "Summer", State: "draft"}}
	made := func(due time.Time) page.Today {
		return page.Today{Base: page.Base{Today: today}, Due: []store.Order{
			{ID: 1, Number: "A-1", CustomerName: "Fair", State: "open", DueOn: today.AddDate(0, 0, -9)},
			{ID: 2, Number: "A-2", CustomerName: "Shop", State: workshop.StateMade, DueOn: due},
		}}
	}
	for _, test := range []struct {
		name string
		view page.Today
		next func(page.Today) (page.Step, bool)
		text string
		link string
	}{
		{"made and late", made(today.AddDate(0, 0, -2)), handOver, "Order A-2 for Shop is made and due since Sat, 4 May 2030: hand it over.", "/orders/2"},
		{"made and due today", made(today), handOver, "Order A-2 for Shop is made and due today: hand it over.", "/orders/2"},
		{"made, due tomorrow", made(today.AddDate(0, 0, 1)), handOver, "", ""},
		{"made, due tomorrow, and nothing else to do", made(today.AddDate(0, 0, 1)), handOverEarly, "Order A-2 for Shop is made and due tomorrow: hand it over.", "/orders/2"},
		{"nothing short", page.Today{Load: workshop.Load{Planned: planned}}, withDraft, "The plan of Spring is ready. Look it over, then start cutting.", "/batches/4"},
		{
			"one cloth short",
			page.Today{Load: workshop.Load{Planned: planned, Short: []workshop.Short{{BatchID: 4}, {BatchID: 5}}}},
			withDraft,
			"Spring is planned; buy 1 cloth for it first. Enter what you got on its page, and the plan takes it as it stands.", "/batches/4",
		},
		{
			"two cloths short",
			page.Today{Load: workshop.Load{Planned: planned, Short: []workshop.Short{{BatchID: 4}, {BatchID: 4}}}},
			withDraft,
			"Spring is planned; buy 2 cloths for it first. Enter what you got on its page, and the plan takes it as it stands.", "/batches/4",
		},
		{"not planned yet", page.Today{Batches: []store.Batch{{ID: 8, Name: "Old", State: "done"}, {ID: 9, Name: "Autumn", State: "draft"}}}, withDraft, "The batch Autumn isn't planned yet.", "/batches/9"},
		{"no draft", page.Today{Load: workshop.Load{Planned: planned[:1]}}, withDraft, "", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			step, ok := test.next(test.view)
			require.Equal(t, test.text != "", ok)
			require.Equal(t, test.text, step.Text)
			require.Equal(t, test.link, step.Link)
		})
	}
	require.Equal(t, []string{"", " 1 order is late.", " 3 orders are late."}, []string{lateOrders(0), lateOrders(1), lateOrders(3)})
}
