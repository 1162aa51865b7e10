package garment

import (
	"fmt"
	"time"

	"yardwright/batch/length"
	"yardwright/batch/words"
)

// Role says which cloth of a colourway a piece is cut from.
type Role string

// The usual roles; a style may name others.
const (
	Body   Role = "body"
	Band   Role = "band"
	Pocket Role = "pocket"
	Lining Role = "lining"
)

// Grain is the direction that a piece keeps to the warp.
type Grain string

// The grains.
const (
	Lengthwise Grain = "lengthwise"
	Crosswise  Grain = "crosswise"
	AnyGrain   Grain = "any"
	Bias       Grain = "bias"
)

// Shape is the kind of a piece's outline.
type Shape string

// The shapes.
const (
	// Rectangle has a Width and a Length.
	Rectangle Shape = "rectangle"
	// Outlined follows Points.
	Outlined Shape = "outline"
	// Sector is a part of a ring, as in a circle skirt: Inner and Outer radius, Angle.
	Sector Shape = "sector"
)

// OutlinePoint is one point of an outline; X across and Y along, as formulas. The lower left
// corner of the piece is not necessarily (0, 0).
type OutlinePoint struct {
	X, Y string
	// Curve makes this a control point: the edge bends from the point before towards it and
	// ends in the point after (a quadratic Bézier curve).
	Curve bool
}

// Cut is the cut size of a rectangular piece, for makers who only have cut sizes.
type Cut struct {
	Width, Length length.Length
}

// Piece is one pattern piece of a style.
type Piece struct {
	Name string
	Role Role
	// Copies per garment.
	Copies int
	Shape  Shape
	// Width across and Length along, as formulas, of a rectangle.
	Width, Length string
	// Points of an outline.
	Points []OutlinePoint
	// Drawn are outlines that were taken from a drawing, seams and hems included, in place of
	// Points: by size name, or one for all sizes under the empty name. Each begins at the lower end of the
	// fold if Fold is set.
	Drawn map[string][]Point `json:",omitempty"`
	// Seam is the allowance at the sides within Drawn or Table; 0 where that isn't known. SeamTop and
	// SeamBottom are those at the top and the bottom; nil where they are as at the sides.
	Seam       length.Length  `json:",omitempty"`
	SeamTop    *length.Length `json:",omitempty"`
	SeamBottom *length.Length `json:",omitempty"`
	// Inner and Outer radius (formulas) and Angle in degrees (90, 180 or 360) of a sector.
	Inner, Outer string
	Angle        int
	// Table gives cut sizes by size name in place of formulas.
	Table map[string]Cut
	Grain Grain
	// Fold: the piece described is half; it is cut on a fold at its left edge, or unfolded.
	Fold bool
	// Pair: half of the copies are cut face up and half face down (left and right).
	Pair bool
	// Gathered names the number allowance that is the fullness of this piece's width, if any.
	Gathered string
	// Note is shown on the cut sheet.
	Note string
}

// AllowanceKind says what an allowance counts.
type AllowanceKind string

// The kinds of allowance.
const (
	LengthAllowance AllowanceKind = "length"
	NumberAllowance AllowanceKind = "number"
)

// Allowance is a setting of a style that its formulas use: seam, hem, ease, fullness.
type Allowance struct {
	// Name is used in formulas.
	Name string
	// Label is what people read.
	Label string
	Kind  AllowanceKind
	// Length if Kind is LengthAllowance, in 1/8000 mm.
	Length length.Length
	// Thousandths if Kind is NumberAllowance: 1,667 is 1.667. An exact integer, so that a
	// style is the same on every machine.
	Thousandths int64
}

// Number returns the value of a number allowance.
func (a Allowance) Number() float64 { return float64(a.Thousandths) / 1000 }

// NotionNeed says how much of a notion one garment takes.
type NotionNeed struct {
	// Notion is the name of the need within the style, such as "waist elastic".
	Notion string
	// Length is a formula for what is cut from a roll; empty for counted notions.
	Length string
	// Count per garment of cut lengths or of pieces.
	Count int
}

// Stage is the part of the work that an operation belongs to.
type Stage string

// The stages, in the order of work. Cutting itself is planned by lay, not listed here.
const (
	Prepare Stage = "prepare"
	Sew     Stage = "sew"
	Press   Stage = "press"
	Finish  Stage = "finish"
)

// Stages lists the stages in the order of work.
func Stages() []Stage { return []Stage{Prepare, Sew, Press, Finish} }

// Operation is one step of making.
type Operation struct {
	Name  string
	Stage Stage
	// SetUp is spent once per batch, Each once per garment.
	SetUp, Each time.Duration
	// Basis says where the minutes come from: timed by the maker, or assumed.
	Basis string
}

// Style is a garment that the workshop makes.
type Style struct {
	Name   string
	Wearer Wearer
	// Chart is the name of the size chart that the style is graded over.
	Chart      string
	Allowances []Allowance
	Pieces     []Piece
	Notions    []NotionNeed
	Operations []Operation
	Note       string
}

// Roles lists the roles of the style's pieces, in order of first use.
func (s Style) Roles() []Role {
	var roles []Role
	seen := map[Role]bool{}
	for _, piece := range s.Pieces {
		if !seen[piece.Role] {
			seen[piece.Role] = true
			roles = append(roles, piece.Role)
		}
	}
	return roles
}

// Allowance returns the allowance with the given name.
func (s Style) Allowance(name string) (Allowance, bool) {
	for _, allowance := range s.Allowances {
		if allowance.Name == name {
			return allowance, true
		}
	}
	return Allowance{}, false
}

// Limits that keep a slip of the hand from making work without end.
const (
	maxPieces     = 60
	maxCopies     = 100
	maxPoints     = 200
	maxOperations = 100
)

// Check returns everything wrong with the style over its chart as Problems, or nil: every
// name known, every size of every piece positive and able to be drawn.
func (s Style) Check(chart SizeChart) error {
	var problems Problems
	checkName(&problems, "name", s.Name)
	s.checkAllowances(&problems, chart)
	s.checkPieces(&problems)
	s.checkNotions(&problems)
	s.checkOperations(&problems)
	if len(problems) > 0 {
		return problems
	}
	for _, size := range chart.Sizes {
		if _, err := s.Grade(chart, size.Name); err != nil {
			found, ok := err.(Problems)
			if !ok {
				return err
			}
			problems = append(problems, found...)
		}
	}
	return problems.orNil()
}

func (s Style) checkAllowances(problems *Problems, chart SizeChart) {
	seen := map[string]bool{}
	for _, measure := range chart.Measures {
		seen[measure.Name] = true
	}
	for i, allowance := range s.Allowances {
		field := fmt.Sprintf("allowances[%d]", i)
		switch {
		case !identifier.MatchString(allowance.Name):
			problems.add(field+".name", "write a short name in small letters, such as seam or hem_depth")
		case reservedNames[allowance.Name]:
			problems.add(field+".name", "%q already means something in formulas; choose another name", allowance.Name)
		case seen[allowance.Name]:
			problems.add(field+".name", "%q appears twice, here or in the size chart", allowance.Name)
		}
		seen[allowance.Name] = true
		switch {
		case allowance.Kind != LengthAllowance && allowance.Kind != NumberAllowance:
			problems.add(field+".kind", "choose length or number")
		case !allowance.InRange():
			problems.add(field+".value", "%s", allowance.Refusal(length.Style{}))
		}
	}
}

func (s Style) checkPieces(problems *Problems) {
	if len(s.Pieces) == 0 || len(s.Pieces) > maxPieces {
		problems.add("pieces", "a style has 1 to %d pieces", maxPieces)
	}
	seen := map[string]bool{}
	for i, piece := range s.Pieces {
		field := fmt.Sprintf("pieces[%d]", i)
		checkName(problems, field+".name", piece.Name)
		if seen[piece.Name] {
			problems.add(field+".name", "piece %q appears twice", piece.Name)
		}
		seen[piece.Name] = true
		checkName(problems, field+".role", string(piece.Role))
		if fault := words.NoteFault(piece.Note, words.LongestNote); fault != "" {
			problems.add(field+".note", "%s", fault)
		}
		s.checkPiece(problems, field, piece)
	}
}

func (s Style) checkPiece(problems *Problems, field string, piece Piece) {
	if piece.Copies < 1 || piece.Copies > maxCopies {
		problems.add(field+".copies", "write a number from 1 to %d", maxCopies)
	}
	if piece.Pair && piece.Copies%2 != 0 {
		problems.add(field+".copies", "left and right come in pairs: write an even number")
	}
	switch piece.Grain {
	case Lengthwise, Crosswise, AnyGrain, Bias:
	default:
		problems.add(field+".grain", "choose lengthwise, crosswise, any or bias")
	}
	checkSeams(problems, field, piece)
	switch piece.Shape {
	case Rectangle:
	case Outlined:
		if len(piece.Drawn) > 0 {
			checkDrawn(problems, field, piece)
		} else if len(piece.Points) < 3 || len(piece.Points) > maxPoints {
			problems.add(field+".points", "an outline has 3 to %d points", maxPoints)
		} else if piece.Points[0].Curve || piece.Points[len(piece.Points)-1].Curve {
			problems.add(field+".points", "an outline starts and ends with a corner, not with a curve point")
		}
		for j := 1; j < len(piece.Points); j++ {
			if piece.Points[j].Curve && piece.Points[j-1].Curve {
				problems.add(fmt.Sprintf("%s.points[%d]", field, j), "put a corner between two curve points")
			}
		}
	case Sector:
		if piece.Angle != 90 && piece.Angle != 180 && piece.Angle != 360 {
			problems.add(field+".angle", "choose 90, 180 or 360 degrees")
		}
	default:
		problems.add(field+".shape", "choose rectangle, outline or sector")
	}
	if len(piece.Table) > 0 && piece.Shape != Rectangle {
		problems.add(field+".table", "a table of cut sizes is for rectangles")
	}
	if piece.Gathered != "" {
		if allowance, ok := s.Allowance(piece.Gathered); !ok || allowance.Kind != NumberAllowance {
			problems.add(field+".gathered", "%q is not a number allowance of the style", piece.Gathered)
		}
	}
}

func (s Style) checkNotions(problems *Problems) {
	for i, need := range s.Notions {
		field := fmt.Sprintf("notions[%d]", i)
		checkName(problems, field+".notion", need.Notion)
		if need.Count < 1 || need.Count > maxCopies {
			problems.add(field+".count", "write a number from 1 to %d", maxCopies)
		}
	}
}

// longestOperation is a day; more is a slip of the hand.
const longestOperation = 24 * time.Hour

func (s Style) checkOperations(problems *Problems) {
	if len(s.Operations) > maxOperations {
		problems.add("operations", "a style has at most %d operations", maxOperations)
	}
	for i, operation := range s.Operations {
		field := fmt.Sprintf("operations[%d]", i)
		checkName(problems, field+".name", operation.Name)
		switch operation.Stage {
		case Prepare, Sew, Press, Finish:
		default:
			problems.add(field+".stage", "choose prepare, sew, press or finish")
		}
		if operation.SetUp < 0 || operation.SetUp > longestOperation {
			problems.add(field+".set_up", "write minutes from 0 to 1440")
		}
		if operation.Each < 0 || operation.Each > longestOperation {
			problems.add(field+".each", "write minutes from 0 to 1440")
		}
	}
}
