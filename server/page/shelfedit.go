package page

import (
	"slices"
	"strconv"
	"strings"

	"yardwright/batch"
	"yardwright/batch/length"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// ClothEdit is the page of a cloth.
type ClothEdit struct {
	Base
	Cloth   store.Cloth
	Designs []string
	// Landed is what a price unit of it costs on the shelf.
	Landed money.Amount
}

func (ClothEdit) page() string { return "cloth_edit" }

// onShelf are the addresses of the page of a thing on the shelf and of its form; both are those of a
// new one where id is 0.
func onShelf(kind string, id int64) (page, action string) { return placesOf("/shelf/"+kind, id) }

// Form is the form of the cloth.
func (v ClothEdit) Form() Form {
	c := v.Cloth
	page, action := onShelf("cloths", c.ID)
	return v.Base.Form(page, action, c.Version,
		[]Field{v.TextField("name", "Name", "", c.Name), v.TextField("content", "Content", "", c.Content), v.Choose("design", "Design", "", c.Design, Words(v.Designs...))},
		[]Field{
			v.TextField("full_width", "Full width", "", v.Input(c.FullWidth)), v.TextField("selvage", "Selvage, each side", "", v.Input(c.Selvage)),
			v.NumberField("price", "Price on the bill", "", v.InCoins(c.Price)), v.Choose("price_unit", "per", "", c.PriceUnit, Words("yd", "m")),
		},
		[]Field{
			v.ShareField("discount", "Discount, %", "", c.Discount),
			v.NumberField("freight", "Freight or postage", "of one delivery", v.InCoinsOrEmpty(c.Freight)),
			v.TextField("freight_length", "which brought", "such as 12 "+v.LongUnit(), v.LongInput(c.FreightLength)),
			v.ShareField("tax", "Tax you can't claim back, %", "", c.Tax),
			v.ShareField("wastage", "Spoilt besides, %", "flaws, mis-cuts", c.Wastage),
		},
		[]Field{
			v.Choose("nap", "Nap", "may pieces lie upside down?", c.Nap, Words(batch.NapEitherWay, batch.NapOneWay, batch.NapUpAndDown)),
			v.Choose("thickness", "Thickness", "", c.Thickness, Words(batch.Thin, batch.Medium, batch.Thick)),
			v.TextField("repeat_length", "Repeat lengthwise", "", v.Input(c.RepeatLength)), v.TextField("repeat_width", "Repeat crosswise", "", v.Input(c.RepeatWidth)),
		},
		[]Field{
			v.NumberField("shrink_length", "Shrinks lengthwise, %", "", c.ShrinkLength), v.NumberField("shrink_width", "Shrinks crosswise, %", "", c.ShrinkWidth),
			v.TextField("care", "Care", "", c.Care),
		},
		[]Field{v.TickField("pre_washed", "Washed before cutting, so that pieces need no shrinkage", c.PreWashed)},
		[]Field{v.TickField("can_buy", "More of it can be bought", c.CanBuy)},
	)
}

// BoltEdit is the page of a bolt.
type BoltEdit struct {
	Base
	Bolt   store.Bolt
	Cloths []store.Cloth
	// Moves are its history, newest first; Holds what batches hold of it.
	Moves []store.BoltMove
	Holds []store.BoltHold
	// Faults are its damaged places.
	Faults []store.BoltFault
}

func (BoltEdit) page() string { return "bolt_edit" }

// Form is the form of the bolt.
func (v BoltEdit) Form() Form {
	b := v.Bolt
	page, action := onShelf("bolts", b.ID)
	names := []Field{v.TextField("name", "Name or number on the bolt", "", b.Name), v.TextField("lot", "Shade lot", "", b.Lot)}
	if b.ID == 0 {
		names = slices.Insert(names, 0, v.cloths())
	}
	rows := [][]Field{names, {
		v.TextField("length", "Length on it", "in "+v.LongUnit()+" unless you write another unit, such as "+v.LongExample(), v.LongInput(b.Length)),
		v.TextField("full_width", "Full width", "in "+v.SmallUnit()+"; empty: as its cloth", v.OwnInput(b.FullWidth)),
		v.NumberField("price", "Price", "empty: as its cloth", v.OwnCoins(b.Price)), v.TextField("place", "Place", "", b.Place),
	}}
	if b.ID != 0 {
		why := v.TextField("reason", "Why did the length change?", "only if you change the length, such as: measured again, sold by the yard", "")
		why.Back = "taken back"
		rows = append(rows, []Field{why})
	}
	rows = append(rows, []Field{v.TickField("remnant", "It is a remnant", b.Remnant)})
	return v.Base.Form(page, action, b.Version, rows...).With("fault", v.faults())
}

func (v BoltEdit) cloths() Field {
	options := []Option{{Text: "choose"}}
	for _, cloth := range v.Cloths {
		options = append(options, Option{Value: strconv.FormatInt(cloth.ID, 10), Text: cloth.Name})
	}
	return v.Choose("cloth", "Cloth", "", v.Bolt.ClothID, options)
}

// MostFaults is how many faults the form of a bolt takes, and spareFaults how many empty rows it
// offers.
const (
	MostFaults  = 30
	spareFaults = 1
)

// FaultField names a box of a fault.
func FaultField(row int, part string) string { return rowField("fault", row, part) }

func (v BoltEdit) faults() [][]Field {
	rows := make([][]Field, v.RowsTyped("fault", len(v.Faults)+spareFaults, MostFaults))
	for row := range rows {
		var from, to, left, right, note any
		if row < len(v.Faults) {
			fault := v.Faults[row]
			from, to, left, right, note = v.AlongInput(fault.FromLength), v.AlongInput(fault.ToLength), v.Input(fault.FromWidth), v.Input(fault.ToWidth), fault.Note
		}
		rows[row] = []Field{
			v.TextField(FaultField(row, "from"), "Fault begins, along the bolt", "from its free end", from),
			v.TextField(FaultField(row, "to"), "and ends", "", to),
			v.TextField(FaultField(row, "left"), "across from", "from the left selvage", left),
			v.TextField(FaultField(row, "right"), "across to", "empty: to the other selvage", right),
			v.TextField(FaultField(row, "note"), "What it is", "", note),
		}
	}
	return rows
}

// AlongInput writes a place along a bolt for its box: in yards or metres if that comes out even, or
// else in inches.
func (v BoltEdit) AlongInput(l length.Length) string {
	if v.Units.System != length.Metric && l%(length.Yard/8) != 0 {
		return v.Input(l)
	}
	return v.LongInput(l)
}

// FaultsOpen reports whether the faults are in sight: there are some, or something is wrong with one.
func (v BoltEdit) FaultsOpen() bool {
	return len(v.Faults) > 0 || slices.ContainsFunc(v.Base.Problems, func(p Problem) bool { return strings.HasPrefix(p.Field, "fault.") })
}

// NotionEdit is the page of a notion.
type NotionEdit struct {
	Base
	Notion store.Notion
	Kinds  []batch.NotionKind
	// ForStyle is the style whose new colourway the notion is for; 0 for none.
	ForStyle int64
}

func (NotionEdit) page() string { return "notion_edit" }

// Form is the form of the notion.
func (v NotionEdit) Form() Form {
	n := v.Notion
	page, action := onShelf("notions", n.ID)
	rolls := v.LinesField("rolls", "Rolls in stock", "one a line: 2 x "+v.RollExample(), v.rolls())
	return v.Base.Form(page, action, n.Version,
		[]Field{v.TextField("name", "Name", "", n.Name), v.Choose("kind", "How it is used", "", n.Kind, Words(v.Kinds...))},
		[]Field{
			v.TextField("buy_length", "Length of a roll or spool when bought", "such as "+v.RollExample()+"; empty if counted", v.LongInput(n.BuyLength)),
			v.WholeField("buy_count", "How many in a pack", "if counted", n.BuyCount), v.NumberField("buy_price", "Price of the roll or pack", "", v.InCoins(n.BuyPrice)),
		},
		[]Field{
			v.ShareField("discount", "Discount, %", "", n.Discount),
			v.NumberField("freight", "Freight or postage", "of one roll or pack", v.InCoinsOrEmpty(n.Freight)),
			v.ShareField("tax", "Tax you can't claim back, %", "", n.Tax), v.ShareField("wastage", "Spoilt or left over, %", "", n.Wastage),
		},
		[]Field{rolls, v.WholeField("in_stock", "Pieces in stock", "if counted", n.InStock)},
		[]Field{v.TickField("packing", "Goes out with every garment (bag, hang tag)", n.Packing)},
		v.forStyle(),
	)
}

// forStyle tells the form of which style's new colourway it is a part.
func (v NotionEdit) forStyle() []Field {
	if v.ForStyle == 0 && v.Raw.Get("style") == "" {
		return nil
	}
	return []Field{v.HiddenField("style", v.ForStyle)}
}

// Back is where the page leads back to.
func (v NotionEdit) Back() string {
	if style := v.Typed("style", v.ForStyle); style != "0" && style != "" {
		return "/styles/" + style + "/colourways/new"
	}
	return "/shelf"
}

// rolls writes the rolls in stock, one a line.
func (v NotionEdit) rolls() string {
	var lines []string
	for _, r := range v.Notion.Rolls {
		lines = append(lines, strconv.Itoa(r.Count)+" x "+v.LongInput(r.Length))
	}
	return strings.Join(lines, "\n")
}
