package workshop

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"time"

	"yardwright/batch"
	"yardwright/batch/garment"
	"yardwright/batch/length"
	"yardwright/costing"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// DemoName is the name of the demo workshop.
const DemoName = "Quillfen Workroom"

// demoWorkroom is a workshop in a file. Lengths and money are written as makers write them.
type demoWorkroom struct {
	Name            string         `json:"name"`
	System          length.System  `json:"system"`
	Currency        string         `json:"currency"`
	Locale          string         `json:"locale"`
	Wage            money.Decimal  `json:"wage"`
	Efficiency      money.Decimal  `json:"efficiency"`
	OverheadYear    money.Decimal  `json:"overhead_year"`
	YearCosts       []demoYearCost `json:"year_costs"`
	Year            demoYear       `json:"year"`
	Stall           costing.Stall  `json:"stall"`
	UsualBatch      int            `json:"usual_batch"`
	TableLength     demoLength     `json:"table_length"`
	PliesThin       int            `json:"plies_thin"`
	PliesMedium     int            `json:"plies_medium"`
	PliesThick      int            `json:"plies_thick"`
	EndLoss         demoLength     `json:"end_loss"`
	Gap             demoLength     `json:"gap"`
	KeepLength      demoLength     `json:"keep_length"`
	LaySetUpMinutes money.Decimal  `json:"lay_set_up_minutes"`
	SpreadMinutes   money.Decimal  `json:"spread_minutes"`
	CutMinutes      money.Decimal  `json:"cut_minutes"`
	BundleMinutes   money.Decimal  `json:"bundle_minutes"`
	BundleSize      int            `json:"bundle_size"`
	DayMinutes      []int          `json:"day_minutes"`
	Cloths          []demoCloth    `json:"cloths"`
	Bolts           []demoBolt     `json:"bolts"`
	Notions         []demoNotion   `json:"notions"`
	Styles          []demoStyle    `json:"styles"`
	Colourways      []demoWay      `json:"colourways"`
	Customers       []demoCustomer `json:"customers"`
	Batch           string         `json:"batch"`
}

type demoLength length.Length

// UnmarshalJSON reads a length with its unit.
func (l *demoLength) UnmarshalJSON(data []byte) error {
	var text string
	if err := json.Unmarshal(data, &text); err != nil {
		return err
	}
	value, err := length.Parse(text, length.Inches)
	*l = demoLength(value)
	return err
}

type demoYearCost struct {
	Name   string        `json:"name"`
	Amount money.Decimal `json:"amount"`
	Years  money.Decimal `json:"years"`
	Share  money.Decimal `json:"share"`
}

type demoYear struct {
	Weeks      money.Decimal `json:"weeks"`
	People     money.Decimal `json:"people"`
	Productive money.Decimal `json:"productive"`
}

type demoCloth struct {
	Name         string          `json:"name"`
	Content      string          `json:"content"`
	Design       string          `json:"design"`
	FullWidth    demoLength      `json:"full_width"`
	Selvage      demoLength      `json:"selvage"`
	Price        money.Decimal   `json:"price"`
	Freight      money.Decimal   `json:"freight"`
	FreightOf    demoLength      `json:"freight_length"`
	ShrinkLength money.Decimal   `json:"shrink_length"`
	ShrinkWidth  money.Decimal   `json:"shrink_width"`
	PreWashed    bool            `json:"pre_washed"`
	Nap          batch.Nap       `json:"nap"`
	Thickness    batch.Thickness `json:"thickness"`
	Care         string          `json:"care"`
}

type demoBolt struct {
	Name    string         `json:"name"`
	Cloth   string         `json:"cloth"`
	Lot     string         `json:"lot"`
	Length  demoLength     `json:"length"`
	Place   string         `json:"place"`
	Price   *money.Decimal `json:"price"`
	Remnant bool           `json:"remnant"`
	Faults  []struct {
		FromLength demoLength `json:"from_length"`
		ToLength   demoLength `json:"to_length"`
		FromWidth  demoLength `json:"from_width"`
		ToWidth    demoLength `json:"to_width"`
		Note       string     `json:"note"`
	} `json:"faults"`
}

type demoNotion struct {
	Name      string           `json:"name"`
	Kind      batch.NotionKind `json:"kind"`
	Packing   bool             `json:"packing"`
	BuyLength demoLength       `json:"buy_length"`
	BuyCount  int              `json:"buy_count"`
	BuyPrice  money.Decimal    `json:"buy_price"`
	InStock   int              `json:"in_stock"`
	Rolls     []struct {
		Length demoLength `json:"length"`
		Count  int        `json:"count"`
	} `json:"rolls"`
}

type demoStyle struct {
	Name    string                   `json:"name"`
	Starter string                   `json:"starter"`
	Chart   string                   `json:"chart"`
	Options map[string]bool          `json:"options"`
	Numbers map[string]money.Decimal `json:"numbers"`
	// YearSales are garments that sell in a year.
	YearSales int        `json:"year_sales"`
	Seams     []demoSeam `json:"seams"`
}

type demoSeam struct {
	Name   string `json:"name"`
	Class  string `json:"class"`
	Length string `json:"length"`
	Count  int    `json:"count"`
}

type demoWay struct {
	Style   string                  `json:"style"`
	Name    string                  `json:"name"`
	Cloths  map[garment.Role]string `json:"cloths"`
	Notions map[string]string       `json:"notions"`
}

type demoCustomer struct {
	Name string `json:"name"`
	Kind string `json:"kind"`
	Note string `json:"note"`
}

// Demo is a loaded demo workshop.
type Demo struct {
	Workshop int64
	// BatchName is what the batch of its open orders is to be called.
	BatchName string
	Imported  Imported
}

// LoadDemo loads a workshop from files (workroom.json, orders.csv) through the same use cases
// that people go through. Days in the orders are counted from today.
func (s *Service) LoadDemo(ctx context.Context, files fs.FS) (Demo, error) {
	content, err := fs.ReadFile(files, "workroom.json")
	if err != nil {
		return Demo{}, err
	}
	var room demoWorkroom
	if err := json.Unmarshal(content, &room); err != nil {
		return Demo{}, fmt.Errorf("workroom.json: %w", err)
	}
	if room.Name != DemoName {
		return Demo{}, fmt.Errorf("workroom.json: the demo is called %s", DemoName)
	}
	orders, err := s.demoOrders(files)
	if err != nil {
		return Demo{}, err
	}
	demo := Demo{BatchName: room.Batch}
	err = s.store.InTx(ctx, func(tx *store.Store) error {
		inside := s.within(tx)
		loader := &demoLoader{service: inside, names: map[string]int64{}}
		if err := loader.load(ctx, room); err != nil {
			return err
		}
		demo.Workshop = loader.workshop
		demo.Imported, err = inside.ImportOrders(ctx, loader.workshop, "orders.csv", bytes.NewReader(orders))
		return err
	})
	return demo, err
}

// demoOrders reads the orders and turns days such as +12 into dates.
func (s *Service) demoOrders(files fs.FS) ([]byte, error) {
	content, err := fs.ReadFile(files, "orders.csv")
	if err != nil {
		return nil, err
	}
	records, err := csv.NewReader(bytes.NewReader(content)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("orders.csv: %w", err)
	}
	for _, column := range []int{slices.Index(records[0], "due"), slices.Index(records[0], "taken")} {
		for i, record := range records[1:] {
			days, err := strconv.Atoi(record[column])
			if err != nil {
				return nil, fmt.Errorf("orders.csv, line %d: %w", i+2, err)
			}
			record[column] = s.Today().AddDate(0, 0, days).Format(time.DateOnly)
		}
	}
	var dated bytes.Buffer
	err = csv.NewWriter(&dated).WriteAll(records)
	return dated.Bytes(), err
}

type demoLoader struct {
	service  *Service
	workshop int64
	names    map[string]int64 // IDs by "kind/name"
}

func (l *demoLoader) load(ctx context.Context, room demoWorkroom) error {
	var err error
	if l.workshop, err = l.service.store.AddWorkshop(ctx, room.Name); err != nil {
		return err
	}
	if err := furnish(ctx, l.service.store, l.workshop); err != nil {
		return err
	}
	for _, step := range []func(context.Context, demoWorkroom) error{l.settings, l.shelf, l.styles, l.colourways, l.customers} {
		if err := step(ctx, room); err != nil {
			return err
		}
	}
	return nil
}

func (l *demoLoader) settings(ctx context.Context, room demoWorkroom) error {
	w, err := l.service.Workshop(ctx, l.workshop)
	if err != nil {
		return err
	}
	w.System, w.Currency, w.Locale = room.System, room.Currency, room.Locale
	w.Wage, w.Efficiency, w.OverheadYear = room.Wage, room.Efficiency, room.OverheadYear
	w.UsualBatch, w.BundleSize, w.DayMinutes = room.UsualBatch, room.BundleSize, room.DayMinutes
	w.PliesThin, w.PliesMedium, w.PliesThick = room.PliesThin, room.PliesMedium, room.PliesThick
	w.TableLength, w.EndLoss = length.Length(room.TableLength), length.Length(room.EndLoss)
	w.Gap, w.KeepLength = length.Length(room.Gap), length.Length(room.KeepLength)
	w.LaySetUpMinutes, w.SpreadMinutes, w.CutMinutes, w.BundleMinutes = room.LaySetUpMinutes, room.SpreadMinutes, room.CutMinutes, room.BundleMinutes
	if err := l.service.store.SaveWorkshop(ctx, w); err != nil {
		return err
	}
	if err := l.stall(ctx, room.Stall); err != nil {
		return err
	}
	return l.year(ctx, room)
}

// stall tells the channels for fairs what a usual day takes and sells.
func (l *demoLoader) stall(ctx context.Context, day costing.Stall) error {
	channels, err := l.service.Channels(ctx, l.workshop)
	if err != nil {
		return err
	}
	for _, channel := range channels {
		if channel.Settings.Kind != costing.Fair {
			continue
		}
		channel.Settings.Stall = day
		if _, err := l.service.SaveChannelDraft(ctx, l.workshop, channel); err != nil {
			return err
		}
	}
	return nil
}

// year adds up the overhead, where the file says what it is made up of.
func (l *demoLoader) year(ctx context.Context, room demoWorkroom) error {
	if len(room.YearCosts) == 0 {
		return nil
	}
	settings, err := l.service.CostSettings(ctx, l.workshop)
	if err != nil {
		return err
	}
	settings.YearWeeks, settings.YearPeople, settings.YearProductive = room.Year.Weeks, room.Year.People, room.Year.Productive
	var costs []store.YearCost
	for _, c := range room.YearCosts {
		cost := store.YearCost{Name: c.Name, Amount: c.Amount, Years: c.Years, Share: c.Share}
		if cost.Years.IsZero() {
			cost.Years = money.Int(1)
		}
		if cost.Share.IsZero() {
			cost.Share = money.Int(1)
		}
		costs = append(costs, cost)
	}
	return l.service.SaveYear(ctx, l.workshop, costs, settings, room.DayMinutes)
}

func (l *demoLoader) shelf(ctx context.Context, room demoWorkroom) error {
	for _, c := range room.Cloths {
		cloth := store.Cloth{
			Name: c.Name, Content: c.Content, Design: c.Design, FullWidth: length.Length(c.FullWidth), Selvage: length.Length(c.Selvage), Price: c.Price, PriceUnit: "yd",
			Freight: c.Freight, FreightLength: length.Length(c.FreightOf),
			ShrinkLength: c.ShrinkLength, ShrinkWidth: c.ShrinkWidth, PreWashed: c.PreWashed, Nap: c.Nap, Thickness: c.Thickness, Care: c.Care, CanBuy: true,
		}
		if cloth.Nap == "" {
			cloth.Nap = batch.NapEitherWay
		}
		id, err := l.service.AddCloth(ctx, l.workshop, cloth)
		if err != nil {
			return fmt.Errorf("cloth %s: %w", c.Name, err)
		}
		l.names["cloth/"+c.Name] = id
	}
	for _, b := range room.Bolts {
		var faults []store.BoltFault
		for _, f := range b.Faults {
			faults = append(faults, store.BoltFault{
				FromLength: length.Length(f.FromLength), ToLength: length.Length(f.ToLength),
				FromWidth: length.Length(f.FromWidth), ToWidth: length.Length(f.ToWidth), Note: f.Note,
			})
		}
		bolt := store.Bolt{
			ClothID: l.names["cloth/"+b.Cloth], Name: b.Name, Lot: b.Lot, Length: length.Length(b.Length), Price: b.Price, Place: b.Place, Remnant: b.Remnant,
		}
		if _, err := l.service.AddBolt(ctx, l.workshop, bolt, faults); err != nil {
			return fmt.Errorf("bolt %s: %w", b.Name, err)
		}
	}
	for _, n := range room.Notions {
		notion := store.Notion{
			Name: n.Name, Kind: n.Kind, Packing: n.Packing, BuyLength: length.Length(n.BuyLength), BuyCount: n.BuyCount, BuyPrice: n.BuyPrice, InStock: n.InStock,
		}
		for _, r := range n.Rolls {
			notion.Rolls = append(notion.Rolls, batch.Roll{Length: length.Length(r.Length), Count: r.Count})
		}
		id, err := l.service.AddNotion(ctx, l.workshop, notion)
		if err != nil {
			return fmt.Errorf("notion %s: %w", n.Name, err)
		}
		l.names["notion/"+n.Name] = id
	}
	return nil
}

func (l *demoLoader) styles(ctx context.Context, room demoWorkroom) error {
	charts, err := l.service.Charts(ctx, l.workshop)
	if err != nil {
		return err
	}
	for _, chart := range charts {
		l.names["chart/"+chart.Name] = chart.ID
	}
	for _, draft := range room.Styles {
		id, err := l.service.StartStyle(ctx, l.workshop, draft.Starter, draft.Name, l.names["chart/"+draft.Chart], draft.Options)
		if err != nil {
			return fmt.Errorf("style %s: %w", draft.Name, err)
		}
		l.names["style/"+draft.Name] = id
		style, err := l.service.Style(ctx, l.workshop, id)
		if err != nil {
			return err
		}
		for i, allowance := range style.Allowances {
			if number, ok := draft.Numbers[allowance.Name]; ok {
				thousandths, err := number.Mul(money.Int(1000))
				if err != nil {
					return err
				}
				style.Allowances[i].Thousandths, _ = thousandths.Round(0, money.HalfUp).Int64()
			}
		}
		if _, err := l.service.SaveStyleDraft(ctx, l.workshop, style); err != nil {
			return fmt.Errorf("style %s: %w", draft.Name, err)
		}
		if err := l.costs(ctx, id, draft); err != nil {
			return fmt.Errorf("style %s: %w", draft.Name, err)
		}
	}
	return nil
}

// costs stores what costing knows of a style: its seams, and how many sell.
func (l *demoLoader) costs(ctx context.Context, id int64, draft demoStyle) error {
	if draft.YearSales > 0 {
		costs, err := l.service.store.StyleCosts(ctx, l.workshop, id)
		if err != nil {
			return err
		}
		costs.YearSales = draft.YearSales
		if err := l.service.store.SetStyleCosts(ctx, l.workshop, id, costs); err != nil {
			return err
		}
	}
	if len(draft.Seams) == 0 {
		return nil
	}
	style, err := l.service.Style(ctx, l.workshop, id)
	if err != nil {
		return err
	}
	seams := make([]store.Seam, len(draft.Seams))
	for i, s := range draft.Seams {
		seams[i] = store.Seam{Name: s.Name, Class: s.Class, Length: s.Length, Count: s.Count}
	}
	return l.service.SaveSeams(ctx, l.workshop, style, seams)
}

func (l *demoLoader) colourways(ctx context.Context, room demoWorkroom) error {
	for _, draft := range room.Colourways {
		way := store.Colourway{StyleID: l.names["style/"+draft.Style], Name: draft.Name, Cloths: map[garment.Role]int64{}, Notions: map[string]int64{}}
		for role, cloth := range draft.Cloths {
			way.Cloths[role] = l.names["cloth/"+cloth]
		}
		for need, notion := range draft.Notions {
			way.Notions[need] = l.names["notion/"+notion]
		}
		if _, err := l.service.SaveColourwayDraft(ctx, l.workshop, way); err != nil {
			return fmt.Errorf("colourway %s: %w", draft.Name, err)
		}
	}
	return nil
}

func (l *demoLoader) customers(ctx context.Context, room demoWorkroom) error {
	for _, c := range room.Customers {
		if _, err := l.service.store.AddCustomer(ctx, l.workshop, store.Customer{Name: c.Name, Kind: c.Kind, Note: c.Note}); err != nil {
			return fmt.Errorf("customer %s: %w", c.Name, err)
		}
	}
	return nil
}
