package server_test

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jba/templatecheck"
	"github.com/stretchr/testify/require"

	"yardwright/server"
	"yardwright/server/job"
	"yardwright/server/page"
	"yardwright/server/privatepg/pgtest"
	"yardwright/server/store"
	"yardwright/server/workshop"
	"yardwright/testdata/demo"
)

// template holds the demo workshop, and planned the same with a batch of all its open orders, as
// planAll makes it: planning takes longer than most tests, so it is done once.
var (
	template = pgtest.NewTemplate(func(ctx context.Context, pool *pgxpool.Pool) error { return loadDemo(ctx, pool, nil) })
	planned  = pgtest.NewTemplate(func(ctx context.Context, pool *pgxpool.Pool) error { return loadDemo(ctx, pool, planAllOf) })
)

// loadDemo fills an empty database with the demo, and lets more happen in its workshop.
func loadDemo(ctx context.Context, pool *pgxpool.Pool, more func(context.Context, *workshop.Service, int64) error) error {
	if err := errors.Join(store.Migrate(ctx, pool), job.Migrate(ctx, pool)); err != nil {
		return err
	}
	known, err := store.Open(ctx, pool.Config().ConnString())
	if err != nil {
		return err
	}
	defer known.Close()
	service := workshop.New(store.New(known), time.Now, slog.New(slog.DiscardHandler))
	loaded, err := service.LoadDemo(ctx, demo.Files)
	if err != nil {
		return err
	}
	if more != nil {
		if err := more(ctx, service, loaded.Workshop); err != nil {
			return err
		}
	}
	return service.LayCosting(ctx, job.LayCosting{Workshop: loaded.Workshop}) // so that not each test has it laid
}

// planAllOf plans a batch of all open orders.
func planAllOf(ctx context.Context, service *workshop.Service, id int64) error {
	open, err := service.Orders(ctx, id, "open", 1000)
	if err != nil {
		return err
	}
	draft := workshop.BatchDraft{Name: "All of it"}
	for _, o := range open {
		draft.Orders = append(draft.Orders, o.ID)
	}
	made, err := service.MakeBatch(ctx, id, draft)
	if err != nil {
		return err
	}
	_, err = service.PlanNow(ctx, id, made, 1)
	return err
}

// site is a running server on a copy of the demo, or on an empty workshop.
type site struct {
	*httptest.Server
	service *workshop.Service
	id      int64
	pool    *pgxpool.Pool
	log     *bytes.Buffer
	// client is another browser than the usual one; nil is the usual one.
	client *http.Client
}

// store is what lies under the use cases, for what tests set up by hand.
func (s site) store() *store.Store { return store.New(s.pool) }

// browser is what asks for pages.
func (s site) browser() *http.Client {
	if s.client != nil {
		return s.client
	}
	return s.Client()
}

func serveDemo(t *testing.T) site { return serve(t, template.URL(t)) }

// servePlanned has all open orders of the demo in its batch 1, which is planned.
func servePlanned(t *testing.T) site { return serve(t, planned.URL(t)) }

func serve(t *testing.T, databaseURL string) site {
	t.Helper()
	ctx := t.Context()
	pool, err := store.Open(ctx, databaseURL)
	require.NoError(t, err)
	t.Cleanup(pool.Close)
	require.NoError(t, store.Migrate(ctx, pool))
	require.NoError(t, job.Migrate(ctx, pool))
	log := &bytes.Buffer{}
	logger := slog.New(slog.NewTextHandler(log, nil))
	service := workshop.New(store.New(pool), time.Now, logger)
	w, err := service.Open(ctx)
	require.NoError(t, err)
	queue, err := job.New(pool, slog.New(slog.DiscardHandler), service)
	require.NoError(t, err)
	service.UseJobs(queue)
	require.NoError(t, queue.Start(context.WithoutCancel(ctx)))
	pages, err := server.New(service, w.ID, logger, server.WithParts())
	require.NoError(t, err)
	s := site{httptest.NewServer(pages.Handler()), service, w.ID, pool, log, nil}
	t.Cleanup(func() {
		s.Close()
		late, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		defer cancel()
		require.NoError(t, queue.Stop(late))
	})
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	s.Client().Jar = jar
	return s
}

// get reads a page and checks what every page must keep.
func (s site) get(t *testing.T, path string, status int) string {
	t.Helper()
	response, err := s.browser().Get(s.URL + path)
	require.NoError(t, err)
	return s.read(t, response, status, path)
}

func (s site) post(t *testing.T, path string, values url.Values, status int) string {
	t.Helper()
	response, err := s.browser().PostForm(s.URL+path, values)
	require.NoError(t, err)
	return s.read(t, response, status, path)
}

var (
	inlineStyle  = regexp.MustCompile(`(?i)<[^>]+\sstyle\s*=|<style`)
	inlineScript = regexp.MustCompile(`(?i)<script(?:\s[^>]*)?>\s*[^<\s]|<[^>]+\son[a-z]+\s*=`)
)

// read reads an answer; one that is still being worked out is asked for again, as browsers do.
func (s site) read(t *testing.T, response *http.Response, status int, path string) string {
	t.Helper()
	for began := time.Now(); response.StatusCode == http.StatusAccepted && response.Request.Method == http.MethodGet && time.Since(began) < patience; {
		require.Equal(t, "2", response.Header.Get("Retry-After"))
		require.NoError(t, response.Body.Close())
		time.Sleep(50 * time.Millisecond)
		var err error
		response, err = s.browser().Get(response.Request.URL.String())
		require.NoError(t, err)
	}
	body, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	text := string(body)
	require.Equal(t, status, response.StatusCode, "%s\n%s\n%s", path, text, s.log)
	policy := response.Header.Get("Content-Security-Policy")
	require.Contains(t, policy, "default-src 'none'")
	require.NotContains(t, policy, "unsafe")
	if strings.HasPrefix(response.Header.Get("Content-Type"), "text/html") {
		require.Empty(t, inlineStyle.FindString(text), path)
		require.Empty(t, inlineScript.FindString(text), path)
		for _, slip := range []string{"ZgotmplZ", "%!", "<no value>"} {
			require.False(t, strings.Contains(text, slip), "%s shows %s", path, slip)
		}
	}
	return text
}

// links finds all pages that can be reached from the start by following links.
func (s site) links(t *testing.T) []string {
	t.Helper()
	return s.follow(t, func(string, string) {})
}

// follow reads all pages that can be reached from the start by following links, and shows each;
// workbooks and what pages are made of are found, but not read.
func (s site) follow(t *testing.T, look func(path, text string)) []string {
	t.Helper()
	seen := map[string]bool{"/": true}
	queue := []string{"/"}
	link := regexp.MustCompile(`href="(/[^"#]*)"`)
	for i := 0; i < len(queue); i++ {
		if strings.HasPrefix(queue[i], "/static/") || strings.Contains(queue[i], ".xlsx") {
			continue
		}
		text := s.get(t, queue[i], http.StatusOK)
		look(queue[i], text)
		for _, found := range link.FindAllStringSubmatch(text, -1) {
			path := strings.ReplaceAll(found[1], "&amp;", "&")
			if !seen[path] {
				seen[path] = true
				queue = append(queue, path)
			}
		}
	}
	return queue
}

// found is every path of the planned demo, which are followed once for all tests.
var found struct {
	sync.Once
	paths []string
}

// keepPrices keeps the prices of a colourway, so that there are kept prices to look at.
func (s site) keepPrices(t *testing.T) {
	t.Helper()
	s.post(t, "/prices/1/issue", nil, http.StatusOK)
}

// everyPath is every path that can be reached in the planned demo when prices are kept there.
func everyPath(t *testing.T) []string {
	t.Helper()
	found.Do(func() {
		s := servePlanned(t)
		s.keepPrices(t)
		paths := s.links(t)
		require.NotContains(t, s.log.String(), "level=ERROR")
		found.paths = paths
	})
	require.NotEmpty(t, found.paths, "another test says why the pages could not be followed")
	return found.paths
}

func TestEveryPageThatIsLinkedIsThere(t *testing.T) {
	t.Parallel()
	require.Contains(t, serveDemo(t).get(t, "/favicon.ico", http.StatusOK), "<svg", "browsers ask for it without a link")
	paths := everyPath(t)
	require.Greater(t, len(paths), 60)
	for _, want := range []string{"/orders/new", "/styles/new", "/shelf/cloths/new", "/shelf/bolts/new", "/shelf/notions/new", "/workshop", "/batches/1/sheet", "/imports/orders"} {
		require.Contains(t, paths, want)
	}
}

// patience is how long a test waits for a plan: far longer than planning takes on a busy machine.
const patience = 10 * time.Minute

// planAll makes a batch of all orders through the pages and waits until it is planned.
func (s site) planAll(t *testing.T) string {
	t.Helper()
	form := url.Values{"name": {"All of it"}, "starts_on": {time.Now().Format(time.DateOnly)}}
	for _, box := range regexp.MustCompile(`name="orders" value="(\d+)" checked`).FindAllStringSubmatch(s.get(t, "/batches/new", http.StatusOK), -1) {
		form.Add("orders", box[1])
	}
	require.Greater(t, len(form["orders"]), 10)
	text := s.post(t, "/batches", form, http.StatusOK)
	require.Contains(t, text, "All of it")
	require.Eventually(t, func() bool {
		return strings.Contains(s.get(t, "/batches/1", http.StatusOK), "Plan again") && !strings.Contains(s.get(t, "/batches/1", http.StatusOK), "data-live=")
	},
		patience, 100*time.Millisecond)
	return s.get(t, "/batches/1", http.StatusOK)
}

// One order from the form to the cut sheet.
func TestOneOrderFromFormToCutSheet(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	text := s.get(t, "/orders/new", http.StatusOK)
	box := regexp.MustCompile(`name="(q\.\d+\.104)"[^>]*aria-label="Meadow on slate`).FindStringSubmatch(text)[1]
	customer := regexp.MustCompile(`<option value="(\d+)">Web orders`).FindStringSubmatch(text)[1]
	form := url.Values{"customer": {customer}, "due_on": {time.Now().AddDate(0, 0, 20).Format(time.DateOnly)}, "number": {"T-1"}, box: {"7"}, "note": {"<b>gift</b>"}}
	text = s.post(t, "/orders", form, http.StatusOK)
	require.Contains(t, text, "The order is saved.")
	require.Contains(t, text, "Order T-1")
	require.Contains(t, text, "&lt;b&gt;gift&lt;/b&gt;")
	require.Contains(t, s.get(t, "/orders", http.StatusOK), "T-1")

	text = s.planAll(t)
	require.Contains(t, text, "127</b><span>garments")
	require.Contains(t, text, "Meadow on slate Puddle skirt 104")
	sheet := s.get(t, "/batches/1/sheet", http.StatusOK)
	for _, want := range []string{"Cut sheet: All of it", "Bundles", "Elastic 3/4 in", "Close the blade", "Check your local rules", " in (", "shade lot", "bolt <strong>", "could be shorter by at most", "<svg"} {
		require.Contains(t, sheet, want)
	}
	order := s.get(t, "/orders", http.StatusOK)
	require.Contains(t, order, "in a batch")
}

func TestARefusedOrderComesBackAsItWasTyped(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	text := s.get(t, "/orders/new", http.StatusOK)
	box := regexp.MustCompile(`name="(q\.\d+\.98)"`).FindStringSubmatch(text)[1]
	text = s.post(t, "/orders", url.Values{box: {"two"}, "number": {"Q-101"}, "due_on": {"soon"}, "note": {"keep me"}}, http.StatusUnprocessableEntity)
	for _, want := range []string{
		`value="two"`, "not a quantity", `value="Q-101"`, "keep me", `href="#` + box + `"`, `href="#due_on"`, "This was not saved yet", `aria-invalid="true"`,
	} {
		require.Contains(t, text, want)
	}
	text = s.post(t, "/orders", url.Values{box: {"2"}, "due_on": {"2020-01-01"}}, http.StatusUnprocessableEntity)
	require.Contains(t, text, "Choose a customer")
	require.Contains(t, text, "before the day")
	require.Contains(t, text, `value="2"`)
	orders, err := s.service.Orders(t.Context(), s.id, "", 1000)
	require.NoError(t, err)
	require.Len(t, orders, 20, "nothing is half-saved")
}

// Every form refuses bad input at the field and keeps what was typed.
func TestFormsRefuseAtTheField(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	style := regexp.MustCompile(`/styles/\d+`).FindString(s.get(t, "/styles", http.StatusOK))
	version := regexp.MustCompile(`name="version" value="(\d+)"`).FindStringSubmatch(s.get(t, style, http.StatusOK))[1]
	for _, test := range []struct {
		name, path string
		values     url.Values
		want       []string
	}{
		{
			"cloth", "/shelf/cloths",
			url.Values{"name": {"Wool"}, "full_width": {"wide"}, "price": {"1,234"}, "design": {"solid"}, "price_unit": {"yd"}, "nap": {"one way"}, "thickness": {"thin"}},
			[]string{`value="wide"`, "is not a unit", `href="#full_width"`, "Wool"},
		},
		{
			"cloth of a taken name", "/shelf/cloths",
			url.Values{"name": {"Oat canvas"}, "full_width": {"44 in"}, "price": {"1"}, "design": {"solid"}, "price_unit": {"yd"}, "nap": {"one way"}, "thickness": {"thin"}},
			[]string{"a cloth of this name already", `href="#name"`},
		},
		{"bolt", "/shelf/bolts", url.Values{"name": {""}, "length": {"-3 yd"}}, []string{"Choose a cloth", "Write a name", "0 or more", `value="-3 yd"`}},
		{"notion", "/shelf/notions", url.Values{"name": {"Cord"}, "kind": {"cut from a roll"}, "rolls": {"two rolls"}, "buy_price": {"x"}}, []string{"write a line like 2 x 25 yd", "Write a length", "two rolls"}},
		{"style", "/styles", url.Values{"starter": {"Gathered skirt"}, "name": {" "}}, []string{"Choose a size chart"}},
		{"allowances", style, url.Values{"version": {"1"}}, []string{"Write a length, such as"}},
		{"minutes", style + "/steps", url.Values{"version": {"1"}, "step.0.each": {"long"}, "step.1.each": {"2000"}}, []string{"long", "from 0 to 1440"}},
		{
			"piece", style + "/pieces/new",
			url.Values{"version": {"1"}, "name": {"facing"}, "role": {"body"}, "copies": {"0"}, "grain": {"any"}, "width": {"wiast"}, "length": {"3*inch"}},
			[]string{"from 1 to 100", `value="wiast"`},
		},
		{
			"piece of an unknown name", style + "/pieces/new",
			url.Values{"version": {version}, "name": {"facing"}, "role": {"body"}, "copies": {"2"}, "grain": {"any"}, "width": {"wiast"}, "length": {"3*inch"}},
			[]string{"is not a measure", `href="#width"`},
		},
		{
			"piece in one size only", style + "/pieces/new",
			url.Values{"version": {"1"}, "name": {"facing"}, "role": {"body"}, "copies": {"2"}, "grain": {"any"}, "cut.0.width": {"3 in"}, "cut.0.length": {"thin"}},
			[]string{"is not a unit", `value="thin"`},
		},
		{"colourway", style + "/colourways", url.Values{"name": {"Blank"}}, []string{"Choose a cloth for the", "Choose the", `value="Blank"`}},
		{"batch", "/batches", url.Values{"name": {""}}, []string{"Write a name"}},
		{"batch without orders", "/batches", url.Values{"name": {"Empty"}}, []string{"Choose at least one order"}},
		{"settings", "/workshop", url.Values{"name": {"Room"}, "wage": {"lots"}}, []string{`value="lots"`}},
	} {
		t.Run(test.name, func(t *testing.T) {
			text := s.post(t, test.path, test.values, http.StatusUnprocessableEntity)
			for _, want := range test.want {
				require.Contains(t, text, want)
			}
		})
	}
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// A maker who has only cut sizes adds a piece from a table, changes its minutes, and takes the
// piece out again.
func TestPiecesAndMinutesCanBeChanged(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	style := regexp.MustCompile(`href="(/styles/\d+)">Kindling bag`).FindStringSubmatch(s.get(t, "/styles", http.StatusOK))[1]
	piece := url.Values{
		"version": {"2"}, "name": {"patch"}, "role": {"body"}, "copies": {"1"}, "grain": {"any"},
		"cut.0.width": {"4 in"}, "cut.0.length": {"5 in"}, "cut.1.width": {"5"}, "cut.1.length": {"6"}, "cut.2.width": {"6 1/2 in"}, "cut.2.length": {"18 cm"},
	}
	text := s.post(t, style+"/pieces/new", piece, http.StatusOK)
	require.Contains(t, text, "The style is saved.")
	require.Contains(t, text, "6½ in × 7⅛ in")
	require.Contains(t, text, "cut sizes from a table")
	text = s.get(t, style+"/pieces/2", http.StatusOK)
	require.Contains(t, text, `value="6 1/2 in"`)
	steps := url.Values{"version": {"3"}}
	for _, field := range regexp.MustCompile(`name="(step\.\d+\.(?:set_up|each))"[^>]*value="([^"]+)"`).FindAllStringSubmatch(s.get(t, style, http.StatusOK), -1) {
		steps.Set(field[1], field[2])
	}
	steps.Set("step.1.each", "4,25")
	text = s.post(t, style+"/steps", steps, http.StatusOK)
	require.Contains(t, text, `value="4.25"`)
	require.Equal(t, 1, strings.Count(text, "timed by you, "))
	text = s.post(t, style+"/pieces/2", url.Values{"version": {"4"}, "remove": {"yes"}}, http.StatusOK)
	require.NotContains(t, text, "patch")
}

// What-if questions that make no sense are answered beside the form, with the real prices.
func TestWhatIf(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	price := regexp.MustCompile(`/prices/\d+`).FindString(s.get(t, "/prices", http.StatusOK))
	plain := s.get(t, price, http.StatusOK)
	total := regexp.MustCompile(`costs (\$[0-9.]+)`)
	asked := s.get(t, price+"?cloth=50&wage=&minutes=&batch=", http.StatusOK)
	require.Contains(t, asked, "Nothing is saved")
	require.NotEqual(t, total.FindString(plain), total.FindString(asked))
	for _, query := range []string{"?cloth=much", "?cloth=-300", "?batch=-1"} {
		text := s.get(t, price+query, http.StatusUnprocessableEntity)
		require.Equal(t, total.FindString(plain), total.FindString(text), query)
	}
	text := s.post(t, price+"/issue", nil, http.StatusOK)
	require.Contains(t, text, "kept with today")
	require.Contains(t, text, "prices kept on", "they are shown as they were kept")
	require.Contains(t, s.get(t, "/prices/lists", http.StatusOK), "Kept cost sheets and prices")
}

// upload posts a file to a form and follows where it leads.
func (s site) upload(t *testing.T, path, name, content string, status int) (text, at string) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", name)
	require.NoError(t, err)
	_, err = part.Write([]byte(content))
	require.NoError(t, err)
	require.NoError(t, form.Close())
	response, err := s.Client().Post(s.URL+path, form.FormDataContentType(), &body)
	require.NoError(t, err)
	at = response.Request.URL.Path
	return s.read(t, response, status, path), at
}

func TestImportIsLookedAtFirst(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	heading := "order,customer,due,style,colourway,size,quantity\n"
	due := time.Now().AddDate(0, 0, 30).Format(time.DateOnly)
	text, at := s.upload(t, "/imports/orders", "orders.csv", heading+"I-1,Web orders,"+due+",Puddle skirt,Meadow on slate,98,x\nI-2,Nobody,"+due+",Puddle skirt,Meadow on slate,98,1\n", http.StatusOK)
	require.Contains(t, text, "line 2, quantity")
	require.Contains(t, text, "line 3, customer")
	require.Contains(t, text, "Nothing can be taken yet")
	s.post(t, at, nil, http.StatusUnprocessableEntity)

	// A file with other headings, in another order, semicolons, decimal commas and Windows letters.
	text, at = s.upload(t, "/imports/orders", "b\xfcro.csv", "Qty;For whom;Garment;Colour;Size;Due date;No;Note\n2,0;Web orders;Puddle skirt;Meadow on slate;98;"+due+";I-7;r\xf6t\n", http.StatusOK)
	require.Contains(t, text, "röt")
	require.Contains(t, text, "The column &#34;customer&#34; is missing.")
	query := "?c.quantity=0&c.customer=1&c.style=2&c.colourway=3&c.size=4&c.due=5&c.order=6"
	text = s.get(t, at+query, http.StatusOK)
	require.Contains(t, text, "This would be taken")
	require.Contains(t, text, "1 order, 2 garments")
	require.NotContains(t, s.get(t, "/orders", http.StatusOK), "I-7", "nothing is taken by looking")
	values, err := url.ParseQuery(query[1:])
	require.NoError(t, err)
	text = s.post(t, at, values, http.StatusOK)
	require.Contains(t, text, "The orders are taken.")
	require.Contains(t, text, "I-7")
	s.get(t, at, http.StatusNotFound)

	// Everything comes back from the table as it was, and is not taken twice.
	table := s.get(t, "/orders.csv", http.StatusOK)
	text, _ = s.upload(t, "/imports/orders", "orders.csv", table, http.StatusOK)
	require.Contains(t, text, "21 that are here already")
	for _, kind := range []string{"cloths", "styles"} {
		table := s.get(t, "/"+kind+".csv", http.StatusOK)
		text, _ = s.upload(t, "/imports/"+kind, kind+".csv", table, http.StatusOK)
		if kind == "cloths" {
			require.Contains(t, text, "8 that are here already")
		} else {
			require.Contains(t, text, "Nothing can be taken yet", "styles by formulas are not overwritten by their sizes")
		}
	}
	require.Contains(t, s.get(t, "/prices.csv", http.StatusOK), "Puddle skirt,Meadow on slate,98,Fair")

	require.Contains(t, s.post(t, "/imports/orders", nil, http.StatusUnprocessableEntity), "Choose a file")
	text, _ = s.upload(t, "/imports/orders", "big.csv", strings.Repeat("x", 11<<20), http.StatusUnprocessableEntity)
	require.Contains(t, text, "at most 10 MB are read")
	text, _ = s.upload(t, "/imports/orders", "book.xlsx", "PK\x03\x04", http.StatusUnprocessableEntity)
	require.Contains(t, text, "save the sheet as CSV")
	s.get(t, "/imports/nothing", http.StatusNotFound)
	s.get(t, "/imports/drafts/99", http.StatusNotFound)
}

func TestClothsAndStylesComeFromTables(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	take := func(kind, content string) string {
		text, at := s.upload(t, "/imports/"+kind, kind+".csv", content, http.StatusOK)
		require.Contains(t, text, "This would be taken")
		return s.post(t, at, nil, http.StatusOK)
	}
	take("cloths", "\ufeffFabric,Width,Price,Nap,Selvedge\r\n'=Wren lawn,112 cm,8.50,one way,1/2 in\r\n")
	text := s.get(t, "/shelf", http.StatusOK)
	require.Contains(t, text, "=Wren lawn")
	text, _ = s.upload(t, "/imports/cloths", "cloths.csv", "name,width,price,nap\n,x,y,sideways\n", http.StatusOK)
	for _, want := range []string{"line 2, name", "line 2, width", "line 2, price", "line 2, nap"} {
		require.Contains(t, text, want)
	}
	chart := regexp.MustCompile(`\n[^,]+,([^,]+),`).FindStringSubmatch(s.get(t, "/styles.csv", http.StatusOK))[1]
	sizes := regexp.MustCompile(`(?m)^Puddle skirt,[^,]+,panel,[^,]+,[^,]+,[^,]+,([^,]+),`).FindAllStringSubmatch(s.get(t, "/styles.csv", http.StatusOK), -1)
	require.NotEmpty(t, chart)
	rows := "style,chart,piece,cloth,copies,grain,size,width,length\n"
	for i := range sizes {
		rows += fmt.Sprintf("Cut-out apron,%s,front,body,1,lengthwise,%s,%d in,20 1/2 in\n", regexp.MustCompile(`(?m)^Puddle skirt,([^,]+),`).FindStringSubmatch(s.get(t, "/styles.csv", http.StatusOK))[1], sizes[i][1], 20+i)
	}
	text = take("styles", rows)
	require.Contains(t, text, "Cut-out apron")

	// Every mistake of a table is said at once, each cell once.
	name := regexp.MustCompile(`(?m)^Puddle skirt,([^,]+),`).FindStringSubmatch(s.get(t, "/styles.csv", http.StatusOK))[1]
	text, _ = s.upload(t, "/imports/styles", "styles.csv", "style,chart,piece,cloth,copies,grain,size,width,length\n"+
		"Odd bag,"+name+",side,body,2,lengthwise,98,10 in,12 in\n"+
		"Odd bag,"+name+",side,lining,3,sideways,98,x,0 in\n"+
		"Odd bag,"+name+",side,,x,crosswise,1000,10 in,12 in\n"+
		"Odd bag,"+name+",side,body,2,lengthwise,104,10 in,12 in\n", http.StatusOK)
	for _, want := range []string{"line 3, cloth", "line 3, copies", "line 3, grain", "line 3, size", "line 3, width", "line 3, length", "line 4, copies", "line 4, grain", "line 4, size"} {
		require.Equal(t, 1, strings.Count(text, "<strong>"+want+"</strong>"), want)
	}
	require.NotContains(t, text, "<strong>line 2")
	require.NotContains(t, text, "<strong>line 5")
	text, _ = s.upload(t, "/imports/styles", "styles.csv", rows, http.StatusOK)
	require.Contains(t, text, "1 that is here already")
}

func TestCalendarFeed(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	feed := regexp.MustCompile(`/calendar/[0-9a-f]{64}\.ics`)
	address := feed.FindString(s.get(t, "/workshop", http.StatusOK))
	require.NotEmpty(t, address)
	text := s.get(t, address, http.StatusOK)
	require.Equal(t, 20, strings.Count(text, "SUMMARY:Due:"))
	require.Contains(t, text, "URL:"+s.URL+"/orders/")
	s.get(t, "/calendar/none.ics", http.StatusNotFound)
	s.post(t, "/workshop/calendar", nil, http.StatusOK)
	s.get(t, address, http.StatusNotFound)
	s.get(t, feed.FindString(s.get(t, "/workshop", http.StatusOK)), http.StatusOK)
}

// TestWorkingDaysInTheFeed reads the feed of a planned batch with an independent parser: each order
// on its due day, and each day that the batch is worked on, with as many hours as the plan books.
func TestWorkingDaysInTheFeed(t *testing.T) {
	t.Parallel()
	s := servePlanned(t)
	address := regexp.MustCompile(`/calendar/[0-9a-f]{64}\.ics`).FindString(s.get(t, "/workshop", http.StatusOK))
	calendar, err := ical.NewDecoder(strings.NewReader(s.get(t, address, http.StatusOK))).Decode()
	require.NoError(t, err)
	plan, err := s.service.MadePlan(t.Context(), s.id, 1)
	require.NoError(t, err)
	due, worked, seen := 0, time.Duration(0), map[string]bool{}
	for _, event := range calendar.Events() {
		summary, err := event.Props.Text(ical.PropSummary)
		require.NoError(t, err)
		if strings.HasPrefix(summary, "Due: ") {
			due++
			continue
		}
		day, err := event.DateTimeStart(time.UTC)
		require.NoError(t, err)
		require.False(t, seen[day.String()], "one day of a batch is one event")
		require.False(t, day.Before(plan.Start), summary)
		require.False(t, day.After(plan.DoneBy), summary)
		seen[day.String()] = true
		for _, part := range regexp.MustCompile(`(\d+) (h|min)`).FindAllStringSubmatch(summary, -1) {
			spent, err := time.ParseDuration(part[1] + part[2][:1])
			require.NoError(t, err)
			worked += spent
		}
	}
	require.Equal(t, 20, due)
	require.NotEmpty(t, seen)
	require.InDelta(t, plan.Worked.Minutes(), worked.Minutes(), float64(len(seen)), "the days hold all the work, each to the minute")
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	for _, path := range []string{"/nothing", "/orders/999999", "/orders/x", "/styles/999999", "/batches/999999", "/batches/999999/sheet", "/prices/999999", "/charts/999999", "/shelf/cloths/999999", "/shelf/bolts/0"} {
		require.Contains(t, s.get(t, path, http.StatusNotFound), "was not found", path)
	}
	foreign, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.URL+"/orders", strings.NewReader(""))
	require.NoError(t, err)
	foreign.Header.Set("Sec-Fetch-Site", "cross-site")
	response, err := s.Client().Do(foreign)
	require.NoError(t, err)
	require.NoError(t, response.Body.Close())
	require.Equal(t, http.StatusForbidden, response.StatusCode)

	long := url.Values{"note": {strings.Repeat("x", 5<<20)}}
	require.Contains(t, s.post(t, "/orders", long, http.StatusUnprocessableEntity), "upload is too large")
	require.NotContains(t, s.log.String(), "level=ERROR")

	// A database that is gone is our mistake: a neutral page, the reason in the log only.
	s.pool.Close()
	text := s.get(t, "/orders", http.StatusInternalServerError)
	require.Contains(t, text, "This is our mistake")
	require.NotContains(t, text, "pool")
	require.Contains(t, s.log.String(), "closed pool")
}

// change sends a form as its page would: with the version that the page began from.
func (s site) change(t *testing.T, path string, values url.Values, status int) string {
	t.Helper()
	version := fields(s.get(t, path, http.StatusOK), path).Get("version")
	require.NotEmpty(t, version, "the form at %s carries no version", path)
	values.Set("version", version)
	return s.post(t, path, values, status)
}

// A stale form is told, and keeps what was typed.
func TestTwoPeopleAtOneCloth(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	path := regexp.MustCompile(`/shelf/cloths/\d+`).FindString(s.get(t, "/shelf", http.StatusOK))
	form := url.Values{
		"version": {"1"}, "name": {"Renamed"}, "full_width": {"44 in"}, "price": {"1"}, "design": {"solid"}, "price_unit": {"yd"}, "nap": {"one way"}, "thickness": {"thin"},
	}
	require.Contains(t, s.post(t, path, form, http.StatusOK), "The cloth is saved.")
	form.Set("name", "Renamed again")
	text := s.post(t, path, form, http.StatusUnprocessableEntity)
	require.Contains(t, text, "Somebody else has saved this in the meantime")
	require.Contains(t, text, "Renamed again")
}

// An empty workshop leads a newcomer from page to page until the first order can be entered.
func TestANewcomerIsLed(t *testing.T) {
	t.Parallel()
	s := serve(t, pgtest.URL(t))
	next := func(label string) {
		t.Helper()
		require.Contains(t, s.get(t, "/", http.StatusOK), label)
	}
	next("Add a cloth")
	require.Contains(t, s.get(t, "/orders", http.StatusOK), "First a style")
	s.links(t)
	s.post(t, "/shelf/cloths", url.Values{"name": {"Poplin"}, "full_width": {"44 in"}, "selvage": {"1 in"}, "price": {"7.50"}, "price_unit": {"yd"}, "design": {"solid"}, "nap": {"either way"}, "thickness": {"thin"}, "can_buy": {"yes"}}, http.StatusOK)
	next("Add a notion")
	for _, notion := range []url.Values{
		{"name": {"Elastic"}, "kind": {"cut from a roll"}, "buy_length": {"25 yd"}, "buy_price": {"8.75"}, "rolls": {"2 x 25 yd\n3 yd"}},
		{"name": {"Thread"}, "kind": {"used by length"}, "buy_length": {"1000 m"}, "buy_price": {"4.60"}},
		{"name": {"Label"}, "kind": {"counted"}, "buy_count": {"100"}, "buy_price": {"19"}, "in_stock": {"40"}},
	} {
		s.post(t, "/shelf/notions", notion, http.StatusOK)
	}
	next("Start a style")
	chart := regexp.MustCompile(`<option value="(\d+)" selected`).FindStringSubmatch(s.get(t, "/styles/new?starter=Gathered+skirt", http.StatusOK))[1]
	s.post(t, "/styles", url.Values{"starter": {"Gathered skirt"}, "name": {"First skirt"}, "chart": {chart}, "option": {"band"}}, http.StatusOK)
	next("Choose a style")
	style := regexp.MustCompile(`/styles/\d+`).FindString(s.get(t, "/styles", http.StatusOK))
	text := s.get(t, style+"/colourways/new", http.StatusOK)
	form := url.Values{"name": {"Plain"}}
	for _, field := range regexp.MustCompile(`name="((?:cloth|notion)\.[^"]+)"`).FindAllStringSubmatch(text, -1) {
		label := map[string]string{"cloth.body": "Poplin", "cloth.band": "Poplin", "notion.elastic": "Elastic", "notion.thread": "Thread", "notion.label": "Label"}[field[1]]
		form.Set(field[1], regexp.MustCompile(`<option value="(\d+)">` + label).FindStringSubmatch(text)[1])
	}
	require.Len(t, form, 6)
	s.post(t, style+"/colourways", form, http.StatusOK)
	next("Price your style")
	next("Step 5 of 5")
	s.post(t, regexp.MustCompile(`/prices/\d+`).FindString(s.get(t, "/prices", http.StatusOK))+"/issue", nil, http.StatusOK)
	next("Enter an order")
	text = s.get(t, "/orders/new", http.StatusOK)
	box := regexp.MustCompile(`name="(q\.\d+\.98)"`).FindStringSubmatch(text)[1]
	s.post(t, "/orders", url.Values{"new_customer": {"Green Fair"}, "new_kind": {"fair"}, "due_on": {time.Now().AddDate(0, 0, 9).Format(time.DateOnly)}, box: {"5"}}, http.StatusOK)
	next("Make a batch")
	price := regexp.MustCompile(`/prices/\d+`).FindString(s.get(t, "/prices", http.StatusOK))
	require.Contains(t, s.get(t, price, http.StatusOK), "Online")
	require.NotContains(t, s.log.String(), "level=ERROR")
}

// Live progress is sent as events and ends with the plan.
func TestProgressIsLive(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	orders, err := s.service.Orders(t.Context(), s.id, "open", 1000)
	require.NoError(t, err)
	draft := workshop.BatchDraft{Name: "live"}
	for _, o := range orders {
		draft.Orders = append(draft.Orders, o.ID)
	}
	batchID, err := s.service.MakeBatch(t.Context(), s.id, draft)
	require.NoError(t, err)
	plan, err := s.service.StartPlanWith(t.Context(), s.id, batchID, 1, 2_000_000_000)
	require.NoError(t, err)
	response, err := s.Client().Get(fmt.Sprintf("%s/batches/%d/progress?plan=%d", s.URL, batchID, plan))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, response.Body.Close()) })
	require.Equal(t, "text/event-stream", response.Header.Get("Content-Type"))
	lines := bufio.NewScanner(response.Body)
	events := map[string]int{}
	for lines.Scan() {
		event, ok := strings.CutPrefix(lines.Text(), "event: ")
		if !ok {
			continue
		}
		events[event]++
		if events["progress"] == 3 {
			s.post(t, fmt.Sprintf("/batches/%d/stop", batchID), url.Values{"plan": {fmt.Sprint(plan)}}, http.StatusOK)
		}
	}
	require.GreaterOrEqual(t, events["progress"], 3)
	require.Equal(t, 1, events["ended"])
	require.Contains(t, s.get(t, fmt.Sprintf("/batches/%d", batchID), http.StatusOK), "the best plan so far")
}

// Every template fits the struct that it is given, in all of its branches.
func TestTemplatesFitTheirPages(t *testing.T) {
	t.Parallel()
	set, err := page.Load()
	require.NoError(t, err)
	views := page.Views()
	require.Len(t, views, len(set.Names()))
	for name, view := range views {
		require.NoError(t, templatecheck.CheckHTML(set.Template(name), view), name)
	}
}
