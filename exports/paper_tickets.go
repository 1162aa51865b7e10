package exports

import (
	"fmt"
	"image/color"
	"io"
	"strconv"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/qr"

	"yardwright/batch"
)

// Tickets on a sheet.
const (
	ticketColumns = 2
	ticketRows    = 4
	ticketQR      = 30.0 // side of the QR code with its quiet zone, in millimetres
	quietModules  = 4    // ISO/IEC 18004: the least white room around a QR code
)

// Tickets writes a ticket for each bundle of a plan as a PDF, eight on a sheet with lines to
// cut along. Its QR code holds the address that opens the bundle on a telephone; address says
// it for the number of a bundle. It fails with w's error, or if an address is too long for a
// QR code.
func Tickets(w io.Writer, plan batch.Plan, address func(bundle int) string, options Options) error {
	s, err := tickets(plan, address, options)
	if err != nil {
		return err
	}
	return s.write(w)
}

func tickets(plan batch.Plan, address func(bundle int) string, options Options) (*sheets, error) {
	s := newSheets(options, "Bundle tickets: "+oneLine(plan.Name))
	perSheet := ticketColumns * ticketRows
	if len(plan.Bundles) == 0 {
		s.page(false)
		s.paragraph("No bundles.", bodyLetter, false, greyInk, 0)
	}
	for i, b := range plan.Bundles {
		if i%perSheet == 0 {
			s.page(false)
			s.cutLines()
		}
		x, y, wide, high := s.ticketPlace(i % perSheet)
		if err := s.ticket(plan, b, address(b.Number), x, y, wide, high); err != nil {
			return nil, fmt.Errorf("bundle %d: %w", b.Number, err)
		}
	}
	return s, nil
}

// ticketPlace is where a ticket of a sheet lies.
func (s *sheets) ticketPlace(at int) (x, y, wide, high float64) {
	wide = (s.width() - pageEdge) / ticketColumns
	high = (s.height() - pageTop - pageEdge/2) / ticketRows
	return pageEdge/2 + float64(at%ticketColumns)*wide, pageTop + float64(at/ticketColumns)*high, wide, high
}

func (s *sheets) cutLines() {
	s.draw(greyInk, 0.2)
	s.pdf.SetDashPattern([]float64{2, 1.5}, 0)
	left, top, wide, high := s.ticketPlace(0)
	for column := range ticketColumns + 1 {
		x := left + float64(column)*wide
		s.pdf.Line(x, top, x, top+ticketRows*high)
	}
	for row := range ticketRows + 1 {
		y := top + float64(row)*high
		s.pdf.Line(left, y, left+ticketColumns*wide, y)
	}
	s.pdf.SetDashPattern(nil, 0)
	s.draw(blackInk, 0.2)
}

func (s *sheets) ticket(plan batch.Plan, b batch.Bundle, address string, x, y, wide, high float64) error {
	const pad = 4.5
	x, y, wide, high = x+pad, y+pad, wide-2*pad, high-2*pad
	side := wide - ticketQR - 3
	_, pieces, from := bundleWords(plan, b)
	var g batch.Garment
	if b.Garment >= 0 && b.Garment < len(plan.Garments) {
		g = plan.Garments[b.Garment]
	}
	if err := s.qrCode(address, x+wide-ticketQR, y, ticketQR); err != nil {
		return err
	}
	s.centred(x+wide-ticketQR/2, y+ticketQR+2.5, "scan to open", 7, false, greyInk)
	s.text(x, y+5, s.fit("Bundle "+strconv.Itoa(b.Number), 15, true, side), 15, true, blackInk)
	at := y + 7
	write := func(words string, letter float64, bold bool, colour rgb, room float64, most int) {
		for _, line := range s.wrap(words, letter, bold, room, most) {
			at += letter * pointMM * 1.2
			s.text(x, at, line, letter, bold, colour)
		}
	}
	write(s.name(g.Style), 11, true, blackInk, side, 2)
	write(s.name(g.Colourway), 9.5, false, blackInk, side, 2)
	at += 1
	s.text(x, at+6, s.fit("Size "+s.name(g.Size)+"  ×  "+strconv.Itoa(b.Quantity), 15, true, side), 15, true, blackInk)
	at = max(at+8, y+ticketQR+3.5)
	// What is below has the whole width; the last line are boxes to tick.
	foot := y + high - 4
	lines := func(words string, letter float64, colour rgb, most int) {
		room := int((foot - 1 - at) / (letter * pointMM * 1.2))
		if room > 0 {
			write(words, letter, false, colour, wide, min(most, room))
		}
	}
	lines(pieces, 8.5, blackInk, 3)
	if lots := b.LotWords(plan, lotOnPaper); lots != "" {
		lines("Shade lot: "+s.name(lots), 8.5, blackInk, 2)
	}
	lines("Out of "+from, 7.5, greyInk, 2)
	lines(s.name(plan.Name), 7.5, greyInk, 1)
	tickX := x
	for _, word := range []string{"sewn", "pressed", "checked, no needle left", "packed"} {
		s.tick(tickX, foot+0.8, 2.6)
		s.text(tickX+3.4, foot+3.1, word, 7.5, false, blackInk)
		tickX += 6.5 + s.textWidth(word, 7.5, false)
	}
	return nil
}

// qrCode draws a QR code (ISO/IEC 18004, level M) with its quiet zone into a square.
func (s *sheets) qrCode(content string, x, y, side float64) error {
	code, err := qr.Encode(content, qr.M, qr.Auto)
	if err != nil {
		return fmt.Errorf("the address doesn't fit a QR code: %w", err)
	}
	modules := code.Bounds().Dx()
	module := side / float64(modules+2*quietModules)
	s.fill(whiteInk)
	s.pdf.Rect(x, y, side, side, "F")
	s.fill(rgb{0, 0, 0})
	for row := range modules {
		for column := 0; column < modules; {
			end := column
			for end < modules && dark(code, end, row) {
				end++
			}
			if end > column {
				s.pdf.Rect(x+float64(quietModules+column)*module, y+float64(quietModules+row)*module, float64(end-column)*module, module, "F")
			}
			column = max(end, column+1)
		}
	}
	return nil
}

func dark(code barcode.Barcode, x, y int) bool {
	return color.GrayModel.Convert(code.At(x, y)).(color.Gray).Y < 128
}
