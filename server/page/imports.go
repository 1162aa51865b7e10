package page

import (
	"yardwright/server/store"
	"yardwright/server/workshop"
)

// Import is the form for a file of orders, cloths or styles.
type Import struct {
	Base
	Kind  workshop.ImportKind
	Kinds []workshop.ImportKind
}

func (Import) page() string { return "import" }

// ImportLook shows what would come of a file before anything is taken.
type ImportLook struct {
	Base
	Preview workshop.ImportPreview
	// Columns are ours, with the column of the file that each is read from.
	Columns []ImportColumn
	// Rows are the first ones of the file, by our columns.
	Rows []ImportLookRow
	// More rows are not shown.
	More int
	// Wrong things are listed up to a number; Unlisted counts the rest.
	Mistakes []store.Problem
	Unlisted int
	// Said is what would change, and what is worth knowing.
	Said []ImportSaid
}

// ImportSaid is a box of remarks on lines of the file; More of them are not shown.
type ImportSaid struct {
	ID, Title string
	Said      []store.Problem
	More      int
}

func (ImportLook) page() string { return "import_look" }

// ImportColumn is the choice of where one of our columns is read from.
type ImportColumn struct {
	workshop.ImportColumn
	// At is the chosen column of the file, from 0; −1 for none.
	At int
}

// ImportLookRow is a row of the file.
type ImportLookRow struct {
	Line  int
	Cells []string
}
