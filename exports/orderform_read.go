package exports

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// SentForm is an order form as a shop sent it back. All texts are as they stand in the file:
// whether they make sense is for the reader to judge.
type SentForm struct {
	Number, Shop, Reference, WantedBy, ShipTo, Contact, Note SentText
	// Rows are the rows of boxes, as far as they were found.
	Rows []SentRow
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
	if sheet == "" {
		return SentForm{}, &FormError{fmt.Sprintf("The workbook has no sheet %q, so it is no order form of ours.", formSheet)}
	}
	rows, err := file.Rows(sheet)
	if err != nil {
		return SentForm{}, &FormError{unreadable}
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	r := formReader{}
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
		r.read(cells[:min(len(cells), mostFormCells)])
	}
	if err := rows.Error(); err != nil {
		return SentForm{}, &FormError{unreadable}
	}
	if r.sent.Number.Text == "" {
		return SentForm{}, &FormError{"The workbook has no form number, so it is no order form of ours. Send the form that you were given."}
	}
	return r.sent, nil
}

// formReader goes through the rows of a form.
type formReader struct {
	sent     SentForm
	date1904 bool
	row      int
	// sizes and prices are what the rows above say, by column.
	sizes, prices map[int]SentText
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
	if first == formRowWord {
		r.sizes, r.prices = map[int]SentText{}, map[int]SentText{}
		for column := formFirstSize - 1; column < len(cells) && cell(column) != formCountWord; column++ {
			if text := cell(column); text != "" {
				r.sizes[column] = SentText{r.at(column), text}
			}
		}
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
	number, err := strconv.Atoi(first)
	if err != nil || number < 1 {
		return
	}
	row := SentRow{Number: number, Cell: r.at(0), Colourway: SentText{r.at(formNameColumn - 1), cell(formNameColumn - 1)}}
	for column := formFirstSize - 1; column < len(cells); column++ {
		if size, ok := r.sizes[column]; ok {
			row.Boxes = append(row.Boxes, SentBox{SentText: SentText{r.at(column), cell(column)}, Size: size, Price: r.prices[column]})
		}
	}
	r.sent.Rows = append(r.sent.Rows, row)
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
