package server_test

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"yardwright/exports"
	"yardwright/server/workshop"
)

// sentForm is an order form as a shop has it.
type sentForm struct {
	path    string
	content string
	form    exports.SentForm
}

// makeForm makes an order form of all colourways through the pages.
func (s site) makeForm(t *testing.T, customer string) sentForm {
	t.Helper()
	values := url.Values{"customer": {customer}, "title": {"=Spring line"}, "contact": {"orders@quillfen.example"}, "colourways": s.colourwayIDs(t)}
	values.Set("order_by", time.Now().AddDate(0, 1, 0).Format(time.DateOnly))
	text := s.post(t, "/order-forms", values, http.StatusOK)
	require.Contains(t, text, "Send the workbook to the shop")
	path := regexp.MustCompile(`/order-forms/[0-9]+/order-form\.xlsx`).FindString(text)
	content := s.get(t, path, http.StatusOK)
	require.Equal(t, content, s.get(t, path, http.StatusOK))
	form, err := exports.ReadOrderForm([]byte(content))
	require.NoError(t, err)
	return sentForm{path, content, form}
}

func (s site) colourwayIDs(t *testing.T) (ids []string) {
	t.Helper()
	ways, err := s.service.Colourways(t.Context(), s.id)
	require.NoError(t, err)
	for _, way := range ways {
		ids = append(ids, fmt.Sprint(way.ID))
	}
	return ids
}

// box finds the cell of a colourway's size.
func (f sentForm) box(t *testing.T, colourway, size string) string {
	t.Helper()
	for _, row := range f.form.Rows {
		for _, box := range row.Boxes {
			if row.Colourway.Text == colourway && box.Size.Text == size {
				return box.Cell
			}
		}
	}
	require.FailNow(t, "no box", "%s %s", colourway, size)
	return ""
}

// fill writes values into cells such as Order!C9.
func (f sentForm) fill(t *testing.T, values map[string]any) string {
	t.Helper()
	file, err := excelize.OpenReader(strings.NewReader(f.content))
	require.NoError(t, err)
	for at, value := range values {
		sheet, cell, _ := strings.Cut(at, "!")
		require.NoError(t, file.SetCellValue(sheet, cell, value))
	}
	var out bytes.Buffer
	require.NoError(t, file.Write(&out))
	return out.String()
}

func (s site) orders(t *testing.T) int {
	t.Helper()
	orders, err := s.service.Orders(t.Context(), s.id, "", 10_000)
	require.NoError(t, err)
	return len(orders)
}

func TestOrderFormFromShop(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	shop := regexp.MustCompile(`<option value="([0-9]+)">Lantern Street Shop`).FindStringSubmatch(s.get(t, "/order-forms", http.StatusOK))
	require.NotNil(t, shop)
	form := s.makeForm(t, shop[1])
	require.Equal(t, "Lantern Street Shop", form.form.Shop.Text)
	number := form.form.Number.Text
	require.Regexp(t, `^F[0-9]{4}-001$`, number)
	before := s.orders(t)
	due := time.Now().AddDate(0, 2, 0).Format(time.DateOnly)
	meadow, sparrow := form.box(t, "Meadow on slate", "98"), form.box(t, "Sparrow on moss", "104")

	// Every mistake is said by its cell, and nothing is taken.
	bad := form.fill(t, map[string]any{
		meadow: 2.5, sparrow: "two", form.box(t, "Meadow on slate", "104"): -1, form.box(t, "Meadow on slate", "110"): 10_001, form.form.WantedBy.Cell: "soon",
	})
	text, at := s.upload(t, "/order-forms/back", "form.xlsx", bad, http.StatusOK)
	for _, want := range []string{
		"<strong>" + meadow + "</strong>: 2.5 is not a whole number of garments.",
		"<strong>" + sparrow + "</strong>: “two” is not a number of garments.",
		"-1 is less than nothing", "10001 garments are more than one box may order; at most 10,000", "“soon” is not a day",
	} {
		require.Contains(t, text, want)
	}
	s.post(t, at, nil, http.StatusUnprocessableEntity)
	require.Equal(t, before, s.orders(t))

	// So are words that are too long to be kept.
	wordy := form.fill(t, map[string]any{
		meadow: 1, form.form.WantedBy.Cell: due, form.form.Reference.Cell: strings.Repeat("x", 81), form.form.ShipTo.Cell: strings.Repeat("y\n", 1001), form.form.Contact.Cell: "a\nb",
	})
	text, _ = s.upload(t, "/order-forms/back", "form.xlsx", wordy, http.StatusOK)
	require.Contains(t, text, "<strong>"+form.form.Reference.Cell+"</strong>: Write at most 80 letters.")
	require.Contains(t, text, "<strong>"+form.form.ShipTo.Cell+"</strong>: Write at most 1000 letters.")
	require.NotContains(t, text, "<strong>"+form.form.Contact.Cell)
	wordy = form.fill(t, map[string]any{meadow: 1, form.form.WantedBy.Cell: due, form.form.ShipTo.Cell: strings.Repeat("y\n", 300), form.form.Note.Cell: strings.Repeat("z", 600)})
	text, at = s.upload(t, "/order-forms/back", "form.xlsx", wordy, http.StatusOK)
	require.Contains(t, text, "<strong>"+form.form.Note.Cell+"</strong>: An order keeps a note of 1,000 letters")
	s.post(t, at, nil, http.StatusUnprocessableEntity)

	// A good one is looked at first, among orders from files too.
	good := form.fill(t, map[string]any{meadow: 3, sparrow: "12", form.form.WantedBy.Cell: due, form.form.Reference.Cell: "PO 7", form.form.ShipTo.Cell: "=1 Lantern Street"})
	text, at = s.upload(t, "/imports/orders", "form.xlsx", good, http.StatusOK)
	require.Regexp(t, "^/order-forms/back/", at)
	require.Contains(t, text, "One order of 15 garments for Lantern Street Shop, due")
	require.Equal(t, before, s.orders(t), "nothing is taken by looking")
	text = s.post(t, at, nil, http.StatusOK)
	require.Contains(t, text, "The order is taken from its form")
	require.Contains(t, text, "Their order number: PO 7")
	require.Contains(t, text, "Ship to: =1 Lantern Street")
	require.Regexp(t, `<b>\$[0-9.,]+</b><span>agreed in all`, text)
	require.Equal(t, before+1, s.orders(t))
	s.get(t, at, http.StatusNotFound)

	// The same form once more brings nothing; a changed one changes the order.
	text, at = s.upload(t, "/order-forms/back", "form.xlsx", good, http.StatusOK)
	require.Contains(t, text, "This form was taken already")
	require.Contains(t, text, "Nothing has changed since")
	require.NotContains(t, text, "<button>Take the order")
	s.post(t, at, nil, http.StatusOK)
	require.Equal(t, before+1, s.orders(t))
	text, at = s.upload(t, "/order-forms/back", "form.xlsx", form.fill(t, map[string]any{meadow: 4, sparrow: "12", form.form.WantedBy.Cell: due}), http.StatusOK)
	require.Contains(t, text, "This form was taken already")
	require.Contains(t, text, "no second order is made")
	text = s.post(t, at, nil, http.StatusOK)
	require.Contains(t, text, "<dd>16</dd>")
	require.Equal(t, before+1, s.orders(t))

	// An order that a batch cuts isn't changed by a form.
	s.planAll(t)
	text, at = s.upload(t, "/order-forms/back", "form.xlsx", good, http.StatusOK)
	require.Contains(t, text, "which is in a batch, so it doesn&#39;t change any more")
	s.post(t, at, nil, http.StatusUnprocessableEntity)
	require.Contains(t, s.get(t, strings.TrimSuffix(form.path, "/order-form.xlsx"), http.StatusOK), "for Lantern Street Shop, 16 garments")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// A form for any shop brings one order for each that sends it back, and adds shops that are new.
func TestOrderFormForAnyShop(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	form := s.makeForm(t, "0")
	before := s.orders(t)
	box := form.box(t, "Meadow on slate", "98")
	text, at := s.upload(t, "/order-forms/back", "form.xlsx", form.fill(t, map[string]any{box: 5}), http.StatusOK)
	require.Contains(t, text, "The form doesn&#39;t say which shop orders")
	require.Contains(t, text, "The form doesn&#39;t say when the goods are wanted")
	due := time.Now().AddDate(0, 2, 0).Format(time.DateOnly)
	shop := regexp.MustCompile(`<option value="([0-9]+)">Lantern Street Shop`).FindStringSubmatch(text)[1]
	text = s.get(t, at+"?customer="+shop+"&due_on="+due, http.StatusOK)
	require.Contains(t, text, "One order of 5 garments for Lantern Street Shop")
	s.post(t, at, url.Values{"customer": {shop}, "due_on": {due}}, http.StatusOK)
	require.Equal(t, before+1, s.orders(t))

	text, at = s.upload(t, "/order-forms/back", "form.xlsx", form.fill(t, map[string]any{box: 6, form.form.Shop.Cell: "Harbour Row", form.form.WantedBy.Cell: due}), http.StatusOK)
	require.Contains(t, text, "for Harbour Row, a new shop")
	require.Contains(t, text, "of Lantern Street Shop as well")
	require.Contains(t, s.post(t, at, url.Values{"customer": {"new"}, "due_on": {due}}, http.StatusOK), "Harbour Row")
	require.Equal(t, before+2, s.orders(t))
	text, _ = s.upload(t, "/order-forms/back", "form.xlsx", form.fill(t, map[string]any{form.form.Shop.Cell: "harbour row", form.form.WantedBy.Cell: due}), http.StatusOK)
	require.Contains(t, text, "No box is filled in")
}

// What has changed since the form was sent is said: prices here, prices in the file, and what
// isn't made any more.
func TestOrderFormAfterChanges(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	form := s.makeForm(t, "0")
	due := time.Now().AddDate(0, 2, 0).Format(time.DateOnly)
	meadow, sparrow := form.box(t, "Meadow on slate", "98"), form.box(t, "Sparrow on moss", "104")
	price := ""
	for _, row := range form.form.Rows {
		for _, box := range row.Boxes {
			if box.Cell == meadow {
				price = box.Price.Cell
			}
		}
	}
	_, err := s.pool.Exec(t.Context(), `UPDATE cloths SET price = price * 2`)
	require.NoError(t, err)
	_, err = s.pool.Exec(t.Context(), `DELETE FROM order_lines WHERE colourway_id IN (SELECT id FROM colourways WHERE name = 'Sparrow on moss')`)
	require.NoError(t, err)
	_, err = s.pool.Exec(t.Context(), `DELETE FROM colourways WHERE name = 'Sparrow on moss'`)
	require.NoError(t, err)
	filled := form.fill(t, map[string]any{meadow: 2, sparrow: 3, price: 1.5, form.form.Shop.Cell: "Lantern Street Shop", form.form.WantedBy.Cell: due})
	text, at := s.upload(t, "/order-forms/back", "form.xlsx", filled, http.StatusOK)
	require.Contains(t, text, "<strong>"+sparrow+"</strong>: 3 × Puddle skirt, Sparrow on moss, size 104: we don&#39;t make this any more.")
	require.Contains(t, text, "<strong>"+price+"</strong>: The price was changed to “1.5” after we sent the form.")
	require.Regexp(t, "<strong>"+meadow+`</strong>: Puddle skirt, Meadow on slate, size 98: the form&#39;s price of \$[0-9.]+ counts; today we ask \$[0-9.]+\.`, text)
	require.Contains(t, text, "One order of 2 garments")
	require.Contains(t, s.post(t, at, nil, http.StatusOK), "<dd>2</dd>")
}

func TestFilesThatAreNoOrderForms(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	form := s.makeForm(t, "0")
	other := form.fill(t, map[string]any{form.form.Number.Cell: "F1999-123"})
	text, at := s.upload(t, "/order-forms/back", "form.xlsx", other, http.StatusOK)
	require.Contains(t, text, "There is no order form of the number “F1999-123” here")
	s.post(t, at, nil, http.StatusUnprocessableEntity)
	moved := form.fill(t, map[string]any{form.form.Rows[0].Colourway.Cell: "Another one"})
	text, _ = s.upload(t, "/order-forms/back", "form.xlsx", moved, http.StatusOK)
	require.Contains(t, text, "Has a row been moved?")
	for name, want := range map[string]string{
		"a,b\n": "This is no workbook", "PK\x03\x04": "can&#39;t be read as a workbook", "\xD0\xCF\x11\xE0": "old format, or locked",
		"PK\x03\x04" + strings.Repeat("x", 11<<20): "at most 10 MB are read",
	} {
		text, _ := s.upload(t, "/order-forms/back", "form.xlsx", name, http.StatusUnprocessableEntity)
		require.Contains(t, text, want)
	}
	require.Contains(t, s.post(t, "/order-forms/back", nil, http.StatusUnprocessableEntity), "Choose a file")
	require.Contains(t, s.post(t, "/order-forms", url.Values{"customer": {"0"}}, http.StatusUnprocessableEntity), "Choose at least one colourway")
	past := url.Values{"colourways": s.colourwayIDs(t)[:1], "order_by": {"2001-01-01"}}
	require.Contains(t, s.post(t, "/order-forms", past, http.StatusUnprocessableEntity), "This day has passed")
	s.get(t, "/order-forms/99", http.StatusNotFound)
	s.get(t, "/order-forms/back/99", http.StatusNotFound)
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// TestOrderFormTakenAtOnce: however many take the same form at the same moment, there is one order.
func TestOrderFormTakenAtOnce(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	form := s.makeForm(t, "0")
	before := s.orders(t)
	filled := form.fill(t, map[string]any{
		form.box(t, "Meadow on slate", "98"): 2, form.form.Shop.Cell: "Lantern Street Shop", form.form.WantedBy.Cell: time.Now().AddDate(0, 2, 0).Format(time.DateOnly),
	})
	var wait sync.WaitGroup
	for range 6 {
		draft, err := s.service.KeepOrderForm(t.Context(), s.id, "form.xlsx", strings.NewReader(filled))
		require.NoError(t, err)
		wait.Go(func() {
			_, err := s.service.TakeOrderForm(t.Context(), s.id, draft, workshop.FormChoice{})
			if err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	require.Equal(t, before+1, s.orders(t))
}

// edited is the form after a change with a spreadsheet.
func (f sentForm) edited(t *testing.T, change func(file *excelize.File)) string {
	t.Helper()
	file, err := excelize.OpenReader(strings.NewReader(f.content))
	require.NoError(t, err)
	change(file)
	var out bytes.Buffer
	require.NoError(t, file.Write(&out))
	return out.String()
}

// Nothing of a form is taken silently short: what its own totals say, and the rows that were sent,
// are held against what was read, and everything missing, added or unread is named.
func TestAnOrderFormIsNeverTakenSilentlyShort(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	form := s.makeForm(t, "0")
	before := s.orders(t)
	due := time.Now().AddDate(0, 2, 0).Format(time.DateOnly)
	box := form.box(t, "Meadow on slate", "98")
	set := func(file *excelize.File, at string, value any) {
		sheet, cell, _ := strings.Cut(at, "!")
		require.NoError(t, file.SetCellValue(sheet, cell, value))
	}
	ordered := func(file *excelize.File) {
		set(file, box, 6)
		set(file, form.form.WantedBy.Cell, due)
		set(file, form.form.Shop.Cell, "Lantern Street Shop")
	}
	// beside is the first cell after the sizes of a row that has fewer than the form is wide.
	var beside exports.SentBox
	for _, row := range form.form.Rows {
		if last := row.Boxes[len(row.Boxes)-1]; beside.Cell == "" && last.Cell[6:7] != row.Count.Cell[6:7] {
			column := string(rune(last.Cell[6] + 1))
			if column != row.Count.Cell[6:7] {
				beside.Cell = "Order!" + column + last.Cell[7:]
			}
		}
	}
	require.NotEmpty(t, beside.Cell)
	firstRow := form.form.Rows[0]
	rowOf := func(at string) int {
		_, row, err := excelize.CellNameToCoordinates(strings.TrimPrefix(at, "Order!"))
		require.NoError(t, err)
		return row
	}
	for _, test := range []struct {
		name   string
		change func(file *excelize.File)
		says   []string
	}{
		{"five in a column without a size", func(file *excelize.File) {
			set(file, beside.Cell, 5)
			set(file, form.form.Garments.Cell, 11)
		}, []string{"<strong>" + beside.Cell + "</strong>: “5” was not read", "The form counts 11 garments in all; we read 6."}},
		{"a row that counts more", func(file *excelize.File) { set(file, firstRow.Count.Cell, 9) }, []string{"Row 1 counts 9 garments itself"}},
		{"a row that comes to more", func(file *excelize.File) { set(file, firstRow.Amount.Cell, 9999) }, []string{"Row 1 comes to $9,999.00 itself"}},
		{"a row taken away", func(file *excelize.File) {
			require.NoError(t, file.RemoveRow("Order", rowOf(firstRow.Cell)))
		}, []string{"The form that we sent has row 1, ", firstRow.Colourway.Text + ": it did not come back."}},
		{"a size without its heading", func(file *excelize.File) { set(file, form.form.Rows[len(form.form.Rows)-1].Boxes[0].Size.Cell, "") }, []string{
			" size " + form.form.Rows[len(form.form.Rows)-1].Boxes[0].Size.Text + ": it did not come back.",
		}},
		{"a row of their own", func(file *excelize.File) {
			last := rowOf(form.form.Rows[len(form.form.Rows)-1].Cell)
			require.NoError(t, file.InsertRows("Order", last+1, 1))
			set(file, fmt.Sprintf("Order!B%d", last+1), "and five in yellow")
			set(file, fmt.Sprintf("Order!C%d", last+1), 5)
		}, []string{"“and five in yellow” was not read", "“5” was not read"}},
		{"a number that is gone", func(file *excelize.File) { set(file, firstRow.Cell, "") }, []string{"has row 1, ", "was not read"}},
		{"another sheet", func(file *excelize.File) {
			_, err := file.NewSheet("Order (2)")
			require.NoError(t, err)
			set(file, "Order (2)!C9", 5)
		}, []string{"<strong>Order (2)</strong>: “the sheet Order (2)” was not read"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			content := form.edited(t, func(file *excelize.File) {
				ordered(file)
				test.change(file)
			})
			text, at := s.upload(t, "/order-forms/back", "form.xlsx", content, http.StatusOK)
			require.Contains(t, text, "Not all of the form came back as we sent it")
			for _, want := range test.says {
				require.Contains(t, text, want)
			}
			s.post(t, at, url.Values{"due_on": {due}}, http.StatusUnprocessableEntity)
			require.Equal(t, before, s.orders(t), "nothing is taken without a word")
		})
	}

	// As it is, there is no doubt; and what the maker has asked about is taken.
	text, _ := s.upload(t, "/order-forms/back", "form.xlsx", form.edited(t, ordered), http.StatusOK)
	require.NotContains(t, text, "Not all of the form")
	_, at := s.upload(t, "/order-forms/back", "form.xlsx", form.edited(t, func(file *excelize.File) {
		ordered(file)
		set(file, beside.Cell, 5)
	}), http.StatusOK)
	s.post(t, at, url.Values{"due_on": {due}, "checked": {"yes"}}, http.StatusOK)
	require.Equal(t, before+1, s.orders(t))
}

// A day that may be two is asked about; one that can only be one is taken.
func TestADayOnAnOrderFormThatMayBeTwo(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	form := s.makeForm(t, "0")
	year := time.Now().Year() + 1
	for _, test := range []struct{ typed, asks, due string }{
		{fmt.Sprintf("01/02/%d", year), fmt.Sprintf("may be 1 February %d or 2 January %d", year, year), ""},
		{fmt.Sprintf("13/02/%d", year), "", fmt.Sprintf("%d-02-13", year)},
		{fmt.Sprintf("02/13/%d", year), "", fmt.Sprintf("%d-02-13", year)},
		{fmt.Sprintf("01.02.%d", year), "", fmt.Sprintf("%d-02-01", year)},
		{fmt.Sprintf("03/03/%d", year), "", fmt.Sprintf("%d-03-03", year)},
	} {
		content := form.fill(t, map[string]any{form.box(t, "Meadow on slate", "98"): 2, form.form.Shop.Cell: "Lantern Street Shop", form.form.WantedBy.Cell: test.typed})
		text, at := s.upload(t, "/order-forms/back", "form.xlsx", content, http.StatusOK)
		if test.asks == "" {
			require.Contains(t, text, `name="due_on" value="`+test.due+`"`, test.typed)
			require.NotContains(t, text, "Which day is meant?", test.typed)
			continue
		}
		require.Contains(t, text, test.asks)
		s.post(t, at, url.Values{}, http.StatusUnprocessableEntity)
		require.Contains(t, text, fmt.Sprintf(`<button class="plain" name="due_on" value="%d-01-02">2 January %d</button>`, year, year))
		text = s.get(t, fmt.Sprintf("%s?customer=0&due_on=%d-01-02", at, year), http.StatusOK)
		require.NotContains(t, text, "Which day is meant?")
		require.Contains(t, text, "This would be taken")
	}
}
