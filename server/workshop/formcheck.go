package workshop

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"yardwright/batch/words"
	"yardwright/costing/money"
	"yardwright/exports"
	"yardwright/server/store"
)

// longDay writes a day with its month in letters, so that nobody takes one for the other.
const longDay = "2 January 2006"

// daysMeant lists the days that a text may mean: none, one, or two where day and month can be
// taken for each other.
func daysMeant(text string) []time.Time {
	day, other := DayOrder("").read(text)
	return slices.DeleteFunc([]time.Time{day, other}, time.Time.IsZero)
}

func (j *formJudge) doubt(cell, message string) {
	j.Doubts = append(j.Doubts, store.Problem{Field: cell, Message: message})
}

// missing names the rows and sizes that were sent and did not come back.
func (j *formJudge) missing() {
	for i, item := range j.Form.Form.Items {
		var lacks []string
		found := false
		for _, size := range item.Sizes {
			there := false
			for _, row := range j.Sent.Rows {
				if row.Number != i+1 {
					continue
				}
				found = true
				for _, box := range row.Boxes {
					there = there || sameWords(box.Size.Text, size.Size)
				}
			}
			if !there {
				lacks = append(lacks, size.Size)
			}
		}
		name := fmt.Sprintf("row %d, %s, %s", i+1, item.Style, item.Name)
		switch {
		case !found:
			j.doubt("", fmt.Sprintf("The form that we sent has %s: it did not come back.", name))
		case len(lacks) > 0:
			j.doubt("", fmt.Sprintf("The form that we sent has %s in %s %s: %s did not come back.", name, words.Noun(len(lacks), "size"), strings.Join(lacks, ", "), words.Verb(len(lacks), "it", "they")))
		}
	}
}

// unread names what stands where a form of ours has nothing.
func (j *formJudge) unread() {
	for _, text := range j.Sent.Unread {
		j.doubt(text.Cell, fmt.Sprintf("%s was not read: the form that we sent has nothing there.", shortened(text.Text)))
	}
}

// totals holds what the form counts itself against what was read of it. A form that was saved by
// a program that doesn't count shows 0.
func (j *formJudge) totals() {
	if len(j.Problems) > 0 {
		return
	}
	read := 0
	for _, row := range j.Sent.Rows {
		sum := 0
		for _, box := range row.Boxes {
			if quantity, ok := j.quantity(box); ok {
				sum += quantity
			}
		}
		read += sum
		if shown, ok := shownTotal(row.Count.Text); ok && shown.Cmp(money.Int(int64(sum))) != 0 {
			j.doubt(row.Count.Cell, fmt.Sprintf("Row %d counts %s itself; we read %d.", row.Number, garmentsShown(shown), sum))
		}
		j.rowAmount(row)
	}
	shown, ok := shownTotal(j.Sent.Garments.Text)
	switch {
	case ok && shown.Cmp(money.Int(int64(read))) != 0:
		j.doubt(j.Sent.Garments.Cell, fmt.Sprintf("The form counts %s in all; we read %d.", garmentsShown(shown), read))
	case ok && len(j.Left) == 0 && len(j.Notes) == 0:
		amount, ok := shownTotal(j.Sent.Amount.Text)
		if ok && amount.Round(j.currency.Digits(), money.HalfUp).Cmp(j.Total.Number()) != 0 {
			j.doubt(j.Sent.Amount.Cell, fmt.Sprintf("The form comes to %s itself; what was read comes to %s.", money.NewAmount(amount, j.currency).Format(j.room.Locale), j.Total.Format(j.room.Locale)))
		}
	}
}

// rowAmount holds what a row comes to itself against what was read of it at the form's prices. Where a
// price or a size is another one than we sent, that is said already.
func (j *formJudge) rowAmount(row exports.SentRow) {
	shown, ok := shownTotal(row.Amount.Text)
	if !ok || len(j.Left)+len(j.Notes) > 0 {
		return
	}
	sum := money.NewAmount(money.Decimal{}, j.currency)
	for _, line := range j.Lines {
		for _, box := range line.Boxes {
			if !slices.ContainsFunc(row.Boxes, func(sent exports.SentBox) bool { return sent.Cell == box.Cell }) {
				continue
			}
			part, err := box.Price.Mul(money.Int(int64(box.Quantity)))
			if err == nil {
				sum, err = sum.Add(part)
			}
			if err != nil {
				return
			}
		}
	}
	if shown.Round(j.currency.Digits(), money.HalfUp).Cmp(sum.Number()) != 0 {
		j.doubt(row.Amount.Cell, fmt.Sprintf("Row %d comes to %s itself; what was read comes to %s.", row.Number, money.NewAmount(shown, j.currency).Format(j.room.Locale), sum.Format(j.room.Locale)))
	}
}

func garmentsShown(count money.Decimal) string {
	if count.Cmp(money.Int(1)) == 0 {
		return "1 garment"
	}
	return count.String() + " garments"
}

// shownTotal is a total that a form shows; one that was never counted is none.
func shownTotal(text string) (money.Decimal, bool) {
	total, err := money.ParseTyped(strings.TrimSpace(text))
	return total, err == nil && !total.IsZero()
}
