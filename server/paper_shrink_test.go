package server_test

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/garment"
	"yardwright/server/store"
)

// Templates are of pieces as they are cut from the cloths of a colourway, and say so; their size is
// the one that is laid.
func TestTemplatesHaveRoomForShrinking(t *testing.T) {
	t.Parallel()
	s := serveDemo(t)
	ctx := t.Context()
	ways, err := s.service.Colourways(ctx, s.id)
	require.NoError(t, err)
	var way store.Colourway
	var style store.Style
	body := -1
	for _, way = range ways {
		style, err = s.service.Style(ctx, s.id, way.StyleID)
		require.NoError(t, err)
		body = slices.IndexFunc(style.Pieces, func(p garment.Piece) bool { return p.Role == garment.Body && p.Shape == garment.Rectangle && !p.Fold })
		if body >= 0 {
			break
		}
	}
	require.GreaterOrEqual(t, body, 0)
	_, err = s.pool.Exec(ctx, `UPDATE cloths SET shrink_length = 4, shrink_width = 2.5, pre_washed = (id <> $1)`, way.Cloths[garment.Body])
	require.NoError(t, err)
	chart, err := s.service.Chart(ctx, s.id, style.ChartID)
	require.NoError(t, err)
	room, err := s.service.Workshop(ctx, s.id)
	require.NoError(t, err)
	size := chart.SizeNames()[1]
	graded, err := style.Grade(chart.SizeChart, size)
	require.NoError(t, err)
	path := fmt.Sprintf("/styles/%d/templates", style.ID)
	for _, c := range []struct {
		query  string
		shrink garment.Shrinkage
		says   string
	}{
		{fmt.Sprintf("colourway=%d", way.ID), garment.Shrinkage{Lengthwise: 400, Crosswise: 250}, "4 % lengthwise, 2.5 % crosswise"},
		{"colourway=0", garment.Shrinkage{}, "They have no room for shrinking"},
	} {
		text := s.get(t, path+"?"+c.query+"&of="+url.QueryEscape(size), http.StatusOK)
		require.Contains(t, text, c.says)
		cut, err := c.shrink.Shrink(graded.Pieces[body], room.CutStep)
		require.NoError(t, err)
		svg := s.get(t, fmt.Sprintf("%s.svg?%s&size=%s&piece=%d", path, c.query, url.QueryEscape(size), body), http.StatusOK)
		require.InDelta(t, cut.Width.Millimetres(), extent(t, svg, "template-cut"), 0.01, c.query)
		s.get(t, fmt.Sprintf("%s.pdf?%s&size=%s&piece=%d", path, c.query, url.QueryEscape(size), body), http.StatusOK)
	}
	s.get(t, path+"?colourway=99999", http.StatusNotFound)
	s.get(t, path+"?colourway=x", http.StatusNotFound)
}
