package exports

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"yardwright/costing/money"
)

// sampleForm offers all starters, one of them in two colourways at the same prices and one with
// more sizes than stand beside each other.
func sampleForm(t testing.TB) OrderForm {
	line := sampleLine(t)
	form := OrderForm{
		Number: "F2027-001", Title: line.Title, Note: "New this spring: the apron.", Contact: "orders@quillfen.example", Terms: "pay within 30 days", Shop: "Lantern Street Shop",
		IssuedOn: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC), OrderBy: line.OrderBy, Minimum: line.Minimum,
	}
	for i, item := range line.Items {
		form.Items = append(form.Items, FormItem{Style: item.Style.Name, Colourway: item.Colourway, Content: item.Content, Sizes: item.Sizes})
		if i == 0 {
			form.Items = append(form.Items, FormItem{Style: item.Style.Name, Colourway: "=Fern & \"moss\"", Content: item.Content, Sizes: item.Sizes})
		}
	}
	long := FormItem{Style: "Long run", Colourway: "Slate"}
	for i := range 23 {
		long.Sizes = append(long.Sizes, LineSize{Size: fmt.Sprintf("L%d", i+1), Wholesale: line.Items[0].Sizes[0].Wholesale})
	}
	other := long
	other.Colourway, other.Sizes = "Moss", long.Sizes[:12]
	form.Items = append(form.Items, other, long)
	return form
}

func formOptions(paper Paper) Options {
	return Options{Workshop: "Quillfen Workroom", Locale: "en-US", Currency: money.MustCurrency("USD"), Date: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC), Paper: paper}
}

func writeForm(t testing.TB, form OrderForm) []byte {
	t.Helper()
	var first, second bytes.Buffer
	require.NoError(t, OrderFormWorkbook(&first, form, formOptions("")))
	require.NoError(t, OrderFormWorkbook(&second, form, formOptions("")))
	require.Equal(t, first.Bytes(), second.Bytes(), "the same form gives the same bytes")
	return first.Bytes()
}

// filled writes values into the boxes of a form as a shop would, by cell.
func filled(t testing.TB, content []byte, values map[string]any) []byte {
	t.Helper()
	file, err := excelize.OpenReader(bytes.NewReader(content))
	require.NoError(t, err)
	for cell, value := range values {
		require.NoError(t, file.SetCellValue(formSheet, cell, value))
	}
	var out bytes.Buffer
	require.NoError(t, file.Write(&out))
	return out.Bytes()
}

// boxOf finds the box of an item's size on a form as it was written.
func boxOf(t testing.TB, content []byte, number int, size string) string {
	t.Helper()
	sent, err := ReadOrderForm(content)
	require.NoError(t, err)
	for _, row := range sent.Rows {
		for _, box := range row.Boxes {
			if row.Number == number && box.Size.Text == size {
				return strings.TrimPrefix(box.Cell, formSheet+"!")
			}
		}
	}
	require.FailNow(t, "no box", "%d %s", number, size)
	return ""
}

func TestOrderFormIsReadBack(t *testing.T) {
	t.Parallel()
	form := sampleForm(t)
	content := writeForm(t, form)
	for _, paper := range []Paper{A4, Letter} {
		var out bytes.Buffer
		require.NoError(t, OrderFormWorkbook(&out, form, formOptions(paper)))
		keepPicture(t, "order-form-"+string(paper)+".xlsx", out.Bytes())
	}
	sent, err := ReadOrderForm(content)
	require.NoError(t, err)
	require.Equal(t, "F2027-001", sent.Number.Text)
	require.Equal(t, "Lantern Street Shop", sent.Shop.Text)
	sizes := map[string]bool{}
	for _, row := range sent.Rows {
		item := form.Items[row.Number-1]
		require.Equal(t, oneLine(item.Colourway), row.Colourway.Text)
		for _, box := range row.Boxes {
			require.Empty(t, box.Text)
			at := fmt.Sprintf("%d %s", row.Number, box.Size.Text)
			require.False(t, sizes[at], "one box for each size")
			sizes[at] = true
			require.Contains(t, []string{"14.5", "15", "15.5", "16", "16.5", "17", "17.5", "18", "18.5", "19", "19.5", "20", "20.5"}, box.Price.Text)
		}
	}
	for i, item := range form.Items {
		for _, size := range item.Sizes {
			require.True(t, sizes[fmt.Sprintf("%d %s", i+1, size.Size)], "%s %s", item.Style, size.Size)
		}
	}
}

// Only the boxes can be filled in, and what they take is checked.
func TestOrderFormIsLockedButForItsBoxes(t *testing.T) {
	t.Parallel()
	content := writeForm(t, sampleForm(t))
	file, err := excelize.OpenReader(bytes.NewReader(content))
	require.NoError(t, err)
	protection, err := file.GetSheetProtection(formSheet)
	require.NoError(t, err)
	require.True(t, protection.SelectUnlockedCells)
	require.False(t, protection.InsertRows)
	open := func(cell string) bool {
		id, err := file.GetCellStyle(formSheet, cell)
		require.NoError(t, err)
		style, err := file.GetStyle(id)
		require.NoError(t, err)
		return style.Protection != nil && !style.Protection.Locked
	}
	require.True(t, open(boxOf(t, content, 1, "98")))
	require.True(t, open(boxOf(t, content, len(sampleForm(t).Items), "L23")))
	for name, want := range map[string]bool{
		"shop": true, "ship_to": true, "wanted_by": true, "shop_order_number": true, "shop_contact": true, "shop_note": true,
		"form_number": false, "order_total": false, "garments_total": false, "minimum_order": false, "still_to_reach": false, "row_1_amount": false,
	} {
		_, cell := refOf(t, file, name)
		require.Equal(t, want, open(cell), name)
	}
	checks, err := file.GetDataValidations(formSheet)
	require.NoError(t, err)
	kinds := map[string]int{}
	for _, check := range checks {
		kinds[check.Type]++
	}
	require.Equal(t, 5, kinds["textLength"])
	require.Equal(t, 1, kinds["date"])
	require.GreaterOrEqual(t, kinds["whole"], len(sampleForm(t).Items))
}

// TestFilledFormInOtherPrograms: LibreOffice and gnumeric compute the totals of a filled form as
// package money does, and what they save is read back as what was filled in.
func TestFilledFormInOtherPrograms(t *testing.T) {
	t.Parallel()
	form := sampleForm(t)
	content := writeForm(t, form)
	last := len(form.Items)
	values := map[string]any{
		boxOf(t, content, 1, "98"): 3, boxOf(t, content, 2, "104"): 12, boxOf(t, content, last, "L23"): 40, boxOf(t, content, last-1, "L12"): 1,
	}
	file, err := excelize.OpenReader(bytes.NewReader(content))
	require.NoError(t, err)
	_, wanted := refOf(t, file, "wanted_by")
	_, shipTo := refOf(t, file, "ship_to")
	values[wanted], values[shipTo] = excelDay(time.Date(2027, 4, 30, 0, 0, 0, 0, time.UTC)), "=1 Lantern Street\nOsier Green"
	folder := t.TempDir()
	path := filepath.Join(folder, "filled.xlsx")
	require.NoError(t, os.WriteFile(path, filled(t, content, values), 0o600))
	want := money.Decimal{}
	for _, ordered := range []struct {
		item, count int
		size        string
	}{{1, 3, "98"}, {2, 12, "104"}, {last, 40, "L23"}, {last - 1, 1, "L12"}} {
		for _, size := range form.Items[ordered.item-1].Sizes {
			if size.Size == ordered.size {
				amount, err := size.Wholesale.Number().Mul(money.Int(int64(ordered.count)))
				require.NoError(t, err)
				want, err = want.Add(amount)
				require.NoError(t, err)
			}
		}
	}
	for name, run := range map[string]func(*testing.T, []string) string{"LibreOffice": inLibreOffice, "gnumeric": inGnumeric} {
		out := filepath.Join(run(t, []string{path}), "filled.xlsx")
		saved, err := os.ReadFile(out)
		require.NoError(t, err)
		theirs := openBook(t, out)
		for cellName, value := range map[string]string{"order_total": want.String(), "garments_total": "56", "still_to_reach": "0"} {
			sheet, cell := refOf(t, theirs, cellName)
			got, err := theirs.GetCellValue(sheet, cell)
			require.NoError(t, err)
			require.Equal(t, value, got, "%s: %s", name, cellName)
		}
		sent, err := ReadOrderForm(saved)
		require.NoError(t, err, name)
		require.Equal(t, "F2027-001", sent.Number.Text, name)
		require.Equal(t, "2027-04-30", sent.WantedBy.Text, name)
		require.Equal(t, "=1 Lantern Street\nOsier Green", sent.ShipTo.Text, name)
		found := 0
		for _, row := range sent.Rows {
			for _, box := range row.Boxes {
				if value, ok := values[strings.TrimPrefix(box.Cell, formSheet+"!")]; ok {
					require.Equal(t, fmt.Sprint(value), box.Text, name)
					found++
				} else {
					require.Empty(t, box.Text, name)
				}
			}
		}
		require.Equal(t, 4, found, name)
	}
}

// packed is a zip archive of parts.
func packed(t testing.TB, parts map[string]io.Reader) []byte {
	t.Helper()
	var out bytes.Buffer
	archive := zip.NewWriter(&out)
	for name, content := range parts {
		w, err := archive.Create(name)
		require.NoError(t, err)
		_, err = io.Copy(w, content)
		require.NoError(t, err)
	}
	require.NoError(t, archive.Close())
	return out.Bytes()
}

// zeros is a stream of zeros of a length.
func zeros(n int64) io.Reader { return io.LimitReader(zeroReader{}, n) }

type zeroReader struct{}

func (zeroReader) Read(p []byte) (int, error) {
	clear(p)
	return len(p), nil
}

// lying rewrites what the directory of an archive claims of the size of its parts.
func lying(content []byte) []byte {
	content = bytes.Clone(content)
	for at := bytes.Index(content, []byte("PK\x01\x02")); at >= 0 && at < len(content); {
		copy(content[at+24:at+28], []byte{16, 0, 0, 0})
		next := bytes.Index(content[at+4:], []byte("PK\x01\x02"))
		if next < 0 {
			break
		}
		at += 4 + next
	}
	return content
}

func TestFilesThatAreNoFormsAreRefused(t *testing.T) {
	t.Parallel()
	good := writeForm(t, sampleForm(t))
	bomb := packed(t, map[string]io.Reader{"xl/worksheets/sheet1.xml": zeros(60 << 20)})
	require.Less(t, len(bomb), 100<<10)
	many := map[string]io.Reader{}
	for i := range 400 {
		many[fmt.Sprintf("part%d.xml", i)] = strings.NewReader("")
	}
	other := excelize.NewFile()
	var plain, otherSheet, tall bytes.Buffer
	require.NoError(t, other.Write(&plain))
	require.NoError(t, other.SetSheetName("Sheet1", "Order"))
	require.NoError(t, other.Write(&otherSheet))
	require.NoError(t, other.SetCellValue("Order", "XFD1048576", 1))
	require.NoError(t, other.SetCellValue("Order", "A1", "x"))
	require.NoError(t, other.Write(&tall))
	for _, tt := range []struct {
		name, want string
		content    []byte
	}{
		{"nothing", "can't be read as a workbook", nil},
		{"no archive", "can't be read as a workbook", []byte("PK\x03\x04 and no more")},
		{"100 MB", "has 100 MB; an order form has at most 8 MB", make([]byte, 100<<20)},
		{"an old format", "old format, or locked with a password", []byte("\xD0\xCF\x11\xE0\xA1\xB1")},
		{"a zip bomb", "unpacks to more than 32 MB", bomb},
		{"a zip bomb that lies about its size", "can't be read as a workbook", lying(bomb)},
		{"many parts", "made of 400 parts", packed(t, many)},
		{"another workbook", "no sheet \"Order\"", plain.Bytes()},
		{"another sheet Order", "no form number", otherSheet.Bytes()},
		{"a cell far away", "more than 5000 rows", tall.Bytes()},
		{"cut off", "can't be read as a workbook", good[:len(good)/2]},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := ReadOrderForm(tt.content)
			var refused *FormError
			require.ErrorAs(t, err, &refused)
			require.ErrorContains(t, err, tt.want)
		})
	}
	require.ErrorContains(t, OrderFormWorkbook(io.Discard, OrderForm{}, Options{}), "nothing to order")
	require.ErrorIs(t, OrderFormWorkbook(brokenWriter{}, sampleForm(t), Options{}), errBroken)
}

// FuzzReadOrderForm looks for a file that makes reading fail otherwise than with a FormError.
func FuzzReadOrderForm(f *testing.F) {
	style := FormItem{Style: "Skirt", Colourway: "Slate", Sizes: []LineSize{{Size: "98", Wholesale: money.NewAmount(money.Int(10), money.MustCurrency("USD"))}}}
	var out bytes.Buffer
	require.NoError(f, OrderFormWorkbook(&out, OrderForm{Number: "F1", Items: []FormItem{style}}, Options{}))
	f.Add(out.Bytes())
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, content []byte) {
		_, err := ReadOrderForm(content)
		var refused *FormError
		if err != nil {
			require.ErrorAs(t, err, &refused)
		}
	})
}

// Names that makers type print in a form and come back, whatever they are.
func TestOrderFormOfStrangeNames(t *testing.T) {
	t.Parallel()
	for _, name := range append(append([]string{}, awkward...), strangeNames...) {
		if strings.TrimSpace(oneLine(name)) == "" || len(name) > 2000 {
			continue
		}
		form := OrderForm{Number: "F2027-002", Title: name, Note: name, Contact: name, Shop: name, Items: []FormItem{
			{Style: name, Colourway: name, Sizes: []LineSize{{Size: "98", Wholesale: money.NewAmount(money.Int(10), money.MustCurrency("USD"))}}},
		}}
		sent, err := ReadOrderForm(writeForm(t, form))
		require.NoError(t, err, name)
		require.Len(t, sent.Rows, 1, name)
		require.Len(t, sent.Rows[0].Boxes, 1, name)
	}
}
