package server_test

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"yardwright/server/workshop"
)

func TestOrdersAreFoundAndPaged(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	for _, test := range []struct{ text, has, hasNot string }{
		{"q-101", "Q-101", "Q-102"}, {"osier", "Osier Green Fair", "Web orders"}, {"kindling", "Q-", "No order"}, {"100%", "No order here has", "Q-101"}, {"Q_101", "No order here has", ">Q-101<"},
	} {
		text := s.get(t, "/orders?state=&q="+url.QueryEscape(test.text), http.StatusOK)
		require.Contains(t, text, test.has, test.text)
		require.NotContains(t, text, test.hasNot, test.text)
		require.Contains(t, text, `value="`+test.text+`"`)
	}
	_, err := s.pool.Exec(t.Context(), `INSERT INTO orders (workshop_id, customer_id, number, taken_on, due_on)
		SELECT workshop_id, customer_id, 'M-' || lpad(n::text, 3, '0'), taken_on, due_on FROM (SELECT * FROM orders ORDER BY id LIMIT 1) o, generate_series(1, 120) n`)
	require.NoError(t, err)
	text := s.get(t, "/orders?state=&q=M-", http.StatusOK)
	require.Contains(t, text, "page 1 of 3, 120 orders")
	require.NotContains(t, text, "Earlier")
	later := strings.ReplaceAll(regexp.MustCompile(`href="(/orders\?[^"]*)">Later`).FindStringSubmatch(text)[1], "&amp;", "&")
	text = s.get(t, later, http.StatusOK)
	require.Contains(t, text, "page 2 of 3")
	require.Contains(t, text, "M-051")
	require.NotContains(t, text, "M-050")
	require.Contains(t, s.get(t, "/orders?page=999", http.StatusOK), "No orders here")
	require.Contains(t, s.get(t, "/orders?page=x", http.StatusOK), "page 1 of")
}

// An order is copied, cancelled and taken up again, made and handed over, each with a way back.
func TestAnOrdersStates(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	orders, err := s.service.Orders(t.Context(), s.id, "open", 10)
	require.NoError(t, err)
	place := fmt.Sprintf("/orders/%d", orders[0].ID)
	state := func() string {
		order, err := s.service.Order(t.Context(), s.id, orders[0].ID)
		require.NoError(t, err)
		return order.State
	}
	press := func(text, to string) string {
		version := regexp.MustCompile(`name="version" value="(\d+)"><button class="plain" name="to" value="` + to + `"`).FindStringSubmatch(text)
		require.NotEmpty(t, version, to)
		return s.post(t, place+"/state", url.Values{"to": {to}, "version": {version[1]}}, http.StatusOK)
	}
	undo := func(text string) string {
		values := url.Values{}
		part := regexp.MustCompile(`(?s)<div class="note notice" role="status">.*?</form>`).FindString(text)
		for _, field := range regexp.MustCompile(`name="(\w+)" value="([^"]*)"`).FindAllStringSubmatch(part, -1) {
			values.Set(field[1], field[2])
		}
		return s.post(t, regexp.MustCompile(`action="([^"]+)"`).FindStringSubmatch(part)[1], values, http.StatusOK)
	}
	text := press(s.get(t, place, http.StatusOK), "cancelled")
	require.Equal(t, "cancelled", state())
	text = undo(text)
	require.Equal(t, "open", state())
	text = press(text, "made")
	text = press(text, "delivered")
	require.Equal(t, "delivered", state())
	undo(text)
	require.Equal(t, "made", state())
	require.Contains(t, s.post(t, place+"/state", url.Values{"to": {"cancelled"}, "version": {"1"}}, http.StatusConflict), "can&#39;t become cancelled")
	require.Contains(t, s.post(t, place+"/state", url.Values{"to": {"delivered"}, "version": {"1"}}, http.StatusConflict), "Someone else")

	copied := s.get(t, fmt.Sprintf("/orders/new?copy=%d", orders[0].ID), http.StatusOK)
	require.Contains(t, copied, fmt.Sprintf(`value="%d" selected`, orders[0].CustomerID))
	require.Regexp(t, `name="q\.\d+\.\w+" value="\d+"`, copied)
	require.Regexp(t, `id="number"[^>]* value=""`, copied)
	s.get(t, "/orders/new?copy=999999", http.StatusNotFound)

	// What a batch cuts can't be cancelled.
	_, err = s.service.MakeBatch(t.Context(), s.id, workshop.BatchDraft{Name: "b", Orders: []int64{orders[1].ID}})
	require.NoError(t, err)
	batched, err := s.service.Order(t.Context(), s.id, orders[1].ID)
	require.NoError(t, err)
	_, err = s.service.MoveOrder(t.Context(), s.id, batched.ID, batched.Version, "cancelled")
	require.ErrorContains(t, err, "can't become cancelled")
}

func TestDepositAndBalance(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	orders, err := s.service.Orders(t.Context(), s.id, "open", 10)
	require.NoError(t, err)
	place := fmt.Sprintf("/orders/%d", orders[0].ID)
	require.Contains(t, s.post(t, place+"/price", url.Values{"price": {"-4"}}, http.StatusUnprocessableEntity), "0 or more")
	s.post(t, place+"/price", url.Values{"price": {"120.50"}, "version": {orderVersion(t, s, place)}}, http.StatusOK)
	text := s.post(t, place+"/payments", url.Values{"amount": {"20"}, "how": {"card"}}, http.StatusOK)
	require.Contains(t, text, "<b>$100.50</b><span>balance to pay</span>")
	require.Contains(t, text, "Undo")
	for values, want := range map[string]string{"amount=0&how=cash": "how much was paid", "amount=some&how=cash": "some", "amount=5&how=shells": "Choose how"} {
		query, err := url.ParseQuery(values)
		require.NoError(t, err)
		require.Contains(t, s.post(t, place+"/payments", query, http.StatusUnprocessableEntity), want)
	}
	remove := regexp.MustCompile(`action="(/orders/\d+/payments/\d+/remove)"`).FindStringSubmatch(text)[1]
	text = s.post(t, remove, nil, http.StatusOK)
	require.Contains(t, text, "<b>$120.50</b><span>balance to pay</span>")
	restore := regexp.MustCompile(`action="(/orders/\d+/payments/\d+/restore)"`).FindStringSubmatch(text)[1]
	text = s.post(t, restore, nil, http.StatusOK)
	require.Contains(t, text, "<b>$100.50</b><span>balance to pay</span>")
	s.post(t, restore, nil, http.StatusConflict)
	text = s.post(t, place+"/payments", url.Values{"amount": {"-20"}, "how": {"cash"}}, http.StatusOK)
	require.Contains(t, text, "<b>$120.50</b><span>balance to pay</span>")
}

// Selling at a fair: tap a size twice, take one back, take the money; then an order with a
// deposit.
func TestSellingAtAFair(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	text := s.get(t, "/orders/fair", http.StatusOK)
	box := regexp.MustCompile(`name="add" value="(q\.\d+\.98)"[^>]*aria-label="One Meadow on slate in`).FindStringSubmatch(text)[1]
	require.Contains(t, text, "0 garments")
	text = s.get(t, "/orders/fair?"+url.Values{box: {"1"}, "add": {box}}.Encode(), http.StatusOK)
	require.Contains(t, text, "2 garments")
	require.Contains(t, text, "no price typed or kept under Prices")
	text = s.get(t, "/orders/fair?"+url.Values{box: {"2"}, "less": {box}}.Encode(), http.StatusOK)
	require.Contains(t, text, "<strong>1 garment</strong>")

	// With issued prices the sum stands ready.
	colourway := strings.Split(box, ".")[1]
	s.post(t, "/prices/"+colourway+"/issue", nil, http.StatusOK)
	text = s.get(t, "/orders/fair?"+url.Values{box: {"2"}}.Encode(), http.StatusOK)
	price := regexp.MustCompile(`name="price" value="([0-9.]+)"`).FindStringSubmatch(text)
	require.NotEmpty(t, price)
	customer := regexp.MustCompile(`<option value="(\d+)"[^>]*>Osier Green Fair`).FindStringSubmatch(text)[1]

	require.Contains(t, s.post(t, "/orders/fair", url.Values{"sold": {"taken"}, "how": {"cash"}}, http.StatusUnprocessableEntity), "Choose a customer")
	text = s.post(t, "/orders/fair", url.Values{box: {"2"}, "customer": {customer}, "price": {price[1]}, "how": {"cash"}, "sold": {"taken"}}, http.StatusOK)
	require.Contains(t, text, "Sold. The next one?")
	require.Contains(t, text, "<dd>handed over</dd>")
	require.Contains(t, text, "<b>$0.00</b><span>balance to pay</span>")

	due := time.Now().AddDate(0, 0, 21).Format(time.DateOnly)
	for field, values := range map[string]url.Values{
		"due_on": {"price": {"50"}, "paid": {"10"}}, "paid": {"price": {"50"}, "paid": {"60"}, "due_on": {due}}, "price": {"price": {"-1"}, "due_on": {due}}, "how": {"price": {"50"}, "paid": {"5"}, "due_on": {due}, "how": {"iou"}},
	} {
		for name, value := range map[string]string{box: "2", "customer": customer, "sold": "to be made"} {
			values.Set(name, value)
		}
		if values.Get("how") == "" {
			values.Set("how", "card")
		}
		refused := s.post(t, "/orders/fair", values, http.StatusUnprocessableEntity)
		require.Contains(t, refused, `href="#`+field+`"`)
		require.Contains(t, refused, "2 garments", "the list stays")
	}
	text = s.post(t, "/orders/fair", url.Values{box: {"1"}, "customer": {customer}, "price": {"50"}, "paid": {"10"}, "due_on": {due}, "how": {"card"}, "sold": {"to be made"}, "note": {"For Tove, blue door"}}, http.StatusOK)
	require.Contains(t, text, "<dd>open</dd>")
	require.Contains(t, text, "<b>$40.00</b><span>balance to pay</span>")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// orderVersion is the version of an order that its page shows.
func orderVersion(t *testing.T, s site, place string) string {
	t.Helper()
	return formOf(t, s.get(t, place, http.StatusOK), place+"/price", "price").Get("version")
}

// Words that are looked for together are those of one line: a style in a size, for a customer.
func TestOrdersAreFoundBySize(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	ctx := t.Context()
	ways, err := s.service.Colourways(ctx, s.id)
	require.NoError(t, err)
	names := map[int64]string{}
	for _, way := range ways {
		names[way.ID] = strings.ToLower(way.StyleName + " " + way.Name)
	}
	all, err := s.service.Orders(ctx, s.id, "", 1000)
	require.NoError(t, err)
	for _, test := range []struct{ name, text, customer, style, size string }{
		{"a size", "98", "", "", "98"},
		{"a style in a size", "Puddle 98", "", "puddle", "98"},
		{"in any order", "104 puddle", "", "puddle", "104"},
		{"a size in words", "kindling MEDIUM", "", "kindling", "medium"},
		{"for a customer", "lantern puddle 110", "lantern", "puddle", "110"},
		{"a size that no order has", "puddle 86.5", "", "puddle", "86.5"},
	} {
		t.Run(test.name, func(t *testing.T) {
			text := s.get(t, "/orders?state=&q="+url.QueryEscape(test.text), http.StatusOK)
			for _, order := range all {
				read, err := s.service.Order(ctx, s.id, order.ID)
				require.NoError(t, err)
				wanted := false
				for _, line := range read.Lines {
					wanted = wanted || line.Size == test.size && strings.Contains(names[line.ColourwayID], test.style) && strings.Contains(strings.ToLower(read.CustomerName), test.customer)
				}
				require.Equal(t, wanted, strings.Contains(text, ">"+order.Number+"<"), order.Number)
			}
		})
	}
}

// Today leads on with what is begun before it asks for anything new.
func TestTodayGoesOnWithWhatIsBegun(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	today := func(want string) {
		t.Helper()
		require.Contains(t, s.get(t, "/", http.StatusOK), want)
	}
	today("garments are wanted and in no batch yet")
	path := s.bagBatch(t)
	s.post(t, path+"/release", hidden(t, s.get(t, path, http.StatusOK), path+"/release"), http.StatusOK)
	_, err := s.pool.Exec(t.Context(), `UPDATE orders SET due_on = taken_on + 0`)
	require.NoError(t, err)
	today("Bags: 0 of 2 lays are cut. Cut the next one.")
	today("Late, and due next")
	_, err = s.pool.Exec(t.Context(), `UPDATE batch_lays SET cut_at = now()`)
	require.NoError(t, err)
	today("Bags is cut; 0 of ")
	_, err = s.pool.Exec(t.Context(), `UPDATE batch_bundles SET sewn_at = now()`)
	require.NoError(t, err)
	today(" orders are late.")
	_, err = s.pool.Exec(t.Context(), `UPDATE orders SET state = 'made' WHERE id = (SELECT id FROM orders ORDER BY due_on, number LIMIT 1)`)
	require.NoError(t, err)
	today("hand it over")
	_, err = s.pool.Exec(t.Context(), `UPDATE orders SET state = 'cancelled'`)
	require.NoError(t, err)
	today("Nothing is waiting.")
}

// fairList is a list of the till with a price, ready to be paid, as its page sends it.
func (s site) fairList(t *testing.T) (address string, values url.Values) {
	t.Helper()
	text := s.get(t, "/orders/fair", http.StatusOK)
	box := regexp.MustCompile(`name="add" value="(q\.\d+\.98)"[^>]*aria-label="One Meadow on slate in`).FindStringSubmatch(text)[1]
	s.post(t, "/prices/"+strings.Split(box, ".")[1]+"/issue", nil, http.StatusOK)
	query := formOf(t, text, "/orders/fair", "key")
	require.NotEmpty(t, query.Get("key"))
	query.Set("add", box)
	query.Set("customer", regexp.MustCompile(`<option value="(\d+)"[^>]*>Osier Green Fair`).FindStringSubmatch(text)[1])
	address = "/orders/fair?" + query.Encode()
	values = typedIn(formIn(t, strings.SplitN(s.get(t, address, http.StatusOK), `id="take"`, 2)[1], "/orders/fair"))
	require.Equal(t, query.Get("key"), values.Get("key"), "the key goes with the list")
	values.Set("sold", "taken")
	return address, values
}

// ordersNow counts the orders and what was paid for them.
func (s site) ordersNow(t *testing.T) (orders, payments int) {
	t.Helper()
	require.NoError(t, s.pool.QueryRow(t.Context(), `SELECT (SELECT count(*) FROM orders WHERE state <> 'cancelled'), (SELECT count(*) FROM payments WHERE removed_at IS NULL)`).Scan(&orders, &payments))
	return orders, payments
}

// Paid is booked once: tapped twice at once, sent again, and after going back.
func TestPaidTwiceBooksOnce(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	address, values := s.fairList(t)
	orders, payments := s.ordersNow(t)
	answers := make(chan *http.Response, 8)
	for range cap(answers) {
		go func() {
			response, err := s.browser().PostForm(s.URL+"/orders/fair", values)
			if err != nil {
				t.Error(err)
			}
			answers <- response
		}()
	}
	places, once := map[string]int{}, 0
	for range cap(answers) {
		response := <-answers
		text := s.read(t, response, http.StatusOK, "/orders/fair")
		places[response.Request.URL.Path]++
		if !strings.Contains(text, "Nothing was booked twice") {
			once++
		}
	}
	require.Len(t, places, 1, "all lead to the same order")
	require.Equal(t, 1, once)
	nowOrders, nowPayments := s.ordersNow(t)
	require.Equal(t, []int{orders + 1, payments + 1}, []int{nowOrders, nowPayments})

	back := s.get(t, address, http.StatusOK)
	require.Contains(t, back, "This list is sold already")
	require.NotContains(t, back, "Paid and taken along")
	require.NotEqual(t, values.Get("key"), formOf(t, s.get(t, "/orders/fair", http.StatusOK), "/orders/fair", "key").Get("key"), "the next sale has a key of its own")
}

// Nothing is sold without a price; a gift is one of 0.
func TestNoSaleWithoutAPrice(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	_, values := s.fairList(t)
	require.NotEmpty(t, values.Get("price"), "kept prices are suggested")
	values.Set("price", "")
	orders, payments := s.ordersNow(t)
	refused := s.post(t, "/orders/fair", values, http.StatusUnprocessableEntity)
	require.Contains(t, refused, `href="#price"`)
	require.Contains(t, refused, values.Get("key"), "the key stays")
	nowOrders, nowPayments := s.ordersNow(t)
	require.Equal(t, []int{orders, payments}, []int{nowOrders, nowPayments})
	values.Set("price", "0")
	require.Contains(t, s.post(t, "/orders/fair", values, http.StatusOK), "<dd>handed over</dd>")
}

// A sale is taken back with its payments, and there again with them; corrected, the other takes its
// place.
func TestASaleIsTakenBackAndCorrected(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	_, values := s.fairList(t)
	orders, payments := s.ordersNow(t)
	text := s.post(t, "/orders/fair", values, http.StatusOK)
	require.Contains(t, text, "Undo")
	place := regexp.MustCompile(`action="(/orders/\d+)/take-back"`).FindStringSubmatch(text)[1]
	text = s.post(t, place+"/take-back", typedIn(formIn(t, text, place+"/take-back")), http.StatusOK)
	require.Contains(t, text, "<dd>cancelled</dd>")
	nowOrders, nowPayments := s.ordersNow(t)
	require.Equal(t, []int{orders, payments}, []int{nowOrders, nowPayments})
	text = s.post(t, place+"/sell-again", typedIn(formIn(t, text, place+"/sell-again")), http.StatusOK)
	require.Contains(t, text, "<b>$0.00</b><span>balance to pay</span>")
	require.Contains(t, text, "<dd>handed over</dd>")

	correct := unescape(regexp.MustCompile(`href="(/orders/fair\?[^"]*corrects[^"]*)"`).FindStringSubmatch(text)[1])
	page := s.get(t, correct, http.StatusOK)
	require.Contains(t, page, "You are correcting the sale")
	again := typedIn(formIn(t, strings.SplitN(page, `id="take"`, 2)[1], "/orders/fair"))
	require.Equal(t, strings.TrimSuffix(values.Get("price"), ".00"), again.Get("price"))
	again.Set("price", "12,50")
	again.Set("sold", "taken")
	corrected := s.post(t, "/orders/fair", again, http.StatusOK)
	require.Contains(t, corrected, "$12.50")
	require.NotContains(t, corrected, place+"/take-back")
	require.Contains(t, s.get(t, place, http.StatusOK), "<dd>cancelled</dd>")
	nowOrders, nowPayments = s.ordersNow(t)
	require.Equal(t, []int{orders + 1, payments + 1}, []int{nowOrders, nowPayments})
	// What was taken back already can't be corrected a second time.
	again.Set("key", strings.Repeat("K", 26))
	s.post(t, "/orders/fair", again, http.StatusUnprocessableEntity)
	nowOrders, nowPayments = s.ordersNow(t)
	require.Equal(t, []int{orders + 1, payments + 1}, []int{nowOrders, nowPayments})
}

func TestAPaymentSentTwiceIsNotedOnce(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	orders, err := s.service.Orders(t.Context(), s.id, "open", 10)
	require.NoError(t, err)
	place := fmt.Sprintf("/orders/%d", orders[0].ID)
	values := typedIn(formIn(t, s.get(t, place, http.StatusOK), place+"/payments"))
	values.Set("amount", "$20")
	s.post(t, place+"/payments", values, http.StatusOK)
	_, payments := s.ordersNow(t)
	require.Contains(t, s.post(t, place+"/payments", values, http.StatusOK), "noted already")
	_, again := s.ordersNow(t)
	require.Equal(t, payments, again)
}
