package batch

import (
	"slices"

	"yardwright/batch/garment"
)

// Caution is a warning with the place to read more.
type Caution struct {
	// Topic sorts cautions: cutting, sewing, children, selling.
	Topic string
	Text  string
	// Source names the rule or guide; it is not legal advice.
	Source string
}

// LocalRules stands under every list of cautions.
const LocalRules = "Rules differ from place to place and change. Check your local rules, or ask a licensed adviser, before you sell."

// roomCautions are shown with every batch.
var roomCautions = []Caution{
	{"cutting", "Close the blade of a rotary cutter after every cut. Cut away from yourself on a mat, standing, fingers behind the ruler, shoes on.", "4-H contest safety guide"},
	{"cutting", "Do not cut more plies than your cutter goes through in one stroke. Clips, not pins, under the blade.", "common practice, no source"},
	{"cutting", "Keep pins off the mat and out of your mouth. Wrap old blades before you bin them.", "4-H contest safety guide"},
	{"sewing", "If a needle breaks, stop and find every piece. If one is missing, set all garments aside that could hold it and sell none until it is found.", "broken-needle policy, an industry template"},
	{"sewing", "Count pins and needles out and in. Give a new needle only against the old one.", "broken-needle policy, an industry template"},
	{"sewing", "Stand the iron on its heel, cord out of reach; keep hands and face clear of steam; unplug it when you are done.", "4-H contest safety guide"},
	{"sewing", "Sit with knees and hips at about a right angle and your back supported. Change between cutting, sewing and pressing, and take breaks.", "OSHA eTool for sewing; the changing is our advice"},
}

// childCautions are shown when something is made for a child.
var childCautions = []Caution{
	{"children", "No cords or ties at hood, head or neck of clothes for small children, and none tied behind the neck. Elsewhere loose ends and loops are limited.", "EN 14682:2014; 16 CFR 1120 and ASTM F1816"},
	{"children", "A loose button, bead or bow can choke. Sew them firmly, pull-test every one, and leave loose trims off under three years.", "16 CFR 1501; advice of consumer agencies"},
	{"children", "Nightwear and robes for children have stricter burning rules than day clothes. Do not sell these styles as nightwear.", "16 CFR 1615 and 1616; UK Nightwear (Safety) Regulations 1985"},
	{"children", "Buttons, snaps, zips and prints that a child can reach have limits on lead and other substances. Ask the seller for a declaration.", "15 U.S.C. 1278a; 16 CFR 1303; REACH Annex XVII"},
	{"children", "Put a lasting mark of maker, place, date and batch on each garment for a child and on its packing; keep the batch sheet.", "15 U.S.C. 2063(a)(5)"},
}

// sellingCautions are shown with every batch.
var sellingCautions = []Caution{
	{"selling", "Loose-weave, brushed and very thin cloth can burn too fast for clothing. Ask for a burning test of fleece, flannel, velvet and thin rayon or silk.", "16 CFR 1610"},
	{"selling", "Label fibre content, who made it and how to wash it. Wash a sample before you promise.", "16 CFR 303 and 423; Regulation (EU) 1007/2011"},
	{"selling", "Selling to consumers in the European Union asks for a risk analysis, a technical file and your name and address on the goods.", "Regulation (EU) 2023/988"},
}

var cordCaution = Caution{"children", "Cords of this batch are for bags only. A cord within a small child's reach can strangle: say so on the tag.", "common practice, no source"}

// cautionsFor lists the cautions that the batch calls for.
func cautionsFor(in Input, plan Plan) []Caution {
	cautions := slices.Clone(roomCautions)
	child, cord := false, false
	for _, g := range plan.Garments {
		child = child || g.Wearer == garment.Child
	}
	for _, n := range plan.Notions {
		for _, cut := range n.Cuts {
			cord = cord || cut.Need == "cord"
		}
	}
	if child {
		cautions = append(cautions, childCautions...)
	}
	if cord {
		cautions = append(cautions, cordCaution)
	}
	return append(cautions, sellingCautions...)
}

// CautionsFor lists the cautions that a style calls for, whatever batch it is made in.
func CautionsFor(style garment.Style) []Caution {
	var cautions []Caution
	if style.Wearer == garment.Child {
		cautions = append(cautions, childCautions...)
	}
	for _, need := range style.Notions {
		if need.Notion == "cord" {
			cautions = append(cautions, cordCaution)
		}
	}
	return cautions
}
