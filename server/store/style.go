package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"

	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/costing/money"
)

// Style is a style as stored.
type Style struct {
	ID      int64
	ChartID int64
	Version int
	garment.Style
}

// Styles lists the styles, whole, by name.
func (s *Store) Styles(ctx context.Context, workshop int64) ([]Style, error) {
	return s.styles(ctx, `s.workshop_id = @workshop`, args{"workshop": workshop})
}

// Style returns one style, whole.
func (s *Store) Style(ctx context.Context, workshop, id int64) (Style, error) {
	styles, err := s.styles(ctx, `s.workshop_id = @workshop AND s.id = @id`, args{"workshop": workshop, "id": id})
	if err != nil {
		return Style{}, err
	}
	if len(styles) == 0 {
		return Style{}, missing("style")
	}
	return styles[0], nil
}

// styles reads styles with everything that belongs to them.
func (s *Store) styles(ctx context.Context, where string, named args) ([]Style, error) {
	round := &pgx.Batch{}
	read := queueStyles(round, where, named)
	if err := readAll(ctx, s.db, round); err != nil {
		return nil, err
	}
	return read()
}

// queueStyles queues the reading of styles; read puts them together after readAll.
func queueStyles(round *pgx.Batch, where string, named args) (read func() ([]Style, error)) {
	type row struct {
		ID, ChartID int64
		ChartName   string
		Name, Note  string
		Wearer      garment.Wearer
		Version     int
	}
	var rows []row
	var allowances []allowanceRow
	var pieces []pieceRow
	var cuts []pieceCutRow
	var outlines []pieceOutlineRow
	var needs []needRow
	var operations []operationRow
	queued(round, &rows, `
		SELECT s.id, s.chart_id, c.name AS chart_name, s.name, s.note, s.wearer, s.version
		FROM styles s JOIN size_charts c ON c.id = s.chart_id WHERE `+where+` ORDER BY s.name`, named)
	queued(round, &allowances, `
		SELECT a.style_id, a.name, a.label, a.kind, a.length, a.thousandths FROM style_allowances a JOIN styles s ON s.id = a.style_id WHERE `+where+` ORDER BY a.style_id, a.position`, named)
	queued(round, &pieces, `
		SELECT p.id, p.style_id, p.name, p.role, p.copies, p.shape, p.width, p.length, p.points, p.inner_radius, p.outer_radius, p.angle, p.grain, p.on_fold, p.paired, p.gathered, p.note, p.seam, p.seam_top, p.seam_bottom
		FROM style_pieces p JOIN styles s ON s.id = p.style_id WHERE `+where+` ORDER BY p.style_id, p.position`, named)
	queued(round, &cuts, `
		SELECT t.piece_id, t.size, t.width, t.length FROM style_piece_sizes t JOIN style_pieces p ON p.id = t.piece_id JOIN styles s ON s.id = p.style_id WHERE `+where, named)
	queued(round, &outlines, `
		SELECT t.piece_id, t.size, t.points FROM style_piece_outlines t JOIN style_pieces p ON p.id = t.piece_id JOIN styles s ON s.id = p.style_id WHERE `+where, named)
	queued(round, &needs, `
		SELECT n.style_id, n.need, n.length, n.count FROM style_notions n JOIN styles s ON s.id = n.style_id WHERE `+where+` ORDER BY n.style_id, n.position`, named)
	queued(round, &operations, `
		SELECT o.style_id, o.name, o.stage, o.set_up, o.each, o.basis FROM style_operations o JOIN styles s ON s.id = o.style_id WHERE `+where+` ORDER BY o.style_id, o.position`, named)
	return func() ([]Style, error) {
		styles := make([]Style, len(rows))
		at := map[int64]*garment.Style{}
		for i, r := range rows {
			styles[i] = Style{ID: r.ID, ChartID: r.ChartID, Version: r.Version, Style: garment.Style{Name: r.Name, Note: r.Note, Wearer: r.Wearer, Chart: r.ChartName}}
			at[r.ID] = &styles[i].Style
		}
		fillAllowances(allowances, at)
		fillPieces(pieces, cuts, outlines, at)
		for _, r := range needs {
			at[r.StyleID].Notions = append(at[r.StyleID].Notions, garment.NotionNeed{Notion: r.Need, Length: r.Length, Count: r.Count})
		}
		if err := fillOperations(operations, at); err != nil {
			return nil, err
		}
		return styles, nil
	}
}

type allowanceRow struct {
	StyleID     int64
	Name, Label string
	Kind        garment.AllowanceKind
	Length      *length.Length
	Thousandths *int64
}

func fillAllowances(rows []allowanceRow, at map[int64]*garment.Style) {
	for _, r := range rows {
		allowance := garment.Allowance{Name: r.Name, Label: r.Label, Kind: r.Kind}
		if r.Length != nil {
			allowance.Length = *r.Length
		}
		if r.Thousandths != nil {
			allowance.Thousandths = *r.Thousandths
		}
		at[r.StyleID].Allowances = append(at[r.StyleID].Allowances, allowance)
	}
}

type pieceRow struct {
	ID, StyleID              int64
	Name                     string
	Role                     garment.Role
	Copies                   int
	Shape                    garment.Shape
	Width, Length            string
	Points                   []garment.OutlinePoint
	InnerRadius, OuterRadius string
	Angle                    int
	Grain                    garment.Grain
	OnFold, Paired           bool
	Gathered, Note           string
	Seam                     length.Length
	SeamTop, SeamBottom      *length.Length
}

type pieceOutlineRow struct {
	PieceID int64
	Size    string
	Points  []garment.Point
}

type pieceCutRow struct {
	PieceID       int64
	Size          string
	Width, Length length.Length
}

func fillPieces(rows []pieceRow, sizes []pieceCutRow, outlines []pieceOutlineRow, at map[int64]*garment.Style) {
	drawn := map[int64]map[string][]garment.Point{}
	for _, o := range outlines {
		if drawn[o.PieceID] == nil {
			drawn[o.PieceID] = map[string][]garment.Point{}
		}
		drawn[o.PieceID][o.Size] = o.Points
	}
	tables := map[int64]map[string]garment.Cut{}
	for _, size := range sizes {
		if tables[size.PieceID] == nil {
			tables[size.PieceID] = map[string]garment.Cut{}
		}
		tables[size.PieceID][size.Size] = garment.Cut{Width: size.Width, Length: size.Length}
	}
	for _, r := range rows {
		at[r.StyleID].Pieces = append(at[r.StyleID].Pieces, garment.Piece{
			Name: r.Name, Role: r.Role, Copies: r.Copies, Shape: r.Shape, Width: r.Width, Length: r.Length, Points: r.Points,
			Inner: r.InnerRadius, Outer: r.OuterRadius, Angle: r.Angle, Table: tables[r.ID], Grain: r.Grain, Fold: r.OnFold, Pair: r.Paired,
			Gathered: r.Gathered, Note: r.Note, Drawn: drawn[r.ID], Seam: r.Seam, SeamTop: r.SeamTop, SeamBottom: r.SeamBottom,
		})
	}
}

type needRow struct {
	StyleID      int64
	Need, Length string
	Count        int
}

type operationRow struct {
	StyleID     int64
	Name        string
	Stage       garment.Stage
	SetUp, Each money.Decimal
	Basis       string
}

func fillOperations(rows []operationRow, at map[int64]*garment.Style) error {
	for _, r := range rows {
		setUp, err := Minutes(r.SetUp)
		if err != nil {
			return err
		}
		each, err := Minutes(r.Each)
		if err != nil {
			return err
		}
		at[r.StyleID].Operations = append(at[r.StyleID].Operations, garment.Operation{Name: r.Name, Stage: r.Stage, SetUp: setUp, Each: each, Basis: r.Basis})
	}
	return nil
}

// thousandthOfMinute is the smallest part of a minute in the schema.
const thousandthOfMinute = time.Minute / 1000

// Minutes turns decimal minutes, to the thousandth, into a duration.
func Minutes(minutes money.Decimal) (time.Duration, error) {
	thousandths, err := minutes.Mul(money.Int(1000))
	if err != nil {
		return 0, err
	}
	rounded := thousandths.Round(0, money.HalfUp)
	count, ok := rounded.Int64()
	if !ok {
		return 0, money.ErrOverflow
	}
	return time.Duration(count) * thousandthOfMinute, nil
}

// DecimalMinutes turns a duration into decimal minutes, to the thousandth.
func DecimalMinutes(d time.Duration) money.Decimal {
	return money.New(int64((d+thousandthOfMinute/2)/thousandthOfMinute), 3)
}

// AddStyle stores a new style.
func (s *Store) AddStyle(ctx context.Context, workshop int64, style Style) (id int64, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		id, err = scalar[int64](ctx, s.db, `
			INSERT INTO styles (workshop_id, chart_id, name, wearer, note)
			SELECT @workshop, c.id, @name, @wearer, @note FROM size_charts c WHERE c.id = @chart AND c.workshop_id = @workshop RETURNING id`,
			args{"workshop": workshop, "chart": style.ChartID, "name": style.Name, "wearer": style.Wearer, "note": style.Note})
		if err != nil {
			return noRow(err, Wrong("chart", "Choose a size chart."))
		}
		return s.writeStyleRows(ctx, id, style.Style)
	})
	return id, err
}

// SaveStyle changes a style if nobody else has in the meantime.
func (s *Store) SaveStyle(ctx context.Context, workshop int64, style Style) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "style", `
			UPDATE styles SET chart_id = (SELECT c.id FROM size_charts c WHERE c.id = @chart AND c.workshop_id = @workshop),
				name = @name, wearer = @wearer, note = @note, version = version + 1
			WHERE workshop_id = @workshop AND id = @id AND version = @version`,
			args{
				"workshop": workshop, "id": style.ID, "version": style.Version, "chart": style.ChartID,
				"name": style.Name, "wearer": style.Wearer, "note": style.Note,
			})
		if err != nil {
			return err
		}
		for _, table := range []string{"style_allowances", "style_pieces", "style_notions", "style_operations"} {
			if _, err := s.db.Exec(ctx, `DELETE FROM `+table+` WHERE style_id = @id`, args{"id": style.ID}); err != nil {
				return fault(err)
			}
		}
		return s.writeStyleRows(ctx, style.ID, style.Style)
	})
}

func (s *Store) writeStyleRows(ctx context.Context, id int64, style garment.Style) error {
	batch := &pgx.Batch{}
	for i, a := range style.Allowances {
		var long *length.Length
		var number *int64
		if a.Kind == garment.NumberAllowance {
			number = &a.Thousandths
		} else {
			long = &a.Length
		}
		batch.Queue(`INSERT INTO style_allowances (style_id, position, name, label, kind, length, thousandths)
			VALUES (@id, @position, @name, @label, @kind, @length, @number)`,
			args{"id": id, "position": i, "name": a.Name, "label": a.Label, "kind": a.Kind, "length": long, "number": number})
	}
	for i, need := range style.Notions {
		batch.Queue(`INSERT INTO style_notions (style_id, position, need, length, count) VALUES (@id, @position, @need, @length, @count)`,
			args{"id": id, "position": i, "need": need.Notion, "length": need.Length, "count": need.Count})
	}
	for i, o := range style.Operations {
		batch.Queue(`INSERT INTO style_operations (style_id, position, name, stage, set_up, each, basis) VALUES (@id, @position, @name, @stage, @set_up, @each, @basis)`,
			args{"id": id, "position": i, "name": o.Name, "stage": o.Stage, "set_up": DecimalMinutes(o.SetUp), "each": DecimalMinutes(o.Each), "basis": o.Basis})
	}
	for i, piece := range style.Pieces {
		queuePiece(batch, id, i, piece)
	}
	return sendAll(ctx, s.db, batch)
}

func queuePiece(batch *pgx.Batch, style int64, position int, piece garment.Piece) {
	points := piece.Points
	if points == nil {
		points = []garment.OutlinePoint{}
	}
	batch.Queue(`
		INSERT INTO style_pieces (style_id, position, name, role, copies, shape, width, length, points, inner_radius, outer_radius, angle, grain, on_fold, paired, gathered, note, seam, seam_top, seam_bottom)
		VALUES (@style, @position, @name, @role, @copies, @shape, @width, @length, @points, @inner, @outer, @angle, @grain, @fold, @pair, @gathered, @note, @seam, @seam_top, @seam_bottom)`,
		args{
			"style": style, "position": position, "name": piece.Name, "role": piece.Role, "copies": piece.Copies, "shape": piece.Shape,
			"width": piece.Width, "length": piece.Length, "points": points, "inner": piece.Inner, "outer": piece.Outer, "angle": piece.Angle,
			"grain": piece.Grain, "fold": piece.Fold, "pair": piece.Pair, "gathered": piece.Gathered, "note": piece.Note, "seam": piece.Seam,
			"seam_top": piece.SeamTop, "seam_bottom": piece.SeamBottom,
		})
	for size, points := range piece.Drawn {
		batch.Queue(`
			INSERT INTO style_piece_outlines (piece_id, size, points)
			SELECT id, @size, @points FROM style_pieces WHERE style_id = @style AND position = @position`,
			args{"style": style, "position": position, "size": size, "points": points})
	}
	for size, cut := range piece.Table {
		batch.Queue(`
			INSERT INTO style_piece_sizes (piece_id, size, width, length)
			SELECT id, @size, @width, @length FROM style_pieces WHERE style_id = @style AND position = @position`,
			args{"style": style, "position": position, "size": size, "width": cut.Width, "length": cut.Length})
	}
}

// RemoveStyle removes a style that no colourway uses.
func (s *Store) RemoveStyle(ctx context.Context, workshop, id int64) error {
	return changed(ctx, s.db, "style", `DELETE FROM styles WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}
