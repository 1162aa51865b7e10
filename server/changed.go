package server

import (
	"bytes"
	"context"
	"net/http"
	"path"
	"slices"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"yardwright/server/page"
	"yardwright/server/store"
)

// A form that changes something carries the version that it began from in its field "version".
// When it is refused, whatever the reason, it keeps that version, so that the next try can't
// overwrite what somebody else has saved since. If somebody has, both are shown, and the form
// goes on from the newer version.

// meantime finishes a form that was refused: it keeps its version, or tells what somebody
// else has saved in the meantime. Pages without such a form stay as they are.
func (s *Server) meantime(r *http.Request, content []byte) ([]byte, error) {
	posted, ok := r.PostForm["version"]
	if r.Method != http.MethodPost || !ok || len(posted) == 0 || r.PostForm.Has("page") {
		return content, nil
	}
	document, err := html.Parse(bytes.NewReader(content))
	if err != nil {
		return nil, err
	}
	refused := formTo(document, r)
	if refused == nil {
		return content, nil
	}
	version := controlOf(refused, "version")
	if _, names := holds(document, refused); len(names) == 0 {
		return content, nil // a button alone: nothing was typed
	}
	fresh, gone := s.freshForm(r)
	switch {
	case gone:
		err = tell(refused, page.Changed{Gone: true})
	case fresh == nil || attribute(controlOf(fresh, "version"), "value") == posted[0]:
		setAttribute(version, "value", posted[0])
	default:
		setAttribute(version, "value", attribute(controlOf(fresh, "version"), "value"))
		shortenProblem(document)
		err = tell(refused, page.Changed{Differences: differences(document, fresh, refused)})
	}
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = html.Render(&out, document)
	return out.Bytes(), err
}

// freshForm is the form as it would be opened now; gone tells that what it changes is there no
// more. Where the form stands is told by the browser, or else by the usual addresses.
func (s *Server) freshForm(r *http.Request) (fresh *html.Node, gone bool) {
	tries := []string{from(r), s.keptFrom(r), r.URL.Path, r.URL.Path + "/edit", path.Dir(r.URL.Path)}
	for _, try := range tries {
		try = pathOf(try)
		if try == "" {
			continue
		}
		content, status := s.inside(r, try)
		if status == http.StatusNotFound {
			gone = gone || try == pathOf(from(r)) || try == r.URL.Path
		}
		if status != http.StatusOK {
			continue
		}
		document, err := html.Parse(bytes.NewReader(content))
		if err != nil {
			continue
		}
		if found := formTo(document, r); found != nil {
			return found, false
		}
	}
	return nil, gone
}

// inside gets one of our own pages for the person who sent a request.
func (s *Server) inside(r *http.Request, address string) ([]byte, int) {
	again, err := http.NewRequestWithContext(context.WithoutCancel(withoutRoute(r.Context())), http.MethodGet, address, nil)
	if err != nil {
		return nil, 0
	}
	again.Host, again.RemoteAddr = r.Host, r.RemoteAddr
	route := routeOf(s.routes, again)
	if route == "" || whoOf(r.Context()).Role == store.Helper && !forHelpers[route] {
		return nil, 0
	}
	answer := &kept{header: http.Header{}, status: http.StatusOK}
	s.routes.ServeHTTP(answer, again)
	return answer.body.Bytes(), answer.status
}

// kept is an answer that is looked at instead of sent.
type kept struct {
	header http.Header
	body   bytes.Buffer
	status int
}

func (k *kept) Header() http.Header               { return k.header }
func (k *kept) WriteHeader(status int)            { k.status = status }
func (k *kept) Write(content []byte) (int, error) { return k.body.Write(content) }

// formTo finds the form of a page that sends to where a request went; of several, the one
// with most of its fields.
func formTo(document *html.Node, r *http.Request) *html.Node {
	var found *html.Node
	most := 0
	for node := range document.Descendants() {
		if node.DataAtom != atom.Form || formMethod(node) != http.MethodPost || pathOf(attribute(node, "action")) != r.URL.Path || controlOf(node, "version") == nil {
			continue
		}
		shared := 0
		for _, c := range controls(node) {
			if r.PostForm.Has(attribute(c, "name")) {
				shared++
			}
		}
		if shared > most {
			found, most = node, shared
		}
	}
	return found
}

// controls lists what of a form can be fieldValues in, with its hidden fields.
func controls(form *html.Node) []*html.Node {
	var found []*html.Node
	for node := range form.Descendants() {
		if (node.DataAtom == atom.Input || node.DataAtom == atom.Select || node.DataAtom == atom.Textarea) && attribute(node, "name") != "" {
			found = append(found, node)
		}
	}
	return found
}

func controlOf(form *html.Node, name string) *html.Node {
	for _, c := range controls(form) {
		if attribute(c, "name") == name {
			return c
		}
	}
	return nil
}

func setAttribute(node *html.Node, name, value string) {
	for i := range node.Attr {
		if node.Attr[i].Key == name {
			node.Attr[i].Val = value
			return
		}
	}
	node.Attr = append(node.Attr, html.Attribute{Key: name, Val: value})
}

func hasAttribute(node *html.Node, name string) bool {
	return slices.ContainsFunc(node.Attr, func(a html.Attribute) bool { return a.Key == name })
}

// fieldValues is what a field of a form holds: the values that it sends, and how they read.
type fieldValues struct {
	values, words []string
	first         *html.Node
	takeable      bool
}

// holds reads the fields of a form, by name, in the order of the page.
func holds(document, form *html.Node) (fields map[string]*fieldValues, names []string) {
	fields = map[string]*fieldValues{}
	for _, c := range controls(form) {
		name := attribute(c, "name")
		if attribute(c, "type") == "hidden" {
			continue
		}
		field := fields[name]
		if field == nil {
			field = &fieldValues{first: c}
			fields[name] = field
			names = append(names, name)
		}
		field.read(document, c)
	}
	return fields, names
}

func (f *fieldValues) read(document, c *html.Node) {
	switch kind := attribute(c, "type"); {
	case kind == "checkbox" || kind == "radio":
		f.takeable = false
		if hasAttribute(c, "checked") {
			f.values, f.words = append(f.values, attribute(c, "value")), append(f.words, labelOf(document, c))
		}
	case c.DataAtom == atom.Select:
		f.takeable = true
		if option := chosenOption(c); option != nil {
			f.values, f.words = append(f.values, optionValue(option)), append(f.words, textIn(option))
		}
	case c.DataAtom == atom.Textarea:
		f.takeable = true
		text := strings.TrimPrefix(rawText(c), "\n")
		f.values, f.words = append(f.values, text), append(f.words, text)
	default:
		f.takeable = true
		f.values, f.words = append(f.values, attribute(c, "value")), append(f.words, attribute(c, "value"))
	}
}

// chosenOption is the option that a list shows: the chosen one, or the first.
func chosenOption(list *html.Node) *html.Node {
	var first *html.Node
	for node := range list.Descendants() {
		if node.DataAtom != atom.Option {
			continue
		}
		if hasAttribute(node, "selected") {
			return node
		}
		if first == nil {
			first = node
		}
	}
	return first
}

func optionValue(option *html.Node) string {
	if hasAttribute(option, "value") {
		return attribute(option, "value")
	}
	return textIn(option)
}

// labelOf is what a field is called: by its label without the hints in it, or by its name for
// those who don't see the page.
func labelOf(document, c *html.Node) string {
	if name := attribute(c, "aria-label"); name != "" {
		return name
	}
	for parent := c.Parent; parent != nil; parent = parent.Parent {
		if parent.DataAtom == atom.Label {
			return textIn(parent)
		}
	}
	id := attribute(c, "id")
	for node := range document.Descendants() {
		if node.DataAtom == atom.Label && id != "" && attribute(node, "for") == id {
			return textIn(node)
		}
	}
	return attribute(c, "name")
}

// groupOf is what a group of boxes to tick is called.
func groupOf(c *html.Node) string {
	for parent := c.Parent; parent != nil; parent = parent.Parent {
		if parent.DataAtom != atom.Fieldset {
			continue
		}
		for node := range parent.Descendants() {
			if node.DataAtom == atom.Legend {
				return textIn(node)
			}
		}
	}
	return ""
}

// textIn is the text of a part of a page on one line, without hints.
func textIn(node *html.Node) string {
	var text strings.Builder
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.TextNode {
			text.WriteString(n.Data)
		}
		if slices.ContainsFunc([]string{"hint", "bad", "sub"}, func(class string) bool { return slices.Contains(strings.Fields(attribute(n, "class")), class) }) {
			return
		}
		for child := n.FirstChild; child != nil; child = child.NextSibling {
			walk(child)
		}
	}
	walk(node)
	return strings.Join(strings.Fields(text.String()), " ")
}

func rawText(node *html.Node) string {
	var text strings.Builder
	for child := range node.Descendants() {
		if child.Type == html.TextNode {
			text.WriteString(child.Data)
		}
	}
	return text.String()
}

// differences lists the fields in which what is saved and what was typed differ.
func differences(document, fresh, refused *html.Node) []page.Difference {
	saved, _ := holds(rootOf(fresh), fresh)
	typed, names := holds(document, refused)
	var list []page.Difference
	for _, name := range names {
		mine, theirs := typed[name], saved[name]
		if theirs == nil || slices.Equal(mine.values, theirs.values) {
			continue
		}
		d := page.Difference{Field: attribute(mine.first, "id"), Label: labelOf(document, mine.first), Saved: said(theirs), Typed: said(mine)}
		if kind := attribute(mine.first, "type"); kind == "checkbox" || kind == "radio" {
			if group := groupOf(mine.first); group != "" {
				d.Label = group
			} else if kind == "checkbox" {
				d.Saved, d.Typed = tickedOrNot(theirs), tickedOrNot(mine)
			}
		}
		if mine.takeable && len(theirs.values) == 1 {
			d.Take, d.CanTake = theirs.values[0], true
		}
		list = append(list, d)
	}
	return list
}

func said(f *fieldValues) string { return strings.Join(f.words, ", ") }

func tickedOrNot(f *fieldValues) string {
	if len(f.values) > 0 {
		return "ticked"
	}
	return "not ticked"
}

func rootOf(node *html.Node) *html.Node {
	for node.Parent != nil {
		node = node.Parent
	}
	return node
}

// tell puts what somebody else has saved before a form.
func tell(form *html.Node, changed page.Changed) error {
	part, err := changed.HTML()
	if err != nil {
		return err
	}
	nodes, err := html.ParseFragment(strings.NewReader(string(part)), &html.Node{Type: html.ElementNode, Data: "div", DataAtom: atom.Div})
	if err != nil {
		return err
	}
	for _, node := range nodes {
		form.Parent.InsertBefore(node, form)
	}
	return nil
}

// shortenProblem makes the message about a change by somebody else lead to where it is told.
func shortenProblem(document *html.Node) {
	for node := range document.Descendants() {
		if node.Type == html.TextNode && strings.HasPrefix(node.Data, store.ChangedMeanwhile) {
			node.Data = "Somebody else has saved this in the meantime: see below what, then save again."
		}
	}
}
