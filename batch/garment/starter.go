package garment

import (
	"time"

	"yardwright/batch/length"
)

// Starter is a draft that a maker begins a style from. The drafts are our own; seams, hems,
// casings and elastic follow common practice and every number in them is an allowance that
// the maker can change.
type Starter struct {
	Name        string
	Description string
	// Needs are the measures that a size chart must have for it.
	Needs []string
	// Chart is the shipped chart that suits it.
	Chart string
	// Options that can be switched on, with what they add.
	Options []StarterOption
	build   func(on func(option string) bool) Style
}

// StarterOption is something that a starter can have or lack.
type StarterOption struct {
	Name, Label string
	// On tells whether it is on unless the maker says otherwise.
	On bool
}

// Style builds the draft. Options that are not in on keep their default.
func (s Starter) Style(on map[string]bool) Style {
	style := s.build(func(option string) bool {
		if value, ok := on[option]; ok {
			return value
		}
		for _, known := range s.Options {
			if known.Name == option {
				return known.On
			}
		}
		return false
	})
	style.Name, style.Chart = s.Name, s.Chart
	return style
}

// Starters lists the drafts that come with the program.
func Starters() []Starter {
	return []Starter{gatheredSkirt(), pullOnShorts(), circleSkirt(), aLineSkirt(), apron(), drawstringBag(), pillowSlipDress()}
}

// Assumed is the basis of minutes that nobody has timed yet.
const Assumed = "our assumption: time your own"

const (
	quarterInch = length.Inch / 4
	halfInch    = length.Inch / 2
)

func lengthOf(name, label string, value length.Length) Allowance {
	return Allowance{Name: name, Label: label, Kind: LengthAllowance, Length: value}
}

func numberOf(name, label string, thousandths int64) Allowance {
	return Allowance{Name: name, Label: label, Kind: NumberAllowance, Thousandths: thousandths}
}

func operation(name string, stage Stage, setUp, each float64) Operation {
	minutes := func(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }
	return Operation{Name: name, Stage: stage, SetUp: minutes(setUp), Each: minutes(each), Basis: Assumed}
}

// elasticCasing are the allowances of a turned-down casing and its elastic. Common practice,
// no source: the casing is the elastic's width and a little ease; elastic is the waist less
// some for comfort, plus what its ends overlap.
func elasticCasing() []Allowance {
	return []Allowance{
		lengthOf("elastic_width", "Elastic width", 3*quarterInch),
		lengthOf("casing_ease", "Ease in the casing", quarterInch),
		lengthOf("turn_under", "Turn-under of the casing", quarterInch),
		lengthOf("comfort", "Elastic shorter than the waist by", 2*length.Inch),
		lengthOf("overlap", "Elastic overlap, both ends together", 2*length.Inch),
	}
}

const casingDepth = "elastic_width + casing_ease + turn_under"

func waistElastic() NotionNeed {
	return NotionNeed{Notion: "elastic", Length: "waist - comfort + overlap", Count: 1}
}

func rectangle(name string, role Role, copies int, width, long string, grain Grain) Piece {
	return Piece{Name: name, Role: role, Copies: copies, Shape: Rectangle, Width: width, Length: long, Grain: grain}
}

func pocketAllowances() []Allowance {
	return []Allowance{
		lengthOf("pocket_width", "Finished pocket width", 5*length.Inch),
		lengthOf("pocket_depth", "Finished pocket depth", 5*length.Inch+halfInch),
		lengthOf("pocket_turn", "Pocket turn-in, sides and bottom", halfInch),
		lengthOf("pocket_top", "Pocket top hem", length.Inch),
	}
}

func patchPocket(copies int) Piece {
	piece := rectangle("pocket", Pocket, copies, "pocket_width + 2*pocket_turn", "pocket_depth + pocket_turn + pocket_top", Lengthwise)
	piece.Note = "Turn ¼ + ¼ in on the sides and the bottom, the deep hem at the top."
	return piece
}

func gatheredSkirt() Starter {
	return Starter{
		Name:        "Gathered skirt",
		Description: "Two panels gathered by an elastic casing, with a folded contrast band instead of a hem and two patch pockets.",
		Needs:       []string{"height", "waist"}, Chart: "Children by height",
		Options: []StarterOption{{"band", "Folded contrast band", true}, {"pockets", "Two patch pockets", true}},
		build: func(on func(string) bool) Style {
			style := Style{Wearer: Child}
			style.Allowances = append([]Allowance{
				lengthOf("seam", "Seam allowance", quarterInch),
				numberOf("fullness", "Fullness", 1600),
				numberOf("length_share", "Finished length as a share of height", 300),
			}, elasticCasing()...)
			bottom := "hem"
			finished := "height*length_share"
			if on("band") {
				bottom, finished = "seam", "height*length_share - band_depth"
				style.Allowances = append(style.Allowances, lengthOf("band_depth", "Finished band depth", 11*quarterInch))
			} else {
				style.Allowances = append(style.Allowances, lengthOf("hem", "Hem", 2*length.Inch))
			}
			panel := rectangle("panel", Body, 2, "waist*fullness/2 + 2*seam", finished+" + "+casingDepth+" + "+bottom, Lengthwise)
			panel.Gathered = "fullness"
			style.Pieces = append(style.Pieces, panel)
			if on("band") {
				band := rectangle("band", Band, 2, "waist*fullness/2 + 2*seam", "2*band_depth + 2*seam", AnyGrain)
				band.Gathered, band.Note = "fullness", "Fold along its length; needs no hem."
				style.Pieces = append(style.Pieces, band)
				style.Operations = append(style.Operations, operation("press the band in half", Press, 2, 1), operation("join the band", Sew, 3, 3))
			}
			if on("pockets") {
				style.Allowances = append(style.Allowances, pocketAllowances()...)
				style.Pieces = append(style.Pieces, patchPocket(2))
				style.Operations = append(style.Operations, operation("press and stitch the pocket hems", Sew, 2, 2), operation("place and stitch the pockets", Sew, 3, 4))
			}
			style.Operations = append(style.Operations,
				operation("side seams", Sew, 3, 2.5), operation("casing", Sew, 3, 3), operation("feed and join the elastic", Sew, 1, 2.5),
				operation("sew in the label", Sew, 1, 0.5))
			if !on("band") {
				style.Operations = append(style.Operations, operation("hem", Sew, 3, 3))
			}
			style.Operations = append(style.Operations, operation("press", Press, 3, 1.5), operation("trim threads, check for pins and needles, tag", Finish, 1, 1.5))
			style.Notions = []NotionNeed{waistElastic(), {Notion: "thread", Length: "2.5*(5*waist*fullness + 4*height*length_share)", Count: 1}, {Notion: "label", Count: 1}}
			return style
		},
	}
}

func pullOnShorts() Starter {
	return Starter{
		Name:        "Pull-on shorts",
		Description: "One piece for each leg, no side seam, elastic casing at the waist.",
		Needs:       []string{"waist", "hip"}, Chart: "Women by number",
		build: func(func(string) bool) Style {
			style := Style{Wearer: Adult}
			style.Allowances = append([]Allowance{
				lengthOf("seam", "Seam allowance", 3*length.Inch/8),
				lengthOf("hem", "Hem", length.Inch),
				lengthOf("ease", "Ease over the hip", 3*length.Inch),
				lengthOf("inseam", "Inside leg", 4*length.Inch),
				lengthOf("rise_ease", "Ease in the rise", 5*halfInch),
				lengthOf("back_lift", "Back waist higher by", 3*quarterInch),
				numberOf("front_fork", "Front fork as a share of hip", 50),
				numberOf("back_fork", "Back fork as a share of hip", 110),
			}, elasticCasing()...)
			front, back := "(hip*front_fork + seam)", "(hip*back_fork + seam)"
			across := "((hip + ease)/2 + " + front + " + " + back + ")"
			fork := "(inseam + hem)"
			top := "(inseam + hem + hip/4 + rise_ease + " + casingDepth + ")"
			style.Pieces = []Piece{{
				Name: "leg", Role: Body, Copies: 2, Shape: Outlined, Grain: Lengthwise, Pair: true,
				Note: "Left and right: cut one of each two face down.",
				Points: []OutlinePoint{
					{X: "0", Y: "0"},
					{X: across, Y: "0"},
					{X: across, Y: fork},
					{X: across + " - " + back, Y: fork, Curve: true},
					{X: across + " - " + back, Y: fork + " + hip/8"},
					{X: across + " - " + back, Y: top + " + back_lift"},
					{X: front, Y: top},
					{X: front, Y: fork + " + hip/9"},
					{X: front, Y: fork, Curve: true},
					{X: "0", Y: fork},
				},
			}}
			style.Operations = []Operation{
				operation("inside leg seams", Sew, 3, 3), operation("crotch seam, stitched twice", Sew, 2, 3), operation("casing", Sew, 3, 3),
				operation("feed and join the elastic", Sew, 1, 2.5), operation("leg hems", Sew, 3, 4), operation("sew in the label", Sew, 1, 0.5),
				operation("press", Press, 3, 2), operation("trim threads, check for pins and needles, tag", Finish, 1, 1.5),
			}
			style.Notions = []NotionNeed{waistElastic(), {Notion: "thread", Length: "2.5*(4*hip + 8*inseam)", Count: 1}, {Notion: "label", Count: 1}}
			return style
		},
	}
}

func circleSkirt() Starter {
	return Starter{
		Name:        "Circle skirt",
		Description: "A full circle in two halves or four quarters under a waistband with elastic.",
		Needs:       []string{"waist", "height"}, Chart: "Children by height",
		Options: []StarterOption{{"quarters", "Cut as four quarters", false}},
		build: func(on func(string) bool) Style {
			style := Style{Wearer: Child}
			style.Allowances = append([]Allowance{
				lengthOf("seam", "Seam allowance", quarterInch),
				lengthOf("hem", "Narrow hem", halfInch),
				numberOf("opening", "Waist opening as a multiple of the waist", 1350),
				numberOf("length_share", "Finished length as a share of height", 270),
			}, elasticCasing()...)
			name, copies, angle, seams := "half circle", 2, 180, "4"
			if on("quarters") {
				name, copies, angle, seams = "quarter circle", 4, 90, "8"
			}
			// The seams take part of the ring, so the ring is drawn larger by them.
			radius := "(waist*opening + " + seams + "*seam)/(2*pi)"
			style.Pieces = []Piece{
				{
					Name: name, Role: Body, Copies: copies, Shape: Sector, Angle: angle, Grain: Lengthwise,
					Inner: radius + " - seam", Outer: radius + " + height*length_share + hem",
				},
				rectangle("waistband", Body, 1, "waist*opening + 2*seam", "2*(elastic_width + casing_ease) + 2*seam", AnyGrain),
			}
			style.Operations = []Operation{
				operation("join the parts of the circle", Sew, 3, 3), operation("waistband", Sew, 3, 4), operation("feed and join the elastic", Sew, 1, 2.5),
				operation("let it hang, even the hem", Finish, 2, 3), operation("narrow hem", Sew, 3, 8), operation("sew in the label", Sew, 1, 0.5),
				operation("press", Press, 3, 2.5), operation("trim threads, check for pins and needles, tag", Finish, 1, 1.5),
			}
			style.Notions = []NotionNeed{waistElastic(), {Notion: "thread", Length: "2.5*(2*waist*opening + 7*height*length_share + 4*waist)", Count: 1}, {Notion: "label", Count: 1}}
			return style
		},
	}
}

func aLineSkirt() Starter {
	return Starter{
		Name:        "A-line skirt",
		Description: "Front and back flared from hip to hem, cut on the fold, elastic casing at the waist.",
		Needs:       []string{"waist", "hip"}, Chart: "Women by number",
		build: func(func(string) bool) Style {
			style := Style{Wearer: Adult}
			style.Allowances = append([]Allowance{
				lengthOf("seam", "Seam allowance", 3*length.Inch/8),
				lengthOf("hem", "Hem", 3*halfInch),
				lengthOf("ease", "Ease over the hip", 2*length.Inch),
				lengthOf("skirt_length", "Finished length", 24*length.Inch),
				lengthOf("side_lift", "Hem rises at the side by", length.Inch),
				numberOf("flare", "Hem width as a multiple of the top", 1350),
			}, elasticCasing()...)
			top := "((hip + ease)/4 + seam)"
			high := "skirt_length + hem + " + casingDepth
			style.Pieces = []Piece{{
				Name: "panel", Role: Body, Copies: 2, Shape: Outlined, Grain: Lengthwise, Fold: true, Note: "Front and back alike.",
				Points: []OutlinePoint{
					{X: "0", Y: "0"},
					{X: "(hip + ease)/8*flare", Y: "0", Curve: true},
					{X: "(hip + ease)/4*flare + seam", Y: "side_lift"},
					{X: top, Y: high},
					{X: "0", Y: high},
				},
			}}
			style.Operations = []Operation{
				operation("side seams", Sew, 3, 3.5), operation("casing", Sew, 3, 3.5), operation("feed and join the elastic", Sew, 1, 2.5),
				operation("hem", Sew, 3, 5), operation("sew in the label", Sew, 1, 0.5), operation("press", Press, 3, 2.5),
				operation("trim threads, check for pins and needles, tag", Finish, 1, 1.5),
			}
			style.Notions = []NotionNeed{waistElastic(), {Notion: "thread", Length: "2.5*(4*skirt_length + 3*hip*flare)", Count: 1}, {Notion: "label", Count: 1}}
			return style
		},
	}
}

func apron() Starter {
	return Starter{
		Name:        "Apron",
		Description: "Bib and skirt in one, two ties, a neck strap and a pocket.",
		Needs:       []string{"width", "depth"}, Chart: "Bags and aprons",
		Options: []StarterOption{{"pockets", "A patch pocket", true}},
		build: func(on func(string) bool) Style {
			style := Style{Wearer: Adult}
			style.Allowances = []Allowance{
				lengthOf("hem", "Hem all round", length.Inch),
				numberOf("bib_share", "Bib width as a share of the width", 550),
				numberOf("bib_high", "Bib height as a share of the depth", 400),
				lengthOf("tie_length", "Length of a tie", 30*length.Inch),
				lengthOf("tie_width", "Finished width of ties and strap", length.Inch),
				lengthOf("strap_length", "Length of the neck strap", 24*length.Inch),
				lengthOf("seam", "Seam allowance", quarterInch),
			}
			side, waistline := "width/2 + hem", "(depth*(1 - bib_high) + hem)"
			high := "depth + 2*hem"
			style.Pieces = []Piece{
				{Name: "front", Role: Body, Copies: 1, Shape: Outlined, Grain: Lengthwise, Fold: true, Points: []OutlinePoint{
					{X: "0", Y: "0"},
					{X: side, Y: "0"},
					{X: side, Y: waistline},
					{X: "width/2*bib_share + hem", Y: waistline, Curve: true},
					{X: "width/2*bib_share + hem", Y: high},
					{X: "0", Y: high},
				}},
				rectangle("tie", Band, 2, "2*tie_width + 2*seam", "tie_length + 2*seam", AnyGrain),
				rectangle("neck strap", Band, 1, "2*tie_width + 2*seam", "strap_length + 2*seam", AnyGrain),
			}
			if on("pockets") {
				style.Allowances = append(style.Allowances, pocketAllowances()...)
				style.Pieces = append(style.Pieces, patchPocket(1))
				style.Operations = append(style.Operations, operation("pocket", Sew, 3, 4))
			}
			style.Operations = append(style.Operations,
				operation("hem all round", Sew, 3, 7), operation("ties and strap", Sew, 3, 6), operation("set ties and strap", Sew, 2, 3),
				operation("press", Press, 3, 2), operation("trim threads, check for pins and needles, tag", Finish, 1, 1.5))
			style.Notions = []NotionNeed{{Notion: "thread", Length: "2.5*(4*width + 4*depth + 8*tie_length)", Count: 1}, {Notion: "label", Count: 1}}
			return style
		},
	}
}

func drawstringBag() Starter {
	return Starter{
		Name:        "Drawstring bag",
		Description: "Two panels, a casing at the top, two cords.",
		Needs:       []string{"width", "depth"}, Chart: "Bags and aprons",
		Options: []StarterOption{{"lining", "Lined", false}},
		build: func(on func(string) bool) Style {
			style := Style{Wearer: NoOne}
			style.Allowances = []Allowance{
				lengthOf("seam", "Seam allowance", 3*length.Inch/8),
				lengthOf("casing", "Casing with its turn-under", 3*halfInch),
				lengthOf("tail", "Cord left outside, each end", 4*length.Inch),
			}
			style.Pieces = []Piece{rectangle("panel", Body, 2, "width + 2*seam", "depth + seam + casing", Lengthwise)}
			if on("lining") {
				style.Pieces = append(style.Pieces, rectangle("lining", Lining, 2, "width + 2*seam", "depth + 2*seam", Lengthwise))
				style.Operations = append(style.Operations, operation("lining", Sew, 2, 3))
			}
			style.Operations = append(style.Operations,
				operation("side and bottom seams", Sew, 2, 3), operation("casing", Sew, 2, 3), operation("feed and knot the cords", Finish, 1, 2),
				operation("press", Press, 2, 1), operation("trim threads, check for pins and needles, tag", Finish, 1, 1))
			style.Notions = []NotionNeed{{Notion: "cord", Length: "2*width + 2*tail", Count: 2}, {Notion: "thread", Length: "2.5*(5*width + 4*depth)", Count: 1}, {Notion: "label", Count: 1}}
			return style
		},
	}
}

func pillowSlipDress() Starter {
	return Starter{
		Name:        "Pillow-slip dress",
		Description: "Front and back alike, gathered at the neck by elastic, with sewn shoulder straps. No cords.",
		Needs:       []string{"height", "waist"}, Chart: "Children by height",
		build: func(func(string) bool) Style {
			style := Style{Wearer: Child}
			style.Allowances = []Allowance{
				lengthOf("seam", "Seam allowance", quarterInch),
				lengthOf("hem", "Hem", 2*length.Inch),
				lengthOf("casing", "Neck casing with its turn-under", 5*quarterInch),
				numberOf("fullness", "Fullness", 1500),
				numberOf("length_share", "Finished length as a share of height", 520),
				numberOf("armhole_deep", "Armhole depth as a share of height", 85),
				numberOf("armhole_wide", "Armhole width as a share of height", 45),
				numberOf("neck", "Neck elastic as a share of the waist", 400),
				lengthOf("strap_width", "Finished strap width", length.Inch),
			}
			side, high := "(waist*fullness/4 + seam)", "(height*length_share + hem + casing)"
			style.Pieces = []Piece{
				{Name: "front or back", Role: Body, Copies: 2, Shape: Outlined, Grain: Lengthwise, Fold: true, Points: []OutlinePoint{
					{X: "0", Y: "0"},
					{X: side, Y: "0"},
					{X: side, Y: high + " - height*armhole_deep"},
					{X: side + " - height*armhole_wide", Y: high + " - height*armhole_deep", Curve: true},
					{X: side + " - height*armhole_wide", Y: high},
					{X: "0", Y: high},
				}},
				rectangle("strap", Band, 2, "2*strap_width + 2*seam", "height*0.22 + 2*seam", AnyGrain),
			}
			style.Operations = []Operation{
				operation("side seams", Sew, 3, 3), operation("bind the armholes", Sew, 3, 6), operation("neck casings and elastic", Sew, 3, 6),
				operation("make and set the straps", Sew, 3, 5), operation("hem", Sew, 3, 4), operation("sew in the label", Sew, 1, 0.5),
				operation("press", Press, 3, 2), operation("trim threads, check for pins and needles, tag", Finish, 1, 1.5),
			}
			style.Notions = []NotionNeed{{Notion: "elastic", Length: "waist*neck", Count: 2}, {Notion: "thread", Length: "2.5*(4*height*length_share + 4*waist*fullness)", Count: 1}, {Notion: "label", Count: 1}}
			return style
		},
	}
}
