package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"slices"
	"strings"
	"time"

	"yardwright/batch/garment"
	"yardwright/batch/words"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/exports"
	"yardwright/server/store"
)

// paperOptions are exportOptions for a paper; "" is the one usual where the workshop is.
func (s *Service) paperOptions(ctx context.Context, workshop int64, paper exports.Paper) (exports.Options, error) {
	w, err := s.Workshop(ctx, workshop)
	if err != nil {
		return exports.Options{}, err
	}
	options, err := s.exportOptions(w)
	options.Paper = paper
	return options, err
}

// CutSheetPDF writes the cut sheet of a batch's newest plan.
func (s *Service) CutSheetPDF(ctx context.Context, out io.Writer, workshop, batchID int64, paper exports.Paper) error {
	plan, err := s.MadePlan(ctx, workshop, batchID)
	if err != nil {
		return err
	}
	if plan == nil {
		return notThere("plan")
	}
	options, err := s.paperOptions(ctx, workshop, paper)
	if err != nil {
		return err
	}
	return exports.CutSheet(out, *plan, options)
}

// longestBase keeps the codes on tickets coarse enough to be read.
const longestBase = 120

// TicketsPDF writes a ticket for each bundle of a batch's newest plan. Base is the address at
// which telephones reach the program, such as http://192.168.1.20:8080.
func (s *Service) TicketsPDF(ctx context.Context, out io.Writer, workshop, batchID int64, base string, paper exports.Paper) error {
	address, err := url.Parse(strings.TrimRight(base, "/"))
	if err != nil || (address.Scheme != "http" && address.Scheme != "https") || address.Host == "" || address.RawQuery != "" || address.Fragment != "" || len(base) > longestBase {
		return store.Wrong("base", "Write the address at which your phone opens Yardwright, such as http://192.168.1.20:8080.")
	}
	plan, err := s.MadePlan(ctx, workshop, batchID)
	if err != nil {
		return err
	}
	if plan == nil {
		return notThere("plan")
	}
	options, err := s.paperOptions(ctx, workshop, paper)
	if err != nil {
		return err
	}
	return exports.Tickets(out, *plan, func(bundle int) string {
		return fmt.Sprintf("%s/batches/%d/bundles/%d", address, batchID, bundle)
	}, options)
}

// TemplatePiece says of a piece how it is drawn in one size.
type TemplatePiece struct {
	garment.Draft
	Role garment.Role
	// Shaped tells that it is no rectangle: its size is that of the box around it.
	Shaped bool
	// Cloth is what it is cut from; empty if that isn't known.
	Cloth exports.TemplateCloth
	// Seams says what its edges allow for, or why that isn't known.
	Seams string
}

// TemplatePieces says how the pieces of a style are drawn in a size, cut from the cloths of a
// colourway; 0 is cloth that doesn't shrink.
func (s *Service) TemplatePieces(ctx context.Context, workshop int64, style store.Style, chart garment.SizeChart, size string, colourway int64) ([]TemplatePiece, error) {
	w, err := s.Workshop(ctx, workshop)
	if err != nil {
		return nil, err
	}
	cloths, err := s.templateCloths(ctx, workshop, style.ID, colourway)
	if err != nil {
		return nil, err
	}
	shrink := map[garment.Role]garment.Shrinkage{}
	for role, cloth := range cloths {
		shrink[role] = cloth.Shrink
	}
	drafts, err := style.DraftsOn(chart, size, shrink, w.CutStep)
	if err != nil {
		return nil, asFault(err)
	}
	var pieces []TemplatePiece
	for _, d := range drafts {
		piece := TemplatePiece{Draft: d, Role: style.Pieces[d.Piece].Role, Shaped: style.Pieces[d.Piece].Shape != garment.Rectangle, Seams: d.Unknown}
		piece.Cloth = cloths[piece.Role]
		var edges []string
		for _, e := range d.Edges {
			if e.Amount > 0 {
				edges = append(edges, e.Edge+" "+Style(w).Piece(e.Amount))
			}
		}
		if len(edges) > 0 {
			piece.Seams = strings.Join(edges, ", ")
		}
		pieces = append(pieces, piece)
	}
	return pieces, nil
}

// templateCloths are the cloths of a colourway of a style, by role; none for colourway 0.
func (s *Service) templateCloths(ctx context.Context, workshop, style, colourway int64) (map[garment.Role]exports.TemplateCloth, error) {
	by := map[garment.Role]exports.TemplateCloth{}
	if colourway == 0 {
		return by, nil
	}
	ways, err := s.Colourways(ctx, workshop)
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(ways, func(w store.Colourway) bool { return w.ID == colourway && w.StyleID == style })
	if at < 0 {
		return nil, notThere("colourway")
	}
	cloths, err := s.Cloths(ctx, workshop)
	if err != nil {
		return nil, err
	}
	for role, id := range ways[at].Cloths {
		for _, c := range cloths {
			if c.ID != id {
				continue
			}
			cloth := exports.TemplateCloth{Name: c.Name}
			if !c.PreWashed {
				if cloth.Shrink, err = shrinkageOf(c); err != nil {
					return nil, err
				}
			}
			by[role] = cloth
		}
	}
	return by, nil
}

// Templates writes pieces of a style at their true size, as they are cut from the cloths of a
// colourway (0: from cloth that doesn't shrink), as a PDF or as SVG.
func (s *Service) Templates(ctx context.Context, out io.Writer, workshop, styleID, colourway int64, choice exports.TemplateChoice, paper exports.Paper, svg bool) error {
	style, err := s.Style(ctx, workshop, styleID)
	if err != nil {
		return err
	}
	chart, err := s.Chart(ctx, workshop, style.ChartID)
	if err != nil {
		return err
	}
	options, err := s.paperOptions(ctx, workshop, paper)
	if err != nil {
		return err
	}
	if choice.Cloths, err = s.templateCloths(ctx, workshop, styleID, colourway); err != nil {
		return err
	}
	w, err := s.Workshop(ctx, workshop)
	if err != nil {
		return err
	}
	choice.Step = w.CutStep
	write := exports.Templates
	if svg {
		write = exports.TemplatesSVG
	}
	err = write(out, style.Style, chart.SizeChart, choice, options)
	var wrong *exports.ChoiceError
	if errors.As(err, &wrong) {
		return store.Wrong("sizes", wrong.Message)
	}
	return asFault(err)
}

// LineSheetDraft is what a maker says of a line sheet.
type LineSheetDraft struct {
	Title, Contact, Note string
	OrderBy              time.Time
	// Colourways to show; none means all.
	Colourways []int64
}

// LineSheet is what the workshop offers to shops, at the prices of its first shop channel as
// they are now, and says of what it can't and why. Suggested retail is twice the wholesale
// price (keystone), or what the workshop itself asks elsewhere if that is more, so that it does
// not undercut its shops.
func (s *Service) LineSheet(ctx context.Context, workshop int64, draft LineSheetDraft) (line exports.LineSheet, left []string, err error) {
	all, shop, err := s.shopPrices(ctx, workshop)
	if err != nil {
		return line, nil, err
	}
	terms := all.Channels[shop].Settings.Terms
	line = exports.LineSheet{Title: draft.Title, Contact: draft.Contact, Note: draft.Note, OrderBy: draft.OrderBy, Minimum: terms.MinimumOrder, Terms: termsWords(terms)}
	for _, way := range all.Colourways {
		if len(draft.Colourways) > 0 && !slices.Contains(draft.Colourways, way.ID) || len(draft.Colourways) == 0 && way.PutAway {
			continue
		}
		item, err := s.lineItem(ctx, all, shop, way)
		var fault *store.Fault
		switch {
		case errors.As(err, &fault):
			left = append(left, way.Name+" "+way.StyleName+": "+fault.Error())
		case err != nil:
			return line, nil, err
		default:
			line.Items = append(line.Items, item)
		}
	}
	return line, left, nil
}

func (s *Service) lineItem(ctx context.Context, all stock, shop int, way store.Colourway) (exports.LineItem, error) {
	prices, err := s.price(ctx, all, way.ID, costing.Change{})
	if err != nil {
		return exports.LineItem{}, err
	}
	item := exports.LineItem{Style: prices.Style.Style, Colourway: way.Name, Content: contentOf(all, way)}
	for i, size := range prices.Sizes {
		wholesale, retail, err := offered(prices.Asked[i], all.Channels, shop)
		if err != nil {
			return exports.LineItem{}, err
		}
		item.Sizes = append(item.Sizes, exports.LineSize{Size: size, Wholesale: wholesale, Retail: retail})
	}
	if len(prices.Sizes) > 0 {
		graded, err := prices.Style.Grade(chartOf(all, prices.Style), prices.Sizes[len(prices.Sizes)/2])
		if err != nil {
			return exports.LineItem{}, asFault(err)
		}
		item.Pieces = graded.Pieces
	}
	return item, nil
}

// offered is the wholesale price of a size with the suggested retail price.
func offered(asked []Asked, channels []store.Channel, shop int) (wholesale, retail money.Amount, err error) {
	wholesale = asked[shop].Price
	doubled, err := wholesale.Number().Mul(money.Int(2))
	if err != nil {
		return wholesale, retail, err
	}
	retail = money.NewAmount(doubled, wholesale.Currency())
	for i, other := range asked {
		if channels[i].Settings.Kind != costing.Shop && retail.Number().Less(other.Price.Number()) {
			retail = other.Price
		}
	}
	return wholesale, retail, nil
}

// contentOf lists what the cloths of a colourway are made of, each once.
func contentOf(all stock, way store.Colourway) string {
	var contents []string
	for _, cloth := range all.Cloths {
		for _, id := range way.Cloths {
			if cloth.ID == id && cloth.Content != "" && !slices.Contains(contents, cloth.Content) {
				contents = append(contents, cloth.Content)
			}
		}
	}
	return strings.Join(contents, "; ")
}

// termsWords says when a shop pays.
func termsWords(t costing.Terms) string {
	if t.Days == 0 {
		return "pay on delivery"
	}
	said := "pay within " + words.Count(t.Days, "day")
	if t.Discount.Sign() > 0 {
		said += fmt.Sprintf(", less %s within %s", t.Discount.String(), words.Count(t.DiscountDays, "day"))
	}
	return said
}

// LineSheetPDF writes a line sheet as a PDF.
func (s *Service) LineSheetPDF(ctx context.Context, out io.Writer, workshop int64, draft LineSheetDraft, paper exports.Paper) error {
	line, _, err := s.LineSheet(ctx, workshop, draft)
	if err != nil {
		return err
	}
	options, err := s.paperOptions(ctx, workshop, paper)
	if err != nil {
		return err
	}
	return exports.LineSheetPDF(out, line, options)
}
