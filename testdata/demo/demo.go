// Package demo embeds the demo workshop: Quillfen Workroom, two people, all invented. Numbers
// are our own. Days in the files are counted from today.
package demo

import "embed"

// Files are workroom.json and orders.csv.
//
//go:embed workroom.json orders.csv
var Files embed.FS
