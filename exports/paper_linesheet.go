package exports

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"yardwright/batch/garment"
	"yardwright/costing/money"
)

// LineSheet is what a workshop offers to shops.
type LineSheet struct {
	// Title such as "Spring line"; Note says what shops should know, such as terms.
	Title, Note string
	// Contact says how to order.
	Contact string
	// OrderBy is the last day to order; zero if there is none.
	OrderBy time.Time
	// Minimum is the least order at wholesale prices; zero if there is none.
	Minimum money.Amount
	// Terms in words, such as "30 days".
	Terms string
	Items []LineItem
}

// LineItem is one style in one colourway with its prices by size.
type LineItem struct {
	Style     garment.Style
	Colourway string
	// Content of its cloths, such as "100 % cotton".
	Content string
	Sizes   []LineSize
	// Pieces to draw the style from, in a middle size.
	Pieces []garment.CutPiece
}

// LineSize is the price of one size. A zero Retail is not shown.
type LineSize struct {
	Size              string
	Wholesale, Retail money.Amount
}

// LineSheetPDF writes a line sheet: each style with a flat drawing, its sizes, wholesale and
// suggested retail prices; the least order and the last day to order stand at the top.
// It fails with w's error.
func LineSheetPDF(w io.Writer, line LineSheet, options Options) error {
	return lineSheet(line, options).write(w)
}

func lineSheet(line LineSheet, options Options) *sheets {
	title := line.Title
	if oneLine(title) == "" {
		title = "Line sheet"
	}
	s := newSheets(options, title)
	s.page(false)
	s.y += 2
	for _, words := range s.wrap(s.name(title), 20, true, s.inner(), 3) {
		s.line(words, 20, true, blackInk)
	}
	s.line(s.name(options.Workshop), 12, false, blackInk)
	s.y += 2
	facts := [][2]string{{"Styles", fmt.Sprint(len(line.Items))}}
	if !line.OrderBy.IsZero() {
		facts = append(facts, [2]string{"Order by", line.OrderBy.Format("Mon 2 Jan 2006")})
	}
	if line.Minimum.Sign() > 0 {
		facts = append(facts, [2]string{"Minimum order, wholesale", line.Minimum.Format(options.Locale)})
	}
	if line.Terms != "" {
		facts = append(facts, [2]string{"Terms", s.name(line.Terms)})
	}
	s.facts(len(facts), facts...)
	for _, words := range []string{line.Contact, line.Note} {
		if words != "" {
			s.paragraph(s.name(words), bodyLetter, false, blackInk, 0)
		}
	}
	s.y += 3
	for _, item := range line.Items {
		s.lineItem(item, options)
	}
	s.y += 1
	s.paragraph("Wholesale is what you pay us for one garment; suggested retail is what it could sell for. Drawings are to show the cut, not to scale with each other.", 8, false, greyInk, 0)
	s.lackedNote()
	return s
}

const (
	flatWide, flatHigh = 46.0, 46.0
	sizesPerRow        = 8
)

// lineItem writes one style: its drawing at the left, prices by size at the right.
func (s *sheets) lineItem(item LineItem, options Options) {
	room := s.inner() - flatWide - 6
	cell := max(16, room/sizesPerRow)
	perRow := max(1, int(room/cell))
	groups := (len(item.Sizes) + perRow - 1) / perRow
	high := max(flatHigh+4, 14+float64(groups)*19)
	if high < s.bottom()-pageTop {
		s.need(high)
	}
	top := s.y
	s.flat(item, pageEdge, top, flatWide, flatHigh)
	x := pageEdge + flatWide + 6
	s.text(x, s.y+4.5, s.fit(s.name(item.Style.Name), 13, true, room), 13, true, blackInk)
	words := s.name(item.Colourway)
	if content := s.name(item.Content); content != "" {
		words += " · " + content
	}
	s.text(x, s.y+9.5, s.fit(words, bodyLetter, false, room), bodyLetter, false, greyInk)
	s.y += 13
	for from := 0; from < len(item.Sizes); from += perRow {
		if s.y+19 > s.bottom() {
			s.page(false)
			top = s.y
		}
		part := item.Sizes[from:min(from+perRow, len(item.Sizes))]
		s.sizeRow(part, x, cell, options)
		s.y += 19
	}
	s.y = max(s.y, top+flatHigh+2)
	s.rule(pageEdge, s.y, s.width()-pageEdge, 0.15, ruleInk)
	s.y += 3
}

func (s *sheets) sizeRow(sizes []LineSize, x, cell float64, options Options) {
	letter := bodyLetter
	label := func(y float64, words string) { s.text(x, y, words, 7, false, greyInk) }
	retail := slices.ContainsFunc(sizes, func(l LineSize) bool { return l.Retail.Sign() > 0 })
	for i, size := range sizes {
		at := x + float64(i)*cell
		wholesale := size.Wholesale.Format(options.Locale)
		small := letter
		for small > 6 && s.textWidth(wholesale, small, true) > cell-1.5 {
			small -= 0.5
		}
		s.text(at, s.y+3, s.fit(s.name(size.Size), letter, true, cell-1.5), letter, true, blackInk)
		s.text(at, s.y+9.5, wholesale, small, true, blackInk)
		if retail && size.Retail.Sign() > 0 {
			s.text(at, s.y+16, size.Retail.Format(options.Locale), small, false, blackInk)
		}
	}
	label(s.y+6.2, "wholesale")
	if retail {
		label(s.y+12.7, "suggested retail")
	}
}

// Flat returns the outlines of a flat drawing of a style, seen from the front, in millimetres
// from the upper left corner, with its size. It is put together from the style's own pieces:
// the main piece as it hangs, gathered ones drawn in at the top, a band below, pockets on top.
func (item LineItem) Flat() (outlines [][]artPoint, wide, high float64) {
	body := item.mainPiece()
	if body < 0 {
		return nil, 0, 0
	}
	cut := item.Pieces[body]
	piece := item.pieceOf(cut)
	w, h := onPaper(cut.Width), onPaper(cut.Length)
	switch {
	case piece.Shape == garment.Sector:
		return flared(w, h, piece.Angle)
	case cut.Outline != nil && piece.Pair:
		outlines, wide, high = pairOf(cut)
	case cut.Outline != nil:
		outlines, wide, high = [][]artPoint{flatOutline(cut.Outline, h)}, w, h
	default:
		top := w
		if piece.Gathered != "" {
			if fullness, ok := item.Style.Allowance(piece.Gathered); ok && fullness.Number() > 1 {
				top = w / fullness.Number()
			}
		}
		outlines = append(outlines, []artPoint{{(w - top) / 2, 0}, {(w + top) / 2, 0}, {w, h}, {0, h}})
		wide, high = w, h
		for _, other := range item.Pieces {
			p := item.pieceOf(other)
			if p.Role == garment.Band && p.Gathered != "" && p.Gathered == piece.Gathered {
				depth := onPaper(other.Length) / 2
				outlines = append(outlines, []artPoint{{0, high}, {w, high}, {w, high + depth}, {0, high + depth}})
				high += depth
			}
		}
	}
	return append(outlines, item.flatPockets(wide, h)...), wide, high
}

func (item LineItem) pieceOf(cut garment.CutPiece) garment.Piece {
	if cut.Piece >= 0 && cut.Piece < len(item.Style.Pieces) {
		return item.Style.Pieces[cut.Piece]
	}
	return garment.Piece{Name: cut.Name, Role: cut.Role, Copies: cut.Copies}
}

// mainPiece is the largest body piece, or the largest of all.
func (item LineItem) mainPiece() int {
	best, most := -1, 0.0
	for i, cut := range item.Pieces {
		area := onPaper(cut.Width) * onPaper(cut.Length)
		if cut.Role == garment.Body {
			area *= 1000
		}
		if area > most {
			best, most = i, area
		}
	}
	return best
}

func (item LineItem) flatPockets(wide, high float64) [][]artPoint {
	var pockets [][]artPoint
	for _, cut := range item.Pieces {
		p := item.pieceOf(cut)
		w, h := onPaper(cut.Width)*0.85, onPaper(cut.Length)*0.8
		if p.Role != garment.Pocket || w > wide || h > high {
			continue
		}
		centres := []float64{wide / 2}
		if cut.Copies > 1 && 2*w < wide {
			centres = []float64{wide * 0.28, wide * 0.72}
		}
		y := (high - h) * 0.5
		for _, x := range centres {
			pockets = append(pockets, []artPoint{{x - w/2, y}, {x + w/2, y}, {x + w/2, y + h}, {x - w/2, y + h}})
		}
	}
	return pockets
}

func flatOutline(outline []garment.Point, high float64) []artPoint {
	flat := make([]artPoint, len(outline))
	for i, p := range outline {
		flat[i] = artPoint{onPaper(p.X), high - onPaper(p.Y)}
	}
	return flat
}

// pairOf draws a left and a right piece folded along their middles and joined at their upper
// edge, as shorts and trousers hang.
func pairOf(cut garment.CutPiece) (outlines [][]artPoint, wide, high float64) {
	w, h := onPaper(cut.Width), onPaper(cut.Length)
	// The upper edge, between the centre lines front and back.
	left, right := w, 0.0
	for _, p := range cut.Outline {
		if p.Y > cut.Length*95/100 {
			left, right = min(left, onPaper(p.X)), max(right, onPaper(p.X))
		}
	}
	half := (right - left) / 2
	if half <= 0 {
		return [][]artPoint{flatOutline(cut.Outline, h)}, w, h
	}
	// From the side fold in the middle of the top to the front fork: the front as it is seen.
	fork := 0.0
	for _, p := range cut.Outline {
		if onPaper(p.X) < 1 {
			fork = max(fork, onPaper(p.Y))
		}
	}
	leg := half + left
	shape := func(sign float64) []artPoint {
		middle := leg
		return []artPoint{
			{middle, 0}, {middle + sign*half, 0}, {middle + sign*leg, h}, {middle + sign*0.06*half, h}, {middle, h - fork},
		}
	}
	return [][]artPoint{shape(-1), shape(1)}, 2 * leg, h
}

// flared draws a circle skirt as it hangs: narrow at the waist, in folds at the hem.
func flared(w, h float64, angle int) (outlines [][]artPoint, wide, high float64) {
	outer := w / 2
	if angle == 90 {
		outer = w
	}
	high, wide = outer*0.85, outer*1.5
	waist := wide * 0.32
	shape := []artPoint{{(wide - waist) / 2, 0}, {(wide + waist) / 2, 0}}
	const folds = 6
	for i := range folds*8 + 1 {
		t := float64(i) / (folds * 8)
		x := wide * (1 - t)
		drop := math.Sin(math.Pi*t) * high * 0.06
		shape = append(shape, artPoint{x, high*0.94 + drop + math.Sin(t*folds*2*math.Pi)*high*0.012})
	}
	return [][]artPoint{shape, {{(wide - waist) / 2, 0}, {(wide + waist) / 2, 0}, {(wide + waist) / 2, -high * 0.06}, {(wide - waist) / 2, -high * 0.06}}}, wide, high
}

// flat draws a style into a box.
func (s *sheets) flat(item LineItem, x, y, wide, high float64) {
	outlines, w, h := item.Flat()
	if len(outlines) == 0 || w <= 0 || h <= 0 {
		return
	}
	scale := min((wide-2)/w, (high-6)/h)
	left, top := x+(wide-w*scale)/2, y+4
	s.draw(blackInk, 0.35)
	for i, outline := range outlines {
		points := make([]fpdf.PointType, len(outline))
		for j, p := range outline {
			points[j] = fpdf.PointType{X: left + p.x*scale, Y: top + p.y*scale}
		}
		s.fill(tint(i))
		s.pdf.Polygon(points, "FD")
	}
	s.draw(blackInk, 0.2)
}

// FlatSVG writes the flat drawing of a style as an <svg> element for a page, about as wide as
// it is high; nothing if there is nothing to draw.
func FlatSVG(w io.Writer, item LineItem) error {
	outlines, wide, high := item.Flat()
	if len(outlines) == 0 || wide <= 0 || high <= 0 {
		return nil
	}
	var svg svgWriter
	above := high * 0.08
	svg.begin("svg", attribute{"xmlns", "http://www.w3.org/2000/svg"}, attribute{"class", "flat-drawing"}, attribute{"role", "img"}, attribute{"aria-label", "Flat drawing of " + item.Style.Name},
		attribute{"viewBox", fmt.Sprintf("%s %s %s %s", decimalMM(-wide*0.02), decimalMM(-above), decimalMM(wide*1.04), decimalMM(high+1.4*above))}, attribute{"width", "150"}, attribute{"height", "150"})
	for i, outline := range outlines {
		var path strings.Builder
		for j, p := range outline {
			path.WriteString([]string{"M", "L"}[min(j, 1)] + decimalMM(p.x) + " " + decimalMM(p.y))
		}
		svg.empty("path", attribute{"d", path.String() + "Z"}, attribute{"fill", tints[i%len(tints)]}, attribute{"stroke", ink}, attribute{"stroke-width", decimalMM(max(wide, high) / 120)}, attribute{"stroke-linejoin", "round"})
	}
	svg.end()
	_, err := w.Write(svg.out.Bytes())
	return err
}
