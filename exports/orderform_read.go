package exports

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// SentForm is an order form as a shop sent it back. All texts are as they stand in the file:
// whether they make sense is for the reader to judge.
type SentForm struct {
	Number, Shop, Reference, WantedBy, ShipTo, Contact, Note SentText
	// Garments and Amount are the totals that the form itself shows; empty if they weren't found.
	Garments, Amount SentText
	// Rows are the rows of boxes, as far as they were found.
	Rows []SentRow
	// Unread is what stands among the rows, or on other sheets, and is no box or word of ours.
	Unread []SentText
}

// SentText is a text with the cell that it stands in, such as Order!C9.
type SentText struct{ Cell, Text string }

// SentRow is one row of boxes.
type SentRow struct {
	// Number counts the items of the form from 1; Cell is where it stands.
	Number int
	Cell   string
	// Colourway is what the row says that it is.
	Colourway SentText
	Boxes     []SentBox
	// Count is how many garments the row itself shows, Amount what they come to.
	Count, Amount SentText
}

// SentBox is one box with the size above it and the price that the file shows for it.
type SentBox struct {
	SentText
	Size, Price SentText
}

// FormError says why a file can't be read as an order form, in words for who sent it.
type FormError struct{ Message string }

func (e *FormError) Error() string { return e.Message }

// Limits of a file that is read, checked before anything is made of it: a form of ours has
// some 20 kB, and unpacks to some 200 kB in 15 parts.
const (
	largestForm   = 8 << 20
	largestUnzip  = 32 << 20
	mostParts     = 300
	mostFormRows  = 5_000
	mostFormCells = 60
)

// unreadable is said of a file that no spreadsheet wrote.
const unreadable = "The file can't be read as a workbook. Open it in a spreadsheet program, save it as .xlsx and try again."

// checkArchive refuses files that would unpack to more than a form can hold. What the archive
// claims is not believed: every part is unpacked and counted.
func checkArchive(content []byte) error {
	if len(content) > largestForm {
		return &FormError{fmt.Sprintf("The file has %d MB; an order form has at most %d MB.", len(content)>>20, largestForm>>20)}
	}
	if bytes.HasPrefix(content, []byte{0xD0, 0xCF, 0x11, 0xE0}) {
		return &FormError{"The file is in an old format, or locked with a password. Open it, save it as .xlsx without a password and try again."}
	}
	archive, err := zip.NewReader(bytes.NewReader(content), int64(len(content)))
	if err != nil {
		return &FormError{unreadable}
	}
	if len(archive.File) > mostParts {
		return &FormError{fmt.Sprintf("The file is made of %d parts; an order form has at most %d. Send the form that you were given.", len(archive.File), mostParts)}
	}
	left := int64(largestUnzip)
	for _, part := range archive.File {
		if part.UncompressedSize64 > uint64(left) {
			return tooMuch()
		}
		opened, err := part.Open()
		if err != nil {
			return &FormError{unreadable}
		}
		n, err := io.Copy(io.Discard, io.LimitReader(opened, left+1))
		_ = opened.Close() // only read from
		left -= n
		switch {
		case left < 0:
			return tooMuch()
		case err != nil:
			return &FormError{unreadable}
		}
	}
	return nil
}

func tooMuch() error {
	return &FormError{fmt.Sprintf("The file unpacks to more than %d MB, which no order form does. It was not read.", largestUnzip>>20)}
}

// ReadOrderForm reads a form that OrderFormWorkbook wrote and that has been filled in, with
// whatever program. Files that are too large, that unpack to too much, or that are no order form
// are refused with a FormError before or while they are read.
func ReadOrderForm(content []byte) (sent SentForm, err error) {
	defer func() {
		if recover() != nil { // the library was given a file from anywhere
			err = &FormError{unreadable}
		}
	}()
	if err := checkArchive(content); err != nil {
		return SentForm{}, err
	}
	file, err := excelize.OpenReader(bytes.NewReader(content), excelize.Options{RawCellValue: true, UnzipSizeLimit: largestUnzip, UnzipXMLSizeLimit: largestUnzip})
	if err != nil {
		return SentForm{}, &FormError{unreadable}
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	sheet := ""
	for _, name := range file.GetSheetList() {
		if strings.EqualFold(name, formSheet) {
			sheet = name
		}
	}
	r := formReader{}
	if sheet == "" {
		return SentForm{}, &FormError{fmt.Sprintf("The workbook has no sheet %q, so it is no order form of ours.", formSheet)}
	}
	rows, err := file.Rows(sheet)
	if err != nil {
		return SentForm{}, &FormError{unreadable}
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	if props, err := file.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		r.date1904 = *props.Date1904
	}
	for rows.Next() {
		if r.row++; r.row > mostFormRows {
			return SentForm{}, &FormError{fmt.Sprintf("The sheet %s has more than %d rows; an order form has fewer.", formSheet, mostFormRows)}
		}
		cells, err := rows.Columns()
		if err != nil {
			return SentForm{}, &FormError{unreadable}
		}
		r.readRow(cells)
	}
	if err := rows.Error(); err != nil {
		return SentForm{}, &FormError{unreadable}
	}
	if r.sent.Number.Text == "" {
		return SentForm{}, &FormError{"The workbook has no form number, so it is no order form of ours. Send the form that you were given."}
	}
	r.otherSheets(file, sheet)
	return r.sent, nil
}

// mostUnread is how much of what could not be read is listed.
const mostUnread = 50

func (r *formReader) unread(cell, text string) {
	if len(r.sent.Unread) < mostUnread {
		r.sent.Unread = append(r.sent.Unread, SentText{cell, text})
	}
}

// otherSheets notes the sheets that hold something and are not the form: copies of it, for one.
func (r *formReader) otherSheets(file *excelize.File, form string) {
	for _, name := range file.GetSheetList() {
		if name == form {
			continue
		}
		if rows, err := file.Rows(name); err == nil {
			for rows.Next() {
				if cells, err := rows.Columns(); err != nil || strings.TrimSpace(strings.Join(cells, "")) != "" {
					r.unread(name, "the sheet "+name)
					break
				}
			}
			_ = rows.Close() // only read from
		}
	}
}

// formReader goes through the rows of a form.
type formReader struct {
	sent     SentForm
	date1904 bool
	row      int
	// sizes and prices are what the rows above say, by column; sums tells which columns hold what
	// a row comes to.
	sizes, prices map[int]SentText
	sums          map[int]string
}

// readRow reads a row and notes what of it is neither a box nor a word of ours.
func (r *formReader) readRow(cells []string) {
	if beyond := cells[min(len(cells), mostFormCells):]; r.sizes != nil {
		for i, text := range beyond {
			if text = strings.TrimSpace(text); text != "" {
				r.unread(r.at(mostFormCells+i), text)
			}
		}
	}
	r.read(cells[:min(len(cells), mostFormCells)])
}

func (r *formReader) at(column int) string { return formSheet + "!" + cellName(column+1, r.row) }

func (r *formReader) read(cells []string) {
	cell := func(column int) string {
		if column >= len(cells) {
			return ""
		}
		return strings.TrimSpace(cells[column])
	}
	first := cell(0)
	if box := r.boxNamed(first); box != nil && box.Cell == "" {
		*box = SentText{Cell: r.at(formFirstSize - 1), Text: cell(formFirstSize - 1)}
		if first == formWantedWord {
			box.Text = r.day(box.Text)
		}
		return
	}
	if first == formTotalWord {
		for column := formFirstSize - 1; column < len(cells); column++ {
			switch text := cell(column); {
			case text == "":
			case r.sent.Garments.Cell == "":
				r.sent.Garments = SentText{r.at(column), text}
			default:
				r.sent.Amount = SentText{r.at(column), text}
			}
		}
		return
	}
	if sums := slices.IndexFunc(cells, func(text string) bool { return strings.TrimSpace(text) == formCountWord }); first == formRowWord || sums >= formFirstSize {
		r.heads(cells)
		return
	}
	if r.sizes == nil {
		return
	}
	if first == "" && cell(formNameColumn-1) == formPriceWord {
		r.prices = map[int]SentText{}
		for column := range r.sizes {
			r.prices[column] = SentText{r.at(column), cell(column)}
		}
		return
	}
	if first == "" && cell(formNameColumn-1) == formRetailWord || first == formFootNote {
		return
	}
	number, err := strconv.Atoi(first)
	if err != nil || number < 1 {
		for column := range cells {
			if text := cell(column); text != "" && text != "0" { // a sum of nothing shows 0
				r.unread(r.at(column), text)
			}
		}
		return
	}
	row := SentRow{Number: number, Cell: r.at(0), Colourway: SentText{r.at(formNameColumn - 1), cell(formNameColumn - 1)}}
	for column := formFirstSize - 1; column < len(cells); column++ {
		if size, ok := r.sizes[column]; ok {
			row.Boxes = append(row.Boxes, SentBox{SentText: SentText{r.at(column), cell(column)}, Size: size, Price: r.prices[column]})
			continue
		}
		switch text := cell(column); {
		case r.sums[column] == formAmountWord:
			row.Amount = SentText{r.at(column), text}
		case r.sums[column] == formCountWord:
			row.Count = SentText{r.at(column), text}
		case text != "" && r.sums[column] == "":
			r.unread(r.at(column), text)
		}
	}
	r.sent.Rows = append(r.sent.Rows, row)
}

// heads reads the heading of a style: the sizes, and the columns of the sums.
func (r *formReader) heads(cells []string) {
	r.sizes, r.prices, r.sums = map[int]SentText{}, map[int]SentText{}, map[int]string{}
	for column := formFirstSize - 1; column < len(cells); column++ {
		switch text := strings.TrimSpace(cells[column]); {
		case text == formCountWord || text == formAmountWord:
			r.sums[column] = text
		case text != "" && len(r.sums) == 0:
			r.sizes[column] = SentText{r.at(column), text}
		}
	}
}

// boxNamed is the box that stands beside a label.
func (r *formReader) boxNamed(label string) *SentText {
	switch label {
	case formNumberWord:
		return &r.sent.Number
	case formShopWord:
		return &r.sent.Shop
	case formTheirWord:
		return &r.sent.Reference
	case formWantedWord:
		return &r.sent.WantedBy
	case formShipWord:
		return &r.sent.ShipTo
	case formMailWord:
		return &r.sent.Contact
	case formNoteWord:
		return &r.sent.Note
	}
	return nil
}

// The days that a number in the box for a day may mean; other numbers are left as they are.
const (
	firstDay = 36526 // 1 January 2000
	lastDay  = 73050 // 31 December 2099
)

// day writes a day that a spreadsheet counts as 2027-04-30.
func (r *formReader) day(text string) string {
	number, err := strconv.ParseFloat(text, 64)
	if err != nil || number < firstDay-1462 || number > lastDay {
		return text
	}
	day, err := excelize.ExcelDateToTime(number, r.date1904)
	if err != nil {
		return text
	}
	return day.Format(time.DateOnly)
}
