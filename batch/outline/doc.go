// Package outline reads the outline of a pattern piece from a drawing in SVG, a W3C standard, at a
// scale that is stated, never guessed: that of the drawing, if it says its size in mm, cm or
// inches, a length for one unit, or a test square of known size.
//
// It reads paths (M L H V C S Q T A Z, absolute and relative), and rect, circle, ellipse,
// polygon and polyline, with the transforms of all groups around them. Curves become straight
// edges that leave them by less than Tolerance.
//
// It does not read text, pictures, copies made with use, or drawings inside the drawing, and it
// follows no references: neither style sheets nor files. A shape that depends on one of those is
// listed with the reason why it can't be used. Nothing outside the drawing is ever opened.
package outline
