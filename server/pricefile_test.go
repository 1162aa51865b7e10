package server_test

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func (s site) priceLists(t *testing.T) int {
	t.Helper()
	lists, err := s.service.PriceLists(t.Context(), s.id)
	require.NoError(t, err)
	return len(lists)
}

func TestPricesComeFromATable(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	table := s.get(t, "/prices.csv", http.StatusOK)
	before := s.priceLists(t)
	rows := strings.Count(table, "\r\n") - 1

	// Our own table changes nothing, whatever is done with it on the way.
	for name, content := range map[string]string{
		"as it is":                        table,
		"semicolons and decimal commas":   regexp.MustCompile(`(\d)\.(\d)`).ReplaceAllString(strings.ReplaceAll(table, ",", ";"), "$1,$2"),
		"other headings, columns swapped": "Garment,Colour,Size,Sold through,x,y,Amount,Currency" + strings.TrimPrefix(table, "\ufeffstyle,colourway,size,channel,costs,floor,price,currency"),
	} {
		text, at := s.upload(t, "/imports/prices", "prices.csv", content, http.StatusOK)
		require.Contains(t, text, fmt.Sprintf("%d that are here already", rows), name)
		require.NotContains(t, text, "What would change", name)
		s.post(t, at, nil, http.StatusOK)
		require.Equal(t, before, s.priceLists(t), name)
	}

	// One changed price makes a new list of its channel alone, and is looked at first.
	line := regexp.MustCompile(`(?m)^(Puddle skirt,Meadow on slate,98,(Fair[^,]*)),([0-9.]+),([0-9.]+),([0-9.]+),USD`).FindStringSubmatch(table)
	require.NotNil(t, line)
	changed := strings.Replace(table, line[0], line[1]+","+line[3]+","+line[4]+",99.50,USD", 1)
	text, at := s.upload(t, "/imports/prices", "prices.csv", changed, http.StatusOK)
	require.Contains(t, text, "1 new price list, 1 changed price")
	require.Regexp(t, `: Puddle skirt, Meadow on slate, size 98 from \$[0-9.]+ \(worked out today\) to \$99\.50\.`, text)
	require.Equal(t, before, s.priceLists(t), "nothing is issued by looking")
	require.Contains(t, s.post(t, at, nil, http.StatusOK), "The prices of the file are taken")
	require.Equal(t, before+1, s.priceLists(t))
	lists, err := s.service.PriceLists(t.Context(), s.id)
	require.NoError(t, err)
	price, ok := lists[0].List.Price("Puddle skirt", "Meadow on slate", "98")
	require.True(t, ok)
	require.Equal(t, "99.5", price.Number().String())
	require.Equal(t, line[2], lists[0].Channel)

	// What goes to customers gives away no costs, and neither does its heading; the maker's own
	// table has them.
	forAll, own := s.get(t, fmt.Sprintf("/prices/lists/%d/prices.csv", lists[0].ID), http.StatusOK), s.get(t, fmt.Sprintf("/prices/lists/%d/with-costs.csv", lists[0].ID), http.StatusOK)
	require.Equal(t, "\ufeffstyle,colourway,size,channel,price,suggested,currency\r\n", forAll[:strings.Index(forAll, "\n")+1])
	require.Equal(t, len(lists[0].List.Lines())+1, strings.Count(forAll, "\r\n"))
	require.Contains(t, forAll, "Puddle skirt,Meadow on slate,98,"+line[2]+",99.5,,USD\r\n")
	require.Contains(t, own, "\ufeffstyle,colourway,size,channel,costs,floor,price,suggested,currency\r\n")
	for _, listed := range lists[0].List.Lines() {
		require.Contains(t, own, fmt.Sprintf(",%s,%s,%s,", listed.Cost.Number(), listed.Floor.Number(), listed.Price.Number()))
	}

	// The same file once more, and the issued list's own table, change nothing; one price alone
	// leaves the others as they are.
	listed := s.get(t, fmt.Sprintf("/prices/lists/%d/prices.csv", lists[0].ID), http.StatusOK)
	for _, content := range []string{changed, listed, table} {
		text, at := s.upload(t, "/imports/prices", "prices.csv", content, http.StatusOK)
		require.NotContains(t, text, "new price list", content[:60])
		s.post(t, at, nil, http.StatusOK)
		require.Equal(t, before+1, s.priceLists(t))
	}
	text, at = s.upload(t, "/imports/prices", "prices.csv", "style,colourway,size,channel,price\npuddle skirt,meadow on slate,98,"+line[2]+",0.50\n", http.StatusOK)
	require.Contains(t, text, "from $99.50 (on the newest list) to $0.50.")
	require.Regexp(t, `<strong>line 2, price</strong>: \$0\.50 is below the floor of \$[0-9.]+: every sale would cost you money`, text)
	s.post(t, at, nil, http.StatusOK)
	lists, err = s.service.PriceLists(t.Context(), s.id)
	require.NoError(t, err)
	require.Equal(t, lists[1].Revision+1, lists[0].Revision)
	require.Len(t, lists[0].List.Lines(), len(lists[1].List.Lines()))

	// Mistakes are said by line and column, and nothing is issued.
	text, at = s.upload(t, "/imports/prices", "prices.csv", "style,colourway,size,channel,price,currency\n"+
		"Puddle skirt,Meadow on slate,98,Moon,1,USD\nPuddle skirt,Nothing,98,"+line[2]+",1,USD\nPuddle skirt,Meadow on slate,1000,"+line[2]+",1,EUR\n"+
		"Puddle skirt,Meadow on slate,98,"+line[2]+",1.005,USD\nPuddle skirt,Meadow on slate,98,"+line[2]+",2,USD\n", http.StatusOK)
	for _, want := range []string{"line 2, channel", "line 3, colourway", "line 4, size", "line 4, currency", "line 5, price", "line 6, size"} {
		require.Contains(t, text, "<strong>"+want+"</strong>")
	}
	s.post(t, at, nil, http.StatusUnprocessableEntity)
	require.Equal(t, before+2, s.priceLists(t))
	require.NotContains(t, s.log.String(), "level=ERROR")
}
