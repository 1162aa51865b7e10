package workshop

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// Designs are the kinds of print and surface that a cloth can have. Those that are not solid or
// all-over look different turned by a quarter.
var Designs = []string{"solid", "all-over print", "two-way print", "one-way print", "stripe", "check", "pile"}

// clothsKind is a table of cloths.
var clothsKind = ImportKind{
	Name: "cloths", Title: "Cloths", Back: "/shelf",
	About: "One row for each cloth. A cloth whose name is here already is changed to what the file says; columns that the file lacks stay as they are. Bare lengths count in the workshop's small unit.",
	Columns: []ImportColumn{
		{Name: "name", Label: "Cloth", Needed: true, Others: []string{"fabric"}},
		{Name: "content", Label: "Made of", Others: []string{"fibre", "fiber", "composition"}},
		{Name: "design", Label: "Design", Others: []string{"print", "pattern"}},
		{Name: "width", Label: "Full width", Needed: true, Others: []string{"cloth width"}},
		{Name: "selvage", Label: "Selvage", Others: []string{"selvedge"}},
		{Name: "price", Label: "Price", Needed: true, Others: []string{"cost"}},
		{Name: "per", Label: "Price per", Others: []string{"price unit", "unit"}},
		{Name: "shrinks lengthwise", Label: "Shrinks lengthwise, %", Others: []string{"shrinkage length"}},
		{Name: "shrinks crosswise", Label: "Shrinks crosswise, %", Others: []string{"shrinkage width"}},
		{Name: "washed", Label: "Washed before cutting", Others: []string{"pre-washed", "prewashed"}},
		{Name: "nap", Label: "Nap"},
		{Name: "repeat lengthwise", Label: "Repeat lengthwise", Others: []string{"repeat"}},
		{Name: "repeat crosswise", Label: "Repeat crosswise"},
		{Name: "thickness", Label: "Thickness"},
		{Name: "care", Label: "Care"},
		{Name: "can be bought", Label: "Can be bought"},
	},
}

func (im *importer) takeCloths(ctx context.Context, rows []ImportRow) error {
	cloths, err := im.tx.Cloths(ctx, im.workshop)
	if err != nil {
		return err
	}
	known := map[string]store.Cloth{}
	for _, cloth := range cloths {
		known[strings.ToLower(cloth.Name)] = cloth
	}
	seen := map[string]int{}
	for _, row := range rows {
		name := strings.ToLower(row.fields["name"])
		if line, ok := seen[name]; ok {
			im.wrong(row, "name", fmt.Sprintf("This cloth stands on line %d as well.", line))
			continue
		}
		seen[name] = row.line
		before, here := known[name]
		problems := len(im.fault.Problems)
		cloth := im.cloth(row, before)
		if len(im.fault.Problems) > problems {
			continue
		}
		if err := im.refused(im.keepCloth(ctx, cloth, before, here), row.line); err != nil {
			return err
		}
	}
	return nil
}

// cloth reads a row over what is known of the cloth.
func (im *importer) cloth(row ImportRow, cloth store.Cloth) store.Cloth {
	fresh := cloth.ID == 0
	has := func(column string) bool { _, ok := row.fields[column]; return ok || fresh }
	cloth.Name = row.fields["name"]
	if cloth.Name == "" {
		im.wrong(row, "name", "Write a name.")
	}
	if has("content") {
		cloth.Content = row.fields["content"]
	}
	if has("design") {
		cloth.Design = im.choice(row, "design", Designs...)
	}
	if cloth.FullWidth = im.length(row, "width"); cloth.FullWidth == 0 {
		im.wrong(row, "width", "Write the width of the cloth, such as 44 in or 112 cm.")
	} else if !batch.ClothWidths.Has(cloth.FullWidth) {
		im.wrong(row, "width", "Write a width "+batch.ClothWidths.Words(Style(im.room))+".")
	}
	if has("selvage") {
		cloth.Selvage = im.length(row, "selvage")
	}
	cloth.Price = im.decimal(row, "price")
	if has("per") {
		cloth.PriceUnit = im.choice(row, "per", im.clothUnits()...)
	}
	if has("shrinks lengthwise") {
		cloth.ShrinkLength = im.decimal(row, "shrinks lengthwise")
	}
	if has("shrinks crosswise") {
		cloth.ShrinkWidth = im.decimal(row, "shrinks crosswise")
	}
	if has("washed") {
		cloth.PreWashed = im.yes(row, "washed", false)
	}
	if has("nap") {
		cloth.Nap = batch.Nap(im.choice(row, "nap", string(batch.NapEitherWay), string(batch.NapOneWay), string(batch.NapUpAndDown)))
	}
	if has("repeat lengthwise") {
		cloth.RepeatLength = im.length(row, "repeat lengthwise")
	}
	if has("repeat crosswise") {
		cloth.RepeatWidth = im.length(row, "repeat crosswise")
	}
	if has("thickness") {
		cloth.Thickness = batch.Thickness(im.choice(row, "thickness", string(batch.Thin), string(batch.Medium), string(batch.Thick)))
	}
	if has("care") {
		cloth.Care = row.fields["care"]
	}
	if has("can be bought") {
		cloth.CanBuy = im.yes(row, "can be bought", true)
	}
	return cloth
}

func (im *importer) keepCloth(ctx context.Context, cloth, before store.Cloth, here bool) error {
	return im.tx.InTx(ctx, func(tx *store.Store) (err error) {
		switch {
		case !here:
			if _, err = tx.AddCloth(ctx, im.workshop, cloth); err == nil {
				im.done.Cloths++
			}
		case sameCloth(cloth, before):
			im.done.Same++
		default:
			if err = tx.SaveCloth(ctx, im.workshop, cloth); err == nil {
				im.done.Changed++
			}
		}
		return err
	})
}

// clothUnits are the units of cloth, the workshop's own first.
func (im *importer) clothUnits() []string {
	if im.room.System == length.Metric {
		return []string{"m", "yd"}
	}
	return []string{"yd", "m"}
}

// sameCloth compares all that a table can say of a cloth; 4.5 and 4.50 are the same price.
func sameCloth(a, b store.Cloth) bool {
	for _, pair := range [][2]*money.Decimal{{&a.Price, &b.Price}, {&a.ShrinkLength, &b.ShrinkLength}, {&a.ShrinkWidth, &b.ShrinkWidth}} {
		if pair[0].Cmp(*pair[1]) == 0 {
			*pair[0] = *pair[1]
		}
	}
	return a == b
}

// stylesKind is a table of styles by their cut sizes.
var stylesKind = ImportKind{
	Name: "styles", Title: "Styles by cut sizes", Back: "/styles",
	About: "One row for each piece in each size, with the size that is cut, seams and hems included. For styles whose pieces are rectangles; shaped pieces are added on the page of the style.",
	Columns: []ImportColumn{
		{Name: "style", Label: "Style", Needed: true, Others: []string{"garment"}},
		{Name: "chart", Label: "Size chart", Needed: true, Others: []string{"sizes"}},
		{Name: "piece", Label: "Piece", Needed: true},
		{Name: "cloth", Label: "Cut from", Others: []string{"role"}},
		{Name: "copies", Label: "Copies for one garment", Others: []string{"cut"}},
		{Name: "grain", Label: "Grain"},
		{Name: "size", Label: "Size", Needed: true},
		{Name: "width", Label: "Width", Needed: true},
		{Name: "length", Label: "Length", Needed: true, Others: []string{"height"}},
		{Name: "shape", Label: "Shape"},
	},
}

// tableStyle is a style while its rows are being read.
type tableStyle struct {
	first ImportRow
	style store.Style
	sizes []string
	// pieces are the rows that its pieces begin with.
	pieces []ImportRow
}

func (im *importer) takeStyles(ctx context.Context, rows []ImportRow) error {
	charts, err := im.tx.Charts(ctx, im.workshop)
	if err != nil {
		return err
	}
	styles, err := im.tx.Styles(ctx, im.workshop)
	if err != nil {
		return err
	}
	var read []*tableStyle
	for _, row := range rows {
		read = im.styleRow(read, row, charts)
	}
	if len(im.fault.Problems) > 0 {
		return nil
	}
	for _, made := range read {
		at := slices.IndexFunc(styles, func(s store.Style) bool { return strings.EqualFold(s.Name, made.style.Name) })
		switch {
		case at < 0:
			if err := im.refused(im.addStyle(ctx, made.style), made.first.line); err != nil {
				return err
			}
		case samePieces(styles[at], made.style):
			im.done.Same++
		default:
			im.wrong(made.first, "style", fmt.Sprintf("A style %s is here already, and differs. Change it on its own page, or give this one another name.", styles[at].Name))
		}
	}
	return nil
}

func (im *importer) addStyle(ctx context.Context, style store.Style) error {
	inside := im.service.within(im.tx)
	return im.tx.InTx(ctx, func(tx *store.Store) error {
		inside = inside.within(tx)
		_, err := inside.SaveStyleDraft(ctx, im.workshop, style)
		if err == nil {
			im.done.Styles++
		}
		return err
	})
}

// styleRow reads one piece in one size.
func (im *importer) styleRow(read []*tableStyle, row ImportRow, charts []store.Chart) []*tableStyle {
	name := row.fields["style"]
	if name == "" || row.fields["piece"] == "" {
		im.wrong(row, "style", "Write the style and the piece.")
		return read
	}
	if im.choice(row, "shape", string(garment.Rectangle), string(garment.Outlined), string(garment.Sector)) != string(garment.Rectangle) {
		im.wrong(row, "shape", "Only rectangles can be read from a table; add shaped pieces on the page of the style.")
		return read
	}
	at := slices.IndexFunc(read, func(s *tableStyle) bool { return strings.EqualFold(s.style.Name, name) })
	if at < 0 {
		chart := slices.IndexFunc(charts, func(c store.Chart) bool { return strings.EqualFold(c.Name, row.fields["chart"]) })
		if chart < 0 {
			im.wrong(row, "chart", fmt.Sprintf("There is no size chart %q.", row.fields["chart"]))
			return read
		}
		made := &tableStyle{first: row, sizes: charts[chart].SizeNames()}
		made.style.ChartID, made.style.Name, made.style.Chart, made.style.Wearer = charts[chart].ID, name, charts[chart].Name, charts[chart].Wearer
		read, at = append(read, made), len(read)
	}
	made := read[at]
	if row.fields["chart"] != "" && !strings.EqualFold(made.style.Chart, row.fields["chart"]) {
		im.wrong(row, "chart", fmt.Sprintf("Line %d says %q for the same style.", made.first.line, made.first.fields["chart"]))
	}
	piece := im.stylePiece(made, row)
	size := row.fields["size"]
	if _, twice := piece.Table[size]; twice {
		im.wrong(row, "size", "The same piece and size appears twice.")
	}
	if !slices.Contains(made.sizes, size) {
		im.wrong(row, "size", fmt.Sprintf("%q is not a size of %s; its sizes are %s.", size, made.style.Chart, strings.Join(made.sizes, ", ")))
	}
	cut := garment.Cut{Width: im.length(row, "width"), Length: im.length(row, "length")}
	for _, side := range []struct {
		column string
		long   length.Length
	}{{"width", cut.Width}, {"length", cut.Length}} {
		if side.long == 0 {
			im.wrong(row, side.column, "Write the width and the length of the piece, such as 20½ in or 52 cm.")
		}
	}
	piece.Table[size] = cut
	return read
}

// stylePiece finds the piece of a row, or begins it.
func (im *importer) stylePiece(made *tableStyle, row ImportRow) *garment.Piece {
	pieces := &made.style.Pieces
	at := slices.IndexFunc(*pieces, func(p garment.Piece) bool { return strings.EqualFold(p.Name, row.fields["piece"]) })
	if at < 0 {
		piece := garment.Piece{Name: row.fields["piece"], Role: garment.Body, Copies: 1, Shape: garment.Rectangle, Table: map[string]garment.Cut{}}
		if role := strings.ToLower(row.fields["cloth"]); role != "" {
			piece.Role = garment.Role(role)
		}
		if row.fields["copies"] != "" {
			piece.Copies, _ = im.whole(row, "copies", 1, 100)
		}
		piece.Grain = im.grain(row)
		*pieces, made.pieces = append(*pieces, piece), append(made.pieces, row)
		return &(*pieces)[len(*pieces)-1]
	}
	im.samePiece(row, made.pieces[at].line, &(*pieces)[at])
	return &(*pieces)[at]
}

// samePiece finds rows of one piece that disagree about it.
func (im *importer) samePiece(row ImportRow, first int, piece *garment.Piece) {
	differs := func(column string, before any) {
		im.wrong(row, column, fmt.Sprintf("Line %d has %v for the same piece.", first, before))
	}
	if role := strings.ToLower(row.fields["cloth"]); role != "" && garment.Role(role) != piece.Role {
		differs("cloth", piece.Role)
	}
	if row.fields["copies"] != "" {
		if copies, ok := im.whole(row, "copies", 1, 100); ok && copies != piece.Copies {
			differs("copies", piece.Copies)
		}
	}
	if row.fields["grain"] != "" {
		if grain := im.grain(row); grain != piece.Grain {
			differs("grain", piece.Grain)
		}
	}
}

func (im *importer) grain(row ImportRow) garment.Grain {
	return garment.Grain(im.choice(row, "grain", string(garment.Lengthwise), string(garment.Crosswise), string(garment.AnyGrain), string(garment.Bias)))
}

// samePieces tells whether two styles cut the same pieces by the same tables.
func samePieces(a, b store.Style) bool {
	return a.ChartID == b.ChartID && slices.EqualFunc(a.Pieces, b.Pieces, func(p, q garment.Piece) bool {
		if p.Name != q.Name || p.Role != q.Role || p.Copies != q.Copies || p.Grain != q.Grain || len(p.Table) != len(q.Table) {
			return false
		}
		for size, cut := range p.Table {
			if q.Table[size] != cut {
				return false
			}
		}
		return true
	})
}
