package server

import (
	"bytes"
	"net/http"
	"slices"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// withoutForbidden is a page as a helper gets it: links to pages that are for owners are plain
// text, and forms that only owners may send can be read but not sent. What a page shows is
// decided by its template; this only keeps it from offering what would be refused.
func withoutForbidden(content []byte, allowed func(method, path string) bool) ([]byte, error) {
	document, err := html.Parse(bytes.NewReader(content))
	if err != nil {
		return nil, err
	}
	var drop []*html.Node
	for node := range document.Descendants() {
		switch {
		case node.Type != html.ElementNode:
		case node.DataAtom == atom.A && forbiddenLink(node, allowed):
			if slices.Contains(strings.Fields(attribute(node, "class")), "button") {
				drop = append(drop, node)
				continue
			}
			node.Data, node.DataAtom, node.Attr = "span", atom.Span, nil
		case node.DataAtom == atom.Form && !allowed(formMethod(node), pathOf(attribute(node, "action"))):
			drop = append(drop, lockForm(node)...)
		}
	}
	for _, node := range drop {
		if node.Parent != nil {
			node.Parent.RemoveChild(node)
		}
	}
	var out bytes.Buffer
	err = html.Render(&out, document)
	return out.Bytes(), err
}

func forbiddenLink(node *html.Node, allowed func(method, path string) bool) bool {
	target := attribute(node, "href")
	return strings.HasPrefix(target, "/") && !strings.HasPrefix(target, "/static/") && !allowed(http.MethodGet, pathOf(target))
}

func formMethod(form *html.Node) string {
	if strings.EqualFold(attribute(form, "method"), "post") {
		return http.MethodPost
	}
	return http.MethodGet
}

func pathOf(target string) string {
	path, _, _ := strings.Cut(target, "#")
	path, _, _ = strings.Cut(path, "?")
	return path
}

// lockForm makes a form something to read, and returns what has to go.
func lockForm(form *html.Node) (drop []*html.Node) {
	form.Data, form.DataAtom = "div", atom.Div
	form.Attr = slices.DeleteFunc(form.Attr, func(a html.Attribute) bool { return a.Key != "class" && a.Key != "id" })
	empty := true
	for node := range form.Descendants() {
		switch {
		case node.Type != html.ElementNode:
		case node.DataAtom == atom.Button || node.DataAtom == atom.Input && attribute(node, "type") == "hidden":
			drop = append(drop, node)
		case node.DataAtom == atom.Input || node.DataAtom == atom.Select || node.DataAtom == atom.Textarea:
			node.Attr = append(node.Attr, html.Attribute{Key: "disabled"})
			empty = false
		}
	}
	if empty {
		return append(drop, form)
	}
	return drop
}

func attribute(node *html.Node, name string) string {
	for _, a := range node.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}
