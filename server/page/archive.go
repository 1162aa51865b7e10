package page

// Archive is the page on which a whole workshop is written to a file, or read from one.
type Archive struct {
	Base
	// Full says why nothing can be read in here; empty if the workshop is empty.
	Full string
	// Mistakes are those of the file that was refused, by file and line.
	Mistakes []Problem
	// Largest is the largest file that is read, in MB.
	Largest int
}

func (Archive) page() string { return "archive" }

func init() { pages["archive"] = nil }
