package server_test

import (
	"encoding/xml"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// findAll lists the elements below a node that a test lets through.
func findAll(node *html.Node, let func(*html.Node) bool) []*html.Node {
	var found []*html.Node
	for child := range node.Descendants() {
		if child.Type == html.ElementNode && let(child) {
			found = append(found, child)
		}
	}
	return found
}

func attr(node *html.Node, name string) string {
	for _, a := range node.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func classed(class string) func(*html.Node) bool {
	return func(n *html.Node) bool { return slices.Contains(strings.Fields(attr(n, "class")), class) }
}

func having(name string) func(*html.Node) bool {
	return func(n *html.Node) bool {
		return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == name })
	}
}

func said(node *html.Node) string {
	var text strings.Builder
	for child := range node.Descendants() {
		if child.Type == html.TextNode {
			text.WriteString(child.Data)
		}
	}
	return strings.Join(strings.Fields(text.String()), " ")
}

// Every drawing of a batch has a name and a description, is drawn both ways, and each of its
// pieces is told in words, with the orders that it is for.
func TestMarkersAreToldInWords(t *testing.T) {
	t.Parallel()
	s := servePlanned(t)
	text := s.get(t, "/batches/1", http.StatusOK)
	document, err := html.Parse(strings.NewReader(text))
	require.NoError(t, err)
	_, plan, err := s.service.HeldPlan(t.Context(), s.id, 1)
	require.NoError(t, err)
	figures := findAll(document, having("data-marker"))
	require.Len(t, figures, plan.Lays())
	ids := map[string]bool{}
	for _, n := range findAll(document, having("id")) {
		require.False(t, ids[attr(n, "id")], "the id %s appears twice", attr(n, "id"))
		ids[attr(n, "id")] = true
	}
	at := 0
	for _, planned := range plan.Cloths {
		for i, l := range planned.Plan.Lays {
			figure := figures[at]
			at++
			var ways, laid []string
			for _, row := range findAll(figure, having("data-laid")) {
				laid = append(laid, attr(row, "data-laid"))
				garment := attr(row, "data-garment")
				require.Len(t, findAll(figure, func(n *html.Node) bool { return attr(n, "data-for") == garment }), 1)
			}
			require.Len(t, laid, len(l.Marker.Placements))
			for _, box := range findAll(figure, classed("drawing")) {
				ways = append(ways, attr(box, "data-way"))
				svg := findAll(box, func(n *html.Node) bool { return n.Data == "svg" })[0]
				require.Equal(t, "img", attr(svg, "role"))
				for _, name := range strings.Fields(attr(svg, "aria-labelledby")) {
					require.True(t, ids[name], name)
				}
				var drawn []string
				for _, piece := range findAll(box, classed("marker-piece")) {
					drawn = append(drawn, attr(piece, "data-piece")+"."+attr(piece, "data-copy"))
					require.Contains(t, said(piece), " For order ", "its title says for whom it is")
				}
				require.ElementsMatch(t, laid, drawn)
			}
			require.Contains(t, ways, "up")
			require.Contains(t, ways, "right")
			name := fmt.Sprintf("%s, lay %d", planned.Cloth.Name, i+1)
			require.Contains(t, said(figure), name)
		}
	}
	// All orders of the batch are named somewhere, with how many they want.
	for _, line := range plan.Lines {
		require.Regexp(t, "order "+regexp.QuoteMeta(line.Order)+` \(`+regexp.QuoteMeta(html.EscapeString(line.Customer))+`\) \d+`, text)
	}
	require.Regexp(t, `into bundles? \d+`, text)

	file := regexp.MustCompile(`/batches/1/drawing\.svg[^"]+`).FindString(text)
	require.NotEmpty(t, file)
	for _, way := range []string{"", "&way=up", "&way=right"} {
		var root struct {
			XMLName xml.Name
			Role    string `xml:"role,attr"`
		}
		require.NoError(t, xml.Unmarshal([]byte(s.get(t, strings.ReplaceAll(file, "&amp;", "&")+way, http.StatusOK)), &root))
		require.Equal(t, "svg", root.XMLName.Local)
		require.Equal(t, "img", root.Role)
	}
	for _, wrong := range []string{"/batches/1/drawing.svg", "/batches/1/drawing.svg?cloth=1&lay=900", "/batches/1/drawing.svg?cloth=999999&lay=1", "/batches/77/drawing.svg?cloth=1&lay=1"} {
		s.get(t, wrong, http.StatusNotFound)
	}
	// Paper shows one drawing of each lay, upright.
	sheet := s.get(t, "/batches/1/sheet", http.StatusOK)
	require.Equal(t, plan.Lays(), strings.Count(sheet, `class="drawing paper"`))
	require.NotContains(t, sheet, "data-marker")
}
