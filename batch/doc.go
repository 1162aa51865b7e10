// Package batch plans a whole cutting batch: from order lines to garments, pieces per cloth,
// markers, lays on bolts, elastic from rolls, bundles, minutes and the day it is done.
//
// Invariants. Every garment of the batch is either cut in all of its cloths or stands in
// Plan.Uncut with the piece, the cloth, the reason and the remedy: no cloth is cut for a
// garment that another cloth cannot give. The same input, seed and iteration budget give the
// same plan. The plan holds everything that pages, printed sheets and workbooks show, so that
// a stored plan never changes when a style or a price changes later.
package batch
