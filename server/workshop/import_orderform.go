package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"yardwright/batch/words"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/exports"
	"yardwright/server/store"
)

// orderFormKind is a draft that is an order form that came back.
const orderFormKind = "order form"

// IsWorkbook tells by its first bytes whether a file may be a workbook.
func IsWorkbook(content []byte) bool {
	return strings.HasPrefix(string(content[:min(len(content), 4)]), "PK\x03\x04") || strings.HasPrefix(string(content[:min(len(content), 4)]), "\xD0\xCF\x11\xE0")
}

// KeepOrderForm keeps an order form that a shop sent back, so that it can be looked at before
// anything is taken.
func (s *Service) KeepOrderForm(ctx context.Context, workshop int64, name string, r io.Reader) (int64, error) {
	content, err := readAll(r)
	if err != nil {
		return 0, err
	}
	if _, err := readForm(content); err != nil {
		return 0, err
	}
	return s.store.AddImportDraft(ctx, workshop, store.ImportDraft{Kind: orderFormKind, Name: strings.ToValidUTF8(strings.ReplaceAll(name, "\x00", ""), "?"), Content: content})
}

func readForm(content []byte) (exports.SentForm, error) {
	if !IsWorkbook(content) {
		return exports.SentForm{}, store.Wrong("file", "This is no workbook. Choose the .xlsx file that the shop sent back.")
	}
	sent, err := exports.ReadOrderForm(content)
	var refused *exports.FormError
	if errors.As(err, &refused) {
		return sent, store.Wrong("file", refused.Message)
	}
	return sent, err
}

// FormChoice is what a maker says of an order form that came back.
type FormChoice struct {
	// Customer is the shop; 0 means the one that the form names. NewShop adds it under that name.
	Customer int64
	NewShop  bool
	// Due is when the order is due; zero means the day that the form names.
	Due time.Time
	// Checked says that the maker has looked at the doubts, and takes what was read.
	Checked bool
}

// FormLine is one colourway that a form orders.
type FormLine struct {
	Style, Colourway string
	Boxes            []FormBox
}

// FormBox is a quantity with its size and the form's price.
type FormBox struct {
	Cell, Size string
	Quantity   int
	Price      money.Amount
}

// OrderFormPreview is what would come of an order form.
type OrderFormPreview struct {
	ID       int64
	File     string
	Form     store.OrderForm
	Sent     exports.SentForm
	Lines    []FormLine
	Garments int
	// Total is at the form's prices.
	Total money.Amount
	// Customer is the shop, 0 if it isn't known; NewShop tells that it would be added under the
	// name on the form.
	Customer int64
	NewShop  bool
	Shop     string
	Due      time.Time
	// Before is the order that this form brought already; Same tells that it is just so.
	Before *store.Order
	Same   bool
	// Problems hinder; Notes are said and don't; Left is what can't be ordered any more.
	Problems, Notes, Left []store.Problem
	// Doubts tell that the form may order more, or other things, than was read of it. It is taken
	// only if the maker says that she has looked (Checked).
	Doubts  []store.Problem
	Checked bool
	// Days are those that the day on the form may mean, if it may mean two.
	Days  []time.Time
	draft OrderDraft
}

// LookAtOrderForm says what would come of a form, and everything that is wrong with it by its
// cell. Nothing is saved.
func (s *Service) LookAtOrderForm(ctx context.Context, workshop, id int64, choice FormChoice) (OrderFormPreview, error) {
	j, err := s.judgeForm(ctx, s.store, workshop, id, choice, false)
	if err != nil {
		return OrderFormPreview{}, err
	}
	return *j.OrderFormPreview, j.remarks(ctx)
}

// TakeOrderForm takes the order of a form, or changes the one that it brought before. A form with
// mistakes is refused as a whole, with a Fault.
func (s *Service) TakeOrderForm(ctx context.Context, workshop, id int64, choice FormChoice) (order int64, err error) {
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		judged, err := s.judgeForm(ctx, tx, workshop, id, choice, true)
		if err != nil {
			return err
		}
		preview := *judged.OrderFormPreview
		if len(preview.Problems) > 0 {
			return &store.Fault{Kind: store.Invalid, Problems: preview.Problems}
		}
		if len(preview.Doubts) > 0 && !choice.Checked {
			return &store.Fault{Kind: store.Invalid, Problems: preview.Doubts}
		}
		if preview.NewShop {
			if preview.draft.Customer, err = tx.AddCustomer(ctx, workshop, store.Customer{Name: preview.Shop, Kind: "shop", Contact: preview.Sent.Contact.Text}); err != nil {
				return err
			}
		}
		if order, err = s.keepFormOrder(ctx, tx, workshop, preview); err != nil {
			return err
		}
		return tx.RemoveImportDraft(ctx, workshop, id)
	})
	return order, err
}

func (s *Service) keepFormOrder(ctx context.Context, tx *store.Store, workshop int64, preview OrderFormPreview) (int64, error) {
	total := preview.Total.Number()
	if preview.Before == nil {
		order, err := s.takeOrder(ctx, tx, workshop, preview.draft)
		if err != nil {
			return 0, err
		}
		if err := tx.SetOrderForm(ctx, workshop, order, preview.Form.ID); err != nil {
			return 0, err
		}
		return order, tx.SetOrderPrice(ctx, workshop, order, &total)
	}
	before := *preview.Before
	if preview.Same {
		return before.ID, nil
	}
	sizes, err := sizesByColourway(ctx, tx, workshop)
	if err != nil {
		return 0, err
	}
	draft := preview.draft
	draft.Number, draft.TakenOn = before.Number, before.TakenOn
	order, err := s.checkOrder(draft, sizes)
	if err != nil {
		return 0, err
	}
	order.ID, order.Version = before.ID, before.Version
	agreed, err := tx.OrderMoney(ctx, workshop, before.ID)
	if err != nil {
		return 0, err
	}
	if err := tx.SaveOrder(ctx, workshop, order); err != nil {
		return 0, err
	}
	// A price that was agreed on otherwise since then stays.
	if was, err := preview.worth(before); err == nil && (agreed.Price == nil || agreed.Price.Cmp(was) == 0) {
		return before.ID, tx.SetOrderPrice(ctx, workshop, before.ID, &total)
	}
	return before.ID, nil
}

// worth is what an order comes to at the form's prices.
func (p OrderFormPreview) worth(order store.Order) (sum money.Decimal, err error) {
	for _, line := range order.Lines {
		price, ok := p.priceOf(line.ColourwayID, line.Size)
		if !ok {
			return sum, fmt.Errorf("%s, size %s is not on the form", line.StyleName, line.Size)
		}
		amount, err := price.Mul(money.Int(int64(line.Quantity)))
		if err != nil {
			return sum, err
		}
		if sum, err = sum.Add(amount); err != nil {
			return sum, err
		}
	}
	return sum, nil
}

func (p OrderFormPreview) priceOf(colourway int64, size string) (money.Decimal, bool) {
	for _, item := range p.Form.Form.Items {
		if item.Colourway != colourway {
			continue
		}
		if at := slices.IndexFunc(item.Sizes, func(s store.FormSize) bool { return s.Size == size }); at >= 0 {
			return item.Sizes[at].Wholesale, true
		}
	}
	return money.Decimal{}, false
}

// formJudge goes through a form that came back.
type formJudge struct {
	*OrderFormPreview
	service  *Service
	tx       *store.Store
	room     store.Workshop
	currency money.Currency
	ways     map[int64]store.Colourway
	sizes    map[int64][]string
}

func (j *formJudge) wrong(cell, message string) {
	j.Problems = append(j.Problems, store.Problem{Field: cell, Message: message})
}

func (j *formJudge) note(cell, message string) {
	j.Notes = append(j.Notes, store.Problem{Field: cell, Message: message})
}

// judgeForm reads a form and judges it; to be taken, it is locked for the rest of the transaction.
func (s *Service) judgeForm(ctx context.Context, tx *store.Store, workshop, id int64, choice FormChoice, lock bool) (*formJudge, error) {
	draft, err := tx.ImportDraft(ctx, workshop, id)
	if err != nil {
		return nil, err
	}
	if draft.Kind != orderFormKind {
		return nil, notThere("order form")
	}
	j := &formJudge{OrderFormPreview: &OrderFormPreview{ID: id, File: draft.Name}, service: s, tx: tx}
	j.Checked = choice.Checked
	if j.Sent, err = readForm(draft.Content); err != nil {
		return nil, err
	}
	if j.room, err = tx.Workshop(ctx, workshop); err != nil {
		return nil, err
	}
	if j.Form, err = tx.OrderFormNumbered(ctx, workshop, cleanNumber(j.Sent.Number.Text), lock); err != nil {
		if !isNotFound(err) {
			return nil, err
		}
		j.wrong(j.Sent.Number.Cell, fmt.Sprintf("There is no order form of the number %s here.", shortened(j.Sent.Number.Text)))
		return j, nil
	}
	if j.currency, err = money.ParseCurrency(j.Form.Form.Currency); err != nil {
		return nil, err
	}
	j.Total = j.currency.Zero()
	if err := j.learn(ctx); err != nil {
		return nil, err
	}
	j.rows()
	j.missing()
	j.unread()
	j.totals()
	j.texts()
	if err := j.shop(ctx, choice); err != nil {
		return nil, err
	}
	j.days(choice)
	if err := j.earlier(ctx); err != nil {
		return nil, err
	}
	return j, nil
}

// cleanNumber is a form number that can be asked for.
func cleanNumber(text string) string {
	return strings.ToValidUTF8(strings.ReplaceAll(text, "\x00", ""), "?")
}

// shortened is a text of a file as it is quoted.
func shortened(text string) string {
	runes := []rune(strings.Join(strings.Fields(cleanNumber(text)), " "))
	if len(runes) > 40 {
		runes = append(runes[:39], '…')
	}
	return "“" + string(runes) + "”"
}

func (j *formJudge) learn(ctx context.Context) error {
	ways, err := j.tx.Colourways(ctx, j.room.ID)
	if err != nil {
		return err
	}
	j.ways = map[int64]store.Colourway{}
	for _, way := range ways {
		j.ways[way.ID] = way
	}
	j.sizes, err = sizesByColourway(ctx, j.tx, j.room.ID)
	return err
}

// rows reads the boxes.
func (j *formJudge) rows() {
	seen := map[string]string{}
	for _, row := range j.Sent.Rows {
		items := j.Form.Form.Items
		if row.Number > len(items) {
			j.wrong(row.Cell, fmt.Sprintf("The form that we sent has no row %d.", row.Number))
			continue
		}
		item := items[row.Number-1]
		if !sameWords(row.Colourway.Text, item.Name) {
			j.wrong(row.Colourway.Cell, fmt.Sprintf("Row %d of the form that we sent is %s, but this says %s. Has a row been moved?", row.Number, shortened(item.Name), shortened(row.Colourway.Text)))
			continue
		}
		j.row(row, item, seen)
	}
	if j.Garments == 0 && len(j.Problems) == 0 && len(j.Left) == 0 {
		j.wrong("Order", "No box is filled in, so nothing is ordered.")
	}
	if j.Garments == 0 && len(j.Problems) == 0 && len(j.Left) > 0 {
		j.wrong("Order", "Nothing of what is ordered can be made any more.")
	}
}

// sameWords compares names as spreadsheets keep them.
func sameWords(a, b string) bool {
	return strings.Join(strings.Fields(a), " ") == strings.Join(strings.Fields(b), " ")
}

func (j *formJudge) row(row exports.SentRow, item store.FormItem, seen map[string]string) {
	line := FormLine{Style: item.Style, Colourway: item.Name}
	for _, box := range row.Boxes {
		at := slices.IndexFunc(item.Sizes, func(s store.FormSize) bool { return sameWords(s.Size, box.Size.Text) })
		if at < 0 {
			if box.Text != "" {
				j.wrong(box.Cell, fmt.Sprintf("The size %s above it (%s) is not one that we offered in %s.", shortened(box.Size.Text), box.Size.Cell, item.Style))
			}
			continue
		}
		size := item.Sizes[at]
		quantity, ok := j.quantity(box)
		if !ok || quantity == 0 {
			continue
		}
		key := fmt.Sprintf("%d:%s", row.Number, size.Size)
		if other, twice := seen[key]; twice {
			j.wrong(box.Cell, fmt.Sprintf("%s, %s, size %s is ordered in %s as well.", item.Style, item.Name, size.Size, other))
			continue
		}
		seen[key] = box.Cell
		j.priced(box, size)
		if _, here := j.ways[item.Colourway]; !here || !slices.Contains(j.sizes[item.Colourway], size.Size) {
			j.Left = append(j.Left, store.Problem{Field: box.Cell, Message: fmt.Sprintf("%d × %s, %s, size %s: we don't make this any more.", quantity, item.Style, item.Name, size.Size)})
			continue
		}
		price := money.NewAmount(size.Wholesale, j.currency)
		line.Boxes = append(line.Boxes, FormBox{Cell: box.Cell, Size: size.Size, Quantity: quantity, Price: price})
		j.draft.Lines = append(j.draft.Lines, LineDraft{Colourway: item.Colourway, Size: size.Size, Quantity: quantity})
		j.Garments += quantity
		if amount, err := price.Mul(money.Int(int64(quantity))); err == nil {
			if sum, err := j.Total.Add(amount); err == nil {
				j.Total = sum
			}
		}
	}
	if len(line.Boxes) > 0 {
		j.Lines = append(j.Lines, line)
		if way := j.ways[item.Colourway]; way.Name != item.Name || way.StyleName != item.Style {
			j.note(row.Colourway.Cell, fmt.Sprintf("%s, %s is now called %s, %s.", item.Style, item.Name, way.StyleName, way.Name))
		}
	}
}

// mostInBox is the most that one box may order.
const mostInBox = 10_000

// quantity reads a box; empty is none.
func (j *formJudge) quantity(box exports.SentBox) (int, bool) {
	if box.Text == "" || box.Text == "-" || box.Text == "–" {
		return 0, true
	}
	number, err := money.ParseTyped(box.Text)
	switch {
	case strings.HasPrefix(box.Text, "#"):
		j.wrong(box.Cell, fmt.Sprintf("%s is a mistake of the spreadsheet. Write a whole number of garments.", shortened(box.Text)))
	case err != nil:
		j.wrong(box.Cell, fmt.Sprintf("%s is not a number of garments. Write a whole number, or leave the box empty.", shortened(box.Text)))
	case !number.IsInt():
		j.wrong(box.Cell, fmt.Sprintf("%s is not a whole number of garments.", box.Text))
	case number.Sign() < 0:
		j.wrong(box.Cell, fmt.Sprintf("%s is less than nothing. Write a whole number of garments, or leave the box empty.", box.Text))
	default:
		quantity, ok := number.Int64()
		if ok && quantity <= mostInBox {
			return int(quantity), true
		}
		j.wrong(box.Cell, fmt.Sprintf("%s garments are more than one box may order; at most %s.", box.Text, grouped(mostInBox)))
	}
	return 0, false
}

// priced compares the price that the file shows with the one that was sent.
func (j *formJudge) priced(box exports.SentBox, size store.FormSize) {
	shown, err := money.ParseTyped(box.Price.Text)
	if err == nil && shown.Round(j.currency.Digits(), money.HalfUp).Cmp(size.Wholesale) == 0 {
		return
	}
	ours := money.NewAmount(size.Wholesale, j.currency).Format(j.room.Locale)
	if box.Price.Text == "" {
		return
	}
	message := fmt.Sprintf("The price was changed to %s after we sent the form. Ours of %s counts.", shortened(box.Price.Text), ours)
	if !slices.ContainsFunc(j.Notes, func(p store.Problem) bool { return p.Field == box.Price.Cell }) {
		j.note(box.Price.Cell, message)
	}
}

// texts looks through the boxes for words.
func (j *formJudge) texts() {
	sent := &j.Sent
	for _, line := range []struct {
		box  *exports.SentText
		most int
	}{{&sent.Shop, words.LongestName}, {&sent.Reference, words.LongestName}, {&sent.Contact, words.LongestLine}} {
		line.box.Text = strings.Join(strings.Fields(line.box.Text), " ")
		if fault := words.LineFault(line.box.Text, line.most); fault != "" {
			j.wrong(line.box.Cell, fault)
		}
	}
	before := len(j.Problems)
	for _, box := range []*exports.SentText{&sent.ShipTo, &sent.Note} {
		if fault := words.NoteFault(box.Text, words.LongestNote); fault != "" {
			j.wrong(box.Cell, fault)
		}
	}
	j.draft.Note = j.orderNote()
	if utf8.RuneCountInString(j.draft.Note) > words.LongestNote && len(j.Problems) == before {
		j.wrong(sent.Note.Cell, fmt.Sprintf("An order keeps a note of %s letters, with where to ship to and who to ask. Shorten this one.", grouped(words.LongestNote)))
	}
}

// shop finds out who orders: whom the form is for, whom the maker chose, or whom it names.
func (j *formJudge) shop(ctx context.Context, choice FormChoice) error {
	customers, err := j.tx.Customers(ctx, j.room.ID)
	if err != nil {
		return err
	}
	find := func(match func(c store.Customer) bool) bool {
		at := slices.IndexFunc(customers, match)
		if at >= 0 {
			j.Customer, j.Shop = customers[at].ID, customers[at].Name
		}
		return at >= 0
	}
	named := j.Sent.Shop.Text
	switch {
	case choice.Customer != 0:
		if !find(func(c store.Customer) bool { return c.ID == choice.Customer }) {
			j.wrong("customer", "Choose the shop that orders.")
		}
	case choice.NewShop && named != "":
		if !find(func(c store.Customer) bool { return strings.EqualFold(c.Name, named) }) {
			j.NewShop, j.Shop = true, named
		}
	case j.Form.CustomerID != nil && find(func(c store.Customer) bool { return c.ID == *j.Form.CustomerID }):
		if named != "" && !strings.EqualFold(named, j.Shop) {
			j.note(j.Sent.Shop.Cell, fmt.Sprintf("The form was for %s; it now says %s. Choose below who orders.", j.Shop, shortened(named)))
		}
	case named == "":
		j.wrong(j.Sent.Shop.Cell, "The form doesn't say which shop orders. Choose it below.")
	case !find(func(c store.Customer) bool { return strings.EqualFold(c.Name, named) }):
		j.NewShop, j.Shop = true, named
	}
	j.draft.Customer = j.Customer
	return nil
}

// days finds out when the order is due.
func (j *formJudge) days(choice FormChoice) {
	today := j.service.Today()
	j.Due = choice.Due
	if j.Due.IsZero() && j.Sent.WantedBy.Text != "" {
		switch days := daysMeant(j.Sent.WantedBy.Text); len(days) {
		case 1:
			j.Due = days[0]
		case 2:
			j.Days = days
			j.wrong(j.Sent.WantedBy.Cell, fmt.Sprintf("%s may be %s or %s. Choose below which is meant.", shortened(j.Sent.WantedBy.Text), days[0].Format(longDay), days[1].Format(longDay)))
		default:
			j.wrong(j.Sent.WantedBy.Cell, fmt.Sprintf("%s is not a day. Choose below when the order is due.", shortened(j.Sent.WantedBy.Text)))
		}
	}
	switch {
	case j.Due.IsZero() && j.Sent.WantedBy.Text == "":
		j.wrong(j.Sent.WantedBy.Cell, "The form doesn't say when the goods are wanted. Choose the day below.")
	case !j.Due.IsZero() && j.Due.Before(today):
		j.wrong(j.Sent.WantedBy.Cell, fmt.Sprintf("%s has passed. Choose below when the order is due.", j.Due.Format("2 Jan 2006")))
	case j.Due.After(today.AddDate(10, 0, 0)):
		j.wrong(j.Sent.WantedBy.Cell, "This is more than ten years away. Choose below when the order is due.")
	}
	j.draft.DueOn = j.Due
	if by := orderBy(j.Form); !by.IsZero() && by.Before(today) {
		j.note("", fmt.Sprintf("The last day to order was %s.", by.Format("2 Jan 2006")))
	}
}

// earlier finds the order that this form brought already.
func (j *formJudge) earlier(ctx context.Context) error {
	orders, err := j.tx.OrdersOfForm(ctx, j.room.ID, j.Form.ID)
	if err != nil {
		return err
	}
	for i, order := range orders {
		if order.CustomerID != j.Customer {
			j.note(j.Sent.Number.Cell, fmt.Sprintf("This form brought the order %s of %s as well.", order.Number, order.CustomerName))
			continue
		}
		if j.Before == nil {
			j.Before = &orders[i]
		}
	}
	if j.Before == nil || len(j.Problems) > 0 {
		return nil
	}
	before := *j.Before
	j.Same = before.DueOn.Equal(j.draft.DueOn) && len(before.Lines) == len(j.draft.Lines)
	for _, line := range j.draft.Lines {
		j.Same = j.Same && slices.ContainsFunc(before.Lines, func(l store.OrderLine) bool {
			return l.ColourwayID == line.Colourway && l.Size == line.Size && l.Quantity == line.Quantity
		})
	}
	locked := slices.ContainsFunc(before.Lines, func(l store.OrderLine) bool { return l.BatchID != nil })
	if !j.Same && (before.State != StateOpen || locked) {
		j.wrong(j.Sent.Number.Cell, fmt.Sprintf("This form brought the order %s already, which is %s, so it doesn't change any more. Take the order out of its batch first, or ask the shop to send a new form for what is to be added.", before.Number, stateWords(before)))
	}
	return nil
}

func stateWords(order store.Order) string {
	if order.State == StateOpen {
		return "in a batch"
	}
	return order.State
}

// remarks says what doesn't hinder: what the order lacks to the minimum, and prices that are
// others today.
func (j *formJudge) remarks(ctx context.Context) error {
	if minimum := j.Form.Form.Minimum; j.Garments > 0 && j.Total.Number().Less(minimum) {
		j.note("", fmt.Sprintf("The order comes to %s; the minimum order is %s.", j.Total.Format(j.room.Locale), money.NewAmount(minimum, j.currency).Format(j.room.Locale)))
	}
	if j.Garments == 0 {
		return nil
	}
	all, shop, err := j.service.shopPrices(ctx, j.room.ID)
	var fault *store.Fault
	if errors.As(err, &fault) {
		j.note("", "The form's prices can't be compared with today's: "+fault.Problems[0].Message)
		return nil
	}
	if err != nil {
		return err
	}
	if all.workshop.Currency != j.Form.Form.Currency {
		j.note("", fmt.Sprintf("The form's prices are in %s; the workshop now counts in %s.", j.Form.Form.Currency, all.workshop.Currency))
		return nil
	}
	compared := map[int64]bool{}
	for _, line := range j.draft.Lines {
		if compared[line.Colourway] {
			continue
		}
		compared[line.Colourway] = true
		way := j.ways[line.Colourway]
		prices, err := j.service.price(ctx, all, line.Colourway, costing.Change{})
		if errors.As(err, &fault) {
			j.note("", fmt.Sprintf("%s, %s has no price today: %s", way.StyleName, way.Name, fault.Error()))
			continue
		}
		if err != nil {
			return err
		}
		j.compare(way, prices, shop)
	}
	return nil
}

// compare says which prices of a colourway are others than on the form.
func (j *formJudge) compare(way store.Colourway, prices StylePrices, shop int) {
	for _, line := range j.Lines {
		for _, box := range line.Boxes {
			at := slices.Index(prices.Sizes, box.Size)
			item := slices.IndexFunc(j.Form.Form.Items, func(i store.FormItem) bool { return i.Colourway == way.ID })
			if at < 0 || item < 0 || line.Style != j.Form.Form.Items[item].Style || line.Colourway != j.Form.Form.Items[item].Name {
				continue
			}
			today := prices.Asked[at][shop].Price
			if today.Number().Cmp(box.Price.Number()) != 0 {
				j.note(box.Cell, fmt.Sprintf("%s, %s, size %s: the form's price of %s counts; today we ask %s.", way.StyleName, way.Name, box.Size, box.Price.Format(j.room.Locale), today.Format(j.room.Locale)))
			}
		}
	}
}

// orderNote is what the order keeps of the words on the form.
func (j *formJudge) orderNote() string {
	lines := []string{"Order form " + j.Form.Number}
	for _, part := range []struct {
		word string
		box  exports.SentText
	}{{"Their order number", j.Sent.Reference}, {"Ship to", j.Sent.ShipTo}, {"Contact", j.Sent.Contact}, {"Note", j.Sent.Note}} {
		if part.box.Text != "" {
			lines = append(lines, part.word+": "+part.box.Text)
		}
	}
	return strings.Join(lines, "\n")
}
