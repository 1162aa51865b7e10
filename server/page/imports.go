package page

import (
	"cmp"
	"fmt"
	"strconv"

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

// Place is the address of the page.
func (v ImportLook) Place() string { return fmt.Sprintf("/imports/drafts/%d", v.Preview.ID) }

// AskForm asks which column is which, and how days are meant where there are any with slashes.
func (v ImportLook) AskForm() Form {
	heading := []Option{{Value: "-1", Text: "not in the file"}}
	for i, name := range v.Preview.Table.Heading {
		heading = append(heading, Option{Value: strconv.Itoa(i), Text: cmp.Or(name, "column without a heading")})
	}
	var fields []Field
	for _, column := range v.Columns {
		hint := ""
		if column.Needed {
			hint = "needed"
		}
		fields = append(fields, v.Choose("c."+column.Name, column.Label, hint, column.At, heading))
	}
	if v.Preview.Slashes {
		fields = append(fields, v.Choose("days", "Days with slashes", "such as 1/2/2027", v.Preview.Choice.Days, []Option{
			{Text: "say which"}, {Value: string(workshop.DayFirst), Text: "the day comes first: 31/12/2027"}, {Value: string(workshop.MonthFirst), Text: "the month comes first: 12/31/2027"},
		}))
	}
	return v.Base.Form(v.Place(), v.Place(), 0, fields)
}

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
