// Package exports turns planned batches and prices into what leaves the screen: drawings of
// markers (SVG), the cutting workbook and the pricing workbook (XLSX).
//
// Everything is pure: values and an io.Writer go in, dates are passed, and the same input
// gives the same bytes. Text from users is escaped in drawings and is always text in
// workbooks, whatever sign it begins with.
//
// # Drawings on a page
//
// MarkerSVG writes an <svg> element that can stand in HTML under a strict content security
// policy: it has no style attribute and no <style> element. It looks right by its
// presentation attributes alone; a page may add rules for its classes, for example
//
//	.marker-drawing { display: block; width: 100%; height: auto; max-width: 60rem; }
//	.marker-piece:hover .marker-outline,
//	.marker-piece:focus .marker-outline { stroke: #9a3324; stroke-width: 3px; vector-effect: non-scaling-stroke; }
//	@media print { .marker-drawing { max-height: 24cm; } }
//
// Each laid piece is a <g class="marker-piece"> with a <title>, data-piece (the index into
// Instance.Pieces), data-name, data-copy and data-turn. Several drawings on one page need
// different values of Drawing.ID.
//
// # Workbooks
//
// Cells hold numbers in the workshop's units with number formats, not numbers written as
// text. A length is rounded to the step of the workshop's ruler, and a total adds what is
// written, so that a sheet sums as it is read; cloth, which is taken off bolts, is not
// rounded. Formulas use functions of Excel 2007 only and carry the values that package
// costing or batch worked out, so that previews and telephones show them.
package exports
