package page

import (
	"fmt"
	"html/template"
	"strings"
)

// Sketch is a small drawing of what an allowance is, with the same in words. It shows the
// kind of thing, not the size that was written.
type Sketch struct {
	// Words say what is drawn.
	Words string
	parts []string
}

// SketchOf returns the sketch of an allowance of one of the drafts; ok is false for a name
// that no draft uses, such as a maker's own.
func SketchOf(allowance string) (sketch Sketch, ok bool) {
	sketch, ok = sketches[allowance]
	return sketch, ok
}

// SketchNames lists the allowances that have a sketch.
func SketchNames() []string {
	var names []string
	for name := range sketches {
		names = append(names, name)
	}
	return names
}

// Sketch writes the sketch of an allowance; empty if there is none.
func (s Style) Sketch(allowance string) template.HTML {
	sketch, ok := SketchOf(allowance)
	if !ok {
		return ""
	}
	return sketch.SVG()
}

// SVG writes the drawing, 120 by 80 units, with its words for those who don't see it.
func (s Sketch) SVG() template.HTML {
	return template.HTML(`<svg class="sketch" role="img" viewBox="0 0 120 80" aria-label="` + template.HTMLEscapeString(s.Words) + `">` + strings.Join(s.parts, "") + `</svg>`) //nolint:gosec // words are escaped, parts are ours
}

// The parts of a sketch: cloth, what of it is meant, lines, and arrows along what is measured.

func shape(class, path string) string {
	return fmt.Sprintf(`<path class="%s" d="%s"/>`, class, path)
}

func boxPath(x, y, wide, high int) string {
	return fmt.Sprintf("M%d %dh%dv%dh%dz", x, y, wide, high, -wide)
}

func cloth(x, y, wide, high int) string   { return shape("sk-cloth", boxPath(x, y, wide, high)) }
func meant(x, y, wide, high int) string   { return shape("sk-meant", boxPath(x, y, wide, high)) }
func elastic(x, y, wide, high int) string { return shape("sk-elastic", boxPath(x, y, wide, high)) }

func stitch(x1, y1, x2, y2 int) string {
	return shape("sk-stitch", fmt.Sprintf("M%d %dL%d %d", x1, y1, x2, y2))
}

func fold(x1, y1, x2, y2 int) string {
	return shape("sk-fold", fmt.Sprintf("M%d %dL%d %d", x1, y1, x2, y2))
}

// across is an arrow from left to right, along one from top to bottom, with a head at each end.
func across(x1, x2, y int) string {
	return shape("sk-measure", fmt.Sprintf("M%d %dH%dM%d %dl4 -3M%d %dl4 3M%d %dl-4 -3M%d %dl-4 3", x1, y, x2, x1, y, x1, y, x2, y, x2, y))
}

func along(x, y1, y2 int) string {
	return shape("sk-measure", fmt.Sprintf("M%d %dV%dM%d %dl-3 4M%d %dl3 4M%d %dl-3 -4M%d %dl3 -4", x, y1, y2, x, y1, x, y1, x, y2, x, y2))
}

// Outlines that several sketches share.
const (
	skirtOutline  = "M38 14H82L98 66H22z"
	shortsOutline = "M30 12H90L98 66H66L60 44L54 66H22z"
	legOutline    = "M42 8L78 5L82 34Q84 44 102 46V70H18V46Q38 44 40 34z"
	apronOutline  = "M44 14H76V34Q78 42 96 44V72H24V44Q42 42 44 34z"
	dressOutline  = "M44 12H76Q76 30 88 34L100 72H20L32 34Q44 30 44 12z"
	pocketOutline = "M36 16H84V66H36z"
)

// sketches by the name of the allowance in the drafts of package garment.
var sketches = map[string]Sketch{
	"seam": {"A piece of cloth with a line of stitches along its edge; the seam allowance is what lies between the stitches and the edge.", []string{
		cloth(12, 12, 90, 56), meant(82, 12, 20, 56), stitch(82, 12, 82, 68), across(82, 102, 40),
	}},
	"hem": {"The lower edge of a piece; the hem is what is turned up at it, from the fold to the edge.", []string{
		cloth(15, 8, 90, 64), meant(15, 50, 90, 22), fold(15, 50, 105, 50), along(60, 50, 72),
	}},
	"casing": {"The upper edge of a piece; the casing is all that is turned down at it, its turn-under included.", []string{
		cloth(15, 8, 90, 64), meant(15, 8, 90, 26), fold(15, 34, 105, 34), stitch(15, 14, 105, 14), along(60, 8, 34),
	}},
	"casing_ease": {"An elastic in its casing; the ease is the room beside the elastic, up to the stitches.", []string{
		cloth(12, 10, 96, 60), elastic(12, 16, 96, 28), meant(12, 44, 96, 14), stitch(12, 58, 108, 58), along(60, 44, 58),
	}},
	"turn_under": {"The raw edge of a casing, turned under before it is stitched; the turn-under is from that fold to the edge.", []string{
		cloth(15, 8, 90, 64), meant(15, 8, 90, 14), fold(15, 22, 105, 22), fold(15, 46, 105, 46), along(60, 8, 22),
	}},
	"elastic_width": {"An elastic in its casing, with the width of the elastic.", []string{
		cloth(12, 10, 96, 60), elastic(12, 22, 96, 32), stitch(12, 62, 108, 62), along(60, 22, 54),
	}},
	"comfort": {"The waist above, the elastic below it: by how much the elastic is shorter.", []string{
		cloth(8, 14, 104, 18), elastic(8, 46, 78, 16), meant(86, 46, 26, 16), across(86, 112, 54),
	}},
	"overlap": {"The two ends of an elastic lie on each other; the overlap is how far.", []string{
		elastic(8, 26, 64, 18), elastic(48, 32, 64, 18), meant(48, 26, 24, 24), across(48, 72, 62),
	}},
	"fullness": {"A flat panel above, the same panel gathered below: fullness is the flat width over the gathered width.", []string{
		cloth(8, 8, 104, 22), across(8, 112, 38), shape("sk-cloth", "M32 48H88L94 66H26z"), shape("sk-line", "M40 48V60M50 48V64M60 48V60M70 48V64M80 48V60"), across(32, 88, 74),
	}},
	"length_share": {"A person with a skirt: the length of the skirt beside the height of the person.", []string{
		shape("sk-line", "M40 3a6 6 0 1 0 .1 0M40 15V36M40 20L26 36M40 20L54 36M34 58V76M46 58V76"), shape("sk-meant", "M31 36H49L56 58H24z"), along(76, 36, 58), along(98, 3, 76),
	}},
	"skirt_length": {"A skirt, measured from its waist to its finished lower edge.", []string{shape("sk-cloth", skirtOutline), along(60, 14, 66)}},
	"band_depth": {"A skirt with a band at its lower edge; the depth of the finished band, folded in half.", []string{
		cloth(20, 8, 80, 40), meant(20, 48, 80, 22), stitch(20, 48, 100, 48), fold(20, 70, 100, 70), along(60, 48, 70),
	}},
	"ease": {"The body within the garment, seen from above; the ease is the room between them, all round together.", []string{
		shape("sk-cloth", "M60 8a48 32 0 1 0 .1 0z"), shape("sk-body", "M60 18a34 22 0 1 0 .1 0z"), across(94, 108, 40), across(12, 26, 40),
	}},
	"inseam": {"Shorts, with the length of the inside leg, from the fork to the lower edge.", []string{shape("sk-cloth", shortsOutline), along(60, 44, 70), shape("sk-line", "M54 66H66")}},
	"rise_ease": {"Shorts, with the room that is added between waist and fork.", []string{
		shape("sk-cloth", shortsOutline), shape("sk-meant", "M30 12H90L91.5 22H28.5z"), along(60, 12, 22), shape("sk-line", "M60 22V44"),
	}},
	"back_lift": {"The waist of shorts from the side; the back is higher than the front by this.", []string{
		shape("sk-cloth", "M24 26L96 12L100 70H20z"), shape("sk-meant", "M24 26L96 12V26z"), fold(24, 26, 106, 26), along(106, 12, 26),
	}},
	"front_fork": {"The piece of a leg; at its front edge it goes out to the fork by this.", []string{shape("sk-cloth", legOutline), shape("sk-meant", "M18 46Q38 44 40 34V46z"), across(18, 40, 56)}},
	"back_fork":  {"The piece of a leg; at its back edge it goes out to the fork by this.", []string{shape("sk-cloth", legOutline), shape("sk-meant", "M102 46Q84 44 82 34V46z"), across(82, 102, 56)}},
	"side_lift": {"The lower edge of a flared skirt, which rises towards the side by this.", []string{
		shape("sk-cloth", "M40 8H80L104 54Q80 66 60 66Q40 66 16 54z"), fold(16, 66, 112, 66), along(108, 54, 66),
	}},
	"flare": {"A flared skirt: the width of its lower edge over that of its top.", []string{shape("sk-cloth", "M42 18H78L98 60H22z"), across(42, 78, 10), across(22, 98, 70)}},
	"strap_length": {"An apron with a strap around the neck; the length of the strap.", []string{
		shape("sk-cloth", "M34 40H86V72H34z"), shape("sk-measure", "M42 40Q40 8 60 8Q80 8 78 40M42 40l-4 -4M42 40l3 -5M78 40l4 -4M78 40l-3 -5"),
	}},
	"strap_width": {"A finished strap, with its width.", []string{cloth(8, 28, 104, 24), stitch(8, 32, 112, 32), stitch(8, 48, 112, 48), along(60, 28, 52)}},
	"tie_length":  {"A tie of an apron, from its seam to its end.", []string{cloth(6, 12, 22, 56), cloth(28, 32, 84, 14), across(28, 112, 58)}},
	"tie_width":   {"A finished tie or strap, with its width.", []string{cloth(8, 28, 104, 24), stitch(8, 48, 112, 48), along(60, 28, 52)}},
	"tail": {"A bag that is drawn shut with a cord; how far each end of the cord comes out.", []string{
		shape("sk-cloth", "M20 26H66V72H20z"), shape("sk-line", "M20 34H66"), shape("sk-elastic", "M66 31H104V37H66z"), across(66, 104, 48),
	}},
	"pocket_width": {"A finished pocket, with its width.", []string{shape("sk-cloth", pocketOutline), across(36, 84, 42)}},
	"pocket_depth": {"A finished pocket, with its depth.", []string{shape("sk-cloth", pocketOutline), along(60, 16, 66)}},
	"pocket_turn": {"A pocket as it is cut; what is turned in at its sides and its lower edge.", []string{
		cloth(28, 8, 64, 66), meant(28, 8, 12, 66), meant(80, 8, 12, 66), meant(40, 62, 40, 12), fold(40, 8, 40, 62), fold(80, 8, 80, 62), fold(40, 62, 80, 62), across(28, 40, 34), across(80, 92, 34), along(60, 62, 74),
	}},
	"pocket_top":   {"A pocket as it is cut; the hem at its opening.", []string{cloth(28, 8, 64, 66), meant(28, 8, 64, 16), fold(28, 24, 92, 24), along(60, 8, 24)}},
	"armhole_deep": {"The top of a dress without sleeves; how deep its armhole is.", []string{shape("sk-cloth", dressOutline), fold(76, 12, 106, 12), fold(88, 34, 106, 34), along(102, 12, 34)}},
	"armhole_wide": {"The top of a dress without sleeves; how far its armhole goes in.", []string{shape("sk-cloth", dressOutline), fold(88, 6, 88, 34), across(76, 88, 8)}},
	"bib_high":     {"An apron; how high its bib is, beside its whole length.", []string{shape("sk-cloth", apronOutline), along(60, 14, 44), along(108, 14, 72)}},
	"bib_share":    {"An apron; how wide the top of its bib is, beside its whole width.", []string{shape("sk-cloth", apronOutline), across(44, 76, 8), across(24, 96, 62)}},
	"neck": {"The neck of a dress, gathered by an elastic that is shorter than the waist.", []string{
		shape("sk-cloth", "M40 22H80L100 72H20z"), shape("sk-line", "M48 22V34M56 22V38M64 22V38M72 22V34"), elastic(40, 14, 40, 8), across(40, 80, 6),
	}},
	"opening": {"A circle skirt laid flat; its opening for the waist, gathered by an elastic.", []string{
		shape("sk-cloth", "M60 4a36 36 0 1 0 .1 0z"), shape("sk-hole", "M60 26a14 14 0 1 0 .1 0z"), across(46, 74, 40),
	}},
}
