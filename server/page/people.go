package page

import (
	"yardwright/server/store"
)

// Person is who looks at a page. Without users nobody has a name, and whoever is at the
// machine may see everything.
type Person struct {
	Name string
	// Role is store.Owner or store.Helper; empty without users.
	Role string
}

// SeesMoney tells whether prices, costs and other money may be shown.
func (b Base) SeesMoney() bool { return b.Person.Role != store.Helper }

// Undo is a form that takes back what was just done.
type Undo struct {
	Action string
	Fields []UndoField
}

// UndoField is a hidden field of an Undo.
type UndoField struct{ Name, Value string }

// SignIn is the page on which people say who they are.
type SignIn struct {
	Base
	// Next is the page to go to afterwards; Kept tells that a form waits there.
	Next string
	Kept bool
}

func (SignIn) page() string { return "sign_in" }

// Join is the page on which a person chooses a password, once.
type Join struct {
	Base
	Name, Word string
}

func (Join) page() string { return "join" }

// People is the list of those who may sign in.
type People struct {
	Base
	People []store.User
	// Link is a new link for LinkFor, shown this once.
	Link, LinkFor string
	Self          int64
}

func (People) page() string { return "people" }

// Account is a person's own page.
type Account struct {
	Base
	SignIns []store.SignIn
	Current int64
}

func (Account) page() string { return "account" }
